"""Catalogue entries in words: values with their units, low and high as a range, the sentence that says most."""

from __future__ import annotations

from typing import Any

from matref.catalogue.rows import said_once
from matref.quantities.formatting import format_length, format_number

_SUFFIXES = {
    "g_cm3": "g/cm³",
    "cm3_g": "cm³/g",
    "gsm": "g/m²",
    "mm": "mm",
    "um": "µm",
    "in": "in",
    "pct": "%",
    "c": "°C",
    "tex": "tex",
}
_SENTENCES = ("flag", "statement", "meaning", "recognise", "text", "suits", "uses", "note")
_SILENT = {"id", "kind", "name", "source", "columns", "refers_to", "related", "readings", "usual", "sources", "unit"}
_MINOR = {"prior_weight", "count", "plies", "series_id"}
_YES_OR_NO = {"used_in_fit", "calculated", "exact", "direct", "resultant", "fusible"}
_FRACTIONS_FROM_MM = 10.0
_DIGITS = 4
_TODAY = "current"
_WRITTEN_OUT = {"um": "µm", "gsm": "g/m²", "g/m2": "g/m²", "cm3/g": "cm³/g", "g/cm3": "g/cm³"}
KIND_WORDS = {
    "material_class": "class of material",
    "basis_size": "basic size",
    "count_system": "system of thread counts",
}


def kind_words(kind: str) -> str:
    """Give a kind of entry in plain words."""
    return KIND_WORDS.get(kind, kind.replace("_", " "))


def facts(entry: dict[str, Any], preference: str = "mm") -> list[tuple[str, str]]:
    """Give the values of an entry as (what, value with unit): a low and a high are one range, a size one pair.

    >>> facts({"id": "x", "thickness_low_mm": 0.75, "thickness_high_mm": 2.95, "note": "an invented board"})
    [('thickness', '0.75 to 2.95 mm'), ('note', 'an invented board')]
    >>> facts({"width_mm": 148.0, "height_mm": 210.0}, "in")
    [('size', '5 13/16 x 8 9/32 in')]
    >>> facts({"low": 105.0, "high": 110.0, "unit": "um", "exact": 1})
    [('range', '105 to 110 µm'), ('exact', 'yes')]
    """
    found: dict[str, list[Any]] = {}
    for key, cell in entry.items():
        if key not in _SILENT:
            found.setdefault(_stem(key), []).append(cell)
    told = []
    if all(len(found.get(side, ())) == 1 for side in ("width_mm", "height_mm")):
        told.append(("size", size([found.pop(side)[0] for side in ("width_mm", "height_mm")], preference)))
    for stem, cells in found.items():
        unit = str(entry.get("unit", "")) if stem == "range" else _SUFFIXES.get(_suffix(stem), "")
        text = ("no", "yes")[bool(cells[0])] if stem in _YES_OR_NO else _range(cells, unit, preference)
        told.append((_label(stem), text))
    return told


def summary(entry: dict[str, Any], preference: str = "mm") -> str:
    """Give an entry's figures, whose size it was and when, and its telling sentence in one line.

    >>> summary({"id": "x", "thickness_mm": 2.0, "grammage_gsm": 1290.0, "note": "an invented board"})
    'thickness 2 mm, grammage 1290 g/m²; an invented board'
    >>> crown = {"name": "Crown", "width_mm": 381.0, "height_mm": 508.0}
    >>> summary(crown | {"system": "British traditional", "period": "traditional, before metric sizes"})
    '381 x 508 mm; British traditional, before metric sizes'
    """
    numbers = {
        key: cell
        for key, cell in entry.items()
        if key == "unit" or (isinstance(cell, int | float) and key not in _YES_OR_NO and key not in _MINOR)
    }
    figures = [
        text if what in ("size", "range", "tex") else f"{what} {text}" for what, text in facts(numbers, preference)
    ]
    sentence = next((str(entry[name]) for name in _SENTENCES if name in entry), "")
    return "; ".join(part for part in (", ".join(figures[:4]), _whose(entry), sentence) if part)


def _whose(entry: dict[str, Any]) -> str:
    """Give the system and period of a sheet size, which tell apart the many of one name; today's go unsaid."""
    if "system" not in entry:
        return ""
    name = str(entry["name"])
    told = said_once(name, *(str(entry[key]) for key in ("system", "period") if entry.get(key, _TODAY) != _TODAY))
    return told.removeprefix(name).removeprefix(", ")


def size(sides: list[float], preference: str) -> str:
    """Give a width and a height; in inches to a thirty-second."""
    ends = [format_length(side, preference) for side in sides]
    unit = " " + preference
    return f"{ends[0].removesuffix(unit)} x {ends[1]}"


def source_words(source: dict[str, Any]) -> str:
    """Name a source: author, title, publisher, year, where to read it, its id."""
    parts = [str(source[key]) for key in ("author", "title", "publisher", "year") if key in source]
    text = ", ".join(parts)
    if "url" in source:
        text += f", {source['url']}"
    return f"{text} [{source['id']}]" if "id" in source else text


def with_unit(value: float, unit: str, preference: str) -> str:
    """Give a stored number with its unit; lengths in inches where those are preferred.

    >>> with_unit(75.19460744, "g/m2", "mm"), with_unit(2.5, "mm", "in"), with_unit(120.0, "mm", "in")
    ('75.19 g/m²', '0.0984 in', '4 23/32 in')
    """
    mm = value * {"mm": 1.0, "um": 1e-3, "µm": 1e-3}.get(unit, 0.0)
    if preference == "in" and mm:
        return format_length(mm, "in", finest=32 if mm >= _FRACTIONS_FROM_MM else 0)
    digits = max(_DIGITS, len(str(int(abs(value)))))
    return f"{format_number(float(value), digits)} {_WRITTEN_OUT.get(unit, unit)}".rstrip()


def _stem(key: str) -> str:
    """Give the name that low, middle and high of one value share."""
    if key in ("low", "value", "high"):
        return "range"
    for end in ("_low", "_high"):
        key = key.removesuffix(end).replace(f"{end}_", "_")
    return key


def _suffix(stem: str) -> str:
    """Give the ending of a column's name that says its unit."""
    return next((suffix for suffix in _SUFFIXES if stem == suffix or stem.endswith("_" + suffix)), "")


def _label(stem: str) -> str:
    plain = stem.removesuffix("_" + _suffix(stem))
    return plain.removesuffix("_id").replace("_", " ")


def _range(cells: list[Any], unit: str, preference: str) -> str:
    if not all(isinstance(cell, int | float) for cell in cells):
        return ", ".join(map(str, cells))
    low, high = (with_unit(end, unit, preference) for end in (min(cells), max(cells)))
    if low == high:
        return low
    tail = " " + low.rpartition(" ")[2] if " " in low else ""
    return f"{low.removesuffix(tail) if tail and high.endswith(tail) else low} to {high}"
