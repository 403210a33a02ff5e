"""Layouts by simulated annealing on cutting trees, for jobs too large to search through.

A layout that can be cut edge to edge is a tree of joins; written in postfix order it is a list that small changes
keep valid (Wong & Liu, Design Automation Conf. 1986). Changes: turn a part, swap two parts, turn a join,
move a part elsewhere, on the same sheet or another. The cost is the area by which the blocks overhang.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp
from random import Random

from matref.book.cutting.blocks import LENGTH, WIDTH, Block, join
from matref.book.cutting.budget import Budget
from matref.book.cutting.table import Shape

ALONG, ACROSS = -1, -2  # a join in the postfix list; parts are 0, 1, 2 ...
HOT, COLD = 0.03, 0.0008  # shares of the sheets' area
ROUND = 6_000  # changes from hot to cold
CHANGES_PER_STEP = 0.4


class Tree:
    """The state: a postfix list per sheet and how each copy lies."""

    def __init__(
        self,
        sheets: Sequence[tuple[int, int]],
        ways: Sequence[Sequence[Sequence[Shape]]],
        blocks: Sequence[Block | None],
    ) -> None:
        self.sheets = list(sheets)
        self.ways = ways
        self.kinds: list[int] = []
        self.lies: list[Shape] = []
        self.lists = [self._postfix(block) for block in blocks]
        self.total = float(sum(length * width for length, width in sheets))

    def _postfix(self, block: Block | None) -> list[int]:
        out: list[int] = []
        todo: list[Block | int] = [block] if block else []
        while todo:
            here = todo.pop()
            if isinstance(here, int):
                out.append(here)
            elif here.first is None or here.second is None:
                out.append(self.add(Shape(here.length, here.width, here.piece, here.turned)))
            else:
                todo += (ALONG if here.axis == LENGTH else ACROSS, here.second, here.first)
        return out

    def add(self, shape: Shape) -> int:
        """Take in one copy, lying as `shape`; return its number."""
        self.kinds.append(shape.kind)
        self.lies.append(shape)
        return len(self.lies) - 1

    def size(self, tokens: Sequence[int]) -> tuple[int, int]:
        """Return length and width of a postfix list."""
        lies = self.lies
        lengths: list[int] = []
        widths: list[int] = []
        for token in tokens:
            if token >= 0:
                shape = lies[token]
                lengths.append(shape[0])
                widths.append(shape[1])
            elif token == ALONG:
                lengths[-2:] = [lengths[-2] + lengths[-1]]
                wide = widths.pop()
                if wide > widths[-1]:
                    widths[-1] = wide
            else:
                widths[-2:] = [widths[-2] + widths[-1]]
                long = lengths.pop()
                if long > lengths[-1]:
                    lengths[-1] = long
        return (lengths[0], widths[0]) if lengths else (0, 0)

    def overhang(self, sheet: int, tokens: Sequence[int]) -> float:
        """Return the area by which a list overhangs its sheet, as a share of all sheets."""
        length, width = self.sheets[sheet]
        long, wide = self.size(tokens)
        if long <= length and wide <= width:
            return 0.0
        return (max(long, length) * max(wide, width) - length * width) / self.total

    def block(self, sheet: int) -> Block | None:
        """Return what lies on one sheet."""
        built: list[Block] = []
        for token in self.lists[sheet]:
            if token >= 0:
                s = self.lies[token]
                built.append(Block(s.length, s.width, piece=s.kind, turned=s.turned))
            else:
                second, first = built.pop(), built.pop()
                built.append(join(first, second, LENGTH if token == ALONG else WIDTH))
        return built[0] if built else None


def without(tokens: Sequence[int], at: int) -> list[int]:
    """Return a postfix list without the part at position `at` and the join above it.

    >>> without([0, 1, -1, 2, -2], 0)
    [1, 2, -2]
    """
    if len(tokens) == 1:
        return []
    end, depth = at + 1, 0
    while tokens[end] >= 0 or depth > 1:
        depth += 1 if tokens[end] >= 0 else -1
        end += 1
    return [*tokens[:at], *tokens[at + 1 : end], *tokens[end + 1 :]]


class Annealer:
    """Changes a tree at random; `seed` makes a run repeatable."""

    def __init__(self, tree: Tree, seed: int = 1) -> None:
        self.tree = tree
        self.roll = Random(seed).random
        self.costs = [tree.overhang(i, tokens) for i, tokens in enumerate(tree.lists)]

    def fits(self, budget: Budget, rounds: int = 1) -> bool:
        """Change the tree until nothing overhangs; False when `rounds` have passed without that."""
        tree, roll = self.tree, self.roll
        cost = sum(self.costs)
        cooling = (COLD / HOT) ** (1 / ROUND)
        for _ in range(rounds):
            heat = HOT
            for change in range(ROUND):
                if cost <= 0:
                    return True
                if change % 64 == 0:
                    budget.spend(int(64 * CHANGES_PER_STEP * (1 + len(tree.lies) / 10)))
                heat *= cooling
                lists, lies = self.propose()
                if not lists:
                    continue
                before = [(n, tree.lies[n]) for n in lies]
                for number, shape in lies.items():
                    tree.lies[number] = shape
                new = {i: tree.overhang(i, tokens) for i, tokens in lists.items()}
                rise = sum(new.values()) - sum(self.costs[i] for i in new)
                if rise <= 0 or roll() < exp(-rise / heat):
                    for i, tokens in lists.items():
                        tree.lists[i] = tokens
                        self.costs[i] = new[i]
                    cost = sum(self.costs)
                else:
                    for number, shape in before:
                        tree.lies[number] = shape
        return cost <= 0

    def narrow(self, sheet: int, size: tuple[int, int]) -> None:
        """Make a sheet smaller, to go on from here."""
        self.tree.sheets[sheet] = size
        self.costs[sheet] = self.tree.overhang(sheet, self.tree.lists[sheet])

    def propose(self) -> tuple[dict[int, list[int]], dict[int, Shape]]:
        """Return the lists and the ways round that one change would give (nothing if it is not allowed)."""
        tree, roll = self.tree, self.roll
        sheets = len(tree.lists)
        sheet = int(roll() * sheets) if sheets > 1 else 0
        tokens = tree.lists[sheet]
        if not tokens:
            return {}, {}
        at = int(roll() * len(tokens))
        token = tokens[at]
        if token < 0:
            turned = list(tokens)
            turned[at] = ALONG + ACROSS - token
            return {sheet: turned}, {}
        what = roll()
        if what < 0.2:
            return self.turn(sheet, token)
        other = int(roll() * sheets) if sheets > 1 else 0
        if what < 0.5:
            return self.swap(sheet, at, other)
        return self.move(sheet, at, other)

    def turn(self, sheet: int, number: int) -> tuple[dict[int, list[int]], dict[int, Shape]]:
        """A quarter turn, where the grain allows it."""
        tree = self.tree
        allowed = tree.ways[sheet][tree.kinds[number]]
        if len(allowed) < 2:
            return {}, {}
        shape = allowed[1] if tree.lies[number].turned == allowed[0].turned else allowed[0]
        return {sheet: tree.lists[sheet]}, {number: shape}

    def lying(self, sheet: int, number: int) -> Shape | None:
        """How a copy would lie on a sheet: as now if that is allowed there."""
        tree = self.tree
        allowed = tree.ways[sheet][tree.kinds[number]]
        now = tree.lies[number]
        return now if now in allowed else allowed[0] if allowed else None

    def swap(self, sheet: int, at: int, other: int) -> tuple[dict[int, list[int]], dict[int, Shape]]:
        """Two parts change places."""
        tree = self.tree
        there = tree.lists[other]
        if not there:
            return {}, {}
        to = int(self.roll() * len(there))
        one, two = tree.lists[sheet][at], there[to]
        if two < 0 or tree.kinds[one] == tree.kinds[two]:
            return {}, {}
        if sheet == other:
            tokens = list(there)
            tokens[at], tokens[to] = two, one
            return {sheet: tokens}, {}
        lie_one, lie_two = self.lying(other, one), self.lying(sheet, two)
        if lie_one is None or lie_two is None:
            return {}, {}
        here, there = list(tree.lists[sheet]), list(there)
        here[at], there[to] = two, one
        return {sheet: here, other: there}, {one: lie_one, two: lie_two}

    def move(self, sheet: int, at: int, other: int) -> tuple[dict[int, list[int]], dict[int, Shape]]:
        """A part leaves its place and joins any block, before or after it."""
        tree, roll = self.tree, self.roll
        number = tree.lists[sheet][at]
        lie = self.lying(other, number)
        if lie is None:
            return {}, {}
        rest = without(tree.lists[sheet], at)
        goal = rest if sheet == other else tree.lists[other]
        if goal:
            to = int(roll() * len(goal)) + 1
            goal = [*goal[:to], number, ALONG if roll() < 0.5 else ACROSS, *goal[to:]]
        else:
            goal = [number]
        lists = {sheet: rest, other: goal}
        return lists, ({} if lie == tree.lies[number] else {number: lie})
