from __future__ import annotations

import asyncio
from pathlib import Path

import matref
from matref.api import Workshop
from matref.web.desk import Desk


def test_answers_are_kept_until_somebody_writes(place: Path) -> None:
    desk = Desk(lambda: str(place))
    asked: list[str] = []

    def count(workshop: Workshop) -> int:
        asked.append("asked")
        return len(workshop.samples.list())

    async def scenario() -> None:
        assert await desk.answer(("count",), count) == 0
        assert await desk.answer(("count",), count) == 0
        assert len(asked) == 1
        with matref.open(place) as elsewhere:
            elsewhere.samples.add(grammage=80)
        assert await desk.answer(("count",), count) == 1
        await desk.ask(lambda w: w.samples.add(grammage=90))
        assert await desk.answer(("count",), count) == 2

    asyncio.run(scenario())


def test_only_so_many_answers_are_kept(place: Path) -> None:
    desk = Desk(lambda: str(place))
    asked: list[int] = []

    async def scenario() -> None:
        for number in [*range(600), 599, 0]:
            await desk.answer(number, lambda _, n=number: asked.append(n))  # type: ignore[misc]

    asyncio.run(scenario())
    assert asked.count(599) == 1
    assert asked.count(0) == 2


def test_many_who_ask_the_same_at_once_wait_for_one_answer(place: Path) -> None:
    desk = Desk(lambda: str(place))
    asked: list[str] = []

    async def scenario() -> list[None]:
        return await asyncio.gather(*(desk.answer("same", lambda _: asked.append("asked")) for _ in range(16)))

    assert asyncio.run(scenario()) == [None] * 16
    assert asked == ["asked"]
