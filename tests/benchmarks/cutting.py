"""Cutting layouts: value, time and waste against published optima and the heuristics of a packing library.

Published instances (sources in tests/book/cutting_instances/README.md), then twenty invented jobs of twenty parts on
five remnants, then lengths of cloth off a bolt. The baseline is the best of rectpack's guillotine heuristics over its
ways of choosing a space, of splitting it and of sorting. Waste: share of the stock cut into that no part uses.
"""

from __future__ import annotations

import statistics
import sys
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import partial
from itertools import product
from pathlib import Path
from random import Random
from time import perf_counter

import rectpack
from table import Row, at_least, at_most, in_time, percent, say
from timed import seconds

sys.path.insert(0, str(Path(__file__).parent.parent / "book"))
from cutting_replay import read_instance

from matref.book.cutting import Part, Piece, lay_out, least_length, most_valuable

OPTIMA = {
    "gcut1": 56460,
    "gcut2": 60536,
    "gcut3": 61036,
    "gcut4": 61698,
    "gcut5": 246000,
    "gcut6": 238998,
    "gcut7": 242567,
    "gcut8": 246633,
    "cgcut1": 249,
    "cgcut2": 3076,
    "cgcut1 limited": 244,
    "cgcut2 limited": 2892,
}
JOBS, PARTS, REMNANTS = 20, 20, 5
BOLTS, BOLT_MM = 10, 600
HEURISTICS = [
    getattr(rectpack, f"Guillotine{fit}{split}")
    for fit, split in product(("Baf", "Bssf", "Blsf"), ("Sas", "Las", "Slas", "Llas", "Maxas", "Minas"))
]
SORTS = (rectpack.SORT_AREA, rectpack.SORT_SSIDE, rectpack.SORT_LSIDE, rectpack.SORT_PERI)
_RECTPACK = f"rectpack, best of {len(HEURISTICS) * len(SORTS)} heuristics"


def packed(
    bins: Sequence[tuple[int, int]], rects: Sequence[tuple[int, int, int]], turn: bool
) -> list[list[tuple[int, ...]]]:
    """Return, for each heuristic and sort, the rectangles it placed: (bin, x, y, width, height, id)."""
    results = []
    for heuristic, sort in product(HEURISTICS, SORTS):
        packer = rectpack.newPacker(
            mode=rectpack.PackingMode.Offline,
            bin_algo=rectpack.PackingBin.BBF,
            pack_algo=heuristic,
            sort_algo=sort,
            rotation=turn,
        )
        for a, b in bins:
            packer.add_bin(a, b)
        for a, b, name in rects:
            packer.add_rect(a, b, rid=name)
        packer.pack()
        results.append(packer.rect_list())
    return results


def rows() -> Iterator[Row]:
    """Yield the rows of this part."""
    yield from _published()
    yield from _jobs("may turn", turn=True)
    yield from _jobs("keep their grain", turn=False)
    yield from _bolts()


