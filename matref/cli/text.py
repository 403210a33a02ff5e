"""Answers laid out for people: a word on the left, what there is to say on the right, no wider than the screen."""

from __future__ import annotations

import re
import shutil
import textwrap
from collections.abc import Iterable, Sequence

from matref.estimator.estimate import Estimate
from matref.estimator.support import Support
from matref.quantities.formatting import decimals_for, format_range, round_to
from matref.quantities.units import shown_unit

_WIDEST = 110
_NARROWEST = 50
_SOURCES_SHOWN = 2
_BEFORE_UNIT = re.compile(r"(?<=\d) (?=(?:%|µm|mm|in|g/m²|cm³/g)(?:[\s,;:.)]|$))")


def width() -> int:
    """Return the width to write to: the screen's, within reason."""
    return min(max(shutil.get_terminal_size((100, 24)).columns, _NARROWEST), _WIDEST)


def labelled(rows: Iterable[tuple[str, str | Sequence[str]]]) -> str:
    """Lay out words with what they stand for; several lines under one word are told apart by their indent.

    >>> print(labelled([("Spine", "5.8 mm"), ("Warning", ["thick thread", "few sheets"]), ("Rest", "")]))
    Spine    5.8 mm
    Warning  thick thread
             few sheets
    """
    kept = [(word, [value] if isinstance(value, str) else list(value)) for word, value in rows]
    kept = [(word, lines) for word, lines in kept if any(lines)]
    margin = max((len(word) for word, _ in kept), default=0) + 2
    out = []
    for word, lines in kept:
        for number, line in enumerate(lines):
            head = word if number == 0 else ""
            out.append(
                textwrap.fill(
                    _BEFORE_UNIT.sub("\x00", line),  # a number and its unit stay on one line
                    width(),
                    initial_indent=head.ljust(margin),
                    subsequent_indent=" " * (margin + 2),
                    break_long_words=False,
                    break_on_hyphens=False,
                ).replace("\x00", " ")
            )
    return "\n".join(out)


def columns(rows: Sequence[Sequence[str]]) -> str:
    """Lay out rows in columns, the last one as long as it likes.

    >>> print(columns([("copier", "80"), ("bible", "40")]))
    copier  80
    bible   40
    """
    widths = [max(len(row[i]) for row in rows) for i in range(len(rows[0]))] if rows else []
    return "\n".join("  ".join(cell.ljust(w) for cell, w in zip(row, widths, strict=True)).rstrip() for row in rows)


def shortened(text: str, room: int) -> str:
    """Cut a text to the room there is, at a word.

    >>> shortened("bright white, dead flat", 15)
    'bright white …'
    """
    return text if len(text) <= room else textwrap.shorten(text, room, placeholder=" …").replace(", …", " …")


def ranged(estimate: Estimate, unit: str, preference: str = "mm", *, sure: bool = False) -> str:
    """Give an estimate with its range, to the digits that the range supports; `unit` is that of the estimate.

    Lengths (µm, mm) turn to inches where those are preferred. `sure` adds how often the range holds.

    >>> ranged(Estimate(103.7, 97.6, 110.9), "um", sure=True)
    '104 µm (98 to 111, 90 times in 100)'
    >>> ranged(Estimate(12.0, 11.0, 13.0), "mm", "in")
    '0.47 in (0.43 to 0.51)'
    """
    text = format_range(estimate.value, estimate.low, estimate.high, unit, preference)
    if sure and text.endswith(")"):
        return f"{text[:-1]}, {chance(estimate.level)})"
    return text


def give_or_take(value: float, u: float, unit: str, preference: str = "mm") -> str:
    """Give a value with its standard uncertainty, to the digits that the uncertainty supports.

    >>> give_or_take(78.566, 0.412, "g/m2"), give_or_take(104.2, 2.6, "um", "in")
    ('78.6 ± 0.4 g/m²', '0.00410 ± 0.00010 in')
    """
    per_inch = {"um": 25400.0, "mm": 25.4}.get(unit)
    if preference == "in" and per_inch:
        value, u, unit = value / per_inch, u / per_inch, "in"
    decimals = max(decimals_for(u), 0)
    return f"{round_to(value, u):.{decimals}f} ± {round_to(u, u):.{decimals}f} {shown_unit(unit)}"


def chance(level: float) -> str:
    """Say how often a range holds.

    >>> chance(0.9), chance(0.999)
    ('90 times in 100', '999 times in 1000')
    """
    of = 100 if abs(level * 100 - round(level * 100)) < 1e-6 else 1000
    return f"{level * of:.0f} times in {of}"


def share_words(share: float) -> str:
    """Give a share of one as whole per cent, 'under 1 %' where that would be nothing.

    >>> share_words(0.204), share_words(0.004)
    ('20 %', 'under 1 %')
    """
    return f"{share:.0%}".replace("%", " %") if share >= 0.005 else "under 1 %"


def supports(rests_on: Iterable[Support]) -> list[str]:
    """Say what an answer rests on, one line each; rules go together, and of many sources the first are named."""
    lines, rules = [], []
    for support in rests_on:
        if support.kind == "rule":
            rules.append(support.words)
            continue
        more = len(support.sources) - _SOURCES_SHOWN
        named = ", ".join(support.sources[:_SOURCES_SHOWN]) + (f" and {more} more" if more > 0 else "")
        lines.append(f"{support.words} [{named}]" if named else support.words)
    if rules:
        lines.append(f"rules of practice: {', '.join(dict.fromkeys(rules))}")
    return lines
