"""A planned book in a bookbinder's words: facts with ranges, parts with their sums, sewing, shopping, steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from matref.bench.lengths import dimension, in_units, units_of
from matref.book.steps import EVERYWHERE
from matref.cli.entry import size
from matref.cli.text import labelled, ranged, shortened, supports
from matref.quantities.formatting import format_length

if TYPE_CHECKING:
    from matref.book.plan_result import Plan
    from matref.book.structures.parts import Chain, Part
    from matref.planning import Candidate, Comparison, PlannedBook
    from matref.planning.shopping import Need

_MOVED_MM = 0.25
"""Parts that the spine moves by less than this either way, half a ruler's division in all, need not wait for it."""
_CELL = 26


def as_text(found: PlannedBook, preference: str) -> str:
    """Say the whole plan."""
    made = found.plan
    book, sections, spine = made.wanted, made.sections, made.spine
    page = size([book.page_width_mm, book.page_height_mm], preference)
    sheet = size([made.sheet.width_mm, made.sheet.height_mm], preference)
    rows: list[tuple[str, str | Sequence[str]]] = [
        ("Book", f"{found.title}: {book.structure}, page {page}, {sections.pages} pages"),
        (
            "Sections",
            [
                f"{sections.sections} of {sections.sheets_per_section} sheets, cut to {sheet} before folding",
                *sections.reasons,
            ],
        ),
        ("Paper", f"{made.paper}, {ranged(found.caliper_um, 'um', preference)} a sheet"),
        ("Spine", ranged(spine.spine_mm, "mm", preference, sure=True)),
        ("Fore-edge", ranged(spine.fore_edge_mm, "mm", preference)),
        ("In its cover", f"{ranged(made.closed_mm, 'mm', preference)} near the fore-edge, without adhesive"),
        ("Swell", f"{ranged(spine.swell_mm, 'mm', preference)}; most doubt: {spine.biggest_cause}"),
        ("Creep", _creep(made, preference)),
        ("Warning", [in_units(line, units_of(preference)) for line in found.warnings]),
        ("Cut", [line for part in in_order(made.parts) for line in _part(part, preference)]),
        ("Cut last", _last(made.parts, preference)),
        ("Lay out", _layouts(found.needs, preference)),
        ("Sew", _sewing(made, preference)),
        ("Needs", needs(found)),
        ("Cost", "" if found.cost is None else found.cost.words),
        ("Weight", f"{ranged(found.weight_g, 'g')}, without adhesive"),
        ("Side by side", [] if found.comparison is None else as_table(found.comparison, preference).splitlines()),
        ("Steps", _steps(made)),
        ("Assumed", list(found.assumed)),
        ("Note", list(found.notes)),
        ("Rests on", supports(found.rests_on)),
        ("Caution", [*_cautions(made, *EVERYWHERE), "more: matref find --kind caution"]),
    ]
    return labelled(rows)


def in_order(parts: Iterable[Part]) -> list[Part]:
    """Return the parts in order of cutting: those that can be cut now, then those to cut after sewing."""
    return sorted(parts, key=lambda part: part.cut_when != "now")


def as_table(comparison: Comparison, preference: str) -> str:
    """Say candidates side by side, one column each; one that cannot be made says why below."""
    made = [one for one in comparison.candidates if one.book is not None]
    heads = [("", [shortened(one.name, _CELL) for one in made])]
    rows = [*heads, *((what, [shortened(words(one, preference), _CELL) for one in made]) for what, words in _COLUMNS)]
    widths = [max(len(row[1][i]) for row in rows) for i in range(len(made))]
    margin = max(len(what) for what, _ in rows)
    lines = [
        "  ".join([what.ljust(margin), *(cell.ljust(w) for cell, w in zip(cells, widths, strict=True))]).rstrip()
        for what, cells in (rows if made else [])
    ]
    for one in comparison.candidates:
        said = one.book.warnings if one.book is not None else (f"cannot be made: {one.refused}",)
        lines += [f"{one.name}: {words}" for words in said]
    return "\n".join(lines)


