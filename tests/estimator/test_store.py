"""The fitted model in the file: what was fitted is what is read back."""

from __future__ import annotations

import json
import math
import sqlite3

import pytest

from matref.errors import NotFound
from matref.estimator.fit import fit_family
from matref.estimator.model import Model
from matref.estimator.store import family_readings, fit_into, load_model
from matref.estimator.usual import usual_bulks


@pytest.mark.parametrize("family", ["paper", "board", "cloth"])
def test_what_is_read_back_is_what_was_fitted(family: str, fitted: sqlite3.Connection) -> None:
    fit = fit_family(family_readings(fitted, family))
    model, usual = load_model(fitted, family), usual_bulks(fitted)
    for class_id, material in model.classes.items():
        if class_id in fit.lines or class_id not in usual:
            assert material.line == fit.lines.get(class_id, fit.unpublished)
        else:
            assert material.line.slope == fit.unpublished.slope
        assert (material.readings > 0) == (class_id in fit.lines)
    assert model.scatter[family].sd == fit.product_sd
    assert [list(n) for n in model.scatter[family].nodes] == [list(n) for n in fit.nodes(5)]


def test_a_refit_gives_the_same_model(scratch: sqlite3.Connection) -> None:
    before = [tuple(row) for row in scratch.execute("SELECT * FROM model_line ORDER BY class_id")]
    fit_into(scratch)
    assert [tuple(row) for row in scratch.execute("SELECT * FROM model_line ORDER BY class_id")] == before


def test_rows_left_out_of_the_fit_do_not_count(scratch: sqlite3.Connection) -> None:
    before = load_model(scratch).classes["copier"].line
    scratch.execute("UPDATE reading SET caliper_um = 1.05 * caliper_um WHERE used_in_fit = 0")
    fit_into(scratch)
    assert load_model(scratch).classes["copier"].line == before


def test_a_reading_added_counts_after_a_refit(scratch: sqlite3.Connection) -> None:
    before = load_model(scratch).classes["kraft"]
    scratch.execute(
        """INSERT INTO reading (id, class_id, grammage_gsm, caliper_um, kind, series_id, source_group, quality,
                                calculated, used_in_fit, source_id, description, as_printed)
           SELECT 'invented', 'kraft', 90, 150, 'nominal', 'invented', 'invented', 'A', 0, 1, source_id, '', ''
           FROM reading WHERE class_id = 'kraft' LIMIT 1"""
    )
    fit_into(scratch)
    after = load_model(scratch).classes["kraft"]
    assert (after.readings, after.sources) == (before.readings + 1, before.sources + 1)
    assert after.line.variance(0.1) < before.line.variance(0.1)
    assert after.gsm_high == pytest.approx(90.0)


def test_family_rows_say_what_the_fit_found(fitted: sqlite3.Connection) -> None:
    for row in fitted.execute("SELECT * FROM model_family"):
        counted = fitted.execute(
            """SELECT count(*) FROM reading AS r JOIN material_class AS c ON c.id = r.class_id
               WHERE c.family = ? AND r.used_in_fit = 1""",
            (row["family"],),
        ).fetchone()[0]
        assert row["readings"] == counted
        assert 0 < row["statements"] <= counted
        residual = json.loads(row["kind_sd"])
        nominal = residual.get("nominal", next(iter(residual.values())))
        assert row["product_sd"] == pytest.approx(math.hypot(row["group_sd"], row["series_sd"], nominal))


def test_paper_and_board_are_offered_together(model: Model) -> None:
    assert {m.family for m in model.classes.values()} == {"paper", "board"}
    assert all(m.weight > 0 for m in model.classes.values())


def test_an_unknown_class_names_its_neighbours(model: Model) -> None:
    with pytest.raises(NotFound, match="copier"):
        model.only(["copiar"])
    assert list(model.only(["ledger", "copier"]).classes) == ["ledger", "copier"]
