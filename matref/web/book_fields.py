"""The form of a plan, in the order of the bench: the book, its leaves and paper, cover, sewing, pieces.

Every key of a plan file has one field, named `table.key`. What a key is (a length, a count, a choice) is taken from the
planner's own schema, how it is asked for from `book_words`; where a field of the evidence asks for the same thing, its
words are used.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from matref.planning.keys import Key
from matref.planning.schema import PLAN_TABLES, ROLES
from matref.web.asking import Field, Kind
from matref.web.book_words import CHOICES, HINTS, MATERIALS, OF, OFFERS, USUAL, WORDS
from matref.web.fields import EVIDENCE_FIELDS


@dataclass(frozen=True, slots=True)
class Fold:
    """Fields that are seldom needed, folded away under a line that says what they are."""

    summary: str
    fields: tuple[Field, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """What is asked together: a heading, the fields in sight, and the folds."""

    title: str
    fields: tuple[Field, ...]
    folds: tuple[Fold, ...] = ()


_KINDS: Mapping[str, Kind] = {
    "measure": "length",
    "flag": "choice",
    "names": "class",
    "length": "length",
    "thickness": "thickness",
    "mass": "mass",
    "grammage": "grammage",
    "count": "count",
    "number": "number",
    "choice": "choice",
    "size": "size",
}
_PICKED = ("paper.sample", "paper.pile")
_WANTED = ("book.structure", "book.page_width_mm", "book.page_height_mm")


def _fields() -> Iterator[Field]:
    for table in PLAN_TABLES:
        for key in table.keys:
            yield _field(table.path, key)


def _field(table: str, key: Key) -> Field:
    name, stem = f"{table}.{key.name}", f"{table}.{key.stem}"
    if table == "paper" and key.stem in EVIDENCE_FIELDS:
        return replace(EVIDENCE_FIELDS[key.stem], name=name)
    stated = next((n for n in (name, stem) if n in WORDS), "")
    if stated:
        label, example, hint = WORDS[stated]
    else:
        label, example, hint = _of_material(key)
    return Field(
        name,
        label,
        hint,
        example,
        kind="pick" if name in _PICKED else _KINDS.get(key.kind, "text"),
        choices=CHOICES.get(name, ()),
        noun=key.noun or "sheets",
        of=OF.get(name, ""),
        usual=USUAL.get(name, ""),
        named=key.stem if name in _PICKED else "",
        offers=OFFERS.get(name, ""),
        wanted=name in _WANTED,
    )


def _of_material(key: Key) -> tuple[str, str, str]:
    """Return label, example and hint of a material, its thickness or its weight."""
    words = MATERIALS[key.stem]
    if key.kind == "length":
        return f"{words}, how thick", "2.5" if key.stem == "board" else "0.3", ""
    if key.kind == "grammage":
        return f"{words}, how heavy", "", ""
    return words, "", HINTS.get(key.stem, "")


BOOK_FIELDS: dict[str, Field] = {field.name: field for field in _fields()}
"""Every field of a plan, by name, in the order of the plan file."""


def _named(table: str, *names: str) -> tuple[Field, ...]:
    return tuple(BOOK_FIELDS[f"{table}.{name}"] for name in names)


_FIRST_PARTS = ("cloth", "cloth_mm", "card_mm", "board_mm")
_REST_PARTS = tuple(
    f"{role}{end}" for role in ROLES for end in ("", "_mm", "_gsm") if f"{role}{end}" not in _FIRST_PARTS
)
_RULED = tuple(
    field.name.removeprefix("cover.")
    for field in BOOK_FIELDS.values()
    if field.name.startswith("cover.") and field.name.removeprefix("cover.") not in (*_FIRST_PARTS, *_REST_PARTS)
)

BOOK_GROUPS: tuple[Group, ...] = (
    Group(
        "The book",
        _named(
            "book",
            "structure",
            "page_width_mm",
            "page_height_mm",
            "sections",
            "pages",
            "sheets_per_section",
            "title",
        ),
        (
            Fold(
                "Pressing, trimming, rounding",
                _named(
                    "book",
                    "pressed",
                    "trim_head_tail",
                    "clean_cut_mm",
                    "head_tail_trim_mm",
                    "rounding_deg",
                    "level",
                ),
            ),
        ),
    ),
    Group(
        "The leaves you cut it from",
        (*_named("paper", "leaves", "leaf_size", "grain"), *_named("book", "use")),
        (Fold("Torn edges and holes", _named("paper", "edge_mm")),),
    ),
    Group(
        "Its paper",
        _named("paper", "sample", "pile", "class", "grammage_gsm", "caliper_um"),
        (
            Fold(
                "Weigh some sheets, or measure a stack",
                _named(
                    "paper",
                    "size",
                    "sheets",
                    "mass_g",
                    "scale_resolution_g",
                    "stack_sheets",
                    "stack_mm",
                    "with",
                    "held",
                ),
            ),
            Fold(
                "A whole book, or the wrapper of a ream",
                _named(
                    "paper", "book_pages", "book_thickness_mm", "book_mass_g", "cover", "ream_sheets", "ream_mass_g"
                ),
            ),
            Fold("A name for it, and more", _named("paper", "name", "in_block", "price")),
        ),
    ),
    Group(
        "Its cover",
        _named("cover", *_FIRST_PARTS),
        (
            Fold("Other materials, and weights", _named("cover", *_REST_PARTS)),
            Fold("Squares, turn-ins, joints", _named("cover", *_RULED)),
        ),
    ),
    Group(
        "Sewing",
        _named("sewing", "by", "thread", "needle", "machine_limit_mm"),
        (
            Fold(
                "Stitches and stations",
                _named(
                    "sewing",
                    "longest_stitch_mm",
                    "stitch_mm",
                    "pitch_mm",
                    "end_mm",
                    "stations",
                    "two_on",
                    "singly",
                    "endpapers",
                    "coated",
                    "paper_left_least",
                    "thread_tail_mm",
                    "tape_width_mm",
                    "tape_side_mm",
                    "board_edge_mm",
                ),
            ),
        ),
    ),
    Group(
        "Pieces at hand",
        _named("stock", "use_shelf"),
        (Fold("Offcuts and prices", _named("stock", "keep_mm", "blade_mm", "currency")),),
    ),
)
"""The form, as it is laid out."""
