from __future__ import annotations

import math
import xml.etree.ElementTree as ET
from itertools import pairwise

import pytest

from matref.web.picture import ClassLine, Pile, mark, picture

SVG = "{http://www.w3.org/2000/svg}"
LINE = ClassLine("invented <chart> paper", math.log(100), 1.0, ((80.0, 100.0), (100.0, 125.0), (120.0, 150.0)))
OTHER = ClassLine("invented ledger", math.log(120), 1.1, ((90.0, 135.0),))
PILE = Pile((90.0, 85.0, 96.0), (112.0, 104.0, 121.0))


def drawn(
    *lines: ClassLine, own: tuple[tuple[float, float], ...] = (), pile: Pile | None = PILE, units: str = "mm"
) -> ET.Element:
    text = str(picture(lines, own, pile, units=units))
    return ET.fromstring(text.replace("<svg ", '<svg xmlns="http://www.w3.org/2000/svg" ', 1))


def marks(root: ET.Element, name: str) -> list[ET.Element]:
    return [e for e in root.iter() if name in (e.get("class") or "").split()]


def test_a_reading_on_the_line_is_drawn_on_it() -> None:
    root = drawn(LINE)
    (line,) = marks(root, "line-0")
    x1, y1, x2, y2 = (float(line.get(k, "")) for k in ("x1", "y1", "x2", "y2"))
    dots = marks(root, "dot-0")
    assert len(dots) == 3
    for dot in dots:  # the readings have the line's bulk exactly, so they must lie on it
        x, y = float(dot.get("cx", "")), float(dot.get("cy", ""))
        assert y == pytest.approx(y1 + (y2 - y1) * (x - x1) / (x2 - x1), abs=0.2)


def test_the_pile_lies_in_the_middle_of_its_range() -> None:
    root = drawn(LINE, OTHER)
    (box,) = marks(root, "range")
    centre = next(e for e in marks(root, "pile") if e.tag.endswith("circle"))
    x, y = float(centre.get("cx", "")), float(centre.get("cy", ""))
    left, top = float(box.get("x", "")), float(box.get("y", ""))
    assert left < x < left + float(box.get("width", ""))
    assert top < y < top + float(box.get("height", ""))


def test_marks_differ_in_shape_and_words_tell_what_is_drawn() -> None:
    root = drawn(LINE, OTHER, own=((90.0, 115.0),))
    assert marks(root, "dot-0")[0].tag != marks(root, "dot-1")[0].tag
    assert len(marks(root, "own")) == 1
    assert root.get("role") == "img"
    words = root.findtext(f"{SVG}desc") or ""
    for said in ("invented <chart> paper", "3 published readings", "1 sample of your own", "90 g/m²", "112 µm"):
        assert said in words
    assert "&lt;chart&gt;" in str(picture([LINE], (), None))


def test_axis_in_inches_counts_thousandths() -> None:
    ticks = [float(e.text or "") for e in marks(drawn(LINE, units="in"), "tick") if e.get("text-anchor") == "end"]
    assert ticks
    assert max(ticks) < 25


def test_letters_do_not_cover_one_another() -> None:
    near = [ClassLine(f"class {n}", math.log(100 + n / 10), 1.0, ()) for n in range(5)]
    heights = sorted(float(e.get("y", "")) for e in marks(drawn(*near), "letter"))
    assert min(b - a for a, b in pairwise(heights)) >= 10


def test_without_lines_or_pile_there_is_still_a_frame() -> None:
    assert marks(drawn(pile=None), "tick")
    assert ET.fromstring(str(mark(1))) is not None


@pytest.mark.parametrize("scale", [0.02, 1, 50])
def test_any_scale_has_ticks(scale: float) -> None:
    pile = Pile((90 * scale, 88 * scale, 92 * scale), (100 * scale, 95 * scale, 106 * scale))
    assert 4 <= len(marks(drawn(pile=pile), "tick")) <= 60


@pytest.mark.parametrize("spread", [1.01, 1.06, 1.3, 1.6, 2.2, 5, 40])
@pytest.mark.parametrize("middle", [4.0, 17.0, 71.0, 88.0, 240.0, 990.0])
def test_numbers_on_the_axes_stand_apart(middle: float, spread: float) -> None:
    # A line of type of 12 px wants 15 px above it, and four figures want 30 px beside them.
    readings = tuple((middle * spread**e, 1.2 * middle * spread**e) for e in (-0.5, 0.0, 0.5))
    root = drawn(ClassLine("invented paper", math.log(96), 1.0, readings), pile=None)
    ticks = marks(root, "tick")
    across = [float(e.get("x", "")) for e in ticks if e.get("text-anchor") == "middle"]
    upward = [float(e.get("y", "")) for e in ticks if e.get("text-anchor") == "end"]
    assert len(across) >= 3
    assert len(upward) >= 3
    assert min(b - a for a, b in pairwise(across)) >= 30
    assert min(a - b for a, b in pairwise(upward)) >= 15
