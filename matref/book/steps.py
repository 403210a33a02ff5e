"""The work in order, step by step, with the kind of caution that each step calls for. Common practice, our words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

CUTTING, IRONING, MACHINE, HAND = "cutting", "ironing", "machine sewing", "hand sewing"
ADHESIVE, OLD = "adhesive", "old cloth and paper"
EVERYWHERE = ("general", "mould", "children")
"""Cautions that belong to the bench rather than to one step."""
CASES = ("flat-back-case", "quarter-case", "rounded-case")
CUT_LAST = ("spine piece", "cloth", "mull", "back lining")
"""Parts of a case that are cut from the sewn back as measured, where it has all of them."""


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do; caution is the `step` of the caution rows that belong to it, "" for none."""

    do: str
    caution: str = ""


_START = (
    Step("Look the material over: old registers worth keeping, mould, staples, bright old colours.", OLD),
    Step("Find the grain of paper, card and cloth and mark it along the spine.", ""),
    Step("Cut the sheets to the size before trimming, all with the grain along the spine.", CUTTING),
    Step("Fold each sheet, nest the sheets into sections and crease with a bone folder.", ""),
    Step("Press the sections flat under a board and weight.", ""),
)
_STROKES = "several light strokes of a sharp blade"
_TRIM = Step(f"Trim the fore-edge square with {_STROKES}.", CUTTING)
_TRIM_ALL = Step(f"Trim the fore-edge square with {_STROKES}, then head and tail.", CUTTING)
_TRIM_IN_COVER = Step(
    "Trim the fore-edge of the pages: fold the sewn-on cover back out of the knife's way, lay a scrap of board under "
    f"the pages, and take {_STROKES}.",
    CUTTING,
)
_TRIM_FLUSH = Step(
    f"Trim the fore-edge: lay the steel edge along the cover's edge and cut the pages level with it, {_STROKES}.",
    CUTTING,
)
_TRIM_HEAD_TAIL_FIRST = Step(
    "Trim head and tail of every section: in its cover the book can no longer be trimmed there.", CUTTING
)
_TRIM_SECTIONS = Step(
    "Knock every section up at its fold and trim its fore-edge: sewn to its boards the book can no longer be trimmed.",
    CUTTING,
)
_TRIM_SECTIONS_ALL = Step(
    "Knock every section up at its fold and trim its fore-edge, then head and tail: sewn to its boards the book can no "
    "longer be trimmed.",
    CUTTING,
)
_MACHINE = {
    "soft-cover": (
        Step(
            "Fuse the interfacing to the wrong side of the cloth, let it cool flat, then cut the cloth to size.",
            IRONING,
        ),
        Step("Cut the card lining and fold the turn-ins of the cloth over it.", CUTTING),
        Step("Draw the sewing lines on the inside of the spine, measured from its centre.", ""),
        Step("Sew a sample of every layer at once and set stitch and tension on it.", MACHINE),
        Step("Open one section on the cover, hold it with clips, and sew its fold on the centre line.", MACHINE),
        Step("Sew the others in the order given, the finished ones folded out of the way.", MACHINE),
        Step("Draw all thread ends to the inside, knot and cut them.", HAND),
        _TRIM_IN_COVER,
    ),
    "pamphlet": (
        Step("Cut the cover and crease its fold.", CUTTING),
        Step("Lay the section in the cover, clip it and sew along the fold at low speed.", MACHINE),
        Step("Draw the thread ends to the inside, knot and cut them.", HAND),
        _TRIM_IN_COVER,
    ),
}
_BARE = "the joints and the bare back"
_PIERCE = "Mark the stations on the folds and pierce them"
_SEWN = (
    Step(f"{_PIERCE}, those of the endpapers too.", HAND),
    Step("Cut the tapes to length.", CUTTING),
    Step("Sew the sections on the tapes in order, an endpaper before the first and after the last.", HAND),
)
_TIPPED = (
    Step(f"{_PIERCE}.", HAND),
    Step("Cut the tapes to length.", CUTTING),
    Step("Sew the sections on the tapes in order.", HAND),
    Step("Tip the endpapers on to the first and last sections: a narrow line of paste along the fold.", ADHESIVE),
)
_ROUNDED = (
    Step("Glue the back thinly and go on while the glue still bends, neither wet nor hard.", ADHESIVE),
    _TRIM,
    Step("Round the back with light blows of a hammer, then back it; let the glue dry.", ADHESIVE),
)
_SIDES = (
    Step("Cut the side papers.", CUTTING),
    Step("Glue the side papers over the edges of the cloth and turn them in.", ADHESIVE),
)
_HAND = {
    "pamphlet": (
        Step("Cut the cover and crease its fold.", CUTTING),
        Step("Pierce section and cover together at the stations and sew from the middle hole.", HAND),
        _TRIM_IN_COVER,
    ),
    "soft-cover": (
        Step(
            "Fuse the interfacing to the wrong side of the cloth, let it cool flat, then cut the cloth to size.",
            IRONING,
        ),
        Step("Cut the card lining and fold the turn-ins of the cloth over it.", CUTTING),
        Step("Pierce the spine along the lines from a template.", HAND),
        Step("Sew one section after another through the spine in the order given.", HAND),
        _TRIM_IN_COVER,
    ),
    "long-stitch": (
        Step("Cut the limp cover and crease it at both sides of the spine.", CUTTING),
        Step("Pierce the spine from a template, one column of holes for each section.", HAND),
        Step("Sew each section straight through the spine, in at one station and out at the next.", HAND),
        _TRIM_IN_COVER,
        Step("Trim the fore-edges of the cover to the overhang, the pages out of the way.", CUTTING),
    ),
    "link-stitch": (
        _TRIM_SECTIONS,
        Step("Cut the boards, their covering and their lining.", CUTTING),
        Step("Glue the covering to the boards, turn it in, and glue the lining over it.", ADHESIVE),
        Step(
            "Pierce the folds at their stations, and the covered boards at theirs: those lie a square further from the "
            "head, all at one distance from the spine edge.",
            HAND,
        ),
        Step(
            "Sew board to first section, then section to section with linked stitches, then the other board.",
            HAND,
        ),
    ),
}


