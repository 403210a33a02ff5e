"""The notebooks read without being run, and come out the same when they are run."""

from __future__ import annotations

import json
import platform
import re
from difflib import unified_diff
from pathlib import Path
from typing import Any

import nbformat
import notebook
import pytest
from nbclient.exceptions import CellExecutionError

each = pytest.mark.parametrize("path", notebook.NOTEBOOKS, ids=lambda path: path.stem)


def test_there_are_four() -> None:
    assert len(notebook.NOTEBOOKS) == 4


@each
def test_it_is_small_and_whole(path: Path) -> None:
    kept = notebook.read(path)
    nbformat.validate(kept)
    assert path.stat().st_size < 300_000
    code = [cell for cell in kept.cells if cell.cell_type == "code"]
    assert [cell.execution_count for cell in code] == list(range(1, len(code) + 1)), (
        "not run from the first to the last"
    )
    pictures = [o for cell in code for o in cell.outputs if any(k.startswith("image/") for k in o.get("data", {}))]
    assert len(pictures) >= 3


@each
def test_it_says_nothing_of_where_it_was_run(path: Path) -> None:
    kept = notebook.read(path)
    assert kept == notebook.tidy(notebook.read(path)), "run: python tests/notebooks/notebook.py"
    words = json.dumps([cell for cell in kept.cells if cell.cell_type == "markdown"])
    words += json.dumps([without_png(output) for cell in kept.cells for output in cell.get("outputs", [])])
    found = re.findall(r"/(?:tmp|home|root|Users|usr|opt)/\S*|[A-Z]:\\\S*|Traceback|\w*Warning\w*|stderr", words)
    assert not found
    for name in {str(notebook.FOLDER.parent), str(Path.home()), platform.node()} - {"", "/"}:
        assert not re.search(rf"(?<!\w){re.escape(name)}(?!\w)", words), f"{name} stands in {path.name}"


def without_png(output: Any) -> dict[str, Any]:
    data = {kind: value for kind, value in output.get("data", {}).items() if kind != "image/png"}
    return {**output, "data": data}


@each
def test_its_pictures_need_no_colour(path: Path) -> None:
    """A PNG is kept in greys; an SVG names no colour but black and white."""
    for cell in notebook.read(path).cells:
        for output in cell.get("outputs", []):
            drawn = output.get("data", {}).get("image/svg+xml", "")
            assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', drawn)) <= {"none", "black", "white"}
            assert "#" not in re.sub(r"&#\w+;|url\(#[^)]*\)|href=\"#[^\"]*\"", "", drawn)


@pytest.mark.notebooks
@pytest.mark.filterwarnings("default")  # the kernel's own libraries warn as they like
@each
def test_it_comes_out_the_same(path: Path) -> None:
    kept, now = notebook.said(notebook.read(path)), notebook.said(notebook.run(path))
    drift = "".join(unified_diff(_lines(kept), _lines(now), "kept", "now", n=1))
    assert not drift, f"run: python tests/notebooks/notebook.py\n{drift}"


@pytest.mark.notebooks
@pytest.mark.filterwarnings("default")
def test_a_notebook_that_asks_the_network_is_refused(tmp_path: Path) -> None:
    """192.0.2.1 is nobody's address (RFC 5737)."""
    asking = tmp_path / "asking.ipynb"
    cell = nbformat.v4.new_code_cell('import socket\nsocket.create_connection(("192.0.2.1", 80), timeout=1)')
    nbformat.write(nbformat.v4.new_notebook(cells=[cell]), asking)
    with pytest.raises(CellExecutionError, match="a notebook needs no network"):
        notebook.run(asking)


def _lines(cells: list[str]) -> list[str]:
    return [f"[{number}] {line}\n" for number, cell in enumerate(cells, start=1) for line in cell.splitlines()]
