"""Each room of the package imports only what the table in DEVELOPERS.md allows it."""

from __future__ import annotations

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "matref"
_ROW = re.compile(r"^\| `(\w+)` \| [^|]+ \|([^|]*)\|$", re.MULTILINE)
ALLOWED = {
    room: set(re.findall(r"`(\w+)`", rooms))
    for room, rooms in _ROW.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
}


def files_of(room: str) -> list[Path]:
    single = PACKAGE / f"{room}.py"
    return [single] if single.exists() else sorted((PACKAGE / room).rglob("*.py"))


def imported(source: Path) -> set[str]:
    """The rooms that a file imports, also within functions and for type hints alone."""
    found: set[str] = set()
    for node in ast.walk(ast.parse(source.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.level == 0 and node.module:
            names = [f"matref.{a.name}" for a in node.names] if node.module == "matref" else [node.module]
        elif isinstance(node, ast.Import):
            names = [a.name for a in node.names]
        else:
            continue
        found |= {name.split(".")[1] for name in names if name.startswith("matref.")}
    return found


@pytest.mark.parametrize("room", sorted(ALLOWED))
def test_a_room_keeps_to_its_neighbours(room: str) -> None:
    files = files_of(room)
    assert files, f"DEVELOPERS.md names a room that is not there: {room}"
    for source in files:
        beyond = imported(source) - ALLOWED[room] - {room}
        assert not beyond, f"{source.relative_to(ROOT)} imports {', '.join(sorted(beyond))}"


def test_every_room_is_in_the_table() -> None:
    rooms = {path.stem for path in PACKAGE.iterdir() if path.suffix == ".py" or any(path.glob("*.py"))}
    assert rooms - {"__init__", "__main__"} == set(ALLOWED)
