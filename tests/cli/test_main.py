"""What holds for every command: exit codes, one line of error, what is imported, pipes, interruptions, first use."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
from pathlib import Path

import click
import pytest
from command_line import Run, refused

from matref.cli import app
from matref.cli.session import Session

PLAN = """
book = { structure = "pamphlet", page_width_mm = 100, page_height_mm = 150 }
paper = { class = "copier", grammage_gsm = 80 }
cover = { card_mm = 0.3 }
sewing = { by = "hand", thread = "30/3 linen" }
"""

HEAVY = (
    "numpy",
    "scipy",
    "pandas",
    "datasette",
    "sqlite_utils",
    "uvicorn",
    "httpx",
    "matplotlib",
    "sklearn",
    "reportlab",
)
QUICK = {
    "caliper": ["caliper", "--size", "A4", "--sheets", "20", "--mass", "98 g", "--target", "3%"],
    "find": ["find", "linen", "thread"],
    "near": ["find", "millbord"],
    "show": ["show", "copier"],
    "convert": ["convert", "20 lb bond"],
    "spine": ["spine", "--sheets-per-section", "4", "--sections", "5", "--caliper", "104", "--thread", "30/3 linen"],
    "plan": ["plan", "harbour.toml"],
    "help": ["--help"],
}


def test_a_module_is_the_command() -> None:
    done = subprocess.run([sys.executable, "-m", "matref", "--version"], capture_output=True, text=True, check=True)
    assert done.stdout.startswith("matref, version ")


@pytest.mark.usefixtures("shop")
@pytest.mark.parametrize("name", QUICK)
def test_quick_commands_import_nothing_heavy(name: str) -> None:
    """What is asked at the bench may not wait for what only a fit or a server needs."""
    Path("harbour.toml").write_text(PLAN, encoding="utf-8")  # in the shop's folder
    script = (
        "import sys, json\nfrom matref.cli import main\n"
        f"code = main({QUICK[name]!r})\n"
        f"print(json.dumps([code, sorted(set({HEAVY!r}) & set(sys.modules))]))"
    )
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert json.loads(done.stdout.splitlines()[-1]) == [0, []]


def test_json_before_or_after_the_command(run: Run) -> None:
    assert run("--json", "convert", "10 pt").json() == run("convert", "10 pt", "--json").json()


def test_db_before_or_after_the_command(run: Run, tmp_path: Path) -> None:
    other = tmp_path / "other.db"
    assert run("--db", str(other), "find", "linen").code == 0
    assert run("info", "--db", str(other), "--json").json()["path"] == str(other)
    refused(run("--db", str(tmp_path / "none.db"), "info"), "none.db")


def test_wrong_names_are_answered_with_near_ones(run: Run) -> None:
    refused(run("calliper"), "calliper", "near: caliper", "for example: matref")
    refused(run("zzz"), "expected one of find, show")
    refused(run("model", "fot"), "model command", "near: fit")
    refused(run("--jsn", "find", "linen"), "--jsn", "near: --json")
    refused(run("find", "--kind", "threat", "linen"), "--kind", "thread")
    refused(run("find", "--limit", "many", "linen"), "--limit", "many")
    refused(run("find", "linen", "--units", "furlongs"), "--units")


def test_an_unexpected_error_is_one_line(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(session: Session) -> object:  # noqa: ARG001
        raise RuntimeError("the glue pot\nboiled over")

    monkeypatch.setattr(Session, "open", broken)
    outcome = run("find", "linen")
    assert outcome == (1, "", "error: unexpected RuntimeError: the glue pot boiled over (--debug shows where)\n")
    with pytest.raises(RuntimeError, match="glue pot"):
        run("find", "linen", "--debug")


def test_an_interruption_is_quiet(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(session: Session) -> object:  # noqa: ARG001
        raise KeyboardInterrupt

    monkeypatch.setattr(Session, "open", interrupted)
    outcome = run("find", "linen")
    assert outcome.code == 1
    assert outcome.out == ""
    assert outcome.err.strip() == ""


def test_ctrl_c_while_the_catalogue_is_compiled(tmp_path: Path) -> None:
    """The half-made file goes away, and nothing but a blank line is said."""
    place = tmp_path / "matref.db"
    script = (
        "import os, signal, sys\nimport matref.catalogue.compile as c\nfrom matref.cli import main\n"
        "signal.signal(signal.SIGINT, signal.default_int_handler)\n"  # which a job in the background begins without
        "def compile_into(connection, **_): os.kill(os.getpid(), signal.SIGINT)\n"
        "c.compile_into = compile_into\n"
        "sys.exit(main(['find', 'linen']))"
    )
    done = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, env={**os.environ, "MATREF_DB": str(place)}
    )
    assert done.returncode == 1
    assert done.stdout == ""
    assert done.stderr.strip() == ""
    assert list(tmp_path.iterdir()) == []


@pytest.mark.usefixtures("shop")
def test_a_closed_pipe_is_quiet() -> None:
    """As in `matref find --kind rule | head -1`, with the reader gone before the first word."""
    read, write = os.pipe()
    os.close(read)
    with subprocess.Popen(
        [sys.executable, "-m", "matref", "find", "--kind", "rule", "--limit", "400"],
        stdout=write,
        stderr=subprocess.PIPE,
    ) as process:
        os.close(write)
        assert process.stderr is not None
        assert process.stderr.read() == b""
    assert process.returncode in (1, -signal.SIGPIPE)


@pytest.mark.usefixtures("shop")
def test_a_terminal_without_the_letters_gets_question_marks() -> None:
    environment = {**os.environ, "PYTHONIOENCODING": "iso8859-1"}
    command = [sys.executable, "-m", "matref", "convert", "10 pt"]
    done = subprocess.run(command, capture_output=True, env=environment, check=True)
    assert done.stdout.startswith(b"254 \xb5m")
    assert b"the printer?s point" in " ".join(done.stdout.decode("iso8859-1").split()).encode("iso8859-1")
    done = subprocess.run([*command, "--json"], capture_output=True, env=environment, check=True)
    assert json.loads(done.stdout)["meaning"] == "point (thickness)"
    assert "printer\N{RIGHT SINGLE QUOTATION MARK}s point" in json.loads(done.stdout)["note"]


def test_first_use_says_what_takes_so_long_on_a_terminal_only(tmp_path: Path) -> None:
    master, slave = pty.openpty()
    environment = {**os.environ, "MATREF_DB": str(tmp_path / "new.db")}
    command = [sys.executable, "-m", "matref", "convert", "10 pt"]
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=slave, env=environment, check=True)
    said = os.read(master, 4000)
    assert b"compiling the catalogue" in said
    assert said.endswith(b"\r")  # wiped out again
    assert b"compiling" not in done.stdout
    environment["MATREF_DB"] = str(tmp_path / "piped.db")
    done = subprocess.run(command, capture_output=True, env=environment, check=True)
    assert done.stderr == b""
    os.close(slave)
    os.close(master)


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="an administrator may write everywhere")
def test_a_folder_without_leave_to_write(run: Run, tmp_path: Path) -> None:
    closed = tmp_path / "closed"
    closed.mkdir(mode=0o500)
    refused(run("find", "linen", "--db", str(closed / "matref.db")), "leave to write")
    assert list(closed.iterdir()) == []


def test_every_place_in_the_table_holds_a_command() -> None:
    context = click.Context(app.root)
    for name in app.COMMANDS:
        command = app.root.get_command(context, name)
        assert isinstance(command, click.Command)
        assert command.name == name
