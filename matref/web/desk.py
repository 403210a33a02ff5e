"""The workshop as the pages use it: one connection in one thread, and answers kept until the file changes."""

from __future__ import annotations

import asyncio
import sqlite3
from collections import OrderedDict
from collections.abc import Callable, Hashable
from concurrent.futures import ThreadPoolExecutor
from typing import Any, TypeVar

import matref
from matref.api import Workshop
from matref.web.database import reader

T = TypeVar("T")
_MOST_KEPT = 512


class Desk:
    """Answers questions about one workshop file, which is opened when the first is asked.

    SQLite's connection stays in its own thread, so a long estimate never holds up other pages. Every answer is kept
    under its question; a change of the file by anybody (PRAGMA data_version) clears them all.
    """

    def __init__(self, place: Callable[[], str]) -> None:
        self._place = place
        self._thread = ThreadPoolExecutor(1, thread_name_prefix="matref-desk")
        self._workshop: Workshop | None = None
        self._watch: sqlite3.Connection | None = None
        self._version = -1
        self._asking: dict[Hashable, asyncio.Future[Any]] = {}
        self._kept: OrderedDict[Hashable, Any] = OrderedDict()

    async def ask(self, question: Callable[[Workshop], T]) -> T:
        """Return what `question` finds in the workshop."""
        return await asyncio.get_running_loop().run_in_executor(self._thread, self._ask, question)

    async def answer(self, key: Hashable, question: Callable[[Workshop], T]) -> T:
        """Return what `question` finds, or found since the file last changed; `key` tells questions apart."""
        version = self._file_version()
        if version != self._version:
            self._kept.clear()
            self._version = version
        if key in self._kept:
            self._kept.move_to_end(key)
            kept: T = self._kept[key]
            return kept
        # Many who ask the same at once wait for one answer.
        asked = (version, key)
        if asked not in self._asking:
            self._asking[asked] = asyncio.ensure_future(self.ask(question))
            self._asking[asked].add_done_callback(lambda _: self._asking.pop(asked, None))
        found: T = await asyncio.shield(self._asking[asked])
        if self._version == version:  # nothing was cleared meanwhile
            self._kept[key] = found
            if len(self._kept) > _MOST_KEPT:
                self._kept.popitem(last=False)
        return found

    def _file_version(self) -> int:
        # data_version changes when another connection writes, so this one only ever watches.
        if self._watch is None:
            self._watch = reader(self._place())
        return int(self._watch.execute("PRAGMA data_version").fetchone()[0])

    def _ask(self, question: Callable[[Workshop], T]) -> T:
        if self._workshop is None:
            self._workshop = matref.open(self._place())
        return question(self._workshop)