def case_steps(structure: str, cut_last: Sequence[str] = CUT_LAST, *, tipped: bool = False) -> tuple[Step, ...]:
    """Return the steps of a case binding after its sections are pressed.

    cut_last: the parts that wait for the sewn back, by name. tipped: the endpapers are tipped on, else they are sewn.
    """
    names = [name.partition(",")[0] for name in cut_last]
    stiff = next((name for name in names if name.startswith("spine")), "")
    cloth = next((name for name in names if name.startswith("cloth")), "cloth")
    linings = [name for name in names if name in ("mull", "back lining")]
    on_cloth = (
        f"boards and {stiff} on the {cloth} with the joints" if stiff else f"the boards on the {cloth} with {_BARE}"
    )
    beneath = "mull and tapes" if "mull" in linings else "tapes"
    return (
        Step("Cut the endpapers as large as the sheets before trimming, and fold them.", CUTTING),
        *(_TIPPED if tipped else _SEWN),
        *(_ROUNDED if structure == "rounded-case" else (Step("Glue the back and let it dry.", ADHESIVE), _TRIM)),
        Step(f"Measure the back. Then cut {in_a_row(names)} from what you measured.", CUTTING),
        *([Step(f"Glue {in_a_row(linings)} to the back.", ADHESIVE)] if linings else []),
        Step("Cut the boards.", CUTTING),
        Step(f"Lay {on_cloth} between, glue and turn in.", ADHESIVE),
        *(_SIDES if structure == "quarter-case" else ()),
        Step("Cut the endpapers' outer leaves short on three sides.", CUTTING),
        Step(f"Paste the endpapers into the case over {beneath}, and press until dry.", ADHESIVE),
    )


def in_a_row(names: Sequence[str]) -> str:
    """Return names as a list in words.

    >>> in_a_row(["mull"]), in_a_row(["spine piece", "mull", "cloth"])
    ('mull', 'spine piece, mull and cloth')
    """
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def steps(
    structure: str,
    by: str,
    *,
    head_tail: bool = False,
    flush: bool = False,
    cut_last: Sequence[str] = CUT_LAST,
    tipped: bool = False,
) -> tuple[Step, ...]:
    """Return the steps of a structure sewn by "machine" or "hand".

    head_tail: head and tail are trimmed too; before the sewing, where a cover would be in the knife's way. flush: the
    cover is cut as wide as the trimmed pages and is not turned in, so that it guides the knife. cut_last, tipped: of a
    case, see `case_steps`.

    >>> [step.caution for step in steps("pamphlet", "machine")][-3:]
    ['machine sewing', 'hand sewing', 'cutting']
    """
    if structure in CASES:
        work = (*_START, *case_steps(structure, cut_last, tipped=tipped))
    else:
        work = (*_START, *(_MACHINE if by == "machine" else _HAND)[structure])
    if flush:
        work = tuple(_TRIM_FLUSH if step is _TRIM_IN_COVER else step for step in work)
    if not head_tail:
        return work
    if _TRIM in work or _TRIM_SECTIONS in work:
        also = {_TRIM: _TRIM_ALL, _TRIM_SECTIONS: _TRIM_SECTIONS_ALL}
        return tuple(also.get(step, step) for step in work)
    return (*work[: len(_START)], _TRIM_HEAD_TAIL_FIRST, *work[len(_START) :])
