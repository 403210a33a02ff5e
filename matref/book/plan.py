"""The whole book on paper: sections, spine, cover, sewing, cutting and steps from one description of what is wanted.

Pure: no file, no database. What is wanted and what it is made of come in as `PlanInput`, every rule of thumb as a
`Practice`. Unwise plans carry warnings and impossible ones are refused, each in one sentence with the nearest plan
that works.
"""

from __future__ import annotations

from dataclasses import replace

from matref.book.believable import page_doubts, thickness_doubts, turn_in_doubts
from matref.book.case_checks import case_doubts
from matref.book.check import positive
from matref.book.creep import least_trim_mm, page_loss_mm
from matref.book.endpapers import free_leaves
from matref.book.hand_sewing import by_hand
from matref.book.leaf_supply import Sheet, Supply, sheet_to_cut, supply
from matref.book.plan_checks import against_pile, may_be_sewn, pitch_warnings, rounding_deg
from matref.book.plan_input import PlanInput
from matref.book.plan_result import Plan
from matref.book.practice import Watched
from matref.book.rule_row import least, number, spread
from matref.book.sections import Sections, Wanted, choose, machine_sheets
from matref.book.spine import Limits, Sewing, SpineResult, spine
from matref.book.steps import EVERYWHERE, steps
from matref.book.stitching import Stitching, by_machine
from matref.book.structures import Structure, structure
from matref.book.structures.parts import Block, Cover
from matref.book.structures.sides import sides
from matref.book.tape_sewing import TIPPED, endpaper_folds, fewest_all_along, settled
from matref.book.text_block import Text, closed_mm
from matref.errors import BadInput
from matref.estimator.distribution import Distribution
from matref.estimator.estimate import Estimate

Layers = tuple[tuple[str, float], ...]


def plan(asked: PlanInput) -> Plan:
    """Return the plan of a book.

    Intervals are central at `asked.level`; parts that have to cover the spine are cut for its high end, so the chance
    that they do is (1 + level)/2.
    """
    rules, practice = asked.practice, asked.practice.watched()
    asked = replace(asked, practice=practice)
    book = asked.book
    made = structure(book.structure)
    positive(book.page_width_mm, "page width, mm", 100)
    positive(book.page_height_mm, "page height, mm", 150)
    may_be_sewn(made, asked.sewing.by)
    layers = _cover_layers(made, asked.cover)
    most = _most_sheets(asked, sum(thickness for _, thickness in layers))
    sections, stock = _sections(asked, made, most)
    wish, two_on_said = settled(asked.sewing.wish, sections.sections, practice)
    asked = replace(asked, sewing=replace(asked.sewing, wish=wish))
    text = _text(asked, made, sections)
    result = _spine(asked, made, text, most)
    sheets = sections.sheets_per_section
    leaf = _scaled(result.section_mm, 1000 / (2 * sheets))
    sheet = _sheet(asked, sheets, leaf.high)
    pitch = _pitch(asked, made, result)
    block = Block(
        book.page_width_mm,
        book.page_height_mm,
        sheets,
        sections.sections,
        result.spine_mm,
        result.arc_mm,
        result.section_mm,
        result.closed_section_mm,
        pitch or 0.0,
        sheet.width_mm / 2 - book.page_width_mm,
        (sheet.height_mm - book.page_height_mm) / 2,
    )
    parts = made.parts(block, asked.cover, practice)
    stitching = _stitching(asked, made, block, layers)
    flush = made.name == "pamphlet" and number(practice.overhang) == 0
    work = steps(
        made.name,
        asked.sewing.by,
        head_tail=book.trim_head_tail,
        flush=flush,
        cut_last=[part.name for part in parts if part.cut_when == "after sewing"],
        tipped=wish.endpapers == TIPPED,
    )
    kinds = {step.caution for step in work} | set(EVERYWHERE)
    return Plan(
        wanted=book,
        paper=asked.paper.name,
        sections=sections,
        spine=result,
        leaf_um=leaf,
        closed_mm=closed_mm(text, sides(made.name, asked.cover), 1 if made.case else 0, asked.level),
        pitch_mm=pitch,
        sheet=sheet,
        fore_edge_trim_mm=least_trim_mm(sheets, leaf.high, number(practice.clean_cut)),
        page_loss_mm=page_loss_mm(sheets, leaf.value),
        supply=stock,
        parts=parts,
        stitching=stitching,
        steps=work,
        cautions=tuple(row for row in asked.cautions if row.step in kinds),
        rests_on=_rests_on(asked, practice),
        warnings=(
            *sections.warnings,
            *(stock.warnings if stock else ()),
            *result.warnings,
            *two_on_said,
            *case_doubts(made, block, asked.cover, rules),
            *_pitch_warnings(asked, made, pitch, result),
            *stitching.warnings,
            *page_doubts(book.page_width_mm, book.page_height_mm, rules),
            *thickness_doubts(result.spine_mm, sections.sections, rules),
            *turn_in_doubts(made, asked.cover, rules),
        ),
    )


def _cover_layers(made: Structure, cover: Cover) -> Layers:
    """The layers of the cover that the needle goes through, from the inside out."""
    if not made.through_cover:
        return ()
    return tuple((layer.name, layer.thickness_mm) for layer, _ in sides(made.name, cover))


def _pressing(asked: PlanInput) -> Distribution:
    learnt = asked.paper.pressing
    return asked.practice.pressing_of(asked.paper.in_block) if learnt is None else learnt


def _sheet(asked: PlanInput, sheets: int, leaf_um: float) -> Sheet:
    book, practice = asked.book, asked.practice
    ends = number(practice.head_tail_trim) if book.trim_head_tail else 0.0
    cut = number(practice.clean_cut)
    return sheet_to_cut(book.page_width_mm, book.page_height_mm, sheets, leaf_um, cut, ends)


