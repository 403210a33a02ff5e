"""The parts of README.md that run: its two commands, and the answers it shows.

`python tests/cli/readme.py` writes the answers anew, after a change of the data or of the words.
"""

from __future__ import annotations

import io
import os
import re
import shlex
import tempfile
from contextlib import redirect_stdout
from pathlib import Path

from matref.cli import main

ROOT = Path(__file__).parents[2]
README = ROOT / "README.md"
_COMMAND = re.compile(r"^<!-- command: (\w+) -->\n```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)
_ANSWER = re.compile(r"^```console\n\$ (matref [^\n]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)


def commands() -> dict[str, str]:
    """The commands that set everything up, by name."""
    return dict(_COMMAND.findall(README.read_text(encoding="utf-8")))


def answers() -> list[tuple[str, str]]:
    """Each command of matref that is shown, with the answer shown."""
    return _ANSWER.findall(README.read_text(encoding="utf-8"))


def answer(line: str) -> str:
    """What a command says now, on a screen of 100 columns, with a file that is just made."""
    said = io.StringIO()
    with tempfile.TemporaryDirectory() as folder, redirect_stdout(said):
        before = {name: os.environ.get(name) for name in ("MATREF_DB", "COLUMNS")}
        os.environ.update(MATREF_DB=str(Path(folder) / "matref.db"), COLUMNS="100")
        try:
            code = main(shlex.split(line)[1:])
        finally:
            for name, value in before.items():
                os.environ.pop(name, None) if value is None else os.environ.update({name: value})
    if code != 0:
        raise ValueError(f"{line}: exit code {code}")
    return said.getvalue()


def rewrite() -> None:
    """Put the present answers in the place of those that are shown."""
    text = README.read_text(encoding="utf-8")
    text = _ANSWER.sub(lambda m: f"```console\n$ {m[1]}\n{answer(m[1])}```", text)
    README.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    rewrite()
