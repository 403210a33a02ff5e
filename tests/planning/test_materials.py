"""Materials of a cover: from a measured thickness, an entry, or a class, each with its doubt."""

from __future__ import annotations

import pytest

from matref.api import Workshop
from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.estimator.estimate import Estimate
from matref.planning.keys import Length
from matref.planning.material import Material, Materials, Named


@pytest.fixture(scope="module")
def materials(workshop: Workshop) -> Materials:
    return Materials(workshop.connection, Rules(workshop.connection))


def thickness(material: Material) -> Estimate:
    return Estimate.of(material.thickness_mm)


def grammage(material: Material) -> Estimate:
    return Estimate.of(material.grammage_gsm)


def test_a_listed_board_is_as_listed(materials: Materials) -> None:
    """Table of greyboards, data/board.csv: 2.0 mm is 1290 g/m²; a board mill's tolerance of 5 % about both."""
    board = materials.find("board", Named("greyboard.2.0mm"))
    assert board.layer.thickness_mm == pytest.approx(2.0)
    assert board.layer.material_id == "greyboard.2.0mm"
    assert (thickness(board).low, thickness(board).high) == pytest.approx((1.91, 2.09))  # 90 of the 100 % at 5 %
    assert grammage(board).value == pytest.approx(1290)
    assert board.rests_on[0].sources == ("de-printed-box-nd-conversion-greyboard",)
    assert board.assumed == ""


def test_a_measured_thickness_goes_before_the_entry_s(materials: Materials) -> None:
    board = materials.find("board", Named("greyboard.2.0mm", thickness=Length(1.83, 0.01)))
    assert board.layer.thickness_mm == pytest.approx(1.83)
    assert thickness(board).half_width == pytest.approx(0.9 * 0.005)  # half the last digit either way
    assert "1.83 mm" in board.name


def test_a_thickness_in_whole_millimetres_is_no_surer_than_the_mills_tolerance(materials: Materials) -> None:
    found = thickness(materials.find("board", Named(thickness=Length(2.0, 1.0))))
    assert (found.low, found.high) == pytest.approx((1.91, 2.09))


def test_mass_follows_from_thickness_where_nothing_is_listed(materials: Materials) -> None:
    """Greyboards of 2.0 to 3.0 mm are listed at 1200 to 1845 g/m²; 2.5 mm of any board is heavier than any paper."""
    board = materials.find("board", Named("greyboard", thickness=Length(2.5, 0.1)))
    assert 1290 < grammage(board).value < 1845
    assert grammage(board).low < 1645 < grammage(board).high  # greyboard.2.5mm of the same table


def test_thickness_follows_from_mass_with_a_wide_range(materials: Materials) -> None:
    """Numbered duck 10 weighs 499 g/m² by its ounces; its thickness nobody published."""
    cloth = materials.find("cloth", Named("duck.10"))
    assert grammage(cloth).value == pytest.approx(499.3)
    assert 0.5 < thickness(cloth).value < 2.5
    assert thickness(cloth).high > 2 * thickness(cloth).low
    assert any("canvas and cotton duck" in support.words for support in cloth.rests_on)


def test_a_mass_in_ounces(materials: Materials) -> None:
    """1 oz/yd² is 33.90575 g/m² (GNU units); a mill's tolerance of 5 % about it."""
    cloth = materials.find("cloth", Named("canvas_duck", grammage="10 oz/yd2"))
    assert grammage(cloth).value == pytest.approx(339.0575, rel=1e-6)


def test_heavier_cloth_of_a_class_is_thicker(materials: Materials) -> None:
    thick = [
        thickness(materials.find("cloth", Named("plain_cotton", grammage=f"{gsm} g/m2"))).value
        for gsm in (90, 140, 220)
    ]
    assert thick == sorted(thick)


def test_an_assumed_material_says_so_with_its_rules(materials: Materials) -> None:
    board = materials.find("board", Named("greyboard", wanted_mm="board.thickness.standard", assumed=True))
    assert board.assumed == "no board is named: greyboard 2 mm thick is taken; name or measure yours"
    card = materials.find("card", Named("cover_uncoated", wanted="material.grammage.soft_cover", assumed=True))
    assert "200 to 300 g/m²" in card.assumed
    assert {"board.thickness.standard"} <= {s.words for s in board.rests_on}


@pytest.mark.parametrize(
    ("role", "named", "words"),
    [
        ("board", Named("greyboard.uk-retail"), ("cover.board", "range of products", "board_mm")),
        ("cloth", Named("duckk.10"), ("cover.cloth", "near: duck.10", "cloth_mm")),
        ("cloth", Named("greyboard"), ("cover.cloth", "no material")),
        ("card", Named("plain_cotton"), ("cover.card", "no material")),
        ("cloth", Named("canvas_duck", grammage="heavy"), ("cover.cloth_gsm",)),
        ("cloth", Named("canvas_duck", grammage="10 oz"), ("cover.cloth_gsm", "area")),
    ],
)
def test_unknown_and_vague_materials(materials: Materials, role: str, named: Named, words: tuple[str, ...]) -> None:
    with pytest.raises(BadInput) as caught:
        materials.find(role, named)
    for word in words:
        assert word in str(caught.value)


def test_every_one_product_entry_can_be_taken(workshop: Workshop, materials: Materials) -> None:
    """Whatever `find` lists as a board, a cloth or an interfacing is either taken or refused for being a range."""
    taken = 0
    refused: dict[str, str] = {}
    for role, table in (("board", "board"), ("cloth", "fabric"), ("interfacing", "interfacing")):
        for (entry,) in workshop.connection.execute(f"SELECT id FROM {table} ORDER BY id"):
            try:
                found = materials.find(role, Named(entry))
            except BadInput as error:
                refused[entry] = str(error)
            else:
                taken += 1
                assert 0.005 < found.layer.thickness_mm < 15, entry
                assert 5 < grammage(found).value < 12_000, entry
    assert taken > 100
    assert all("range of products" in line for line in refused.values()), refused
