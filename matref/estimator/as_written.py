"""A number as a person wrote it, as a distribution."""

from __future__ import annotations

from matref.estimator.distribution import Distribution, Exact, Uniform
from matref.quantities import Quantity


def as_written(quantity: Quantity) -> Distribution:
    """Return a typed quantity, in its own unit, doubtful by half its last step either way (GUM 4.3.7).

    A number written as a single step ("1 in"), or without one, is taken as it stands.

    >>> from matref.quantities import parse_thickness
    >>> as_written(parse_thickness("104 um")), as_written(parse_thickness("1 mm"))
    (Uniform(low=103.5, high=104.5), Exact(value=1000.0))
    """
    half = quantity.step / 2
    return Uniform(quantity.value - half, quantity.value + half) if half else Exact(quantity.value)
