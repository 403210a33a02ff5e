"""Rules, needles and an invented chandler's shop for the tests of whole books. Only data/ holds published figures."""

import csv
import math
from dataclasses import replace
from pathlib import Path

import pytest
from chandlery import COVER

from matref.book.leaf_supply import Salvage
from matref.book.needles import Needle
from matref.book.plan_input import BookWish, Caution, PaperKnown, PlanInput, SewingWish
from matref.book.practice import Practice
from matref.book.rule_row import RuleValue
from matref.book.thread import diameter_mm, thread_from_tex
from matref.estimator.distribution import LogNormal

DATA = Path(__file__).parents[2] / "data"


def _rows(table):
    with (DATA / f"{table}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


@pytest.fixture(scope="session")
def rules():
    def number(text):
        return float(text) if text else None

    return {
        row["id"]: RuleValue(row["id"], number(row["low"]), number(row["value"]), number(row["high"]), row["source_id"])
        for row in _rows("rule")
    }


@pytest.fixture(scope="session")
def practice(rules):
    return Practice.of(rules.__getitem__)


@pytest.fixture(scope="session")
def needles():
    linen = next(float(row["yarn_density_g_cm3"]) for row in _rows("fibre") if row["id"] == "linen")
    loose = {
        row["id"]: diameter_mm(float(row["tex"]), 1000 * linen)
        for row in _rows("thread")
        if row["fibre_id"] == "linen" and row["tex"]
    }
    return tuple(
        Needle(
            row["id"],
            row["name"],
            float(row["blade_mm"]) if row["blade_mm"] else None,
            row["for_use"] == "machine",
            row["system"].lower(),
            (loose[row["finest_thread_id"]], loose[row["stoutest_thread_id"]]) if row["finest_thread_id"] else None,
        )
        for row in _rows("needle")
        if row["kind"] == "size" and (row["blade_mm"] or row["finest_thread_id"])
    )


@pytest.fixture(scope="session")
def cautions():
    return tuple(Caution(row["id"], row["step"], row["text"], row["source_id"]) for row in _rows("caution"))


@pytest.fixture(scope="session")
def chandler(practice, needles, cautions):
    """Invented: tide tables on hard paper, sailcloth, greyboard. Returns a maker of plan inputs."""
    paper = PaperKnown(name="tide tables", caliper_um=LogNormal(math.log(95), 0.04))
    thread = thread_from_tex(50, 0.47, 0.68, 0.91)

    def make(structure="soft-cover", *, by=None, paper_known=None, materials=None, sewing=None, **wish):
        one = {"structure": structure, "page_width_mm": 95.0, "page_height_mm": 140.0}
        if not {"sections", "pages", "whole_pile"} & wish.keys():
            one["sections"] = 1 if structure == "pamphlet" else 5
        known = replace(paper, **(paper_known or {}))
        how = by or ("machine" if structure == "soft-cover" else "hand")
        return PlanInput(
            book=BookWish(**{**one, **wish}),
            paper=known,
            cover=replace(COVER, **(materials or {})),
            sewing=SewingWish(by=how, thread="linen 50 tex", thread_mm=thread, needles=needles, **(sewing or {})),
            practice=practice,
            cautions=cautions,
        )

    return make


@pytest.fixture(scope="session")
def pile():
    return Salvage(297, 210, "long", 5, 60)
