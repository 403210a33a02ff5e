"""Swell: how much thicker the spine is than the fore-edge, because of thread, guards and springy folds."""

from __future__ import annotations

from matref.book.block import section_thickness_mm
from matref.book.check import count, not_negative, positive, share
from matref.errors import BadInput

SEWINGS = {"all-along": 1.0, "two-on": 0.5, "machine": 1.0}
"""Thread thicknesses that lie in each fold, by kind of sewing; they follow from the path of the thread."""


def threads_per_fold(sewing: str) -> float:
    """Thread thicknesses m in each section's fold: 1 all along, 1/2 two-on, 1 machine-sewn through the cover.

    Exact: two-on shares one thread between two sections; a machine's other thread lies outside the cover.

    >>> threads_per_fold("two-on")
    0.5
    """
    try:
        return SEWINGS[sewing]
    except (KeyError, TypeError):
        raise BadInput(
            f"sewing is {repr(sewing)[:40]}", expected="one of " + ", ".join(SEWINGS), example="all-along"
        ) from None


def two_on_threads_per_fold(sections: int, singly: int = 0) -> float:
    """Mean threads per fold m when the first and last sections are sewn all along and the rest two-on.

    N sections; a of them sewn singly. Formula m = (a + (N - a)/2) / N. Exact; an odd section left over
    between the pairs should be counted in a.

    >>> two_on_threads_per_fold(12, singly=4)
    0.6666666666666666
    """
    total, alone = count(sections, "sections", 12), count(singly, "sections sewn singly", 4, least=0)
    if alone > total:
        raise BadInput(f"{alone} sections sewn singly of {total}", expected=f"at most {total}", example="4")
    return (alone + (total - alone) / 2) / total


def sewn_singly(sections: int, wanted: int) -> int:
    """Sections of a two-on book that are sewn all along: those wanted, one more where an odd one would be left over.

    All of them where no pair is left. Exact: counting.

    >>> sewn_singly(8, 2), sewn_singly(9, 2), sewn_singly(3, 2)
    (2, 3, 3)
    """
    total, alone = count(sections, "sections", 12), count(wanted, "sections sewn singly", 2, least=0)
    return total if total - alone < 2 else alone + (total - alone) % 2


def swell_mm(
    sections: int,
    thread_mm: float,
    flattening: float,
    threads_per_fold: float = 1.0,
    guards_mm: float = 0.0,
    fold_mm: float = 0.0,
) -> float:
    """Swell of the spine over the fore-edge, mm.

    N sections; d thread diameter, mm; φ flattening, the share of d that is still thickness after nipping,
    0 to 1; m threads per fold; guards, mm in all (a strip q thick folded round a section adds 2·q to it);
    f spring of one fold, mm, 0 after hard pressing.
    Formula S = N·m·φ·d + guards + N·f. Model: φ and f are learnt from finished books. Own derivation.

    >>> swell_mm(19, 1.0, 0.5)
    9.5
    """
    per_section = (
        not_negative(threads_per_fold, "threads per fold", 1)
        * share(flattening, "flattening", 0.6)
        * positive(thread_mm, "thread diameter, mm", 0.5)
    ) + not_negative(fold_mm, "spring of a fold, mm")
    return count(sections, "sections", 5) * per_section + not_negative(guards_mm, "guards, mm")


def swell_ratio(
    sheets_per_section: int,
    leaf_um: float,
    thread_mm: float,
    flattening: float,
    threads_per_fold: float = 1.0,
) -> float:
    """Swell as a share of the block's thickness, without guards, endpapers or springy folds; no unit.

    s sheets in a section; t leaf thickness, given in µm; d, φ, m as for the swell.
    Formula R = m·φ·d / (2·s·t), the same for any number of sections. Exact consequence of the swell model.

    >>> round(swell_ratio(4, 100, 0.5, 0.4), 3)
    0.25
    """
    swell = swell_mm(1, thread_mm, flattening, threads_per_fold)
    return swell / section_thickness_mm(sheets_per_section, leaf_um)


def thread_for_ratio_mm(
    ratio: float,
    sheets_per_section: int,
    leaf_um: float,
    flattening: float,
    threads_per_fold: float = 1.0,
) -> float:
    """Thread diameter, mm, that gives a wanted swell ratio R.

    Formula d = R·2·s·t / (m·φ), the swell ratio turned round. Exact consequence of the swell model.

    >>> round(thread_for_ratio_mm(0.25, 4, 100, 0.5), 2)
    0.4
    """
    hold = positive(share(flattening, "flattening", 0.6), "flattening", 0.6)
    threads = positive(threads_per_fold, "threads per fold", 1)
    wanted = positive(ratio, "swell ratio", 0.25)
    return wanted * section_thickness_mm(sheets_per_section, leaf_um) / (threads * hold)
