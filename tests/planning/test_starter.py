"""The starting file runs as it is, and with every key uncommented it is still understood."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

from matref.api import Workshop
from matref.book.practice import Practice
from matref.book.structures import STRUCTURES
from matref.catalogue.grades import sheet_sizes
from matref.cli.options import _OPTIONS  # the command's own list of evidence
from matref.estimator.evidence import Evidence
from matref.planning import reference, schema, starter
from matref.planning.cover import NEEDED, USED
from matref.planning.document import read_document
from matref.planning.paper import _FIELDS


def test_it_runs_as_it_is(workshop: Workshop, tmp_path: Path) -> None:
    place = tmp_path / "logbook.toml"
    place.write_text(starter(), encoding="utf-8")
    book = workshop.plan(place)
    assert book.title == "pocket logbook"
    assert book.plan.wanted.structure == "soft-cover"
    assert "invented" in starter()


def test_every_commented_key_can_be_uncommented(workshop: Workshop) -> None:
    """Each key on its own, because some exclude each other."""
    sizes = sheet_sizes(workshop.connection)
    for table in schema.TABLES:
        for key in table.keys:
            plain = tomllib.loads(f"{key.name} = {key.example}")
            nested: dict[str, object] = {table.path: [plain] if table.many else plain}
            if table.path.startswith("stock."):
                nested = {"stock": {table.path.removeprefix("stock."): [plain]}}
            read_document(nested, sizes)


def test_every_key_stands_in_starter_and_reference() -> None:
    sections = re.split(r"^#? ?(?=\[)", starter(), flags=re.MULTILINE)
    for table in schema.TABLES:
        (section,) = [part for part in sections if part.startswith(table.heading + "\n")]
        for key in table.keys:
            assert re.search(rf"^(# )?{key.name} = ", section, re.MULTILINE), key.name
            assert f"| `{key.name}` |" in reference()


def test_the_contract_s_keys_and_tables() -> None:
    """The plan file of the design's contract."""
    contract = {
        "book": ["structure", "page_width_mm", "page_height_mm", "sections", "pages", "use", "sheets_per_section"],
        "paper": ["sample", "class", "grammage_gsm", "caliper_um"],
        "cover": ["board_mm", "square_mm", "turn_in_mm"],
        "sewing": ["by", "thread", "needle", "pitch_mm", "stations", "end_mm"],
        "stock": [],
    }
    tables = {table.path: table for table in schema.TABLES}
    for path, keys in contract.items():
        for key in keys:
            assert tables[path].find(key) is not None, key


def test_the_schema_names_what_the_rest_of_matref_names() -> None:
    assert set(STRUCTURES) == set(NEEDED) == set(USED)
    assert set(schema.ROLES) == {role for used in USED.values() for role in used}
    fields = {field for names in schema.ALLOWANCES.values() for field in names}
    assert fields <= set(Practice.rule_ids())
    assert set(_FIELDS.values()) | {"size"} == set(Evidence.__dataclass_fields__)
    assert len(_OPTIONS) == len(Evidence.__dataclass_fields__)


def test_every_allowance_is_a_key() -> None:
    names = {name for table in schema.PLAN_TABLES for name in table.names}
    for stem in schema.ALLOWANCES:
        assert stem in names or f"{stem}_mm" in names, stem
