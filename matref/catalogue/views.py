"""The views people browse: plain headings with units, sources by title, a few computed columns."""

from __future__ import annotations

from dataclasses import dataclass

from matref.database import quote


@dataclass(frozen=True, slots=True)
class Column:
    """A heading, the SQL it stands for, its unit; `computed` says how, where it is no stored column."""

    heading: str
    sql: str
    unit: str = ""
    computed: str = ""


@dataclass(frozen=True, slots=True)
class View:
    """A view: its name, what it shows, its columns and the rest of its SELECT."""

    name: str
    title: str
    tables: tuple[str, ...]
    columns: tuple[Column, ...]
    rest: str

    def create(self) -> str:
        """Return the CREATE VIEW statement."""
        columns = ",\n  ".join(f"{column.sql} AS {quote(column.heading)}" for column in self.columns)
        return f"CREATE VIEW {quote(self.name)} AS SELECT\n  {columns}\n{self.rest}"


def _stored(prefix: str, columns: str) -> tuple[Column, ...]:
    """Read 'column = heading (unit)' lines; a heading left out is the column's own name."""
    found = []
    for line in columns.strip().splitlines():
        column, _, heading = (part.strip() for part in line.partition("="))
        heading = heading or column
        unit = heading.partition("(")[2].rstrip(")")
        found.append(Column(heading, f"{prefix}.{column}", unit))
    return tuple(found)


_SOURCE = (Column("source", "source.title"),)


def _listing(view: str, table: str, title: str, columns: str) -> View:
    """Return a view of one table with the title of each row's source."""
    rest = f"FROM {table} JOIN source ON source.id = {table}.source_id"
    return View(view, title, (table, "source"), _stored(table, columns) + _SOURCE, rest)


_BULK = Column(
    "bulk (cm³/g)",
    "round(reading.caliper_um / reading.grammage_gsm, 3)",
    "cm³/g",
    "caliper in µm divided by grammage in g/m² (ISO 534)",
)

READINGS = View(
    "readings",
    "Published pairs of grammage and caliper, each with its source",
    ("reading", "material_class", "source"),
    (
        Column("class", "material_class.name"),
        *_stored(
            "reading",
            """description
            grammage_gsm = grammage (g/m²)
            caliper_um = caliper (µm)""",
        ),
        _BULK,
        *_stored(
            "reading",
            """kind
            method
            used_in_fit = used in the fit
            flag""",
        ),
        *_SOURCE,
        Column("year", "source.year"),
    ),
    "FROM reading JOIN material_class ON material_class.id = reading.class_id\n"
    "JOIN source ON source.id = reading.source_id",
)


def _over_readings(heading: str, unit: str, sql: str, how: str) -> Column:
    return Column(f"{heading} ({unit})" if unit else heading, sql, unit, f"{how} the readings used in the fit")


PAPERS = View(
    "papers",
    "Classes of paper: how to know them, and what the readings say of them",
    ("material_class", "reading"),
    (
        *_stored(
            "material_class",
            """name
            recognise = how to recognise it
            uses
            surface""",
        ),
        _over_readings("readings", "", "count(reading.id)", "number of"),
        _over_readings("grammage from", "g/m²", "min(reading.grammage_gsm)", "lowest of"),
        _over_readings("grammage to", "g/m²", "max(reading.grammage_gsm)", "highest of"),
        _over_readings("bulk from", "cm³/g", "round(min(reading.caliper_um / reading.grammage_gsm), 2)", "lowest of"),
        _over_readings("bulk to", "cm³/g", "round(max(reading.caliper_um / reading.grammage_gsm), 2)", "highest of"),
    ),
    "FROM material_class LEFT JOIN reading ON reading.class_id = material_class.id AND reading.used_in_fit = 1\n"
    "WHERE material_class.family = 'paper' GROUP BY material_class.id",
)

VIEWS: tuple[View, ...] = (
    READINGS,
    PAPERS,
    _listing(
        "boards",
        "board",
        "Boards for covers: thickness, trade number, sheet and bundle",
        """name
        board_kind = kind
        trade_number = trade number
        thickness_low_mm = thickness from (mm)
        thickness_mm = thickness (mm)
        thickness_high_mm = thickness to (mm)
        grammage_gsm = grammage (g/m²)
        sheet_width_mm = sheet width (mm)
        sheet_height_mm = sheet height (mm)
        bundle_count = boards in a bundle
        as_printed = as printed
        period
        flag""",
    ),
    _listing(
        "cloths",
        "fabric",
        "Cloths: mass, thickness, width and shrinkage",
        """name
        fibre
        weave
        mass_low_gsm = mass from (g/m²)
        mass_gsm = mass (g/m²)
        mass_high_gsm = mass to (g/m²)
        thickness_low_mm = thickness from (mm)
        thickness_mm = thickness (mm)
        thickness_high_mm = thickness to (mm)
        width_low_mm = width from (mm)
        width_high_mm = width to (mm)
        shrinkage_low_pct = shrinkage from (%)
        shrinkage_high_pct = shrinkage to (%)
        as_printed = as printed
        flag""",
    ),
    _listing(
        "interfacings",
        "interfacing",
        "Interfacings: mass, thickness and how they are fused",
        """name
        base
        fusible
        mass_low_gsm = mass from (g/m²)
        mass_gsm = mass (g/m²)
        mass_high_gsm = mass to (g/m²)
        thickness_low_mm = thickness from (mm)
        thickness_high_mm = thickness to (mm)
        fuse_low_c = fusing from (°C)
        fuse_high_c = fusing to (°C)
        fuse_seconds_low = fusing from (s)
        fuse_seconds_high = fusing to (s)
        flag""",
    ),
    _listing(
        "threads",
        "thread",
        "Threads: count, linear density and diameter",
        """name
        fibre_id = fibre
        count
        plies
        tex = linear density (tex)
        diameter_low_mm = diameter from (mm)
        diameter_mm = diameter (mm)
        diameter_high_mm = diameter to (mm)
        diameter_how = how the diameter was found
        uses
        flag""",
    ),
    _listing(
        "needles",
        "needle",
        "Needles: number, blade and what they suit",
        """name
        for_use = for
        system
        number
        blade_mm = blade (mm)
        suits
        flag""",
    ),
    _listing(
        "sheet_sizes",
        "sheet_size",
        "Sizes of sheets, with the period they belong to",
        """name
        synonyms = other names
        system
        period
        width_mm = width (mm)
        height_mm = height (mm)
        as_printed = as printed
        flag""",
    ),
    _listing(
        "rules",
        "rule",
        "Rules of practice: one number with its range",
        """topic
        applies_to = applies to
        name
        low = from
        value
        high = to
        unit
        statement
        confidence""",
    ),
)
