"""Where the spine of a sewn book goes beyond practice, and what would bring it back, in one sentence each."""

from __future__ import annotations

import math
from collections.abc import Sequence

from matref.book.rounding import MOST_RATIO, arc_ratio, round_from_swell_deg
from matref.estimator.estimate import Estimate


def spine_warnings(
    ratio: Estimate,
    accepted: float,
    section: Estimate,
    limit_mm: float,
    sheets: int,
    rounding_deg: float,
    *,
    two_on_share: float = 1.0,
    most_sheets: float = math.inf,
) -> tuple[str, ...]:
    """Say where a spine goes beyond practice, each with what would bring it back; only what can be done is named.

    ratio: swell over block with the accepted one; section: closed section of `sheets` sheets, mm, with its limit;
    rounding_deg: the round of the back. two_on_share: threads if sewn two-on as a share of those now, 1 where it cannot
    be; most_sheets: the most that a section may have, whatever its thickness.
    """
    said: list[str] = []
    allowed = percent(accepted)
    if ratio.value > accepted:
        more = math.ceil(sheets * ratio.value / accepted)
        cures = [f"thread of {math.floor(100 * accepted / ratio.value)} % of this thickness"]
        if more <= most_sheets and more * section.value / sheets <= limit_mm:
            cures.append(f"{more} sheets in a section")
        if two_on_share < 1 and ratio.value * two_on_share <= accepted:
            cures.append("sewing two-on")
        said.append(
            f"the swell is {percent(ratio.value)} of the block ({percent(ratio.low)} to {percent(ratio.high)}), "
            f"beyond the accepted {allowed}: {either(cures)} would bring it down"
        )
    elif ratio.high > accepted:
        said.append(
            f"the swell may reach {percent(ratio.high)} of the block, beyond the accepted {allowed}, if the thread "
            "stays round: sew and press two sections first and measure them"
        )
    if section.value > limit_mm:
        fewer = max(1, int(sheets * limit_mm / section.value))
        said.append(
            f"a closed section is {section.value:.2f} mm thick, above the {limit_mm:.2f} mm that the trade "
            + (f"allows: take {fewer} sheets" if fewer < sheets else "allows, with one sheet already")
        )
    if rounding_deg > 0:
        said += _round_warning(ratio.value, rounding_deg)
    return tuple(said)


def either(cures: Sequence[str]) -> str:
    """Things of which one will do, in words.

    >>> either(["thinner thread"]), either(["thread", "7 sheets", "sewing two-on"])
    ('thinner thread', 'thread, 7 sheets or sewing two-on')
    """
    return " or ".join(filter(None, (", ".join(cures[:-1]), cures[-1])))


def percent(share: float) -> str:
    """A share in words.

    >>> percent(0.296)
    '30 %'
    """
    return f"{100 * share:.0f} %"


def _round_warning(ratio: float, rounding_deg: float) -> Sequence[str]:
    taken = arc_ratio(rounding_deg) - 1
    if ratio <= taken * 1.0001:
        return ()
    if ratio > MOST_RATIO:
        return (
            f"not even a half circle takes up a swell of {percent(ratio)}: the back stays thicker than the fore-edge",
        )
    return (
        f"a round of {rounding_deg:g} degrees takes up a swell of {percent(taken)}, this book has {percent(ratio)}: "
        f"round it to about {round_from_swell_deg(ratio):.0f} degrees or take thinner thread",
    )
