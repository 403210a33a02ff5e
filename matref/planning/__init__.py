"""The whole book from a plan file: what is wanted in TOML or a mapping, a planned book out.

>>> import matref
>>> plan = {"book": {"structure": "soft-cover", "page_width_mm": 100, "page_height_mm": 150, "pages": 120}}
>>> with matref.open(":memory:") as workshop:
...     book = workshop.plan({**plan, "paper": {"caliper_um": 104}, "sewing": {"thread": "0.3 mm"}})
>>> book.sections.pages, [part.name for part in book.parts]
(120, ['cloth', 'interfacing', 'card lining'])
"""

from matref.planning.compare import Candidate, Comparison, compare
from matref.planning.planned import Cost, PlannedBook
from matref.planning.run import plan_file
from matref.planning.starter import reference, starter

__all__ = ["Candidate", "Comparison", "Cost", "PlannedBook", "compare", "plan_file", "reference", "starter"]
