"""Thickness of leaves, sections and the text block, and the identities between caliper, grammage and bulk.

A *sheet* is folded once and gives two leaves, four pages; a *section* is a nest of sheets. Leaf thickness t
means the thickness in the pressed block, which need not be what a gauge reads on a single sheet.
"""

from __future__ import annotations

from matref.book.check import count, leaf_mm, not_negative, positive, share

UM_PER_INCH = 25_400


def bulk_cm3_g(caliper_um: float, grammage_gsm: float) -> float:
    """Bulk (specific volume) of a sheet, cm³/g.

    t caliper, µm; g grammage, g/m². Formula v = t / g, since 1 µm over 1 m² is 1 cm³.
    Exact: the definition in ISO 534.

    >>> bulk_cm3_g(180, 100)
    1.8
    """
    return positive(caliper_um, "caliper, µm", 100) / positive(grammage_gsm, "grammage, g/m²", 80)


def caliper_um(bulk_cm3_g: float, grammage_gsm: float) -> float:
    """Caliper of a sheet, µm, from its bulk v, cm³/g, and grammage g, g/m²: t = v·g.

    Exact: the definition in ISO 534, turned round.

    >>> caliper_um(1.25, 80)
    100.0
    """
    return positive(bulk_cm3_g, "bulk, cm³/g", 1.3) * positive(grammage_gsm, "grammage, g/m²", 80)


def grammage_gsm(caliper_um: float, bulk_cm3_g: float) -> float:
    """Grammage of a sheet, g/m², from its caliper t, µm, and bulk v, cm³/g: g = t / v.

    Exact: the definition in ISO 534, turned round.

    >>> grammage_gsm(100, 1.25)
    80.0
    """
    return positive(caliper_um, "caliper, µm", 100) / positive(bulk_cm3_g, "bulk, cm³/g", 1.3)


def bulk_from_volume_cm3_g(volume: float) -> float:
    """Bulk, cm³/g, from the European volume figure V, the mm that 100 leaves of 100 g/m² measure: v = V / 10.

    Exact: 100 leaves of V mm are 10·V µm each, at 100 g/m².

    >>> bulk_from_volume_cm3_g(18)
    1.8
    """
    return positive(volume, "volume figure, mm of 100 leaves of 100 g/m²", 18) / 10


def caliper_limits_um(nominal_um: float, tolerance: float) -> tuple[float, float]:
    """Lowest and highest caliper, µm, that a nominal caliper may turn out at: t·(1 - τ), t·(1 + τ).

    τ tolerance as a share (0.05 is 5 %). Exact once τ is given; the trade's τ is a rule of the catalogue.

    >>> [round(x, 1) for x in caliper_limits_um(100, 0.05)]
    [95.0, 105.0]
    """
    nominal, part = positive(nominal_um, "nominal caliper, µm", 100), share(tolerance, "tolerance", 0.05)
    return nominal * (1 - part), nominal * (1 + part)


def leaf_in_block_um(caliper_um: float, pressing: float) -> float:
    """Thickness of one leaf in the pressed block, µm: t = k·(gauged caliper).

    k pressing factor, the share of the gauged caliper that is left in the block, above 0 and at most 1.
    Model: k is learnt from finished books; k = 1 when the thickness was measured on a block.

    >>> leaf_in_block_um(100, 0.95)
    95.0
    """
    factor = positive(share(pressing, "pressing factor", 0.95), "pressing factor", 0.95)
    return factor * positive(caliper_um, "caliper, µm", 100)


def pages(sheets_per_section: int, sections: int) -> int:
    """Pages of a book of N sections with s sheets each: 4·s·N. Exact: a sheet folded once has four pages.

    >>> pages(4, 5)
    80
    """
    return 4 * count(sheets_per_section, "sheets in a section", 4) * count(sections, "sections", 5)


def sections_for_pages(pages: int, sheets_per_section: int) -> int:
    """Fewest sections of s sheets that hold the wanted pages: pages / (4·s), rounded up. Exact.

    >>> sections_for_pages(81, 4)
    6
    """
    return -(-count(pages, "pages", 80) // (4 * count(sheets_per_section, "sheets in a section", 4)))


def pages_per_inch(leaf_um: float) -> float:
    """Pages in one inch of pressed block: 50 800 / t, with t the leaf thickness, µm.

    Exact: an inch is 25 400 µm and a leaf has two pages.

    >>> pages_per_inch(101.6)
    500.0
    """
    return 2 * leaves_per_inch(leaf_um)


def leaves_per_inch(leaf_um: float) -> float:
    """Leaves (the paper trade says sheets) in one inch of stack: 25 400 / t, with t in µm. Exact.

    >>> leaves_per_inch(101.6)
    250.0
    """
    return UM_PER_INCH / positive(leaf_um, "leaf thickness, µm", 100)


def section_thickness_mm(sheets_per_section: int, leaf_um: float) -> float:
    """Thickness of one closed section without its thread, mm: 2·s·t, s sheets of thickness t.

    Exact: each sheet lies there twice.

    >>> section_thickness_mm(4, 100)
    0.8
    """
    return 2 * count(sheets_per_section, "sheets in a section", 4) * leaf_mm(leaf_um)


def fore_edge_mm(sheets_per_section: int, sections: int, leaf_um: float, endpapers_mm: float = 0.0) -> float:
    """Thickness of the pressed block at the fore-edge, mm.

    s sheets in a section; N sections; t leaf thickness, given in µm; E the endpapers' thickness, mm in all.
    Formula T = 2·s·N·t + E. Exact for the t given.

    >>> round(fore_edge_mm(4, 8, 103), 3)
    6.592
    >>> fore_edge_mm(4, 5, 100, endpapers_mm=0.4)
    4.4
    """
    endpapers = not_negative(endpapers_mm, "endpapers, mm", 0.4)
    return count(sections, "sections", 5) * section_thickness_mm(sheets_per_section, leaf_um) + endpapers
