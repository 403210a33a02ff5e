"""The long run: everything in this folder with the long amounts. `python tests/durability/long.py [pytest options]`."""

from __future__ import annotations

import os
import sys
from pathlib import Path

if __name__ == "__main__":
    os.environ["MATREF_TRY"] = "long"
    import pytest

    words = sys.argv[1:]
    places = [] if any(Path(word.partition("::")[0]).exists() for word in words) else [str(Path(__file__).parent)]
    sys.exit(pytest.main(["-s", "-p", "no:cacheprovider", *places, *words]))