def _most_sheets(asked: PlanInput, cover_mm: float) -> int | None:
    """Sheets that go under the needle with the cover, for the thick end of what the paper may be; None by hand."""
    if asked.sewing.by != "machine":
        return None
    thick = asked.paper.caliper_um.quantile((1 + asked.level) / 2)
    return machine_sheets(thick, cover_mm, number(asked.practice.under_needle_limit))


def _sections(asked: PlanInput, made: Structure, most: int | None) -> tuple[Sections, Supply | None]:
    book, paper, practice = asked.book, asked.paper, asked.practice
    pile = paper.pile
    if book.whole_pile and (pile is None or pile.leaves is None):
        raise BadInput("the whole pile is wanted, but it is not counted", expected="the number of leaves in the pile")
    leaf = paper.caliper_um.quantile(0.5) * _pressing(asked).quantile(0.5)
    thick = paper.caliper_um.quantile((1 + asked.level) / 2)
    single = made.name == "pamphlet"
    wanted = Wanted(
        sections=1 if single and not (book.pages or book.whole_pile or book.sections) else book.sections,
        pages=book.pages,
        sheets_per_section=book.sheets_per_section,
        odd=made.name == "soft-cover",
        most_sheets=most,
        single=single,
    )

    def stock(sheets: int) -> Supply | None:
        if pile is None:
            return None
        return supply(pile, _sheet(asked, sheets, thick), book.page_width_mm, book.page_height_mm)

    if book.whole_pile:
        first = stock(book.sheets_per_section or round(number(practice.sheets_usual)))
        wanted = replace(wanted, pile_sheets=first.available if first else None)
    found = choose(wanted, leaf, practice, paper.surface, paper.sheets_rule)
    from_pile = stock(found.sheets_per_section)
    return (found, None) if from_pile is None else (against_pile(found, from_pile), from_pile)


def _text(asked: PlanInput, made: Structure, sections: Sections) -> Text:
    paper = asked.paper
    return Text(
        sections.sheets_per_section,
        sections.sections,
        paper.caliper_um,
        _pressing(asked),
        endpaper_leaves=free_leaves(number(asked.practice.endpaper_leaves)) if made.case else 0,
        endpaper_um=paper.endpaper_um if made.case else None,
    )


def _spine(asked: PlanInput, made: Structure, text: Text, most: int | None) -> SpineResult:
    paper, sewing, practice = asked.paper, asked.sewing, asked.practice
    flattening = practice.flattening_of() if paper.flattening is None else paper.flattening
    thread = Sewing(
        sewing.thread_mm,
        flattening,
        "machine" if sewing.by == "machine" else sewing.wish.kind,
        sewing.wish.singly or 0,
        practice.fold_spring_of(asked.book.pressed),
        endpaper_folds(sewing.wish) if made.case else 0,
    )
    limits = Limits(float("inf"), float("inf"))
    if made.name != "pamphlet":  # both limits speak of sections sewn to each other
        limits = replace(
            Limits.of(practice, paper.surface), sheets=float("inf") if most is None else most, two_on=made.two_on
        )
        if made.two_on:
            limits = replace(limits, singly=fewest_all_along(practice))
    return spine(
        text,
        thread,
        limits,
        rounding_deg=rounding_deg(made, asked.book, practice),
        creep_factor=spread(practice.creep_factor),
        level=asked.level,
    )


def _pitch(asked: PlanInput, made: Structure, result: SpineResult) -> float | None:
    """Distance of sewing lines: the maker's or the rule's for a soft cover; for long stitch one section; else none."""
    if made.name == "soft-cover":
        return number(asked.practice.pitch) if asked.sewing.pitch_mm is None else asked.sewing.pitch_mm
    if made.name == "long-stitch":
        return result.closed_section_mm.high if asked.sewing.pitch_mm is None else asked.sewing.pitch_mm
    return None


def _stitching(asked: PlanInput, made: Structure, block: Block, layers: Layers) -> Stitching:
    sewing, practice = asked.sewing, asked.practice
    sheets = block.sheets_per_section * asked.paper.caliper_um.quantile(0.5) / 1000
    under = ((f"{block.sheets_per_section} sheets", sheets), *layers)
    thread = sewing.thread_mm.quantile(0.5)
    if sewing.by == "machine":
        return by_machine(block, under, sewing.thread, thread, sewing.needles, sewing.wish, practice)
    board = asked.cover.board.thickness_mm if asked.cover.board else 0.0
    return by_hand(made.name, block, under, sewing.thread, thread, sewing.needles, sewing.wish, practice, board)


def _pitch_warnings(asked: PlanInput, made: Structure, pitch: float | None, result: SpineResult) -> tuple[str, ...]:
    if made.name != "soft-cover" or result.sections == 1:
        return ()
    practice = asked.practice
    return pitch_warnings(pitch, result, practice.section_limit_mm(asked.paper.surface), least(practice.pitch))


def _rests_on(asked: PlanInput, practice: Watched) -> tuple[tuple[str, str], ...]:
    """Rule and source of every row that was asked for on the way, each once."""
    rows = list(practice.seen.values())
    if asked.paper.sheets_rule is not None and asked.book.sheets_per_section is None:
        rows.append(asked.paper.sheets_rule)
    return tuple(dict.fromkeys((row.rule_id, row.source_id) for row in rows))


def _scaled(estimate: Estimate, factor: float) -> Estimate:
    return Estimate(estimate.value * factor, estimate.low * factor, estimate.high * factor, estimate.level)
