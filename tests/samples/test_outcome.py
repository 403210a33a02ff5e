"""What an import reports, and how samples look as JSON."""

from __future__ import annotations

import json

from matref.api import Workshop
from matref.samples import ImportRefused, ImportReport, RowOutcome


def report(*rows: RowOutcome, applied: bool = False) -> ImportReport:
    return ImportReport("UTF-8", "comma", (), rows, applied)


def test_numbers_by_outcome() -> None:
    found = report(
        RowOutcome(2, "added", "a", None), RowOutcome(3, "skipped", "b", "x"), RowOutcome(4, "added", "", None)
    )
    assert (found.number("added"), found.number("skipped"), found.number("refused")) == (2, 1, 0)
    assert found.bad == ()
    plain = json.loads(json.dumps(found.as_json()))
    assert (plain["added"], plain["applied"], plain["rows"][1]["id"]) == (2, False, "x")


def test_every_bad_row_is_named_up_to_twenty_and_all_are_in_the_report() -> None:
    refused = ImportRefused(report(*(RowOutcome(n, "refused", "", None, (f"reason {n}",)) for n in range(2, 32))))
    assert "30 bad rows of 30" in str(refused)
    assert "line 21: reason 21" in str(refused)
    assert "line 22" not in str(refused)
    assert str(refused).endswith("and 10 more")
    assert len(refused.report.bad) == 30
    assert "1 bad row of 1" in str(ImportRefused(report(RowOutcome(2, "conflict", "", "x", ("differs",)))))


def test_a_sample_as_json_carries_units_in_its_keys(shop: Workshop) -> None:
    first = shop.samples.add(
        "first", paper_class="ledger", size="A4", sheets=20, mass="108 g", measured_on="2024-02-29"
    )
    second = shop.samples.add("second", same_as="first", stack_sheets=50, stack="6 mm")
    plain = json.loads(json.dumps(first.as_json()))
    assert plain["class"] == "ledger"
    assert plain["same_as"] is None
    assert plain["measured_on"] == "2024-02-29"
    assert set(plain["grammage_gsm"]) == {"value", "u"}
    assert plain["caliper_um"] is None
    assert plain["parsed"] == {
        "width_mm": 210.0,
        "height_mm": 297.0,
        "sheets": 20,
        "mass_g": 108.0,
        "scale_resolution_g": 1.0,
    }
    assert second.as_json()["same_as"] == first.id
