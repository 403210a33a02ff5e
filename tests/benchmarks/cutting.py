"""Time and quality of the cutting layouts. Run: python tests/benchmarks/cutting.py (needs `rectpack` for the baseline).

Published instances (sources in tests/book/cutting_instances/README.md) against their optima, then twenty invented
jobs of twenty parts on five remnants. The baseline is the best of rectpack's guillotine heuristics over its ways
of choosing a space, of splitting it and of sorting. Waste: share of the stock cut into that no part uses.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Sequence
from itertools import product
from pathlib import Path
from random import Random

import rectpack

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
HEURISTICS = [
    getattr(rectpack, f"Guillotine{fit}{split}")
    for fit, split in product(("Baf", "Bssf", "Blsf"), ("Sas", "Las", "Slas", "Llas", "Maxas", "Minas"))
]
SORTS = (rectpack.SORT_AREA, rectpack.SORT_SSIDE, rectpack.SORT_LSIDE, rectpack.SORT_PERI)


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


def published() -> None:
    print("instance        seconds     value   optimum  proved  waste   baseline value  waste")
    for name, optimum in OPTIMA.items():
        file, limited = name.split()[0], name.endswith("limited")
        (length, width), rows = read_instance(file)
        pieces = [(r[0], r[1], r[-1], r[2] if limited else None) for r in rows]
        began = time.perf_counter()
        layout = most_valuable((length, width), pieces)
        seconds = time.perf_counter() - began
        rects = [
            (a, b, kind)
            for kind, (a, b, _, most) in enumerate(pieces)
            for _ in range(most or (length // a) * (width // b))
        ]
        best = max(
            packed([(length, width)], rects, turn=False),
            key=lambda placed: sum(pieces[rect[5]][2] for rect in placed),
        )
        value = sum(pieces[rect[5]][2] for rect in best)
        waste = 1 - sum(rect[3] * rect[4] for rect in best) / (length * width)
        print(
            f"{name:15} {seconds:7.4f} {layout.value:9.0f} {optimum:9} {layout.proved!s:>7} {layout.waste:6.3f}"
            f" {value:16} {waste:6.3f}"
        )


def job(seed: int, turn: bool) -> tuple[list[Part], list[Piece]]:
    """Invent twenty parts and five remnants; without `turn` the grain fixes every part."""
    dice = Random(seed)
    parts: list[Part] = []
    left = 20
    while left:
        copies = min(dice.choice([1, 1, 2, 2, 4]), left)
        left -= copies
        grain = "either" if turn else "length"
        parts.append(Part(f"part {len(parts)}", dice.randint(40, 260), dice.randint(30, 180), copies, grain))
    return parts, [Piece(f"remnant {i}", dice.randint(300, 700), dice.randint(270, 500)) for i in range(5)]


def jobs(turn: bool) -> None:
    print(f"\n20 jobs, 20 parts on 5 remnants, parts {'may turn' if turn else 'keep their grain'}")
    print("job  seconds  area mm2   bound   proved  waste   baseline area  waste")
    seconds, ours, theirs, proofs = [], [], [], 0
    for seed in range(20):
        parts, stock = job(seed, turn)
        began = time.perf_counter()
        done = lay_out(parts, stock)
        seconds.append(time.perf_counter() - began)
        area = {i: int(s.length_mm * s.width_mm) for i, s in enumerate(stock)}
        rects = [(int(p.length_mm), int(p.width_mm), k) for k, p in enumerate(parts) for _ in range(p.count)]
        total = sum(a * b for a, b, _ in rects)
        least = None
        # the baseline has no choice of stock: give it every choice, cheapest first
        choices = sorted(
            (tuple(i for i in range(5) if mask >> i & 1) for mask in range(1, 32)),
            key=lambda some: sum(area[i] for i in some),
        )
        for some in choices:
            if sum(area[i] for i in some) < total:
                continue
            bins = [(int(stock[i].length_mm), int(stock[i].width_mm)) for i in some]
            if any(len(placed) == len(rects) for placed in packed(bins, rects, turn)):
                least = sum(area[i] for i in some)
                break
        ours.append(done.area_mm2)
        proofs += done.proved
        theirs.append(float(least) if least else float("nan"))
        print(
            f"{seed:3} {seconds[-1]:8.2f} {done.area_mm2:9.0f} {done.bound or 0:9.0f} {done.proved!s:>6} "
            f"{done.waste:6.3f} {theirs[-1]:15.0f} {1 - total / theirs[-1]:6.3f}"
            + (f"  missing {done.missing}" if done.missing else "")
        )
    print(f"seconds: median {statistics.median(seconds):.2f}, max {max(seconds):.2f}; proved {proofs} of 20")
    better = sum(a < b for a, b in zip(ours, theirs, strict=True))
    worse = sum(a > b for a, b in zip(ours, theirs, strict=True))
    print(f"less stock than the baseline in {better} jobs, more in {worse}; total {sum(ours):.0f}, {sum(theirs):.0f}")


def bolts() -> None:
    print("\nleast length off a 600 mm bolt, parts may turn")
    for most in (6, 8, 10, 20):
        seconds, gaps, proofs = [], [], 0
        for seed in range(10):
            parts, left = [], most
            for part in job(seed, True)[0]:
                copies = min(part.count, left)
                left -= copies
                if copies:
                    parts.append(Part(part.name, part.length_mm, part.width_mm, copies))
            began = time.perf_counter()
            cloth = least_length(parts, 600)
            seconds.append(time.perf_counter() - began)
            gaps.append(cloth.gap)
            proofs += cloth.proved
        print(
            f"{most:3} parts: median {statistics.median(seconds):.2f} s, max {max(seconds):.2f} s; "
            f"proved {proofs} of 10; gap median {statistics.median(gaps):.3f}, max {max(gaps):.3f}"
        )


if __name__ == "__main__":
    published()
    jobs(turn=True)
    jobs(turn=False)
    bolts()
