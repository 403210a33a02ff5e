"""Run a piece of work in a forked process and kill it at a random moment; hear what it had said until then.

The parent has everything imported, so that a kill costs the work and not a start of Python. Nothing may hold an open
SQLite connection, nor run threads, when it forks.
"""

from __future__ import annotations

import json
import os
import select
import signal
import sys
import time
import traceback
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

_GIVE_UP_S = 300.0  # a process that hangs is a failure, not a kill


@dataclass(frozen=True)
class Heard:
    """What became of the work: whether it was killed before its end, what it printed, and what it complained of.

    `seconds` in all, `after_mark` since it said the mark.
    """

    killed: bool
    said: bytes
    complaint: bytes
    seconds: float
    after_mark: float

    def answers(self) -> list[Any]:
        """Return the JSON answers that were printed whole: those are acknowledged."""
        found, text, decoder = [], self.said.decode(errors="replace").lstrip(), json.JSONDecoder()
        while text:
            try:
                answer, end = decoder.raw_decode(text)
            except json.JSONDecodeError:
                break
            found.append(answer)
            text = text[end:].lstrip()
        return found


def attack(work: Callable[[], None], after: float | None, mark: bytes = b"") -> Heard:
    """Do `work` in a process of its own and kill it `after` seconds (None: not), counted from when it says `mark`."""
    said_read, said_write = os.pipe()
    complaint_read, complaint_write = os.pipe()
    began = time.monotonic()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of threads that the child will not have: it needs none
        child = os.fork()
    if child == 0:
        _child(work, said_write, complaint_write)
    os.close(said_write)
    os.close(complaint_write)
    heard: dict[int, bytes] = {said_read: b"", complaint_read: b""}
    open_ends = set(heard)
    kill_at = None if after is None or mark else began + after
    marked = began
    killed = False
    while open_ends:
        left = (kill_at if kill_at is not None and not killed else began + _GIVE_UP_S) - time.monotonic()
        ready = select.select(list(open_ends), [], [], max(left, 0.0))[0]
        if not ready:
            if killed or kill_at is None:
                os.kill(child, signal.SIGKILL)
                os.waitpid(child, 0)
                raise AssertionError(f"the work hangs; it had said {heard}")
            os.kill(child, signal.SIGKILL)
            killed = True
        for end in ready:
            part = os.read(end, 1 << 16)
            heard[end] += part
            if not part:
                open_ends.discard(end)
        if mark and marked == began and mark in heard[complaint_read]:
            marked = time.monotonic()
            kill_at = None if after is None else marked + after
    status = os.waitpid(child, 0)[1]
    os.close(said_read)
    os.close(complaint_read)
    now = time.monotonic()
    return Heard(os.WIFSIGNALED(status), heard[said_read], heard[complaint_read], now - began, now - marked)


def _child(work: Callable[[], None], said: int, complaint: int) -> None:
    code = 1
    try:
        os.dup2(said, 1)
        os.dup2(complaint, 2)
        sys.stdout = os.fdopen(1, "w", encoding="utf-8", closefd=False)
        sys.stderr = os.fdopen(2, "w", encoding="utf-8", closefd=False)
        work()
        code = 0
    except BaseException:
        traceback.print_exc()
    finally:
        sys.stdout.flush()
        sys.stderr.flush()
        os._exit(code)
