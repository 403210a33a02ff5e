"""From a plan file to a planned book: read, look up, plan, lay out, add up."""

from __future__ import annotations

import math
import sqlite3
from collections.abc import Mapping
from dataclasses import replace

from matref.book.leaves import leaves_needed
from matref.book.needles import hand_doubts
from matref.book.plan import plan
from matref.book.plan_input import BookWish, PaperKnown, PlanInput
from matref.book.plan_result import Plan
from matref.book.practice import Practice
from matref.catalogue.grades import sheet_sizes
from matref.errors import BadInput
from matref.estimator.assumptions import Rules
from matref.estimator.estimate import Estimate
from matref.estimator.support import Support
from matref.planning.cover import Covering, covering
from matref.planning.document import Document, Source, Values, read_document
from matref.planning.learnt import with_learnt
from matref.planning.look_ups import cautions, practice_of
from matref.planning.material import Material, Materials, Scaled
from matref.planning.paper import PlanPaper, plan_paper
from matref.planning.planned import Cost, PlannedBook
from matref.planning.sewing import PlanSewing, plan_sewing
from matref.planning.shelf import Piece, Shelf, shelf
from matref.planning.shopping import Need, Purchase, by_role, need, tape_purchase, thread_purchase
from matref.planning.text_paper import TextPaper, text_paper
from matref.planning.too_small import too_small
from matref.planning.washing import Washing, washing
from matref.planning.weight import text_area_m2, weight_g

_MANY = 500


def plan_file(connection: sqlite3.Connection, source: Source) -> PlannedBook:
    """Return the book that a plan file (a path) or a mapping of the same shape asks for.

    Candidates under [[compare]] are planned too and set beside it. BadInput in one line for what makes no sense.
    """
    document = read_document(source, sheet_sizes(connection))
    made = planned(connection, document)
    if not document.candidates:
        return made
    from matref.planning.compare import beside

    return replace(made, comparison=beside(connection, made, document.candidates))


def planned(connection: sqlite3.Connection, document: Document) -> PlannedBook:
    """Return the book of one document."""
    book = _book(document.book)
    level = document.book.number("level") or 0.9
    rules = Rules(connection)
    practice = practice_of(connection, rules, document)
    paper = plan_paper(connection, document, rules, level)
    sewing = plan_sewing(connection, book.structure, document.sewing)
    cover = covering(book.structure, document.cover, Materials(connection, rules), paper.material)
    learnt, lessons = with_learnt(connection, paper.known, sewing.thread, book.pressed)
    known = _with_endpaper(learnt, cover)
    asked = PlanInput(
        book=book,
        paper=known,
        cover=cover.cover,
        sewing=sewing.wish,
        practice=practice,
        cautions=cautions(connection),
        level=level,
    )
    made = _with_needle(plan(asked), sewing, practice)
    stock = _with_pile(shelf(connection, document, cover.materials), paper, made, cover)
    off_bolt = {bolt.role for bolt in stock.bolts}
    needs = tuple(
        need(material, parts, stock, washing(connection, rules, material) if material.role in off_bolt else Washing())
        for material, parts in by_role(made.parts, cover.materials)
    )
    leaves = text_paper(made, paper)
    thread = thread_purchase(made.stitching.thread_length_mm, sewing.thread.name, stock)
    used = _used(cover.materials, made)
    tape = None if made.stitching.tapes is None else tape_purchase(made.stitching.tapes, stock)
    text_m2 = text_area_m2(book.page_width_mm, book.page_height_mm, 2 * made.sections.sheets)
    thread_g = (sewing.thread.tex or 0.0) * made.stitching.thread_length_mm / 1e6
    weight, weights = weight_g(text_m2, paper.material, by_role(made.parts, cover.materials), thread_g, level)
    return PlannedBook(
        title=document.book.text("title") or document.name,
        plan=made,
        caliper_um=Estimate.of(known.caliper_um, level),
        materials=used,
        needs=needs,
        paper=leaves,
        thread=thread,
        tape=tape,
        cost=_cost(needs, leaves, (thread, tape), stock),
        weight_g=weight,
        weights=weights,
        level=level,
        supports=(*_supports(paper, sewing, used), *(one for n in needs for one in n.rests_on), *lessons),
        assumed=tuple(filter(None, (sewing.assumed, *(m.assumed for m in used.values())))),
        notes=tuple(f"{key} has no use in a {book.structure}" for key in cover.unused),
        warnings=(*paper.warnings, *made.warnings, *too_small(asked, made, needs, stock)),
    )


