"""What a sheet of work says, apart from how it is laid out: one content for the PDF and for the HTML page."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from matref.bench.board_view import board
from matref.bench.cover_view import capital, cover, cover_part
from matref.bench.drawing import Drawing
from matref.bench.layout_view import layouts
from matref.bench.lengths import Plain, Units, dimension, half_range, in_units, length, ranged, size, thin
from matref.bench.parts_view import parts
from matref.bench.section_view import block, section
from matref.bench.sewing_view import lines, stations
from matref.bench.strips import Strip, strips
from matref.book.steps import EVERYWHERE

_MINUS = "\N{MINUS SIGN}"


@dataclass(frozen=True, slots=True)
class PartRow:
    """A line of the cutting list, in the order of cutting: texts for each column."""

    name: str
    material: str
    size: str
    made_of: str
    grain: str
    when: str


@dataclass(frozen=True, slots=True)
class StepRow:
    """A step: what to do, the cautions at it, or the number of the step at which they were given."""

    number: int
    do: str
    kind: str
    cautions: tuple[str, ...]
    see: int | None


@dataclass(frozen=True, slots=True)
class SheetOfWork:
    """All of a sheet of work; drawings by name, layouts apart with their cuts in words."""

    title: str
    subtitle: str
    facts: tuple[tuple[str, str], ...]
    parts: tuple[PartRow, ...]
    steps: tuple[StepRow, ...]
    general: tuple[str, ...]
    warnings: tuple[str, ...]
    needs: tuple[str, ...]
    rests_on: tuple[str, ...]
    drawings: tuple[Drawing, ...]
    layouts: tuple[tuple[Drawing, tuple[str, ...]], ...]
    strips: tuple[Strip, ...]

    def drawing(self, name: str) -> Drawing | None:
        """Return a drawing by its name, None when this book has none of that kind."""
        return next((drawing for drawing in self.drawings if drawing.name == name), None)


def sheet_of_work(plan: Plain, units: Units) -> SheetOfWork:
    """Return the content of the sheet for a plan's plain values."""
    book, made = plan["text_block"], plan["sections"]
    structure = str(book["structure"]).replace("-", " ")
    title = str(plan.get("title") or "").strip()
    page = size(float(book["page_width_mm"]), float(book["page_height_mm"]), units)
    named_so = title if title not in ("", "plan", str(book["structure"])) else structure
    subtitle = f"{structure}, page {page}, {made['pages']} pages"
    drawn = (cover(plan, units), section(plan, units), block(plan, units), parts(plan, units))
    sewn = (lines(plan, units), stations(plan, units), board(plan, units))
    return SheetOfWork(
        capital(named_so),
        subtitle,
        tuple(_facts(plan, units)),
        tuple(_part(part, units, part is not cover_part(plan)) for part in _in_order(plan["cover"]["parts"])),
        tuple(_steps(plan)),
        tuple(str(row["text"]) for kind in EVERYWHERE for row in plan["cautions"] if row["step"] == kind),
        tuple(in_units(str(said), units) for said in plan["warnings"]),
        tuple(in_units(need, units) for need in _needs(plan)),
        tuple(_rests_on(plan)),
        tuple(drawing for drawing in (*drawn, *sewn) if drawing is not None),
        tuple(layouts(plan, units)),
        tuple(strips(plan, units)),
    )


def _facts(plan: Plain, units: Units) -> Iterator[tuple[str, str]]:
    book, made, spine, stitching = plan["text_block"], plan["sections"], plan["spine"], plan["stitching"]
    sheets = made["sheets_per_section"]
    yield (
        "Sections",
        f"{made['count']} of {sheets} sheet{'s' * (sheets != 1)}, {made['sheets']} sheets, {made['pages']} pages",
    )
    yield (
        "Sheet to cut",
        f"{size(float(book['sheet_width_mm']), float(book['sheet_height_mm']), units)}, grain along the spine",
    )
    if plan["cutting"].get("sheets_per_leaf"):
        cutting = plan["cutting"]
        waste = f"{100 * cutting['waste_share']:.0f} % waste"
        yield (
            "From the pile",
            f"{cutting['sheets_per_leaf']} to a leaf, spine along its {cutting['spine_along']}; "
            f"{cutting['leaves_needed']} leaves needed, {waste}",
        )
    single = f", {ranged(book['caliper_um'], 'um', units)} a sheet" if "caliper_um" in book else ""
    yield "Paper", f"{book['paper']}{single}; leaf in the block {ranged(book['leaf_um'], 'um', units)}"
    yield "Fore-edge", ranged(spine["fore_edge_mm"], "mm", units)
    yield "In its cover", f"{ranged(plan['cover']['closed_mm'], 'mm', units)} near the fore-edge, without adhesive"
    yield "Spine", f"{ranged(spine['spine_mm'], 'mm', units)}; most doubt: {spine['biggest_cause']}"
    yield "Swell", f"{ranged(spine['swell_mm'], 'mm', units)}, {100 * spine['swell_ratio']['value']:.0f} % of the block"
    if spine["arc_mm"]["value"] > spine["spine_mm"]["value"] + 1e-6:
        yield "Over the back", ranged(spine["arc_mm"], "mm", units)
    creep = plan["creep"]
    yield (
        "Creep",
        f"{ranged(creep['creep_mm'], 'mm', units)}; trim {length(float(creep['fore_edge_trim_mm']), units)} off the "
        "innermost leaf for a clean edge",
    )
    much = length_of_thread(float(stitching["thread_length_mm"]), units)
    sewing = in_units(f"{stitching['thread']}, {much}; {stitching['needle']}", units)
    if stitching["stitch_mm"] is not None:
        sewing += f"; stitch {length(float(stitching['stitch_mm']), units)}"
    yield "Thread, needle", sewing
    if stitching["order"]:
        said = ", ".join(signed(float(line), units) for line in stitching["order"])
        yield "Lines in order", f"{said} {units} from the spine's centre ({_MINUS}: towards the front)"
    if stitching["stations_mm"]:
        said = ", ".join(dimension(float(mm), units) for mm in stitching["stations_mm"])
        yield "Stations", f"{said} {units} from the trimmed head"
    if stitching["board_stations_mm"]:
        said = ", ".join(dimension(float(mm), units) for mm in stitching["board_stations_mm"])
        edge = length(float(stitching["board_edge_mm"]), units)
        yield "Holes in the boards", f"{said} {units} from the board's head, {edge} from its spine edge"
    layers = " + ".join(f"{layer['layer']} {thin(float(layer['mm']), units)}" for layer in stitching["layers"])
    total = f" = {thin(float(plan['under_needle_mm']), units)}" if len(stitching["layers"]) > 1 else ""
    yield "Under the needle", f"{layers}{total} {units}"
    if stitching["notes"]:
        yield "Sewing", in_units("; ".join(stitching["notes"]), units)
    if "weight_g" in plan:
        yield "Weight", ranged(plan["weight_g"], "g", "mm")


