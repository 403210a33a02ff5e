"""Three books to try: plan files and samples of the repair café in a former ship chandler's shop, all values invented.

>>> import matref
>>> with matref.open(":memory:") as workshop:
...     book = workshop.plan(demo("pocket-logbook"))
>>> book.title, book.sections.sections
('pocket logbook', 5)
"""

from __future__ import annotations

import csv
import tomllib
from importlib.resources import files
from typing import Any

from matref.errors import BadInput

DEMOS = ("pocket-logbook", "long-stitch-ledger", "quarter-cloth-case")


def demo(name: str) -> dict[str, Any]:
    """Return a demo plan as a mapping, its samples put in as evidence, so that nothing is added to your file."""
    plan = tomllib.loads(demo_text(name))
    for table in (plan, *plan.get("compare", [])):
        if "paper" in table:
            table["paper"] = _with_evidence(table["paper"])
    return plan


def demo_text(name: str) -> str:
    """Return the plan file of a demo as it stands, comments and all."""
    if name not in DEMOS:
        raise BadInput(f'no demo called "{name[:40]}"', expected=" or ".join(DEMOS), example=f"--demo {DEMOS[0]}")
    return files(__package__).joinpath(f"{name}.toml").read_text(encoding="utf-8")


def samples_text() -> str:
    """Return the table of invented samples (CSV), as `matref sample import` reads it."""
    return files(__package__).joinpath("samples.csv").read_text(encoding="utf-8")


def _with_evidence(paper: dict[str, Any]) -> dict[str, Any]:
    rows = {row["label"]: row for row in csv.DictReader(samples_text().splitlines())}
    row = rows[paper["sample"]]
    names = {"paper_class": "class", "with_": "with"}
    evidence = {names.get(k, k): v for k, v in row.items() if v and k not in ("label", "note")}
    own = {key: value for key, value in paper.items() if key != "sample"}
    return {"name": row["label"], **evidence, **own}
