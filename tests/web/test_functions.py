from __future__ import annotations

from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

import matref
from matref import workshop
from matref.web.functions import DOCUMENTED, Functions

if TYPE_CHECKING:
    import sqlite3

    from conftest import Site


def ask(place: Path, sql: str, values: tuple[Any, ...] = ()) -> Any:
    with closing(workshop.connect(place)) as connection:
        Functions(connection).register()
        return connection.execute(sql, values).fetchone()[0]


@pytest.mark.parametrize(("class_id", "grammage"), [("copier", 80), ("newsprint", 48.8), ("drawing_cartridge", 130)])
def test_answers_as_the_estimator_does(place: Path, class_id: str, grammage: float) -> None:
    with matref.open(place) as opened:
        wanted = opened.caliper(paper_class=class_id, grammage=grammage)
    found = ask(place, "SELECT caliper_um(?, ?)", (class_id, grammage))
    assert found == pytest.approx(wanted.caliper_um.value, rel=1e-9)
    bulk = ask(place, "SELECT bulk_cm3_g(?, ?)", (class_id, grammage))
    assert bulk == pytest.approx(wanted.bulk_cm3_g.value, rel=1e-9)


def test_spine_by_hand(place: Path) -> None:
    # 4 sheets in each of 5 sections of 0.104 mm paper with 0.5 mm thread, sewn all along: block 2·4·5·0.104·k,
    # swell 5·(φ·0.5 + spring), with the middles of the rules' ranges.
    with closing(workshop.connect(place)) as connection:

        def middle(rule: str) -> float:
            low, value, high = connection.execute("SELECT low, value, high FROM rule WHERE id = ?", (rule,)).fetchone()
            return (low + high) / 2 if low is not None and high is not None else float(value)

        pressing, flattening = middle("pressing.k.overall"), middle("swell.phi.overall")
    block = 2 * 4 * 5 * 0.104 * pressing
    found = ask(place, "SELECT spine_mm(4, 5, 104, 0.5)")
    assert found - block == pytest.approx(5 * flattening * 0.5, abs=5 * 0.05)
    with matref.open(place) as opened:
        whole = opened.spine(sheets_per_section=4, sections=5, caliper_um=104.0, thread=0.5)
    assert found == pytest.approx(whole.spine_mm.value, rel=0.01)


@pytest.mark.parametrize(
    "call",
    [
        "caliper_um('seaweed', 80)",
        "caliper_um('copier', NULL)",
        "caliper_um(NULL, 80)",
        "caliper_um('copier', -1)",
        "caliper_um('copier', 'eighty')",
        "bulk_cm3_g('copier', 1e300)",
        "spine_mm(0, 5, 104, 0.5)",
        "spine_mm(4, 5, 104, NULL)",
        "spine_mm(4, 5, -104, 0.5)",
        "spine_mm(4, 5, 'thick', 0.5)",
        "spine_mm(1e300, 5, 104, 0.5)",
        "caliper_um(x'00ff', 80)",
    ],
)
def test_what_makes_no_sense_is_null(place: Path, call: str) -> None:
    assert ask(place, f"SELECT {call}") is None


def test_a_new_sample_counts_at_once_on_an_open_connection(place: Path) -> None:
    with closing(workshop.connect(place)) as connection, matref.open(place) as opened:
        Functions(connection).register()

        def caliper(open_connection: sqlite3.Connection) -> float:
            return float(open_connection.execute("SELECT caliper_um('copier', 80)").fetchone()[0])

        before = caliper(connection)
        for _ in range(3):
            opened.samples.add(paper_class="copier", grammage=80, stack_sheets=8, stack="1.00 mm", with_="micrometer")
        assert caliper(connection) > before


def test_documented_examples_run_in_the_page_and_as_queries(site: Site) -> None:
    page = site.get("/-/functions").text
    for entry in DOCUMENTED:
        assert f"{entry.name}(" in page
        for example in entry.examples:
            answer = site.get("/shelf.json", params={"sql": example, "_shape": "arrays"}).json()
            assert answer["rows"]
            assert all(row[-1] is not None for row in answer["rows"])


def test_a_thousand_rows_stay_within_the_time_limit(site: Site) -> None:
    sql = "select count(caliper_um(class_id, grammage_gsm)) as n from reading"
    assert site.get("/shelf.json", params={"sql": sql, "_shape": "array"}).json()[0]["n"] > 900
