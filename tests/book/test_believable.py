"""Books that hands can make: checked against collectors' and librarians' words for what is smallest and largest."""

import math

import pytest

from matref.book.believable import page_doubts, thickness_doubts, turn_in_doubts
from matref.book.plan import plan
from matref.book.rule_row import number
from matref.book.structures import STRUCTURES
from matref.book.structures.parts import Cover, Layer
from matref.errors import BadInput
from matref.estimator.estimate import Estimate

INCH = 25.4
BOARD, CLOTH, PAPER, CARD = Layer("greyboard", 2.0), Layer("cloth", 0.3), Layer("paper", 0.15), Layer("card", 0.3)


def test_pages_typed_in_centimetres(practice):
    """Booksellers' terms: a miniature is at most 3 in, a microminiature less than one. A6 in cm is below that."""
    (said,) = page_doubts(10, 14.5, practice)
    assert "100 x 145 mm if centimetres were meant" in said
    for width, height in ((INCH, INCH), (3 * INCH, 2 * INCH), (105, 148), (297, 420), (25 * INCH, 20 * INCH)):
        assert page_doubts(width, height, practice) == ()
    for a_size_cm in ((10.5, 14.8), (14.8, 21), (21, 29.7)):
        assert len(page_doubts(*a_size_cm, practice)) == 1


def test_pages_larger_than_any_folio(practice):
    """A museum library: atlas folios are up to 25 in tall."""
    (said,) = page_doubts(1000, 1450, practice)
    assert "100 x 145 mm" in said


def test_a_back_too_thick_for_one_volume(practice):
    """Roberts and Etherington, extra thick: above some 2 1/2 in. 500 sections of 1.54 mm are 770 mm, 41 are 63 mm."""
    assert thickness_doubts(Estimate(2.5 * INCH, 60, 70), 40, practice) == ()
    (said,) = thickness_doubts(Estimate(770.0, 700, 850), 500, practice)
    assert "a back of 770 mm" in said
    assert "41 sections in a volume" in said
    (single,) = thickness_doubts(Estimate(200.0, 190, 210), 1, practice)
    assert "fewer sheets" in single


@pytest.mark.parametrize("name", ["link-stitch", "flat-back-case", "quarter-case", "rounded-case", "soft-cover"])
@pytest.mark.parametrize("field", ["turn_in", "turn_in_soft"])
def test_the_rules_own_turn_ins_are_enough(practice, name, field):
    cover = Cover(cloth=CLOTH, paper=PAPER, board=Layer("thick board", 3.0), card=CARD)
    assert number(getattr(practice, field)) > 0
    assert turn_in_doubts(STRUCTURES[name], cover, practice) == ()


def test_a_turn_in_has_to_pass_the_boards_edge(practice):
    """TI - b - (π/2)·c lies inside (derivations, section 6): of 2 mm round a board of 2 mm nothing does."""
    cover = Cover(cloth=CLOTH, board=BOARD)
    for name in ("flat-back-case", "rounded-case", "link-stitch"):
        with pytest.raises(BadInput, match="does not come to lie on the inside of the greyboard") as refused:
            turn_in_doubts(STRUCTURES[name], cover, practice.with_own({"turn_in": 2}))
        enough = float(refused.value.example.split("= ")[1])
        assert turn_in_doubts(STRUCTURES[name], cover, practice.with_own({"turn_in": enough})) == ()


def test_a_turn_in_reaches_under_the_endpaper(practice):
    """The pasted leaf begins a square and its own margin inside the board's edge: 3 + 2.5 mm. 7 - 2 - 0.47 = 4.53."""
    case, cover = STRUCTURES["flat-back-case"], Cover(cloth=CLOTH, board=BOARD)
    (said,) = turn_in_doubts(case, cover, practice.with_own({"turn_in": 7}))
    assert "only 4.5 mm come to lie inside, less than the 5.5 mm at which what is pasted over it begins" in said
    assert said.endswith(f"take {math.ceil(5.5 + 2 + math.pi / 2 * 0.3)} mm")
    assert turn_in_doubts(case, cover, practice.with_own({"turn_in": 8})) == ()


def test_a_soft_covers_turn_in_passes_card_and_clearance(practice):
    """The card lies 2 mm inside the fold: of 2 mm nothing holds on it, of 5 mm only 2.2 mm."""
    soft, cover = STRUCTURES["soft-cover"], Cover(cloth=CLOTH, card=CARD)
    with pytest.raises(BadInput, match="inside of the card"):
        turn_in_doubts(soft, cover, practice.with_own({"turn_in_soft": 2}))
    (said,) = turn_in_doubts(soft, cover, practice.with_own({"turn_in_soft": 5}))
    assert "only 2.2 mm" in said  # 5 - 0.3 - π/2 · 0.3 - 2
    assert turn_in_doubts(STRUCTURES["long-stitch"], Cover(card=CARD), practice.with_own({"turn_in": 1})) == ()


def test_the_plan_says_it(chandler):
    small = plan(chandler("link-stitch", page_width_mm=20.0, page_height_mm=30.0))
    assert any("microminiature" in w for w in small.warnings)
    thick = plan(chandler("long-stitch", sections=500))
    assert any("in one volume" in w or "one volume" in w for w in thick.warnings)
    calm = plan(chandler("long-stitch"))
    assert not any("volume" in w or "inch" in w for w in calm.warnings)
    assert not {rule for rule, _ in calm.rests_on} & {"page.side.atlas", "block.thickness.extra", "turn_in.lap.least"}
