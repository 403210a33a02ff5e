"""All ratios in one run. Run: python tests/benchmarks [fitting predicting sampling starting]; see also cutting.py."""

from __future__ import annotations

import sys
from importlib import import_module

from timed import show

SUBJECTS = ("fitting", "predicting", "sampling", "starting")

chosen = sys.argv[1:] or SUBJECTS
unknown = [name for name in chosen if name not in SUBJECTS]
if unknown:
    sys.exit(f"no subject {unknown[0]}; expected {', '.join(SUBJECTS)}")
kept = show(ratio for name in chosen for ratio in import_module(name).ratios())
sys.exit(0 if kept else 1)