def _book(values: Values) -> BookWish:
    for key, example in (("structure", '"soft-cover"'), ("page_width_mm", "100"), ("page_height_mm", "150")):
        if key not in values:
            raise BadInput(f"book.{key}: is missing", expected="it below [book]", example=f"{key} = {example}")
    extent = [key for key in ("sections", "pages", "use") if key in values]
    single = values.text("structure") == "pamphlet"
    if len(extent) > 1 or (not extent and not single):
        wrong = " and ".join(extent) + " are given" if extent else "sections: is missing"
        raise BadInput(
            f"book.{wrong}" if not extent else f"book: {wrong}",
            expected="one of sections, pages, or use",
            example="sections = 5",
        )
    width, height = values.mm("page_width_mm"), values.mm("page_height_mm")
    return BookWish(
        structure=values.text("structure") or "",
        page_width_mm=width or 0.0,
        page_height_mm=height or 0.0,
        sections=values.whole("sections"),
        pages=values.whole("pages"),
        whole_pile="use" in values,
        sheets_per_section=values.whole("sheets_per_section"),
        trim_head_tail=values.flag("trim_head_tail", False),
        pressed=values.flag("pressed", True),
        rounding_deg=values.number("rounding_deg"),
    )


def _with_endpaper(known: PaperKnown, cover: Covering) -> PaperKnown:
    """Give the book its endpapers' thickness where they are not of the text's own paper."""
    endpaper = cover.materials.get("endpaper")
    if endpaper is None or endpaper.name == known.name:
        return known
    return replace(known, endpaper_um=Scaled(endpaper.thickness_mm, 1000.0))


def _with_needle(made: Plan, sewing: PlanSewing, practice: Practice) -> Plan:
    """Put the hand needle that the maker named in its place; say when it will not take the thread."""
    if sewing.needle is None or sewing.wish.by == "machine":
        return made
    said = hand_doubts(sewing.needle, sewing.thread.diameter_mm.quantile(0.5), practice)
    stitching = replace(made.stitching, needle=sewing.needle.name)
    return replace(made, stitching=stitching, warnings=(*made.warnings, *said))


def _with_pile(stock: Shelf, paper: PlanPaper, made: Plan, cover: Covering) -> Shelf:
    """Let endpapers of the text's own paper come out of the pile's leaves that the text leaves over."""
    pile, endpaper = paper.known.pile, cover.materials.get("endpaper")
    if pile is None or made.supply is None or endpaper is None or endpaper.name != paper.known.name:
        return stock
    taken = leaves_needed(made.sections.sheets, made.supply.turn)
    left = _MANY if pile.leaves is None else pile.leaves - taken
    if left < 1:
        return stock
    piece = Piece("endpaper", f"leaf of {paper.known.name}", pile.long_mm, pile.short_mm, left, pile.grain, paper.price)
    return replace(stock, pieces=(*stock.pieces, piece))


def _cost(
    needs: tuple[Need, ...], leaves: TextPaper, by_length: tuple[Purchase | None, ...], stock: Shelf
) -> Cost | None:
    """Return what it costs; None when there is no price in the whole plan. by_length: thread, and tape if there is."""
    bought = [one for one in (*(n.buy for n in needs), leaves.buy, *by_length) if one is not None]
    from_shelf = sum(n.shelf_cost for n in needs) + (leaves.pile_cost or 0.0)
    shelf_priced = any(piece.price is not None for piece in stock.pieces) or leaves.pile_cost is not None
    if not shelf_priced and all(purchase.cost is None for purchase in bought):
        return None
    unpriced = [purchase.what for purchase in bought if purchase.cost is None and purchase is not leaves.buy]
    unpriced += [name for n in needs for name in n.unpriced]
    unpriced += [n.material for n in needs if n.open]
    unpriced += [leaves.what] if leaves.cost is None else []
    to_buy = math.fsum(purchase.cost or 0.0 for purchase in bought)
    return Cost(to_buy, from_shelf, stock.currency, tuple(dict.fromkeys(unpriced)))


def _used(materials: Mapping[str, Material], made: Plan) -> Mapping[str, Material]:
    """Return the materials that something is cut from: a back may be too narrow for a spine piece or a lining."""
    names = {part.material for part in made.parts}
    return {role: material for role, material in materials.items() if material.name in names}


def _supports(paper: PlanPaper, sewing: PlanSewing, used: Mapping[str, Material]) -> tuple[Support, ...]:
    thread = sewing.thread
    of_cover = [
        support
        for material in used.values()
        if material.role != "endpaper" or material.name != paper.known.name
        for support in material.rests_on
    ]
    return (*paper.material.rests_on, Support("thread", thread.name, thread.source_ids), *of_cover)
