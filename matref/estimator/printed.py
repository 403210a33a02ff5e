"""What is printed on paper or on its wrapper, a mill's promise: a label's grammage, a ream's count and mass."""

from __future__ import annotations

from matref.errors import BadInput
from matref.estimator import observation as obs
from matref.estimator.typed_fields import Fields, refuse_grammage
from matref.quantities import Typed, parse_count, parse_grammage, parse_mass, reading_uncertainty

_REAM = '--size A4 --ream-sheets 500 --ream-mass "2.5 kg"'


def read_label(fields: Fields) -> None:
    """Read a grammage or a basis weight: what was printed, with the mill's tolerance about it."""
    text = fields.get("grammage")
    if text is None:
        return
    from matref.catalogue.grades import basis_factors

    rounded = _has_letters(text)
    quantity = parse_grammage(text, basis_factors(fields.connection) if rounded else None)
    if quantity.note:
        fields.notes.append(quantity.note)
    refuse_grammage(quantity.value, "a grammage", "--grammage 80")
    u_gsm = reading_uncertainty(quantity.resolution) if rounded else 0.0
    fields.numbers["label_gsm"] = quantity.value
    fields.observations.append(obs.label(quantity.value, fields.rules.grammage_tolerance(), u_gsm))


def read_ream(fields: Fields) -> None:
    """Read the count and mass on a ream's wrapper: they promise a grammage, like a label, and count once with it."""
    count, mass = fields.get("ream_sheets"), fields.get("ream_mass")
    if count is None and mass is None:
        return
    size = fields.sheet_size()
    if count is None or mass is None or size is None:
        raise BadInput(
            "a ream needs the count and mass on its wrapper and the size of its sheets",
            expected="--ream-sheets, --ream-mass and --size together",
            example=_REAM,
        )
    sheets = int(parse_count(count, what="number of sheets in the ream").value)
    weight = parse_mass(mass, what="mass of the ream")
    gsm = weight.value / (sheets * size.area_m2)
    refuse_grammage(gsm, "the sheets of that ream would have a grammage", '--ream-mass "2.5 kg"')
    tolerance, u_gsm = fields.rules.grammage_tolerance(), gsm * reading_uncertainty(weight.resolution) / weight.value
    label_gsm = fields.numbers.get("label_gsm")
    if label_gsm is None:
        fields.numbers["label_gsm"] = gsm
        fields.observations.append(
            obs.ream(weight.value, sheets, size.width_mm, size.height_mm, tolerance, u_gsm),
        )
        return
    # Mass and grammage on one wrapper are one promise: they may not count twice, nor differ by more than rounding
    # (the mass as it is printed, the grammage to the whole gram).
    if abs(gsm - label_gsm) > 2 * u_gsm + 1.0:
        raise BadInput(
            f"the wrapper's mass makes {gsm:.3g} g/m², its label says {label_gsm:.3g} g/m²",
            expected="count, mass and size from the same wrapper",
            example=_REAM,
        )
    fields.notes.append("the ream's mass says the same as the label and counts once")


def _has_letters(text: Typed) -> bool:
    """Tell whether a grammage is more than a figure in g/m²: a basis weight, whose figure is rounded."""
    return isinstance(text, str) and any(
        c.isalpha() or c == "#" for c in text.lower().replace("gsm", "").replace("g/m", "")
    )
