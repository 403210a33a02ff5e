"""Practice: every rule of thumb that a plan needs, each a row of the catalogue's `rule` table with its source.

Nothing numerical stands in the code of the structures: a square, a turn-in, a flattening is a field of `Practice`,
and each field names the id of the row that fills it. A maker's own figure takes a row's place (`with_own`).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from typing import Annotated, Any, get_args, get_origin, get_type_hints

from matref.book.check import not_negative
from matref.book.rule_row import RuleRow, RuleValue, even, number, spread
from matref.errors import BadInput
from matref.estimator.distribution import Distribution

OWN = "maker's own"
"""Source id of a figure that the maker gave in place of a rule."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Practice:
    """The rules a plan rests on. Each field is filled from the row of `rule` named beside it."""

    # pressing, swell, creep
    pressing_factor: Annotated[RuleRow, "pressing.k.overall"]
    pressing_given: Annotated[RuleRow, "pressing.k.given"]
    flattening: Annotated[RuleRow, "swell.phi.overall"]
    fold_spring_pressed: Annotated[RuleRow, "swell.fold_spring.pressed"]
    fold_spring_unpressed: Annotated[RuleRow, "swell.fold_spring.unpressed"]
    swell_ratio_accepted: Annotated[RuleRow, "swell.ratio.accepted"]
    two_on_singly: Annotated[RuleRow, "swell.two_on.singly"]
    creep_factor: Annotated[RuleRow, "creep.kappa"]
    # sections
    section_squeezed: Annotated[RuleRow, "section.thickness.usual"]
    section_limit: Annotated[RuleRow, "section.thickness_limit.normal"]
    section_limit_soft: Annotated[RuleRow, "section.thickness_limit.bulky"]
    sheets_usual: Annotated[RuleRow, "section.sheets.usual"]
    pamphlet_sheets_hand: Annotated[RuleRow, "section.single.limit.hand"]
    pamphlet_sheets_machine: Annotated[RuleRow, "section.single.limit.machine"]
    # covers
    square: Annotated[RuleRow, "square.common"]
    overhang: Annotated[RuleRow, "cover.overhang"]
    long_stitch_extra: Annotated[RuleRow, "cover.long_stitch.extra"]
    turn_in: Annotated[RuleRow, "turn_in.common"]
    turn_in_soft: Annotated[RuleRow, "turn_in.vaughn_soft"]
    gap: Annotated[RuleRow, "joint.gap.common"]
    quarter_show: Annotated[RuleRow, "turn_in.quarter_show"]
    side_paper_overlap: Annotated[RuleRow, "turn_in.side_paper.vaughn"]
    mitre_over_board: Annotated[RuleRow, "mitre.common"]
    lining_side: Annotated[RuleRow, "lining.side.common"]
    lining_short: Annotated[RuleRow, "lining.short.roberts"]
    spine_narrowest: Annotated[RuleRow, "spine_piece.narrowest"]
    spine_inlay: Annotated[RuleRow, "spine_piece.inlay.roberts"]
    endpaper_leaves: Annotated[RuleRow, "endpaper.leaves"]
    endpaper_short: Annotated[RuleRow, "endpaper.trim.common"]
    interfacing_clearance: Annotated[RuleRow, "interfacing.clearance"]
    round_angle: Annotated[RuleRow, "rounding.third.zaehnsdorf"]
    shoulder_over_board: Annotated[RuleRow, "backing.shoulder.overall"]
    turn_in_lap: Annotated[RuleRow, "turn_in.lap.least"]
    # what hands can make
    page_least: Annotated[RuleRow, "page.side.microminiature"]
    page_most: Annotated[RuleRow, "page.side.atlas"]
    block_most: Annotated[RuleRow, "block.thickness.extra"]
    # trimming
    clean_cut: Annotated[RuleRow, "trim.clean_cut.common"]
    head_tail_trim: Annotated[RuleRow, "trim.head_tail"]
    # sewing by machine
    pitch: Annotated[RuleRow, "machine.pitch.common"]
    stitch: Annotated[RuleRow, "machine.stitch.common"]
    stitch_coated: Annotated[RuleRow, "machine.stitch.coated"]
    under_needle_limit: Annotated[RuleRow, "machine.under_needle.limit"]
    needle_common: Annotated[RuleRow, "machine.needle.common"]
    needle_eye: Annotated[RuleRow, "thread.needle_eye"]
    needle_eye_share: Annotated[RuleRow, "machine.needle.eye"]
    machine_end: Annotated[RuleRow, "stations.machine.ends_common"]
    machine_end_single: Annotated[RuleRow, "stations.machine.ends"]
    paper_left_least: Annotated[RuleRow, "perforation.least_left"]
    thread_tail: Annotated[RuleRow, "thread_length.tail"]
    # sewing by hand
    kettle: Annotated[RuleRow, "stations.kettle.cockerell"]
    pamphlet_end_most: Annotated[RuleRow, "stations.pamphlet.max"]
    pamphlet_five_from: Annotated[RuleRow, "stations.height.switch"]
    pamphlet_thread_extra: Annotated[RuleRow, "thread_length.pamphlet.extra"]
    long_stitch_end: Annotated[RuleRow, "stations.long_stitch.half"]
    hand_stations: Annotated[RuleRow, "stations.count.vaughn"]
    board_edge: Annotated[RuleRow, "stations.link_stitch.board"]
    thread_all_along: Annotated[RuleRow, "thread_length.all_along"]
    tape_side: Annotated[RuleRow, "tape.side.common"]
    tape_width: Annotated[RuleRow, "tape.width.canada"]
    tapes_small: Annotated[RuleRow, "tape.count.canada_small"]
    tapes_medium: Annotated[RuleRow, "tape.count.canada_medium"]
    tapes_large: Annotated[RuleRow, "tape.count.canada_large"]

    @classmethod
    def of(cls, look_up: Callable[[str], RuleRow]) -> Practice:
        """Return the practice whose every field is look_up(rule id)."""
        return cls(**{name: look_up(rule_id) for name, rule_id in cls.rule_ids().items()})

    @classmethod
    def rule_ids(cls) -> dict[str, str]:
        """Return field name to rule id."""
        hints = get_type_hints(cls, include_extras=True)
        return {name: get_args(hint)[1] for name, hint in hints.items() if get_origin(hint) is Annotated}

    def watched(self) -> Watched:
        """Return the same practice, remembering from now on which of its rows are asked for."""
        return Watched(**{name: getattr(self, name) for name in self.rule_ids()})

    def with_own(self, own: Mapping[str, float]) -> Practice:
        """Return the practice with some fields replaced by the maker's own figures, in the rows' units."""
        known = self.rule_ids()
        for name in own:
            if name not in known:
                raise BadInput(f'"{name}" is not an allowance', expected="one of " + ", ".join(known))
        rows = {n: RuleValue(n, None, not_negative(v, n.replace("_", " ")), None, OWN) for n, v in own.items()}
        return replace(self, **rows)

    def flattening_of(self) -> Distribution:
        """Return the flattening φ, even over its range; only finished books tell soft paper from hard."""
        return even(self.flattening)

    def pressing_of(self, measured_in_block: bool = False) -> Distribution:
        """Return the pressing factor k: even over its range, or 1 for a caliper measured in the block."""
        return spread(self.pressing_given) if measured_in_block else even(self.pressing_factor)

    def fold_spring_of(self, pressed: bool = True) -> Distribution:
        """Return what a fold adds by its own spring, mm a section."""
        return spread(self.fold_spring_pressed if pressed else self.fold_spring_unpressed)

    def section_limit_mm(self, surface: str = "mixed") -> float:
        """Return the thickest closed section that the trade's handbook allows, mm."""
        return number(self.section_limit_soft if surface == "soft" else self.section_limit)


@dataclass(frozen=True, kw_only=True)
class Watched(Practice):
    """A practice that remembers which of its rows were asked for: `seen`, field to row, in order of first asking."""

    seen: dict[str, RuleRow] = field(default_factory=dict, repr=False)

    def __getattribute__(self, name: str) -> Any:
        """Return an attribute; note it when it is a row."""
        found = super().__getattribute__(name)
        if name in _FIELDS:
            super().__getattribute__("seen")[name] = found
        return found


_FIELDS = frozenset(Practice.rule_ids())
