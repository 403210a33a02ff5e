"""The long run: everything in this folder with the long amounts. `python -m tests.durability.long [pytest options]`."""

from __future__ import annotations

import os
import sys
from pathlib import Path

if __name__ == "__main__":
    os.environ["MATREF_TRY"] = "long"
    import pytest

    sys.exit(pytest.main([str(Path(__file__).parent), "-s", "-p", "no:cacheprovider", *sys.argv[1:]]))
