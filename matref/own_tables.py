"""What the tables of a workshop file mean that no data file describes: a person's own, and the fitted model's.

Names, types and what may be empty come from the schema itself; here stand only the meanings, and the units that a
column's name does not end in. The tests hold the two together.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Mapping
from contextlib import closing
from typing import NamedTuple

from matref.database import open_memory, run_script
from matref.estimator.store import SCHEMA as MODEL
from matref.migrations import MIGRATIONS

_TYPES = {"TEXT": "string", "INTEGER": "integer", "REAL": "number"}
_ENDINGS = {"_mm": "mm", "_um": "um", "_g": "g", "_gsm": "g/m2"}
_MOMENT = "date and time in UTC, to the microsecond (ISO 8601)"
_WEIGHTED = "a whole number of 1e-8"
_ID = "Id, 12 letters and digits as matref makes it, or one that came with an imported table."


class Column(NamedTuple):
    """A column: its name, type (string, integer, number), unit ("" for none), whether it may be empty, its meaning."""

    name: str
    type: str
    unit: str
    required: bool
    meaning: str


class OwnTable(NamedTuple):
    """A table or view with its meaning and columns; `personal`: what a person put there, which no edition replaces."""

    name: str
    meaning: str
    columns: tuple[Column, ...]
    personal: bool


class _Words(NamedTuple):
    """The meaning of a table; of each column, with its unit after a bar where its name does not end in it."""

    meaning: str
    columns: Mapping[str, str]


_SAMPLE = _Words(
    "Samples: what was measured of each pile, as typed and as understood.",
    {
        "id": _ID,
        "label": "Name that the person gave it.",
        "class_id": "Its row of material_class; empty where none or several are named.",
        "pile_id": "The pile it belongs to: the id of the pile's first sample. Samples of one pile count once.",
        "note": "The person's note; private.",
        "measured_on": "Day of the measurement (ISO 8601).",
        "added_at": f"When it was added: {_MOMENT}.",
        "changed_at": f"When it was last edited: {_MOMENT}.",
        "withdrawn_at": f"When it was withdrawn: {_MOMENT}; empty while it counts.",
        "as_typed": "The evidence as typed, JSON: field to text.",
        "observations": "What it says of log grammage and log caliper, JSON: one object for each observation.",
        "label_gsm": "Grammage printed on the paper or its wrapper.",
        "width_mm": "Width of the sheets weighed.",
        "height_mm": "Height of the sheets weighed.",
        "sheets": "Sheets weighed together. | sheets",
        "mass_g": "What they weigh.",
        "scale_resolution_g": "Smallest step of the scale.",
        "stack_sheets": "Sheets whose thickness was measured together. | sheets",
        "stack_mm": "Thickness of that stack.",
        "stack_resolution_mm": "Step in which it was read.",
        "measured_with": "ruler, vernier or micrometer; empty is a ruler.",
        "held": "How the stack was held: hand, clamped or gauge; empty is by hand, under a micrometer in the gauge.",
        "book_pages": "Pages of a bound book of this paper. | pages",
        "book_thickness_mm": "Thickness of its closed text block.",
        "book_mass_g": "What the book weighs.",
        "grammage_gsm": "Grammage that this sample's measurements alone make; empty where they say nothing of it.",
        "grammage_u_gsm": "Standard uncertainty of it (JCGM 100:2008).",
        "caliper_um": "Caliper that this sample's measurements alone make; empty where they say nothing of it.",
        "caliper_u_um": "Standard uncertainty of it (JCGM 100:2008).",
    },
)
_HISTORY = _Words(
    "Samples as they stood before each edit.",
    {
        "sample_id": "The sample.",
        "version": "Number of the version, from 1.",
        "label": "Its name then.",
        "pile_id": "The pile it belonged to then.",
        "note": "The note then; private.",
        "measured_on": "Day of the measurement as it stood then (ISO 8601).",
        "as_typed": "The evidence as typed then, JSON: field to text.",
        "changed_at": f"Since when it stood so: {_MOMENT}.",
        "replaced_at": f"Until when: {_MOMENT}.",
    },
)
_PILE_LINE = _Words(
    "Piles of samples as the class lines count them: one statement for each pile that names one class and tells both "
    "grammage and caliper.",
    {
        "pile_id": "The pile.",
        "class_id": "Its row of material_class.",
        "x": "Log of its grammage over 80 g/m².",
        "y": "Log of its caliper in µm.",
        "own_variance": "Variance of y about the class line that comes from measuring.",
        "w": f"Its weight, 1 over the variance of measuring and of products together: {_WEIGHTED}.",
        "wx": f"Weight times x: {_WEIGHTED}.",
        "wy": f"Weight times y: {_WEIGHTED}.",
        "wxx": f"Weight times x squared: {_WEIGHTED}.",
        "wxy": f"Weight times x times y: {_WEIGHTED}.",
    },
)
_TOTAL = _Words(
    "Sums over the piles of each class, kept by triggers, so that a withdrawn sample leaves no trace.",
    {
        "class_id": "The row of material_class.",
        "count": "Number of piles. | piles",
        "w": f"Sum of weights: {_WEIGHTED}.",
        "wx": f"Sum of wx: {_WEIGHTED}.",
        "wy": f"Sum of wy: {_WEIGHTED}.",
        "wxx": f"Sum of wxx: {_WEIGHTED}.",
        "wxy": f"Sum of wxy: {_WEIGHTED}.",
    },
)
_READING = _Words(
    "Stacks as measured, of the samples that count, with the way in which each was held.",
    {
        "id": "The sample.",
        "pile_id": "Its pile.",
        "stack_sheets": "Sheets measured together. | sheets",
        "stack_mm": "Thickness of the stack.",
        "stack_resolution_mm": "Step in which it was read.",
        "measured_with": "ruler, vernier or micrometer; empty is a ruler.",
        "way": "hand, clamped or gauge; single for one sheet.",
    },
)
_BOTH_WAYS = _Words(
    "Piles that were measured by hand and by a better way too, from which a person's own hold is learnt.",
    {"pile_id": "The pile."},
)
_FINISHED = _Words(
    "Finished books: what they are made of, what was predicted and what was measured.",
    {
        "id": _ID,
        "label": "Name that the person gave it.",
        "note": "The person's note; private.",
        "measured_on": "Day of the measurement (ISO 8601).",
        "added_at": f"When it was entered: {_MOMENT}.",
        "withdrawn_at": f"When it was withdrawn: {_MOMENT}; empty while it teaches.",
        "sheets_per_section": "Sheets in one section. | sheets",
        "sections": "Number of sections. | sections",
        "endpaper_leaves": "Leaves of endpaper that count into the thickness. | leaves",
        "sewing": "all-along, two-on or machine.",
        "pressing": "pressed, nipped or unpressed.",
        "thread": "The thread as typed.",
        "thread_name": "The thread as understood.",
        "thread_fibre": "Its row of fibre; empty text where it is not known.",
        "thread_mm": "Diameter of the thread, loose.",
        "thread_u_mm": "Standard uncertainty of it.",
        "paper": "What was known of the paper, as typed, JSON: field to text.",
        "paper_key": "What books of the same paper have in common.",
        "surface": "How the paper takes thread: soft, hard or mixed.",
        "caliper_um": "Caliper of its paper, as estimated when the book was entered.",
        "caliper_u_um": "Standard uncertainty of it.",
        "measured_with": "ruler, vernier or micrometer.",
        "fore_edge_mm": "Thickness of the bare block at the fore-edge, before rounding; empty where not measured.",
        "fore_edge_u_mm": "Standard uncertainty of it.",
        "spine_mm": "Thickness of the bare block at the spine, before rounding; empty where not measured.",
        "spine_u_mm": "Standard uncertainty of it.",
        "predicted": "Fore-edge and spine as predicted when it was entered, JSON: value, low, high in mm, level.",
        "plan": "The book's plan file as read, JSON; empty where none was given.",
    },
)
_STOCK = _Words(
    "The shelf: piles of leaves, remnants of cloth, boards, card.",
    {
        "id": _ID,
        "label": "Name that the person gave it.",
        "material": "What it is for: paper, cloth, interfacing, card, board, endpaper, mull or lining.",
        "width_mm": "First side of a piece, as typed.",
        "height_mm": "Second side of a piece.",
        "count": "Number of pieces left. | pieces",
        "grain": "The side along which grain or warp runs: long, short, none or unknown.",
        "price": "Price of one piece; private. | the person's own currency",
        "sample": "The sample that is of this pile.",
        "entry": "Its id in the catalogue.",
        "note": "The person's note; private.",
        "added_at": f"When it was put on the shelf: {_MOMENT}.",
        "removed_at": f"When the last piece was taken off: {_MOMENT}; empty while there are any.",
    },
)
_INFO = _Words(
    "Facts about the file: edition and licence of the data, when the catalogue was compiled and in which format.",
    {"key": "Name of the fact.", "value": "The fact."},
)
_SETTING = _Words(
    "A person's settings, such as machine_limit_mm: what their machine sews through, mm.",
    {"key": "Name of the setting.", "value": "Its value, as text."},
)
_FAMILY = _Words(
    "The fit of each family of materials. Standard deviations are of the natural logarithm of the caliper.",
    {
        "family": "paper, board or cloth.",
        "product_sd": "Scale of one product's departure from its class line.",
        "tail": "Degrees of freedom of Student's t about the line.",
        "nodes": "The t distribution as normal components, JSON: weight and factor on the scale.",
        "class_sd": "Standard deviation of class intercepts about the common line.",
        "slope_sd": "Standard deviation of class slopes; 0 where all share one.",
        "group_sd": "Standard deviation of source groups.",
        "series_sd": "Standard deviation of series within a class.",
        "kind_sd": "Residual standard deviation by kind of reading, JSON.",
        "criterion": "REML log-likelihood at the fit.",
        "readings": "Readings used. | readings",
        "statements": "What they say, calculated series made one each. | statements",
    },
)
_LINE = _Words(
    "The line of each class: log caliper (µm) is intercept + slope · x, x the log of grammage over 80 g/m².",
    {
        "class_id": "The row of material_class.",
        "family": "paper, board or cloth.",
        "intercept": "Mean log caliper (µm) at 80 g/m².",
        "slope": "Rise of log caliper with log grammage.",
        "var_intercept": "Variance of the intercept.",
        "cov": "Covariance of intercept and slope.",
        "var_slope": "Variance of the slope.",
        "log_grammage_mean": "Where the class lies before anything is measured: mean log grammage (g/m²).",
        "log_grammage_sd": "Standard deviation of that.",
        "gsm_low": "Least grammage of its readings; empty without readings. | g/m2",
        "gsm_high": "Greatest grammage of its readings; empty without readings. | g/m2",
        "readings": "Readings of the class that the fit uses. | readings",
        "sources": "Source groups that they come from. | source groups",
    },
)
_PERSONAL: Mapping[str, _Words] = {
    "sample": _SAMPLE,
    "sample_history": _HISTORY,
    "stack_reading": _READING,
    "finished_book": _FINISHED,
    "stock": _STOCK,
    "setting": _SETTING,
    "pile_line": _PILE_LINE,
    "sample_total": _TOTAL,
    "held_both_ways": _BOTH_WAYS,
    "info": _INFO,
}
_FITTED: Mapping[str, _Words] = {"model_family": _FAMILY, "model_line": _LINE}


def own_tables() -> tuple[OwnTable, ...]:
    """Return the personal tables and views, then the fitted model's, with every column as the schema has it."""
    with closing(open_memory()) as connection:
        for step in MIGRATIONS:
            if isinstance(step, str):
                run_script(connection, step)
            else:
                step(connection)
        run_script(connection, MODEL)
        return tuple(
            OwnTable(name, words.meaning, tuple(_columns(connection, name, words)), words is _PERSONAL.get(name))
            for name, words in (*_PERSONAL.items(), *_FITTED.items())
        )


def _columns(connection: sqlite3.Connection, table: str, words: _Words) -> list[Column]:
    found = []
    for row in connection.execute('SELECT name, type, "notnull", pk, dflt_value FROM pragma_table_info(?)', (table,)):
        name = row["name"]
        meaning, _, unit = (part.strip() for part in words.columns[name].partition("|"))
        ending = next((end for end in _ENDINGS if name.endswith(end)), "")
        # Text that is never NULL but '' without being given may be empty all the same.
        required = bool(row["notnull"] or row["pk"]) and row["dflt_value"] is None
        kind = _TYPES.get(row["type"], "string")  # what a view works out has no type
        found.append(Column(name, kind, unit or _ENDINGS.get(ending, ""), required, meaning))
    return found
