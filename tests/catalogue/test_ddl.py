from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest

from matref.catalogue.ddl import checks, create_indexes, create_table
from matref.catalogue.package import Field, ForeignKey, Table


def table(*fields: Field, name: str = "cord", foreign_keys: tuple[ForeignKey, ...] = ()) -> Table:
    key = Field("id", "string", "id", "id", required=True)
    return Table(name, Path(f"{name}.csv"), name, name, (key, *fields), ("id",), foreign_keys, 0, "", 0)


def number(name: str, **limits: float) -> Field:
    return Field(name, "number", name, name, **limits)  # type: ignore[arg-type]


def refuses(made: Table, **cells: object) -> str:
    """Return the message with which the table refuses the cells, '' when it takes them."""
    connection = sqlite3.connect(":memory:")
    try:
        connection.execute(create_table(made))
        for statement in create_indexes(made):
            connection.execute(statement)
        cells = {"id": "a", **cells}
        marks = ", ".join("?" * len(cells))
        connection.execute(f"INSERT INTO {made.name} ({', '.join(cells)}) VALUES ({marks})", [*cells.values()])
    except sqlite3.IntegrityError as error:
        return str(error)
    finally:
        connection.close()
    return ""


@pytest.mark.parametrize(
    "column", ["width_mm", "caliper_um", "width_in", "grammage_gsm", "yarn_density_g_cm3", "gsm_per_lb", "tex"]
)
def test_physical_quantities_are_positive(column: str) -> None:
    made = table(number(column))
    assert refuses(made, **{column: 0.0}) == f"CHECK constraint failed: {column} is positive"
    assert refuses(made, **{column: -2.5})
    assert refuses(made, **{column: 2.5}) == ""
    assert refuses(made, **{column: None}) == ""


def test_a_temperature_or_a_share_may_be_nought() -> None:
    assert refuses(table(number("shrinkage_low_pct")), shrinkage_low_pct=0.0) == ""


def test_low_value_high_are_in_order() -> None:
    made = table(number("thickness_low_mm"), number("thickness_mm"), number("thickness_high_mm"))
    assert refuses(made, thickness_low_mm=1.0, thickness_mm=2.0, thickness_high_mm=2.0) == ""
    assert "thickness_low_mm up to thickness_mm" in refuses(made, thickness_low_mm=2.1, thickness_mm=2.0)
    assert "thickness_mm up to thickness_high_mm" in refuses(made, thickness_mm=2.0, thickness_high_mm=1.0)
    assert "thickness_low_mm up to thickness_high" in refuses(made, thickness_low_mm=2, thickness_high_mm=1)
    assert refuses(table(number("low"), number("value"), number("high")), low=2.0, value=1.0)
    assert refuses(table(number("fuse_seconds_low"), number("fuse_seconds_high")), fuse_seconds_low=9.0,
                   fuse_seconds_high=8.0)  # fmt: skip


def test_limits_of_the_description_hold() -> None:
    made = table(number("factor", minimum=0.5, maximum=3.0), Field("kind", "string", "", "", enum=("it's", "b")))
    assert refuses(made, factor=3.5, kind="b") == "CHECK constraint failed: factor at most 3.0"
    assert refuses(made, factor=0.4) == "CHECK constraint failed: factor at least 0.5"
    assert refuses(made, kind="c") == "CHECK constraint failed: kind is one of its kinds"
    assert refuses(made, factor=1.0, kind="it's") == ""
    assert refuses(table(Field("exact", "boolean", "", "")), exact=2)


def test_tables_are_strict_and_required_cells_stand() -> None:
    assert "cannot store TEXT value in REAL column" in refuses(table(number("tex")), tex="thick")
    assert "NOT NULL" in refuses(table(Field("name", "string", "", "", required=True)))
    assert "NOT NULL" in refuses(table(), id=None)


def test_unique_and_foreign_keys() -> None:
    connection = sqlite3.connect(":memory:")
    connection.execute("PRAGMA foreign_keys = ON")
    twisted = ForeignKey(("fibre_id",), "fibre", ("id",))
    cord = table(Field("fibre_id", "string", "", ""), Field("label", "string", "", "", unique=True),
                 foreign_keys=(twisted,))  # fmt: skip
    for statement in (create_table(table(name="fibre")), create_table(cord), *create_indexes(cord)):
        connection.execute(statement)
    connection.execute("INSERT INTO fibre VALUES ('hemp')")
    connection.execute("INSERT INTO cord VALUES ('a', 'hemp', 'x')")
    with pytest.raises(sqlite3.IntegrityError, match="UNIQUE"):
        connection.execute("INSERT INTO cord VALUES ('b', 'hemp', 'x')")
    with pytest.raises(sqlite3.IntegrityError, match="FOREIGN KEY"):
        connection.execute("INSERT INTO cord VALUES ('c', 'glass', 'y')")
    plan = connection.execute("EXPLAIN QUERY PLAN SELECT * FROM cord WHERE fibre_id = 'hemp'").fetchall()
    assert "USING INDEX cord_fibre_id" in plan[0][-1]
    connection.close()


def test_names_are_found_without_regard_to_case_by_index() -> None:
    made = table(Field("name", "string", "", ""))
    connection = sqlite3.connect(":memory:")
    for statement in (create_table(made), *create_indexes(made)):
        connection.execute(statement)
    plan = connection.execute("EXPLAIN QUERY PLAN SELECT * FROM cord WHERE name = 'x' COLLATE NOCASE").fetchall()
    assert "USING INDEX cord_name" in plan[0][-1]
    connection.close()


@pytest.mark.parametrize(
    ("mass", "thickness", "taken"),
    [(1250.0, 2.0, True), (3300.0, 2.0, False), (190.0, 2.0, False)],
    # millboard of 0.63 g/cm3; 1.65, denser than cellulose; 0.095, looser than tissue
)
def test_density_of_boards(mass: float, thickness: float, taken: bool) -> None:
    board = table(number("grammage_gsm"), number("thickness_mm"), name="board")
    assert (refuses(board, grammage_gsm=mass, thickness_mm=thickness) == "") is taken


def test_a_table_without_numbers_has_no_checks() -> None:
    assert checks(table(Field("name", "string", "", ""))) == []
