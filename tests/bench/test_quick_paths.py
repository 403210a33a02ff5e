"""What is heavy is imported only when a PDF is asked for."""

from __future__ import annotations

import subprocess
import sys

import pytest

HEAVY = ("reportlab", "PIL", "numpy", "scipy", "pandas")


@pytest.mark.parametrize(
    "work",
    [
        "import matref.bench",
        "import matref.cli.plan, matref.cli.layout, matref.cli.sheet",
        "from matref.bench.strips import check_bar; from matref.bench.svg import svg; svg(check_bar('mm'))",
        "from matref.cli import main; main(['layout', '--part', 'label 60x90', '--stock', 'card 210x297'])",
    ],
)
def test_no_heavy_import(work: str) -> None:
    code = f"{work}\nimport sys\nheavy = [n for n in {HEAVY!r} if n in sys.modules]\nsys.exit(', '.join(heavy) or 0)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
