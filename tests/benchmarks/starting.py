"""Commands as whole processes (as installed) against Python with click and sqlite3 imported."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from table import Row, at_most
from timed import compare

import matref

QUESTIONS = {
    "class and grammage": ["caliper", "--class", "copier", "--grammage", "80"],
    "an unnamed weighed pile": ["caliper", "--size", "A4", "--sheets", "20", "--mass", "98 g"],
    "two words": ["find", "linen", "thread"],
    "a basis weight": ["convert", "20 lb bond"],
}


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "matref.db"
        matref.open(path).close()
        # As installed: byte code is kept (here aside), and both sides have theirs before the clock starts.
        environment = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}
        environment |= {"MATREF_DB": str(path), "PYTHONPYCACHEPREFIX": str(Path(folder) / "cache")}

        def run(*arguments: str) -> None:
            subprocess.run([sys.executable, *arguments], env=environment, check=True, stdout=subprocess.DEVNULL)

        command = str(Path(sys.executable).with_name("matref"))
        run("-c", "import click, sqlite3")
        for words, arguments in QUESTIONS.items():
            run(command, *arguments)
            yield compare(
                f"matref {arguments[0]}: {words}",
                lambda arguments=arguments: run(command, *arguments),  # type: ignore[misc]
                'python -c "import click, sqlite3"',
                lambda: run("-c", "import click, sqlite3"),
                limit=at_most(2),
                turns=25,
            )
