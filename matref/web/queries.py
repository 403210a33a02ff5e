"""The ready queries of the shelf: questions that makers ask, answered in SQL that anybody may read and change.

Every parameter may be left empty. Numbers come as text from the page, so they are cast; a decimal comma is a point.
"""

from __future__ import annotations

from typing import Any


def _number(name: str, otherwise: str) -> str:
    """Return the SQL of a typed number, or of `otherwise` where nothing was typed."""
    return f"coalesce(cast(nullif(trim(replace(:{name}, ',', '.')), '') as real), {otherwise})"


def _says(column: str, name: str) -> str:
    """Return the SQL test that a column holds the typed words (all rows where nothing was typed)."""
    return f"instr(lower({column}), lower(trim(:{name}))) > 0 or trim(:{name}) = ''"


_THICKNESS = f"""\
select
  material_class.name as class,
  reading.description,
  reading.grammage_gsm as "grammage (g/m²)",
  reading.caliper_um as "caliper (µm)",
  round(reading.caliper_um / reading.grammage_gsm, 3) as "bulk (cm³/g)",
  round(caliper_um(reading.class_id, reading.grammage_gsm), 1) as "estimate for the class (µm)",
  reading.kind,
  source.title as source,
  source.year
from reading
join material_class on material_class.id = reading.class_id
join source on source.id = reading.source_id
where ({_says("material_class.name || ' ' || coalesce(material_class.synonyms, '')", "class")})
  and reading.grammage_gsm between {_number("grammage_from_gsm", "0")} and {_number("grammage_to_gsm", "1e9")}
order by reading.grammage_gsm, reading.caliper_um"""

_BOARDS = f"""\
select name, kind, "trade number", "thickness from (mm)", "thickness (mm)", "thickness to (mm)",
  "grammage (g/m²)", "as printed", source
from boards
where coalesce("thickness (mm)", "thickness to (mm)", "thickness from (mm)")
    >= {_number("thinnest_mm", "0")}
  and coalesce("thickness (mm)", "thickness from (mm)", "thickness to (mm)")
    <= {_number("thickest_mm", "1e9")}
order by coalesce("thickness (mm)", "thickness from (mm)"), name"""

_THREADS = f"""\
select * from (
  select
    thread.name,
    thread.tex as "linear density (tex)",
    round(coalesce(thread.diameter_low_mm, thread.diameter_mm,
      sqrt(4 * thread.tex / (pi() * fibre.yarn_density_high_g_cm3 * 1000))), 3) as "diameter from (mm)",
    round(coalesce(thread.diameter_mm, (thread.diameter_low_mm + thread.diameter_high_mm) / 2,
      sqrt(4 * thread.tex / (pi() * fibre.yarn_density_g_cm3 * 1000))), 3) as "diameter (mm)",
    round(coalesce(thread.diameter_high_mm, thread.diameter_mm,
      sqrt(4 * thread.tex / (pi() * fibre.yarn_density_low_g_cm3 * 1000))), 3) as "diameter to (mm)",
    coalesce(thread.diameter_how, 'worked out from tex and the fibre''s yarn density') as "how it was found",
    source.title as source
  from thread
  left join fibre on fibre.id = thread.fibre_id
  join source on source.id = thread.source_id
)
where "diameter to (mm)" >= {_number("thinnest_mm", "0")}
  and "diameter from (mm)" <= {_number("thickest_mm", "1e9")}
order by "diameter (mm)", name"""

_SEEN = """name || ' ' || "how to recognise it" || ' ' || coalesce(uses, '')"""
_NAMED = """name || ' ' || coalesce("other names", '')"""

_LOOKS = f"""\
select name as class, "how to recognise it", uses, surface, readings, "grammage from (g/m²)", "grammage to (g/m²)",
  "bulk from (cm³/g)", "bulk to (cm³/g)"
from papers
where {_says(_SEEN, "words")}
order by name"""

_NEEDLES = f"""\
select needle.name, needle.for_use as "for", needle.number, needle.blade_mm as "blade (mm)",
  needle.blade_max_mm as "blade to (mm)", needle.suits, needle.flag, source.title as source
from needle
join source on source.id = needle.source_id
where coalesce(needle.blade_max_mm, needle.blade_mm) >= {_number("thinnest_mm", "0")}
  and needle.blade_mm <= {_number("thickest_mm", "1e9")}
  and ({_says("coalesce(needle.suits, '') || ' ' || needle.name || ' ' || needle.for_use", "suits")})
order by needle.blade_mm, needle.name"""

_SHEETS = f"""\
select name, "other names", system, period, "width (mm)", "height (mm)", "as printed", flag, source
from sheet_sizes
where {_says(_NAMED, "name")}
order by name, "width (mm)" """

_RULES = f"""\
select topic, "applies to", name, "from", value, "to", unit, statement, confidence, source
from rules
where ({_says("topic", "topic")}) and ({_says("coalesce(statement, '') || ' ' || name", "words")})
order by topic, name"""

_QUESTIONS: tuple[tuple[str, str, str, str], ...] = (
    (
        "thickness",
        "How thick is paper of a class and grammage?",
        "Published readings beside what the class line says at the same grammage. "
        "Leave a box empty to see all; the class may be part of a name, such as “copier”.",
        _THICKNESS,
    ),
    (
        "boards_by_thickness",
        "Which boards are about this thick?",
        "Boards whose thickness, or range of it, touches the two ends, in mm.",
        _BOARDS,
    ),
    (
        "threads_by_diameter",
        "Which threads are about this thick?",
        "Diameters in mm: as stated where somebody measured, else from tex and the density of the yarn, "
        "d = √(4·tex / (π·ρ)), whose range is the doubt.",
        _THREADS,
    ),
    (
        "what_a_class_looks_like",
        "What does a class of paper look like?",
        "Words that hand and eye find: grey, rattles, translucent, a use, or a name.",
        _LOOKS,
    ),
    (
        "needles_by_thickness",
        "Which needle has a blade this thick, and what does it suit?",
        "Blade in mm. A needle for paper leaves a hole about as wide as its blade.",
        _NEEDLES,
    ),
    (
        "sheet_sizes_by_name",
        "How large is a sheet of that name?",
        "One name has often had several sizes; the system and period tell them apart.",
        _SHEETS,
    ),
    ("rules_by_topic", "What do the rules of practice say?", "A topic such as square, swell or turn-in.", _RULES),
)


def ready_queries() -> dict[str, dict[str, Any]]:
    """Return Datasette's canned queries: name to title, description and SQL."""
    return {
        name: {"title": title, "description": description, "sql": sql, "hide_sql": True}
        for name, title, description, sql in _QUESTIONS
    }
