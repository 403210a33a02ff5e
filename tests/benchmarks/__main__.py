"""All benchmarks in one table: `python tests/benchmarks [--keep] [PART ...]`; exit code 1 where a limit is not kept.

`--keep` runs every part and writes the table, with the machine it ran on, to RESULTS.md.
"""

from __future__ import annotations

import argparse
import sys
import traceback
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path

from machine import described
from table import Row, as_text, broken_off, say

PARTS = {
    "accuracy": "accuracy",
    "fit": "fitting",
    "predict": "predicting",
    "sampling": "sampling",
    "start": "starting",
    "compile": "compiling",
    "search": "searching",
    "http": "serving",
    "growth": "growing",
    "cutting": "cutting",
}
RESULTS = Path(__file__).with_name("RESULTS.md")
_HEAD = """\
# Results of the benchmarks

`python tests/benchmarks --keep` makes this file again; what counts are the ratios, each within one run on one machine.
"""


def measured(part: str) -> Iterator[Row]:
    """Yield the rows of one part; where it breaks off, a last row says so."""
    try:
        yield from import_module(PARTS[part]).rows()
    except Exception as error:
        traceback.print_exc()
        yield broken_off(error)


def main() -> int:
    """Run the parts that were asked for, print the table, and return the exit code."""
    parser = argparse.ArgumentParser(prog="python tests/benchmarks", description=__doc__)
    parser.add_argument("parts", nargs="*", metavar="PART", help=f"one of {', '.join(PARTS)}; without any, all")
    parser.add_argument("--keep", action="store_true", help=f"run every part and write the table to {RESULTS.name}")
    asked = parser.parse_args()
    unknown = [name for name in asked.parts if name not in PARTS]
    if unknown:
        parser.error(f"no part {unknown[0]}; expected {', '.join(PARTS)}")
    if asked.keep and asked.parts:
        parser.error("--keep keeps a whole run: leave the parts out")
    facts = "\n".join(f"- {name}: {words}" for name, words in described().items())
    rows: list[tuple[str, Row]] = []
    for part in asked.parts or PARTS:
        say(f"{part} ...")
        for row in measured(part):
            rows.append((part, row))
            say("  " + "  ".join(cell for cell in row.cells() if cell))
    broken = [row for _, row in rows if row.kept is False]
    tally = f"Limits: {sum(row.kept is not None for _, row in rows)}, not kept: {len(broken)}."
    found = f"{facts}\n\n{as_text(rows)}\n\n{tally}\n"
    print(found, end="")
    if asked.keep:
        RESULTS.write_text(f"{_HEAD}\n{found}", encoding="utf-8")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
