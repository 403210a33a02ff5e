from __future__ import annotations

import hashlib
import json
from pathlib import Path

import pytest
from small_data import SmallData

from matref.catalogue import seal as sealing
from matref.catalogue.package import data_folder, edition, fingerprint, read_package
from matref.catalogue.seal import seal
from matref.errors import FileTrouble


def test_cells_are_typed_by_their_columns_and_empty_ones_are_none(small_data: SmallData) -> None:
    first = next(read_package(small_data.folder).table("reading").rows())
    assert first == {
        "id": "chart-80",
        "class_id": "chart_paper",
        "description": "chart paper 80",
        "grammage_gsm": 80.0,
        "caliper_um": 100.0,
        "kind": "nominal",
        "method": None,
        "used_in_fit": 1,
        "flag": None,
        "source_id": "chandler-ledger",
    }


def test_keys_and_limits_are_read(small_data: SmallData) -> None:
    reading = read_package(small_data.folder).table("reading")
    assert reading.primary_key == ("id",)
    assert [key.table for key in reading.foreign_keys] == ["source", "material_class"]
    assert reading.fields[0].required
    assert reading.fields[0].unique
    assert reading.fields[3].unit == "g/m2"
    assert read_package().table("material_class").fields[2].enum == ("paper", "board", "cloth")
    assert read_package().licence == "CC0-1.0"


@pytest.mark.parametrize(
    ("cells", "wrong"),
    [
        ({"grammage_gsm": "eighty"}, "line 5, grammage_gsm: could not convert"),
        ({"used_in_fit": "yes"}, "line 5, used_in_fit: 'yes' is neither 0 nor 1"),
    ],
)
def test_a_cell_that_does_not_fit_is_named(small_data: SmallData, cells: dict[str, str], wrong: str) -> None:
    small_data.add("reading", id="bad", class_id="chart_paper", source_id="chandler-ledger", **cells)
    with pytest.raises(FileTrouble, match=f"data file reading.csv: {wrong}"):
        list(read_package().table("reading").rows())


def test_columns_in_another_order_are_refused(small_data: SmallData) -> None:
    path = small_data.folder / "source.csv"
    path.write_text("title,id,year\nA,b,\n", encoding="utf-8")
    with pytest.raises(FileTrouble, match="its columns are not those"):
        list(read_package().table("source").rows())
    path.write_text("id,title,year\nb,A\n", encoding="utf-8")
    with pytest.raises(FileTrouble, match="line 2 has 2 cells"):
        list(read_package().table("source").rows())


def test_edition_is_the_version_and_the_digest_of_the_hashes(small_data: SmallData) -> None:
    before = edition()
    assert before.startswith("1+")
    assert len(before) == len("1+") + 8
    assert edition(small_data.folder) == before == read_package().edition
    small_data.add("source", id="harbour-almanac", title="An invented almanac")
    assert edition() != before
    small_data.write("source", small_data.rows("source")[:1])
    seal(small_data.folder)
    assert edition() == before


def test_an_unsealed_change_is_noticed(small_data: SmallData) -> None:
    read_package().verify()
    small_data.write("source", [*small_data.rows("source"), {"id": "harbour-almanac", "title": "Almanac"}])
    with pytest.raises(FileTrouble, match=r"source\.csv: it differs .*python -m matref\.catalogue\.seal"):
        read_package().verify()
    assert seal(small_data.folder) == ["source"]
    read_package().verify()
    assert seal(small_data.folder) == []


def test_seal_writes_control_totals(small_data: SmallData, capsys: pytest.CaptureFixture[str]) -> None:
    small_data.write("source", [{"id": "two-lines", "title": "a title\nof two lines", "year": "1890"}])
    assert sealing.main([str(small_data.folder)]) == 0
    assert capsys.readouterr().out == "sealed: source\n"
    content = (small_data.folder / "source.csv").read_bytes()
    entry = small_data.descriptor()["resources"][0]
    assert (entry["bytes"], entry["rows"]) == (len(content), 1)
    assert entry["hash"] == "sha256:" + hashlib.sha256(content).hexdigest()
    (small_data.folder / "source.csv").unlink()
    assert sealing.main([str(small_data.folder)]) == 2
    assert "source.csv" in capsys.readouterr().err


def test_a_broken_description_is_one_line(small_data: SmallData, tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match=r"datapackage\.json"):
        edition(tmp_path / "nowhere")
    descriptor = small_data.descriptor()
    descriptor["resources"][0]["name"] = 'source"; DROP TABLE setting'
    small_data.describe(descriptor)
    with pytest.raises(FileTrouble, match="plain lower-case name"):
        read_package()
    del descriptor["resources"][0]["hash"]
    small_data.describe(descriptor)
    with pytest.raises(FileTrouble, match="has no 'hash'"):
        edition()
    (small_data.folder / "datapackage.json").write_text(json.dumps([1]))
    with pytest.raises(FileTrouble, match="not a JSON object"):
        edition()


def test_fingerprint_of_a_known_text(tmp_path: Path) -> None:
    # SHA-256 of 'abc', from FIPS 180-2, appendix B.1.
    (tmp_path / "abc").write_text("abc")
    published = "ba7816bf 8f01cfea 414140de 5dae2223 b00361a3 96177a9c b410ff61 f20015ad"
    assert fingerprint(tmp_path / "abc") == (3, "sha256:" + published.replace(" ", ""))


def test_the_packaged_data_is_found() -> None:
    assert (data_folder() / "datapackage.json").is_file()