def signed(mm: float, units: Units) -> str:
    """Return a place on the spine: front of the centre negative.

    >>> signed(-4.0, "mm"), signed(0.0, "mm")
    ('−4', '0')
    """
    return (_MINUS if mm < 0 else "") + dimension(abs(mm), units)


def length_of_thread(mm: float, units: Units) -> str:
    """Return a length of thread, in metres or yards, to a tenth.

    >>> length_of_thread(2202, "mm"), length_of_thread(2202, "in")
    ('2.2 m', '2.4 yd')
    """
    return f"{mm / 1000:.1f} m" if units == "mm" else f"{mm / 914.4:.1f} yd"


def _in_order(listed: Sequence[Plain]) -> list[Plain]:
    """Return the parts in the order of cutting: what is cut now, then what waits for the sewn back."""
    return sorted(listed, key=lambda part: part["cut_when"] != "now")


def _part(part: Plain, units: Units, chains: bool) -> PartRow:
    half = half_range(part)
    text = size(float(part["width_mm"]), float(part["height_mm"]), units, half)
    if half > 0.25:
        low, high = (dimension(float(part[f"width_{end}_mm"]), units, half) for end in ("low", "high"))
        text += f" (width {low} to {high})"
    made = f"{_sum(part['width_chain'], units)} by {_sum(part['height_chain'], units)}. " if chains else ""
    return PartRow(
        f"{part['count']} × {part['name']}",
        str(part["material"]),
        text,
        f"{made}{in_units(capital(str(part['allowance'])), units)}.",
        str(part["grain"]),
        str(part["cut_when"]),
    )


def _sum(chain: Sequence[Plain], units: Units) -> str:
    """Write a chain as a sum: "100 page + 3 square"."""
    text = ""
    for entry in chain:
        mm = float(entry["mm"])
        joint = ("" if mm >= 0 else _MINUS) if not text else (" + " if mm >= 0 else f" {_MINUS} ")
        text += f"{joint}{dimension(abs(mm), units)} {entry['label']}"
    return text


def _steps(plan: Plain) -> Iterator[StepRow]:
    """Each step with the cautions of its kind the first time; later ones point back to it."""
    given: dict[str, int] = {}
    for number, step in enumerate(plan["steps"], 1):
        kind = str(step["caution"])
        said = tuple(str(row["text"]) for row in plan["cautions"] if kind and row["step"] == kind)
        see = given.get(kind)
        if said and see is None:
            given[kind] = number
        yield StepRow(number, str(step["do"]), kind, said if see is None else (), see)


def _needs(plan: Plain) -> Iterator[str]:
    for line in plan["shopping"]:
        if not line.get("buy") and not line.get("from_shelf") and not line.get("not_covered"):
            continue
        words = []
        if line["from_shelf"]:
            words.append("from the shelf: " + ", ".join(dict.fromkeys(line["from_shelf"])))
        if line["buy"]:
            words.append("to buy: " + str(line["buy"]["words"]))
        if line["not_covered"]:
            words.append("still to find: " + ", ".join(f"{p['count']} × {p['name']}" for p in line["not_covered"]))
        yield f"{line['material']}: {'; '.join(words)}"
    if plan.get("cost"):
        yield f"cost {plan['cost']['words']}"


def _rests_on(plan: Plain) -> Iterator[str]:
    """Name everything that the plan rests on: a rule with its source, or a support of another kind."""
    for row in plan["rests_on"]:
        if "rule" in row:
            yield f"{row['rule']} ({row['source']})"
        else:
            sources = f" ({', '.join(row['sources'])})" if row["sources"] else ""
            yield f"{row['what']}{sources}"
    yield from (str(said) for said in plan.get("assumed", ()))
