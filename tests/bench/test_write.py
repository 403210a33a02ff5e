"""Files are written as a whole or not at all."""

from __future__ import annotations

import io
import os
from pathlib import Path

import pytest

from matref.bench.write import write_whole
from matref.errors import FileTrouble


def test_a_file_is_replaced_as_a_whole(tmp_path: Path) -> None:
    place = tmp_path / "sheet.pdf"
    write_whole(b"first", place)
    place.chmod(0o640)
    write_whole(b"second", str(place))
    assert place.read_bytes() == b"second"
    assert place.stat().st_mode & 0o777 == 0o640
    assert list(tmp_path.iterdir()) == [place]


def test_a_new_file_has_the_usual_rights(tmp_path: Path) -> None:
    usual = tmp_path / "usual"
    usual.write_bytes(b"")
    write_whole(b"x", tmp_path / "new")
    assert (tmp_path / "new").stat().st_mode == usual.stat().st_mode


def test_a_failure_leaves_the_old_file_and_no_rest(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    place = tmp_path / "sheet.pdf"
    place.write_bytes(b"old")

    def full(_: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(FileTrouble, match="No space left") as refused:
        write_whole(b"new", place)
    assert "\n" not in str(refused.value)
    assert place.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [place]


def test_places_that_cannot_be_written(tmp_path: Path) -> None:
    with pytest.raises(FileTrouble, match="is a folder"):
        write_whole(b"x", tmp_path)
    with pytest.raises(FileTrouble, match="cannot be written"):
        write_whole(b"x", tmp_path / "no such folder" / "sheet.pdf")


def test_a_stream_is_written_to() -> None:
    stream = io.BytesIO()
    write_whole(b"x", stream)
    assert stream.getvalue() == b"x"
