"""Plans to draw: the demo books and one book of every structure, in the invented shop."""

from __future__ import annotations

import json
from typing import Any

import pytest
from measuring import BOOKS

import matref
from matref.demo import DEMOS, demo

_STOCK = {
    "pieces": [
        {"material": "cloth", "size": "600 x 450 mm", "name": "sailcloth offcut", "grain": "long"},
        {"material": "board", "size": "330 x 400 mm", "name": "greyboard offcut", "grain": "long"},
    ],
    "shop": [{"material": "card", "size": "700 x 500 mm", "name": "card"}],
}


@pytest.fixture(scope="session")
def plans() -> dict[str, dict[str, Any]]:
    """The JSON of every plan by name, as another program would read it."""
    paper = {"caliper_um": 104, "name": "tide tables"}
    with matref.open(":memory:") as workshop:
        made = {name: workshop.plan(demo(name)) for name in DEMOS}
        made |= {
            name: workshop.plan({"book": {"structure": name, **book}, "paper": paper, "stock": _STOCK})
            for name, book in BOOKS.items()
        }
    plain: dict[str, dict[str, Any]] = json.loads(json.dumps({name: plan.as_json() for name, plan in made.items()}))
    return plain
