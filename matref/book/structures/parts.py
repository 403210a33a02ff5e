"""A part to cut, with the chain of dimensions that makes its size, and what the parts are cut for and from."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

from matref.book.check import positive
from matref.errors import BadInput
from matref.estimator.distribution import Distribution, Exact
from matref.estimator.estimate import Estimate

Chain = tuple[tuple[str, float], ...]
"""Labels with lengths, mm, from edge to edge; the lengths sum to the size."""
CutWhen = Literal["now", "after sewing"]
ALONG = "along the spine"
"""How the grain of every part runs."""


@dataclass(frozen=True, slots=True)
class Layer:
    """A material: name for people, catalogue id (or ""), thickness, mm, and what is known of it (None: exact)."""

    name: str
    thickness_mm: float
    material_id: str = ""
    known_mm: Distribution | None = None

    def __post_init__(self) -> None:
        """Refuse a thickness that no material has."""
        positive(self.thickness_mm, f"thickness of {self.name}, mm", 0.3)

    @property
    def doubt(self) -> Distribution:
        """Its thickness with its doubt, mm."""
        return Exact(self.thickness_mm) if self.known_mm is None else self.known_mm


@dataclass(frozen=True, slots=True)
class Cover:
    """The materials at hand for a cover, each None when there is none.

    cloth: outermost, of full or quarter covers; interfacing: fused to the cloth; card: lining or limp cover; board;
    paper: covering of the sides or of separate boards; endpaper; mull: open cloth for the back; lining: paper.
    """

    cloth: Layer | None = None
    interfacing: Layer | None = None
    card: Layer | None = None
    board: Layer | None = None
    paper: Layer | None = None
    endpaper: Layer | None = None
    mull: Layer | None = None
    lining: Layer | None = None

    def need(self, name: str, structure: str) -> Layer:
        """Return the named material, or say in one line that the structure cannot do without."""
        layer: Layer | None = getattr(self, name)
        if layer is None:
            raise BadInput(
                f"a {structure} needs {name} for its cover",
                expected=f"a {name} with its thickness, or another structure",
                example=f"{name}_mm = 0.3" if name != "board" else "board_mm = 2",
            )
        return layer


@dataclass(frozen=True, slots=True)
class Block:
    """The sewn text block that a cover is made for, mm; W and H are the trimmed page.

    spine_mm: thickness over the back; arc_mm: way round it; section_mm: one closed section of paper;
    closed_section_mm: the same with its thread; pitch_mm: distance of sewing lines through a soft cover. trim_mm: what
    an untrimmed leaf has over the page at the fore-edge; ends_mm: at head and at tail each, 0 untrimmed.
    """

    page_width_mm: float
    page_height_mm: float
    sheets_per_section: int
    sections: int
    spine_mm: Estimate
    arc_mm: Estimate
    section_mm: Estimate
    closed_section_mm: Estimate
    pitch_mm: float = 0.0
    trim_mm: float = 0.0
    ends_mm: float = 0.0

    @property
    def sure(self) -> str:
        """How sure it is that the spine stays below the high end of its interval, in words."""
        return f"{100 * (1 + self.spine_mm.level) / 2:.3g} % sure"


@dataclass(frozen=True, slots=True)
class Part:
    """One kind of piece to cut.

    width_mm across the spine, height_mm along it: the size to cut. width_low_mm, width_high_mm: what the width may
    turn out to be; moved_by_spine_mm: half of that range. marks: further lengths to draw on the piece, mm.
    """

    name: str
    material: str
    count: int
    width_mm: float
    height_mm: float
    grain: str
    allowance: str
    moved_by_spine_mm: float
    cut_when: CutWhen
    width_low_mm: float
    width_high_mm: float
    width_chain: Chain
    height_chain: Chain
    marks: Chain = ()

    def as_json(self) -> dict[str, Any]:
        """Return plain values; a chain becomes a list of {label, mm}."""
        plain = {
            name: getattr(self, name)
            for name in (
                "name",
                "material",
                "count",
                "width_mm",
                "height_mm",
                "grain",
                "allowance",
                "moved_by_spine_mm",
                "cut_when",
                "width_low_mm",
                "width_high_mm",
            )
        }
        chains = {name: _listed(getattr(self, name)) for name in ("width_chain", "height_chain", "marks")}
        return {**plain, **chains}


def total(chain: Chain) -> float:
    """Sum of a dimension chain, mm.

    >>> total((("turn-in", 17.0), ("board", 97.0), ("turn-in", 17.0)))
    131.0
    """
    return sum(length for _, length in chain)


def fixed(
    name: str,
    material: Layer,
    count: int,
    width: Chain,
    height: Chain,
    allowance: str,
    marks: Chain = (),
) -> Part:
    """A part whose size the spine does not move."""
    return moved(name, material, count, lambda _: width, height, allowance, None, marks=marks)


def moved(
    name: str,
    material: Layer,
    count: int,
    width: Callable[[float], Chain],
    height: Chain,
    allowance: str,
    doubt: Estimate | None,
    *,
    cut_when: CutWhen = "now",
    at_high: bool = False,
    marks: Chain = (),
) -> Part:
    """A part whose width grows with a doubtful length, mm: width(x) is its chain when the length is x.

    The interval of the width is the chain at the ends of the doubt, exact because it grows with it. at_high: cut for
    the high end, so that the piece covers what is plausible.
    """
    if doubt is None:
        chain = low = high = width(0.0)
    else:
        low, high = width(doubt.low), width(doubt.high)
        chain = high if at_high else width(doubt.value)
    across, along = total(chain), total(height)
    positive(across, f"width of the {name}, mm", 200)
    positive(along, f"height of the {name}, mm", 150)
    return Part(
        name,
        material.name,
        count,
        across,
        along,
        ALONG,
        allowance,
        (total(high) - total(low)) / 2,
        cut_when,
        total(low),
        total(high),
        chain,
        height,
        marks,
    )


def framed(edge: str, edge_mm: float, *inner: tuple[str, float]) -> Chain:
    """A chain with the same length at both ends.

    >>> framed("turn-in", 17.0, ("board", 156.0))
    (('turn-in', 17.0), ('board', 156.0), ('turn-in', 17.0))
    """
    return ((edge, edge_mm), *inner, (edge, edge_mm))


def _listed(chain: Chain) -> list[dict[str, str | float]]:
    return [{"label": label, "mm": length} for label, length in chain]
