"""The search behind `layout`: parts and pieces as typed, searched as long as wanted, progress on the terminal."""

from __future__ import annotations

import signal
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import click

from matref.cli.layout_input import part_of, piece_of

if TYPE_CHECKING:
    from types import FrameType

    from matref.book.cutting import BoltLength, Layouts, Progress

    Done = Layouts | BoltLength

_PATIENCE_S = 1.0
_TOO_SHORT_S = 0.05
_STEPS = 150_000
"""About a second of searching."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What was typed: parts, and stock or the width of a bolt; bare lengths are mm; `seconds` None: about one."""

    parts: tuple[str, ...]
    stock: tuple[str, ...]
    bolt_width: str | None
    blade: str
    keep: str
    least: str
    seconds: float | None


def solve(asked: Asked) -> Done:
    """Return the best layout found; BadInput for what cannot be read or cut."""
    from matref.book.cutting import lay_out, least_length
    from matref.quantities import parse_length

    wanted, pieces = [part_of(text) for text in asked.parts], [piece_of(text) for text in asked.stock]
    width_mm = None if asked.bolt_width is None else parse_length(asked.bolt_width, what="--bolt-width").value
    show = _Shown("mm" if width_mm is not None else "mm²" if asked.least == "area" else "")
    more: dict[str, Any] = {
        "blade_mm": parse_length(asked.blade, what="--blade", allow_zero=True).value,
        "keep_mm": parse_length(asked.keep, what="--keep", allow_zero=True).value,
        "progress": show,
    }

    def search(steps: int, left_s: float | None) -> Done:
        if width_mm is not None:
            return least_length(wanted, width_mm, steps=steps, deadline_s=left_s, **more)
        return lay_out(wanted, pieces, least=asked.least, steps=steps, deadline_s=left_s, **more)

    try:
        return _searched(search, asked.seconds, asked.least)
    finally:
        show.wipe()


def _searched(search: Callable[[int, float | None], Done], seconds: float | None, least: str) -> Done:
    """Search once, or with ever more steps until the seconds are over, something is proved, or Ctrl-C."""
    if seconds is None:
        return search(_STEPS, None)
    stopped = threading.Event()

    def stop(number: int, frame: FrameType | None) -> None:  # noqa: ARG001 - the signature of a handler
        stopped.set()
        raise KeyboardInterrupt

    before = signal.signal(signal.SIGINT, stop)
    end = time.monotonic() + seconds
    try:
        steps, best = _STEPS, search(_STEPS, seconds)
        while not best.proved and not stopped.is_set() and (left := end - time.monotonic()) > _TOO_SHORT_S:
            steps *= 4
            best = min(best, search(steps, left), key=lambda done: _rank(done, least))
    finally:
        signal.signal(signal.SIGINT, before)
    return best


def _rank(done: Done, least: str) -> tuple[float, ...]:
    """Put what holds most first, then what takes least stock, then what is proved."""
    from matref.book.cutting import Layouts

    if isinstance(done, Layouts):
        missing = sum(count for _, count in done.missing)
        return missing, (done.cost or 0.0) if least == "cost" else done.area_mm2, not done.proved
    return done.length_mm, not done.proved


class _Shown:
    """Shows on a terminal how a search goes that takes more than a second, and wipes it out afterwards."""

    def __init__(self, unit: str) -> None:
        self.unit = unit
        self.width = 0
        self.next_s = _PATIENCE_S

    def __call__(self, progress: Progress) -> None:
        if progress.seconds < self.next_s or not sys.stderr.isatty():
            return
        self.next_s = progress.seconds + 0.5
        line = (
            f"best so far {progress.best:.6g} {self.unit}, nothing below {progress.bound:.6g} can do; "
            f"{progress.seconds:.0f} s, Ctrl-C takes the best …"
        )
        click.echo("\r" + line.ljust(self.width), nl=False, err=True)
        self.width = max(self.width, len(line))

    def wipe(self) -> None:
        """Leave the line empty."""
        if self.width:
            click.echo("\r" + " " * self.width + "\r", nl=False, err=True)
