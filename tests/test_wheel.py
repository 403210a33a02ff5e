"""The wheel: whole, with nothing too much, and enough by itself in a fresh environment without test tools."""

from __future__ import annotations

import os
import re
import shlex
import signal
import subprocess
import tomllib
import venv
import zipfile
from pathlib import Path

import pytest
import readme
from test_serve import free_port, page

pytestmark = pytest.mark.wheel

PROJECT = tomllib.loads((readme.ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
_OFFLINE = re.compile(
    "No matching distribution|Could not find a version|Temporary failure|ConnectionError|NewConnectionError|timed out"
)


def pip(python: Path, *arguments: str, cwd: Path) -> None:
    """Run pip; skip the test where it cannot reach what it needs, fail for anything else."""
    command = [str(python), "-m", "pip", "--disable-pip-version-check", *arguments]
    done = subprocess.run(command, cwd=cwd, env=bare(), capture_output=True, text=True, check=False)
    if done.returncode and _OFFLINE.search(done.stderr):
        pytest.skip(f"pip cannot fetch what it needs: {done.stderr.strip().splitlines()[-1]}")
    assert done.returncode == 0, done.stderr


def bare() -> dict[str, str]:
    """The environment without anything that would lead to this checkout."""
    return {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "MATREF_DB", "VIRTUAL_ENV")}


@pytest.fixture(scope="module")
def bin_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A fresh environment with pip alone; where its commands are."""
    builder = venv.EnvBuilder(with_pip=True)
    place = tmp_path_factory.mktemp("wheel") / "venv"
    builder.create(place)
    return Path(builder.ensure_directories(place).bin_path)


@pytest.fixture(scope="module")
def wheel(bin_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("dist")
    pip(bin_folder / "python", "wheel", "--no-deps", "--wheel-dir", str(folder), str(readme.ROOT), cwd=folder)
    (made,) = folder.glob("*.whl")
    return made


@pytest.fixture(scope="module")
def installed(bin_folder: Path, wheel: Path) -> Path:
    """The environment with the wheel and what it asks for, nothing else; where its commands are."""
    pip(bin_folder / "python", "install", "--quiet", str(wheel), cwd=wheel.parent)
    return bin_folder


@pytest.fixture
def call(installed: Path, tmp_path: Path) -> tuple[Path, dict[str, str], Path]:
    """The installed command, an environment with a workshop file of its own, and the folder to run in."""
    return installed / "matref", bare() | {"MATREF_DB": str(tmp_path / "matref.db"), "COLUMNS": "100"}, tmp_path


def test_what_is_in_it(wheel: Path) -> None:
    with zipfile.ZipFile(wheel) as archive:
        names = set(archive.namelist())
        (entries,) = (n for n in names if n.endswith("entry_points.txt"))
        (metadata,) = (n for n in names if n.endswith("METADATA"))
        assert "matref = matref.cli:main" in archive.read(entries).decode()
        assert f"Version: {PROJECT['version']}" in archive.read(metadata).decode()
    ours = {n for n in names if not n.startswith("matref-")}
    assert {n.split("/")[0] for n in ours} == {"matref"}
    source = {
        path.relative_to(readme.ROOT).as_posix()
        for path in (readme.ROOT / "matref").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    data = {f"matref/data/{path.name}" for path in (readme.ROOT / "data").iterdir()}
    assert ours == source | data
    for needed in (
        "matref/py.typed",
        "matref/data/reading.csv",
        "matref/data/datapackage.json",
        "matref/demo/samples.csv",
        "matref/demo/pocket-logbook.toml",
        "matref/bench/fonts/LICENSE",
        "matref/bench/fonts/DejaVuSansCondensed.ttf",
        "matref/web/static/matref.css",
        "matref/web/templates/matref/base.html",
        "matref/cli/REFERENCE.md",
    ):
        assert needed in ours
    assert not [n for n in names if "test" in n.lower() or n.endswith((".db", ".ipynb", ".pyc"))]


def test_it_stands_alone(installed: Path, tmp_path: Path) -> None:
    """None of the tools of the tests came with it, and it is not this checkout that answers."""
    extras = PROJECT["optional-dependencies"]
    tools = {re.split(r"[<>=\[]", name)[0] for name in (*extras["test"], *extras["report"])} - {
        "httpx"
    }  # Datasette's own
    listed = subprocess.run(
        [installed / "python", "-m", "pip", "--disable-pip-version-check", "list", "--format=freeze"],
        env=bare(),
        capture_output=True,
        text=True,
        check=True,
    )
    have = {line.split("==")[0].lower() for line in listed.stdout.splitlines()}
    assert "matref" in have
    assert not have & tools
    where = subprocess.run(
        [installed / "python", "-c", "import matref; print(matref.__file__)"],
        env=bare(),
        cwd=tmp_path,
        capture_output=True,
        text=True,
        check=True,
    )
    assert Path(where.stdout.strip()).is_relative_to(installed.parent)


def test_it_does_the_job_of_the_readme(call: tuple[Path, dict[str, str], Path]) -> None:
    matref, environment, folder = call
    for line, shown in readme.answers():
        done = subprocess.run(
            [matref, *shlex.split(line)[1:]], env=environment, cwd=folder, capture_output=True, text=True, check=True
        )
        assert done.stdout == shown
        assert done.stderr == ""


def test_it_plans_and_prints_a_book(call: tuple[Path, dict[str, str], Path]) -> None:
    matref, environment, folder = call
    for name in ("pocket-logbook", "long-stitch-ledger", "quarter-cloth-case"):
        outputs = ("--pdf", f"{name}.pdf", "--svg", f"{name}.svg", "--html", f"{name}.html")
        subprocess.run(
            [matref, "plan", "--demo", name, *outputs], env=environment, cwd=folder, capture_output=True, check=True
        )
        assert (folder / f"{name}.pdf").read_bytes().startswith(b"%PDF-")
        assert "<svg" in (folder / f"{name}.svg").read_text(encoding="utf-8")
        assert "<svg" in (folder / f"{name}.html").read_text(encoding="utf-8")


def test_it_serves_its_pages(call: tuple[Path, dict[str, str], Path]) -> None:
    matref, environment, folder = call
    port = free_port()
    with subprocess.Popen(
        [matref, "serve", "--port", str(port)],
        env=environment,
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    ) as process:
        try:
            home = page(f"http://127.0.0.1:{port}/")
            style = page(f"http://127.0.0.1:{port}/-/static-plugins/matref/matref.css")
        finally:
            process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert "matref" in home
    assert "{" in style
    assert f"http://127.0.0.1:{port}/" in out
    assert "Traceback" not in err
