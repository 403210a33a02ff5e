"""Coverage-guided cases, where `atheris` is installed: `python tests/durability/guided.py numbers -runs=100000`.

Targets: numbers, tables, plans. Anything but an answer or a BadInput of one line ends the run and is printed. The
options are libFuzzer's; `-max_total_time=600` stops after ten minutes.
"""

from __future__ import annotations

import io
import json
import math
import sys
import tomllib
from collections.abc import Callable
from contextlib import suppress
from functools import cache
from typing import Any


@cache
def shop() -> Any:
    """A workshop in memory. The imports are in functions, so that they happen under the eyes of `atheris`."""
    import matref

    return matref.open(":memory:")


@cache
def known() -> tuple[dict[str, float], dict[str, tuple[float, float]]]:
    """Grades and sheet sizes by name."""
    from matref.catalogue.grades import basis_factors, sheet_sizes

    return basis_factors(shop().connection), sheet_sizes(shop().connection)


def one_line(work: Callable[[], object]) -> object:
    """Return what `work` gives; None where it refuses in one line."""
    from matref.errors import BadInput

    try:
        return work()
    except BadInput as error:
        if "\n" in str(error):
            raise ValueError("a refusal of several lines") from error
        return None


def numbers(data: bytes) -> None:
    """Quantities of every kind from any text."""
    from matref import quantities

    text = data.decode("utf-8", "replace")
    factors, sizes = known()
    for parse in (
        quantities.parse_length,
        quantities.parse_thickness,
        quantities.parse_mass,
        quantities.parse_count,
        quantities.parse_percentage,
        lambda typed: quantities.parse_grammage(typed, factors),
        lambda typed: quantities.parse_size(typed, sizes),
    ):
        found = one_line(lambda parse=parse: parse(text))  # type: ignore[misc]
        for name in ("value", "resolution", "width_mm", "height_mm"):
            if not math.isfinite(getattr(found, name, 0.0)):
                raise ValueError(f"{name} of {text!r}")


def tables(data: bytes) -> None:
    """Tables of samples from any bytes."""
    one_line(lambda: shop().samples.import_csv(io.BytesIO(data), apply=False).as_json())
    heading = b"label,size,sheets,mass,stack_sheets,stack,class,note,same_as,id\n"
    one_line(lambda: shop().samples.import_csv(io.BytesIO(heading + data), apply=False).as_json())


def plans(data: bytes) -> None:
    """Plans from any TOML."""
    base = '[book]\nstructure = "soft-cover"\npage_width_mm = 100\npage_height_mm = 150\nsections = 5\n'
    for text in (data.decode("utf-8", "replace"), base + data.decode("utf-8", "replace")):
        plan = None
        with suppress(ValueError, RecursionError):  # the file's reader says that in a line
            plan = tomllib.loads(text)
        if plan is not None:
            found = one_line(lambda plan=plan: shop().plan(plan).as_json())  # type: ignore[misc]
            json.dumps(found, allow_nan=False)


TARGETS = {"numbers": numbers, "tables": tables, "plans": plans}

if __name__ == "__main__":
    if len(sys.argv) < 2 or sys.argv[1] not in TARGETS:
        sys.exit(f"expected one of {', '.join(TARGETS)}")
    import atheris  # type: ignore[import-not-found,import-untyped,unused-ignore]

    with atheris.instrument_imports(include=["matref"]):
        shop(), known()
        for target in TARGETS.values():
            target(b"")
    atheris.Setup([sys.argv[0], *sys.argv[2:]], TARGETS[sys.argv[1]])
    atheris.Fuzz()