def _spine(one: Candidate, preference: str) -> str:
    return "" if one.book is None else ranged(one.book.plan.spine.spine_mm, "mm", preference)


def _swell(one: Candidate, preference: str) -> str:  # noqa: ARG001 - one signature for all columns
    if one.book is None:
        return ""
    ratio = one.book.plan.spine.swell_ratio
    return f"{100 * ratio.value:.0f} % ({100 * ratio.low:.0f} to {100 * ratio.high:.0f})"


def _sections(one: Candidate, preference: str) -> str:  # noqa: ARG001
    if one.book is None:
        return ""
    sections = one.book.plan.sections
    return f"{sections.sections} of {sections.sheets_per_section}, {sections.pages} pages"


def _cloth(one: Candidate, preference: str) -> str:
    need = None if one.book is None else one.book.need("cloth")
    if need is None:
        return "none"
    return ", ".join(f"{part.count} of {size([part.width_mm, part.length_mm], preference)}" for part in need.parts)


def _money(one: Candidate, preference: str) -> str:  # noqa: ARG001
    if one.book is None or one.book.cost is None:
        return "no prices"
    least = "at least " if one.book.cost.unpriced else ""
    return f"{least}{one.book.cost.total:.2f} {one.book.cost.currency}".rstrip()


def _weight(one: Candidate, preference: str) -> str:  # noqa: ARG001
    return "" if one.book is None else ranged(one.book.weight_g, "g")


def _thread(one: Candidate, preference: str) -> str:  # noqa: ARG001
    return "" if one.book is None else one.book.plan.stitching.thread


def _paper(one: Candidate, preference: str) -> str:  # noqa: ARG001
    return "" if one.book is None else one.book.plan.paper


_COLUMNS = (
    ("paper", _paper),
    ("thread", _thread),
    ("sections", _sections),
    ("spine", _spine),
    ("swell", _swell),
    ("cloth", _cloth),
    ("cost", _money),
    ("weight", _weight),
)


def _creep(made: Plan, preference: str) -> str:
    trim = format_length(made.fore_edge_trim_mm, preference, u_mm=0.1)
    creep = ranged(made.spine.creep_mm, "mm", preference)
    return f"{creep} before trimming; the fore-edge trim takes {trim} off the innermost leaf"


def _part(part: Part, preference: str) -> list[str]:
    """Say a part with the two sums that make its size, so that a pencil can redo them."""
    dimensions = size([part.width_mm, part.height_mm], preference)
    allowance = in_units(part.allowance, units_of(preference))
    head = f"{part.count} x {part.name}, {dimensions}, grain {part.grain}: {part.material}; {allowance}"
    lines = [head]
    for side, chain in (("width", part.width_chain), ("height", part.height_chain)):
        if len(chain) > 1:
            lines.append(f"  {side}: {_sum(chain, preference)}")
    lines += [f"  mark: {label} {format_length(mm, preference, u_mm=0.1)}" for label, mm in part.marks]
    return lines


def _sum(chain: Chain, preference: str) -> str:
    """Say a chain as a sum.

    >>> _sum((("turn-in", 17.0), ("board", 97.0), ("clearance", -2.0)), "mm")
    '17.0 turn-in + 97.0 board - 2.0 clearance = 112.0 mm'
    """
    words = ""
    for label, mm in sorted(chain, key=lambda link: link[1] < 0):
        sign = " - " if mm < 0 else " + " if words else ""
        words += f"{sign}{_bare(abs(mm), preference)} {label}"
    return f"{words} = {_bare(sum(mm for _, mm in chain), preference)} {preference}"


def _bare(mm: float, preference: str) -> str:
    """A length for a sum: tenths of a millimetre, thousandths of an inch, so that it comes out on paper."""
    return f"{mm:.1f}" if preference == "mm" else f"{mm / 25.4:.3f}"


