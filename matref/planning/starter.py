"""The file to begin with, and the list of keys, both made from the schema."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping

from matref.planning.keys import Key
from matref.planning.schema import TABLES, Table

_SET: Mapping[str, Mapping[str, str]] = {
    "book": {
        "title": '"pocket logbook"',
        "structure": '"soft-cover"',
        "page_width_mm": "100",
        "page_height_mm": "145",
        "sections": "5",
    },
    "paper": {
        "class": '"bond_writing"',
        "size": '"A4"',
        "sheets": "20",
        "mass_g": '"98 g"',
        "leaves": "60",
        "grain": '"long"',
    },
    "cover": {"cloth": '"canvas_duck"', "cloth_mm": "0.4", "card": '"cover_uncoated"', "card_mm": "0.3"},
    "sewing": {"by": '"machine"', "thread": '"metric-ticket-75"'},
    "stock": {"currency": '"EUR"'},
    "stock.pieces": {
        "material": '"cloth"',
        "name": '"sailcloth offcut"',
        "size": '"300 x 450 mm"',
        "grain": '"short"',
    },
    "stock.shop": {"material": '"card"', "size": '"A3"', "grain": '"long"', "price": "0.4"},
}
"""What the starting file sets; everything else stands in it as a comment. The values are invented."""
_HEAD = """\
# A plan for matref: matref plan THIS_FILE
#
# The repair cafe in the former ship chandler's shop makes a pocket logbook: old forms for pages, an offcut of
# sailcloth for the cover, the sections sewn by machine through the spine. All values in this file are invented;
# put in your own. A line that begins with # is not read: take the # away to set that key.
# Lengths: page_width_mm = 100, or page_width_in = 4, or text with a unit, as in "3 15/16 in".
"""
_WIDE = 100


def starter() -> str:
    """Return a commented plan file that can be run as it is."""
    return "\n".join([_HEAD, *(_section(table) for table in TABLES)])


def reference() -> str:
    """Return every table and key with meaning, default and an example, as Markdown."""
    lines: list[str] = []
    for table in TABLES:
        lines += [
            f"### `{table.heading}`",
            "",
            table.meaning,
            "",
            "| key | meaning | default | example |",
            "|---|---|---|---|",
        ]
        for key in table.keys:
            choices = "" if key.kind != "choice" or len(key.choices) > 9 else f" ({', '.join(key.choices)})"
            lines.append(f"| `{key.name}` | {key.meaning}{choices} | {key.default} | `{key.name} = {key.example}` |")
        lines.append("")
    return "\n".join(lines)


def _section(table: Table) -> str:
    chosen = _SET.get(table.path, {})
    off = "" if chosen else "# "
    lines = [*_comment(table.meaning), f"{off}{table.heading}"]
    lines += [_line(key, chosen) for key in table.keys]
    return "\n".join(lines) + "\n"


def _line(key: Key, chosen: Mapping[str, str]) -> str:
    words = key.meaning + ("" if key.name in chosen else f" (without it: {key.default})")
    start = f"{key.name} = {chosen[key.name]}" if key.name in chosen else f"# {key.name} = {key.example}"
    return f"{start:<34} # {words}"


def _comment(text: str) -> list[str]:
    return [f"# {line}" for line in textwrap.wrap(text, _WIDE)]