def _published() -> Iterator[Row]:
    spent = []
    for name, optimum in OPTIMA.items():
        file, limited = name.split()[0], name.endswith("limited")
        (length, width), lines = read_instance(file)
        pieces = [(line[0], line[1], line[-1], line[2] if limited else None) for line in lines]
        began = perf_counter()
        layout = most_valuable((length, width), pieces)
        between = perf_counter()
        rects = [
            (a, b, kind)
            for kind, (a, b, _, most) in enumerate(pieces)
            for _ in range(most or (length // a) * (width // b))
        ]
        best = max(
            packed([(length, width)], rects, turn=False),
            key=lambda placed: sum(pieces[rect[5]][2] for rect in placed),
        )
        spent.append((between - began, perf_counter() - between))
        value = sum(pieces[rect[5]][2] for rect in best)
        waste = 1 - sum(rect[3] * rect[4] for rect in best) / (length * width)
        yield Row(
            f"value out of {name}",
            f"{layout.value:.0f}",
            "published optimum",
            f"{optimum}",
            layout.value / optimum,
            at_least(1),
            f"{'proved' if layout.proved else 'not proved'} in {in_time(spent[-1][0])}, waste {percent(layout.waste)}; "
            f"rectpack {value} in {in_time(spent[-1][1])}, waste {percent(waste)}",
        )
    ours, theirs = (sum(times) for times in zip(*spent, strict=True))
    what = f"time for the {len(OPTIMA)} published instances"
    yield Row(what, in_time(ours), _RECTPACK, in_time(theirs), ours / theirs)


def job(seed: int, turn: bool) -> tuple[list[Part], list[Piece]]:
    """Invent twenty parts and five remnants; without `turn` the grain fixes every part."""
    dice = Random(seed)
    parts: list[Part] = []
    left = PARTS
    while left:
        copies = min(dice.choice([1, 1, 2, 2, 4]), left)
        left -= copies
        grain = "either" if turn else "length"
        parts.append(Part(f"part {len(parts)}", dice.randint(40, 260), dice.randint(30, 180), copies, grain))
    return parts, [Piece(f"remnant {i}", dice.randint(300, 700), dice.randint(270, 500)) for i in range(REMNANTS)]


def _jobs(words: str, turn: bool) -> Iterator[Row]:
    say(f"  {JOBS} jobs, parts {words}")
    times, ours, theirs, proofs = [], [], [], 0
    for seed in range(JOBS):
        parts, stock = job(seed, turn)
        run = partial(lay_out, parts, stock)
        done = run()
        if done.missing:
            raise RuntimeError(f"job {seed}: parts left out")
        times.append(min(seconds(run), seconds(run)))
        ours.append(done.area_mm2)
        proofs += done.proved
        theirs.append(_least_by_heuristics(parts, stock, turn))
    what = f"{JOBS} jobs of {PARTS} parts on {REMNANTS} pieces, parts {words}"
    yield Row(
        f"{what}: the longest",
        in_time(max(times)),
        "a second",
        "1 s",
        max(times),
        at_most(1),
        f"median {in_time(statistics.median(times))}",
    )
    yield Row(
        f"{what}: stock used",
        f"{sum(ours) / 1e6:.3f} m²",
        f"{_RECTPACK}, any choice of pieces",
        f"{sum(theirs) / 1e6:.3f} m²",
        sum(ours) / sum(theirs),
        at_most(1),
        f"less in {sum(a < b for a, b in zip(ours, theirs, strict=True))} jobs, more in "
        f"{sum(a > b for a, b in zip(ours, theirs, strict=True))}; {proofs} proved the least",
    )


def _least_by_heuristics(parts: Sequence[Part], stock: Sequence[Piece], turn: bool) -> float:
    """Return the area of the cheapest choice of pieces on which some heuristic places every part, mm²."""
    rects = [(int(p.length_mm), int(p.width_mm), k) for k, p in enumerate(parts) for _ in range(p.count)]
    total = sum(a * b for a, b, _ in rects)
    bins = [(int(s.length_mm), int(s.width_mm)) for s in stock]
    choices = [[bins[i] for i in range(len(bins)) if mask >> i & 1] for mask in range(1, 2 ** len(bins))]
    for some in sorted(choices, key=lambda some: sum(a * b for a, b in some)):
        area = sum(a * b for a, b in some)
        if area >= total and any(len(placed) == len(rects) for placed in packed(some, rects, turn)):
            return float(area)
    raise RuntimeError("no heuristic places every part")


def _bolts() -> Iterator[Row]:
    for most in (6, 8, 10, 20):
        say(f"  {BOLTS} lengths of cloth, {most} parts")
        times, lengths, bounds, proofs = [], [], [], 0
        for seed in range(BOLTS):
            began = perf_counter()
            cloth = least_length(_first(job(seed, turn=True)[0], most), BOLT_MM)
            times.append(perf_counter() - began)
            lengths.append(cloth.length_mm)
            bounds.append(cloth.bound_mm)
            proofs += cloth.proved
        yield Row(
            f"{BOLTS} lengths of cloth off a {BOLT_MM} mm bolt, {most} parts that may turn",
            f"{sum(lengths) / 1000:.3f} m",
            "no shorter can do (its own bound)",
            f"{sum(bounds) / 1000:.3f} m",
            sum(lengths) / sum(bounds),
            note=f"{proofs} proved the shortest; "
            f"median {in_time(statistics.median(times))}, longest {in_time(max(times))}",
        )


def _first(parts: Sequence[Part], most: int) -> list[Part]:
    """Return the first parts, so many of them counting copies."""
    kept, left = [], most
    for part in parts:
        copies = min(part.count, left)
        left -= copies
        if copies:
            kept.append(replace(part, count=copies))
    return kept