def _last(parts: Iterable[Part], preference: str) -> list[str]:
    """Say which parts wait for the sewn spine and why, and which cover its doubt though cut before."""
    lines = []
    for part in in_order(parts):
        if part.moved_by_spine_mm < _MOVED_MM:
            continue
        ends = [
            format_length(mm, preference, u_mm=part.moved_by_spine_mm) for mm in (part.width_low_mm, part.width_high_mm)
        ]
        span = f"{ends[0].removesuffix(' ' + preference)} to {ends[1]}"
        if part.cut_when == "after sewing":
            lines.append(f"{part.name}: after sewing, from the back as measured, for it may come out {span} wide")
        else:
            lines.append(f"{part.name}: needed before sewing, so cut for the thick end of {span} and trimmed later")
    return lines


def _layouts(needs: Iterable[Need], preference: str) -> list[str]:
    lines = []
    for need in needs:
        for layout in need.layouts():
            lines.append(
                f"{need.role} from {layout['piece']}, {layout['length_mm']:.0f} x {layout['width_mm']:.0f} mm:"
            )
            lines += [f"  {cut}" for cut in layout["cuts"]] or ["  used whole"]
    return [in_units(line, units_of(preference)) for line in lines]


def needs(found: PlannedBook) -> list[str]:
    """Say what the book takes of each material: off the shelf, to buy, or only its size where neither is known."""
    lines = [f"paper: {found.paper.words}"]
    for need in found.needs:
        words = [f"off the shelf, {', '.join(layout['piece'] for layout in need.on_shelf)}"] if need.on_shelf else []
        words += [f"buy {need.buy.words}"] if need.buy else []
        sizes = {part.name: f"{part.width_mm:.0f} x {part.length_mm:.0f} mm" for part in need.parts}
        words += [f"{count} of {sizes[name]} for {name}" for name, count in need.open]
        lines += [f"{need.role}: {'; '.join(words)}", *(f"  {note}" for note in need.notes)]
    tape = [] if found.tape is None else [f"tape: {found.tape.words}"]
    return [*lines, f"thread: {found.thread.words}", *tape]


def _sewing(made: Plan, preference: str) -> list[str]:
    stitching = made.stitching

    def lengths(values: Iterable[float]) -> str:
        if preference == "in":
            return ", ".join(format_length(v, "in", finest=64).removesuffix(" in") for v in values) + " in"
        return ", ".join(dimension(value + 0.0, "mm") for value in values) + " mm"

    units = units_of(preference)
    lines = [in_units(f"{stitching.thread}; {stitching.needle}", units)]
    if stitching.stitch_mm:
        left = "" if stitching.paper_left is None else f", leaving {100 * stitching.paper_left:.0f} % of the paper"
        lines.append(f"stitch {format_length(stitching.stitch_mm, preference)}{left} between the holes")
    if stitching.order:
        lines.append(
            f"lines from the spine's centre (front negative), in the order of sewing: {lengths(stitching.order)}"
        )
        lines.append(f"seam from the head: {lengths(stitching.seam_mm)}")
    if stitching.stations_mm:
        lines.append(f"stations from the head of the page: {lengths(stitching.stations_mm)}")
    if stitching.board_stations_mm:
        lines.append(f"holes in the boards from the head of the board: {lengths(stitching.board_stations_mm)}")
    layers = ", ".join(f"{name} {format_length(mm, preference, u_mm=0.03)}" for name, mm in stitching.layers)
    lines.append(f"under the needle {format_length(stitching.under_needle_mm, preference, u_mm=0.03)}: {layers}")
    return [*lines, *(in_units(note, units) for note in stitching.notes)]


def _steps(made: Plan) -> list[str]:
    """Say what to do, with the cautions of a step where its kind of work first occurs."""
    lines, told = [], {"general"}
    for number, step in enumerate(made.steps, 1):
        lines.append(f"{number}. {step.do}")
        if step.caution not in told:
            told.add(step.caution)
            lines += [f"caution: {line}" for line in _cautions(made, step.caution)]
    return lines


def _cautions(made: Plan, *kinds: str) -> list[str]:
    return [caution.text for kind in kinds for caution in made.cautions if caution.step == kind]
