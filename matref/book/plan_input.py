"""What a plan is made from: the book that is wanted, what is known of the paper, the cover's materials, the sewing."""

from __future__ import annotations

from dataclasses import dataclass, field

from matref.book.leaf_supply import Salvage
from matref.book.needles import Needle
from matref.book.practice import Practice
from matref.book.rule_row import RuleRow
from matref.book.stitching import Wish
from matref.book.structures.parts import Cover
from matref.estimator.distribution import Distribution


@dataclass(frozen=True, slots=True, kw_only=True)
class BookWish:
    """What the maker wants: structure, trimmed page, mm, and one of sections, pages and the whole pile.

    trim_head_tail: head and tail are trimmed too. pressed: the folded sections are pressed hard.
    rounding_deg: None takes the rule for a rounded case and 0 for all others.
    """

    structure: str
    page_width_mm: float
    page_height_mm: float
    sections: int | None = None
    pages: int | None = None
    whole_pile: bool = False
    sheets_per_section: int | None = None
    trim_head_tail: bool = False
    pressed: bool = True
    rounding_deg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PaperKnown:
    """What is known of the paper: single-sheet caliper, µm; how its surface takes thread ("soft", "hard", "mixed").

    in_block: the caliper was measured in the pressed block. pressing, flattening: what finished books have taught, None
    for the rules. pile: the salvaged leaves, None for paper that comes as needed. sheets_rule: the row that gives
    sheets per section for this class of paper. endpaper_um: caliper of the endpapers, None for the text's own paper.
    """

    name: str
    caliper_um: Distribution
    surface: str = "mixed"
    in_block: bool = False
    pressing: Distribution | None = None
    flattening: Distribution | None = None
    pile: Salvage | None = None
    sheets_rule: RuleRow | None = None
    endpaper_um: Distribution | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class SewingWish:
    """How it is to be sewn: by "machine" or "hand"; thread with its diameter, mm; needles to choose from.

    pitch_mm: distance of the lines through a soft cover, None for the rule.
    """

    by: str
    thread: str
    thread_mm: Distribution
    needles: tuple[Needle, ...] = ()
    pitch_mm: float | None = None
    wish: Wish = field(default_factory=Wish)


@dataclass(frozen=True, slots=True)
class Caution:
    """A row of `caution`: the step it belongs to and what it says."""

    caution_id: str
    step: str
    text: str
    source_id: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanInput:
    """All that a plan needs. cautions: all rows; those of the steps that occur are taken."""

    book: BookWish
    paper: PaperKnown
    cover: Cover
    sewing: SewingWish
    practice: Practice
    cautions: tuple[Caution, ...] = ()
    level: float = 0.9
