"""What a person measured of a pile: a weighing, a thickness, a bound book of the same paper.

Every reading gets its standard uncertainty here (GUM: a reading to the nearest d has d/√12 at each end).
"""

from __future__ import annotations

from matref.errors import BadInput
from matref.estimator import observation as obs
from matref.estimator.typed_fields import Fields, refuse_absurd, refuse_caliper, refuse_grammage
from matref.quantities import Typed, parse_count, parse_length, parse_mass, reading_uncertainty

_WEIGHING = '--size A4 --sheets 20 --mass "98 g"'
_STACK = '--stack-sheets 100 --stack "10.5 mm"'


def read_weighing(fields: Fields) -> None:
    """Read the mass of a counted number of sheets of one size."""
    mass, division = fields.get("mass"), fields.get("scale_resolution")
    if mass is None:
        _refuse_without_mass(fields, division)
        return
    count, size = fields.get("sheets"), fields.sheet_size()
    if count is None or size is None:
        raise BadInput(
            "a mass needs the size and the number of the sheets weighed",
            expected="--size, --sheets and --mass together",
            example=_WEIGHING,
        )
    weighed = parse_mass(mass)
    sheets = int(parse_count(count).value)
    step_g = weighed.resolution if division is None else parse_mass(division, what="scale resolution").value
    refuse_absurd(step_g, 1e-4, 1000, "scale resolution", "g", '--scale-resolution "1 g"')
    refuse_grammage(
        weighed.value / (sheets * size.area_m2),
        f"{sheets} sheets of {weighed.value:g} g would be a grammage",
        '--sheets 20 --mass "98 g"',
    )
    if step_g >= 2 * weighed.value:
        raise BadInput(
            f"a scale that reads to {step_g:g} g cannot weigh {weighed.value:g} g",
            expected="more sheets or a finer scale",
            example='--sheets 100 --mass "490 g"',
        )
    fields.numbers |= {"sheets": sheets, "mass_g": weighed.value, "scale_resolution_g": step_g}
    u_mm = fields.side_u_mm(size)
    fields.observations.append(
        obs.weighing(
            weighed.value,
            sheets,
            size.width_mm,
            size.height_mm,
            u_mass_g=reading_uncertainty(step_g, ends=2),  # the reading and the zero
            u_width_mm=u_mm,
            u_height_mm=u_mm,
        )
    )


def _refuse_without_mass(fields: Fields, division: Typed | None) -> None:
    if division is not None:
        raise BadInput("a scale resolution without a mass", expected="--mass", example='--mass "98 g"')
    if fields.typed.get("sheets") is not None:
        raise BadInput(
            "a number of sheets without their mass", expected="--mass and --size", example='--sheets 20 --mass "98 g"'
        )


def read_stack(fields: Fields) -> None:
    """Read the thickness of a stack, or of one sheet."""
    stack, count = fields.get("stack"), fields.get("stack_sheets")
    instrument, held = fields.get("with_"), fields.get("held")
    if stack is None and count is None:
        for option, value in (("--with", instrument), ("--held", held)):
            if value is not None:
                raise BadInput(f"{option} without a thickness", expected="--stack", example='--stack "10 mm"')
        return
    if stack is None or count is None:
        raise BadInput(
            "a stack needs both its thickness and its number of sheets",
            expected="--stack-sheets and --stack",
            example=_STACK,
        )
    sheets = int(parse_count(count, what="number of sheets in the stack").value)
    thickness = parse_length(stack, what="stack thickness")
    tool = str(instrument or "ruler")
    division_mm = fields.rules.division_mm(tool)
    factor = fields.rules.held(str(held or ("gauge" if tool == "micrometer" else "hand")))
    if sheets == 1:
        factor = obs.Factor(1.0, 1.0, factor.source_id)
    refuse_caliper(
        thickness.value * 1000 / sheets, f"{thickness.value:g} mm for {sheets} sheets would be a caliper", _STACK
    )
    # A coarser step than the tool's own (an eighth of an inch) says how finely it was read.
    step_mm = max(thickness.step, division_mm)
    u_mm = reading_uncertainty(step_mm, ends=1 if tool == "micrometer" else 2)
    fields.numbers |= {"stack_sheets": sheets, "stack_mm": thickness.value, "stack_resolution_mm": step_mm}
    fields.observations.append(obs.stack(thickness.value, sheets, factor, u_thickness_mm=u_mm, with_=tool))


def read_book(fields: Fields) -> None:
    """Read a bound book of the same paper: its pages, and the thickness of the block or the mass of the whole."""
    pages, thickness, mass = fields.get("book_pages"), fields.get("book_thickness"), fields.get("book_mass")
    cover = fields.get("cover")
    if pages is None:
        if thickness is not None or mass is not None or cover is not None:
            raise BadInput("a book needs its number of pages", expected="--book-pages", example="--book-pages 240")
        return
    if cover not in (None, "on", "off"):
        raise BadInput(f'"{cover}" is no state of a cover', expected="on or off", example="--cover off")
    count = int(parse_count(pages, noun="pages").value)
    if count < 4:
        raise BadInput(f"{count} pages make no book", expected="4 or more", example="--book-pages 240")
    if thickness is None and mass is None:
        raise BadInput(
            "a book needs a thickness or a mass",
            expected="--book-thickness or --book-mass",
            example='--book-thickness "14 mm"',
        )
    fields.numbers["book_pages"] = count
    if thickness is not None:
        _read_block(fields, thickness, count / 2)
    if mass is not None:
        _read_whole(fields, mass, count / 2, covered=cover != "off")


def _read_block(fields: Fields, typed: Typed, leaves: float) -> None:
    depth = parse_length(typed, what="book thickness")
    refuse_caliper(depth.value * 1000 / leaves, "the leaves would be", '--book-thickness "14 mm"')
    u_mm = reading_uncertainty(max(depth.resolution, fields.rules.division_mm("ruler")), ends=2)
    fields.numbers["book_thickness_mm"] = depth.value
    pressed = fields.rules.book_over_sheet()
    fields.observations.append(obs.book_thickness(depth.value, leaves, pressed, u_thickness_mm=u_mm))


def _read_whole(fields: Fields, typed: Typed, leaves: float, *, covered: bool) -> None:
    size = fields.sheet_size()
    if size is None:
        raise BadInput("a book's mass needs its page size", expected="--size", example="--size A5")
    weight = parse_mass(typed, what="book mass")
    share = fields.rules.cover_mass_share() if covered else obs.Factor(1.0, 1.0, "own-derivation")
    refuse_grammage(weight.value / (leaves * size.area_m2), "the leaves would weigh", '--book-mass "310 g"')
    fields.numbers["book_mass_g"] = weight.value
    fields.observations.append(
        obs.book_mass(
            weight.value,
            leaves,
            size.width_mm,
            size.height_mm,
            share,
            u_mass_g=reading_uncertainty(weight.resolution, ends=2),
            u_side_mm=fields.side_u_mm(size),
        )
    )
