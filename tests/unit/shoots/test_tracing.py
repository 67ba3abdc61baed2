"""Shadows that pages ask for: traced one after the other, the newest of each page, and refused with what to do."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Awaitable, Callable, Iterator
from dataclasses import replace

import pytest

from tests.unit.plan.lights import light
from webapp.errors import NotReadYet, NotTraced
from webapp.pictures.isolation import IsolatedPictures
from webapp.plan.positions import ORIGIN, Place, Position, Thing, place_at
from webapp.plan.shadow_card import shadow_card_png
from webapp.plan.shadows import shadows
from webapp.plan.staging import Plan
from webapp.plan.tracing import Asked, asked_bytes, shadows_from
from webapp.shoots import tracing
from webapp.shoots.tracing import Tracing

SET = Plan(
    (light("A", place_at(900.0, 50.0, 300.0)),),
    (
        Thing("subject", "subject", Position(ORIGIN), 60.0, 120.0, 40.0),
        Thing("table", "table", Position(Place(0.0, 0.0, -60.0)), 900.0, 0.0, 600.0),
    ),
    (300.0, 200.0),
)
LONG_S = 120.0


def with_field(width_mm: float) -> Asked:
    """Another plan for each width."""
    return Asked("shadows", replace(SET, field_mm=(width_mm, 200.0)))


class HeldPictures(IsolatedPictures):
    """Answers what it is asked, once it is let; the names of what it began are kept."""

    def __init__(self) -> None:
        super().__init__()
        self.let, self.begun = threading.Event(), list[bytes]()

    def trace(self, asked: bytes, within_s: float) -> bytes:
        self.begun.append(asked)
        assert self.let.wait(LONG_S)
        return asked


@pytest.fixture
def held() -> Iterator[tuple[HeldPictures, Tracing]]:
    pictures = HeldPictures()
    made = Tracing(pictures)
    yield pictures, made
    pictures.let.set()
    made.close()
    pictures.close()


async def until(true: Callable[[], bool]) -> None:
    while not true():
        await asyncio.sleep(0.002)


def run(story: Awaitable[None]) -> None:
    async def in_time() -> None:
        await asyncio.wait_for(story, LONG_S)

    asyncio.run(in_time())


def test_a_newer_question_of_a_page_supersedes_the_older_that_has_not_begun(
    held: tuple[HeldPictures, Tracing],
) -> None:
    pictures, made = held
    stands = [with_field(100.0)]

    async def story() -> None:
        first = asyncio.create_task(made.newest("shot", lambda: stands[-1], LONG_S))
        await until(lambda: len(pictures.begun) == 1)
        waiting = []
        for width_mm in (200.0, 300.0, 400.0):
            stands.append(with_field(width_mm))
            waiting.append(asyncio.create_task(made.newest("shot", lambda: stands[-1], LONG_S)))
            await until(lambda: stands[-1] in made._jobs)
        pictures.let.set()
        assert (await first)[0] == with_field(100.0)
        assert [(await each)[0] for each in waiting] == [with_field(400.0)] * 3

    run(story())
    assert pictures.begun == [asked_bytes(with_field(each)) for each in (100.0, 400.0)]


def test_what_another_page_waits_for_is_not_superseded(held: tuple[HeldPictures, Tracing]) -> None:
    pictures, made = held

    async def story() -> None:
        first = asyncio.create_task(made.newest("one", lambda: with_field(100.0), LONG_S))
        await until(lambda: len(pictures.begun) == 1)
        both = [
            asyncio.create_task(made.newest(page, lambda: with_field(200.0), LONG_S)) for page in ("one", "another")
        ]
        await until(lambda: with_field(200.0) in made._jobs and len(made._jobs[with_field(200.0)].pages) == 2)
        newer = asyncio.create_task(made.newest("one", lambda: with_field(300.0), LONG_S))
        await until(lambda: with_field(300.0) in made._jobs)
        pictures.let.set()
        await asyncio.gather(first, *both, newer)

    run(story())
    assert [asked_bytes(with_field(each)) for each in (100.0, 200.0, 300.0)] == pictures.begun


def test_what_is_not_there_in_time_goes_on_and_is_there_when_it_is_asked_for_again(
    held: tuple[HeldPictures, Tracing],
) -> None:
    pictures, made = held

    async def story() -> None:
        with pytest.raises(NotTraced, match="Ask again") as trouble:
            await made.newest("shot", lambda: with_field(100.0), 0.01)
        assert (trouble.value.goes_on, trouble.value.waits) == (True, False)
        pictures.let.set()
        await made.newest("shot", lambda: with_field(100.0), LONG_S)

    run(story())
    assert len(pictures.begun) == 1


def test_a_process_that_died_is_told_and_the_next_question_begins_another(monkeypatch: pytest.MonkeyPatch) -> None:
    with IsolatedPictures() as pictures:
        made = Tracing(pictures)

        async def story() -> None:
            with monkeypatch.context() as hasty:
                hasty.setattr(tracing, "TRACING_LIMIT_S", 0.001)
                with pytest.raises(NotTraced, match=r"the process that traces them ended, .* Ask again\.") as trouble:
                    await made.newest("shot", lambda: Asked("shadows", SET), LONG_S)
            assert not trouble.value.goes_on
            _, answer = await made.newest("shot", lambda: Asked("shadows", SET), LONG_S)
            assert shadows_from(answer) == shadows(SET)
            _, png = await made.newest("shot", lambda: Asked("card", SET, "above", "ball"), LONG_S)
            assert png == shadow_card_png(SET, "above", "ball")

        run(story())
        made.close()


def test_what_waits_when_the_program_is_closed_is_refused(held: tuple[HeldPictures, Tracing]) -> None:
    pictures, made = held

    async def story() -> None:
        first = asyncio.create_task(made.newest("one", lambda: with_field(100.0), LONG_S))
        await until(lambda: len(pictures.begun) == 1)
        second = asyncio.create_task(made.newest("another", lambda: with_field(200.0), LONG_S))
        await until(lambda: with_field(200.0) in made._jobs)
        made.close()
        with pytest.raises(NotTraced, match="being closed"):
            await second
        pictures.let.set()
        await first

    run(story())


def test_what_the_process_refuses_is_told_without_a_guess(held: tuple[HeldPictures, Tracing]) -> None:
    pictures, made = held

    def refuse(asked: bytes, within_s: float) -> bytes:
        raise NotReadYet("This picture ended the process that read it.")

    pictures.trace = refuse  # type: ignore[method-assign]
    with pytest.raises(NotTraced, match="shadows could not be worked out"):
        run(made.newest("shot", lambda: with_field(100.0), LONG_S))  # type: ignore[arg-type]
