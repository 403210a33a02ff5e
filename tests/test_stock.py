"""The shelf: add, list, take off; nonsense is refused and leaves the shelf as it was."""

from __future__ import annotations

from typing import Any

import pytest
from personal_shop import fitted_file, place, shop

from matref.api import Workshop
from matref.errors import BadInput, NotFound

__all__ = ["fitted_file", "place", "shop"]


def test_add_list_take_off(shop: Workshop) -> None:
    pile = shop.stock.add("paper", "A4", count=60, grain="long", price=0.02, label="loft pile", note="from the loft")
    assert (pile.width_mm, pile.height_mm, pile.count) == (210, 297, 60)  # ISO 216
    cloth = shop.stock.add("cloth", "24 x 18 in", grain="short")
    assert (cloth.width_mm, cloth.height_mm) == pytest.approx((609.6, 457.2))
    assert shop.stock.list() == [pile, cloth]
    assert shop.stock.list("cloth") == [cloth]
    assert shop.stock.get("loft pile") == shop.stock.get(pile.id) == pile
    assert shop.stock.remove("loft pile", count=20).count == 40
    assert shop.stock.remove(pile.id).count == 0
    assert shop.stock.list() == [cloth]
    with pytest.raises(NotFound):
        shop.stock.get("loft pile")
    assert pile.as_json()["grain"] == "long"
    assert cloth.name == f"cloth {cloth.id}"


def test_a_pile_of_a_sample(shop: Workshop) -> None:
    sample = shop.samples.add("tables", stack_sheets=1, stack="0.1 mm", with_="micrometer")
    assert shop.stock.add("paper", "A4", sample="tables").sample == sample.id
    with pytest.raises(NotFound):
        shop.stock.add("paper", "A4", sample="nowhere")


@pytest.mark.parametrize(
    "wrong",
    [
        {"material": "rope"},
        {"material": None},
        {"size": "large"},
        {"size": 3},
        {"size": "3 x 4"},
        {"size": "0.1 x 0.1 mm"},
        {"size": "90 x 90 m"},
        {"count": 0},
        {"count": 1.5},
        {"count": True},
        {"grain": "diagonal"},
        {"price": -1},
        {"price": float("nan")},
        {"price": "dear"},
        {"label": "x" * 81},
        {"note": "a\x00b"},
    ],
)
def test_nonsense_is_refused(shop: Workshop, wrong: dict[str, Any]) -> None:
    whole = {"material": "cloth", "size": "600 x 400 mm", **wrong}
    with pytest.raises(BadInput) as caught:
        shop.stock.add(**whole)
    assert "\n" not in str(caught.value)
    assert shop.stock.list() == []


def test_taking_too_much_and_names_that_several_have(shop: Workshop) -> None:
    shop.stock.add("card", "A3", count=3, label="folders")
    for count in (0, 4, -1, 1.5, True):
        with pytest.raises(BadInput):
            shop.stock.remove("folders", count=count)  # type: ignore[arg-type]
    shop.stock.add("card", "A4", label="folders")
    with pytest.raises(BadInput, match="several"):
        shop.stock.remove("folders")
    with pytest.raises(NotFound, match="near: folders"):
        shop.stock.get("folder")
    with pytest.raises(BadInput):
        shop.stock.list("rope")
    assert [pile.count for pile in shop.stock.list()] == [3, 1]
