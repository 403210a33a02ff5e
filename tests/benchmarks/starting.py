"""`matref caliper` as a whole process (the installed command) against Python with click and sqlite3 imported."""

from __future__ import annotations

import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

from timed import Ratio, compare

import matref

QUESTIONS = {
    "class and grammage": ["--class", "copier", "--grammage", "80"],
    "an unnamed weighed pile": ["--size", "A4", "--sheets", "20", "--mass", "98 g"],
}


def ratios() -> Iterator[Ratio]:
    """Yield the ratios of this subject."""
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
        for words, options in QUESTIONS.items():
            run(command, "caliper", *options)
            yield compare(
                f"matref caliper: {words}",
                lambda options=options: run(command, "caliper", *options),  # type: ignore[misc]
                'python -c "import click, sqlite3"',
                lambda: run("-c", "import click, sqlite3"),
                limit=2,
                turns=25,
            )
