"""The work in order, step by step, with the kind of caution that each step calls for. Common practice, our words."""

from __future__ import annotations

from dataclasses import dataclass

CUTTING, IRONING, MACHINE, HAND = "cutting", "ironing", "machine sewing", "hand sewing"
ADHESIVE, OLD = "adhesive", "old cloth and paper"
EVERYWHERE = ("general", "mould", "children")
"""Cautions that belong to the bench rather than to one step."""


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
_TRIM = Step("Trim the fore-edge square with several light strokes of a sharp blade.", CUTTING)
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
        _TRIM,
    ),
    "pamphlet": (
        Step("Cut the cover and crease its fold.", CUTTING),
        Step("Lay the section in the cover, clip it and sew along the fold at low speed.", MACHINE),
        Step("Draw the thread ends to the inside, knot and cut them.", HAND),
        _TRIM,
    ),
}
_CASE = (
    Step("Mark the stations on the folds and pierce them.", HAND),
    Step("Sew the sections on the tapes, with the endpapers at both ends.", HAND),
    Step("Glue the back and let it dry.", ADHESIVE),
    _TRIM,
)
_CASING = (
    Step("Measure the back. Then cut spine piece, mull, lining and cloth from what you measured.", CUTTING),
    Step("Glue mull and lining to the back.", ADHESIVE),
    Step("Cut the boards.", CUTTING),
    Step("Lay boards and spine piece on the cloth with the joints between, glue and turn in.", ADHESIVE),
    Step("Paste the endpapers into the case and press until dry.", ADHESIVE),
)
_SIDES = (
    Step("Cut the side papers.", CUTTING),
    Step("Glue the side papers over the edges of the cloth and turn them in.", ADHESIVE),
)
_HAND = {
    "pamphlet": (
        Step("Cut the cover and crease its fold.", CUTTING),
        Step("Pierce section and cover together at the stations and sew from the middle hole.", HAND),
        _TRIM,
    ),
    "soft-cover": (
        Step(
            "Fuse the interfacing to the wrong side of the cloth, let it cool flat, then cut the cloth to size.",
            IRONING,
        ),
        Step("Cut the card lining and fold the turn-ins of the cloth over it.", CUTTING),
        Step("Pierce the spine along the lines from a template.", HAND),
        Step("Sew one section after another through the spine in the order given.", HAND),
        _TRIM,
    ),
    "long-stitch": (
        Step("Cut the limp cover and crease it at both sides of the spine.", CUTTING),
        Step("Pierce the spine from a template, one column of holes for each section.", HAND),
        Step("Sew each section straight through the spine, in at one station and out at the next.", HAND),
        _TRIM,
        Step("Trim the fore-edges of the cover.", CUTTING),
    ),
    "link-stitch": (
        Step("Cut the boards, their covering and their lining.", CUTTING),
        Step("Glue the covering to the boards, turn it in, and glue the lining over it.", ADHESIVE),
        Step("Pierce boards and folds at the same stations.", HAND),
        Step(
            "Sew board to first section, then section to section with linked stitches, then the other board.",
            HAND,
        ),
    ),
    "flat-back-case": (*_CASE, *_CASING),
    "quarter-case": (
        *_CASE,
        *_CASING[:-1],
        *_SIDES,
        _CASING[-1],
    ),
    "rounded-case": (
        *_CASE,
        Step(
            "Round the back with light blows of a hammer while the glue is still soft, then back it.",
            ADHESIVE,
        ),
        *_CASING,
    ),
}


def steps(structure: str, by: str) -> tuple[Step, ...]:
    """Return the steps of a structure sewn by "machine" or "hand".

    >>> [step.caution for step in steps("pamphlet", "machine")][-3:]
    ['machine sewing', 'hand sewing', 'cutting']
    """
    return (*_START, *(_MACHINE if by == "machine" else _HAND)[structure])
