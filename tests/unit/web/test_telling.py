"""Open pages are told off the answering path: once for a change, together what comes together, and whoever made it."""

from __future__ import annotations

import asyncio
import contextvars
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from starlette.responses import Response
from starlette.types import Receive, Scope, Send

from tests import typed
from tests.conftest import Studio
from tests.http.running import wait_until
from webapp.live import Followed, Live
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut
from webapp.records.changes import FrameOf, Noted
from webapp.settings import Settings
from webapp.shoots import set_up_now
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.shoots.watching import Watching
from webapp.web.pages import live_page_parts, live_parts
from webapp.web.pages.live_parts import Drawing
from webapp.web.telling import Telling, TellsOpenPages

Drawn = list[str]


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Drawn:
    """The names of the parts that were drawn."""
    names: Drawn = []
    real: Callable[..., str] = live_parts.fragment

    def counted(template: str, **view: Any) -> str:
        names.append(template)
        return real(template, **view)

    for each in (live_parts, live_page_parts):
        monkeypatch.setattr(each, "fragment", counted)
    return names


@pytest.fixture
def live(studio: Studio) -> Live:
    return Live(lambda: studio.records.newest)


@pytest.fixture
def telling(studio: Studio, live: Live, tmp_path: Path) -> Iterator[Telling]:
    made = Telling(studio.records, live, Watching(Settings(data=tmp_path), studio.records))
    yield made
    made.close()


def opened(studio: Studio) -> Followed:
    token = live_page.open_up(studio.records, studio.session_id, title="class", hours=8, let_out=LetOut())
    return Followed("live page", token)


def of_session(studio: Studio) -> Followed:
    return Followed("session", studio.session_id)


def logged(studio: Studio) -> str:
    return log_frame(studio.records, studio.shot_id, FrameWords()).frame_id


def dialled(studio: Studio, f_number: str) -> None:
    typed.change(studio.records, studio.shot_id, {"f_number": f_number})


def requested(telling: Telling, work: Callable[[], object], page: str = "") -> None:
    """Work as a request does it: what it changes is told when it is answered."""

    async def app(scope: Scope, receive: Receive, send: Send) -> None:
        await asyncio.to_thread(work)
        await Response()(scope, receive, send)

    async def nothing(*_said: Any) -> Any:
        return None

    scope = {"type": "http", "method": "POST", "headers": [(b"x-page", page.encode())]}
    asyncio.run(TellsOpenPages(app, telling)(scope, nothing, nothing))


async def _heard(
    studio: Studio, live: Live, followed: Followed, change: Callable[[], object], words: str, count: int = 1
) -> list[str]:
    seen = studio.records.newest

    async def one() -> str:
        seat = live.seat(followed)
        assert seat is not None
        text = ""
        async for chunk in live.stream(seat, seen):
            text += chunk.decode()
            if words in text:
                break
        return text

    tasks = [asyncio.create_task(one()) for _ in range(count)]
    await asyncio.sleep(0.01)
    await asyncio.to_thread(change)
    async with asyncio.timeout(20):
        return await asyncio.gather(*tasks)


def test_a_frame_is_drawn_once_for_all_who_follow(studio: Studio, telling: Telling, live: Live, drawn: Drawn) -> None:
    told = asyncio.run(_heard(studio, live, opened(studio), lambda: logged(studio), "</article>", 40))

    assert len(told) == 40
    assert drawn == ["live_frame.html"]


def test_frames_that_come_close_together_are_told_together(studio: Studio, telling: Telling, live: Live) -> None:
    page = opened(studio)
    frames = [logged(studio) for _ in range(5)]
    wait_until(lambda: not telling._soon._noted)
    live.newest_of(page)

    def burst() -> None:
        for number, each in enumerate(frames, studio.records.newest + 1):
            telling._note(Noted(number, frozenset({FrameOf(studio.shot_id, each)})))

    told = asyncio.run(_heard(studio, live, page, burst, 'id="frame-1-5"'))[0]

    assert told.count("\nid: ") == 1
    assert told.count("</article>") == 5


def test_nothing_is_drawn_where_nobody_follows(studio: Studio, telling: Telling, live: Live, drawn: Drawn) -> None:
    page = opened(studio)
    before = live.newest_of(page)

    logged(studio)

    wait_until(lambda: live.newest_of(page) > before and live.newest_of(of_session(studio)) > before)
    assert drawn == []


def test_the_set_up_is_no_affair_of_live_pages(studio: Studio, telling: Telling, live: Live) -> None:
    page = opened(studio)
    before = live.newest_of(page)

    dialled(studio, "16")

    wait_until(lambda: live.newest_of(of_session(studio)) == studio.records.newest)
    assert live.newest_of(page) == before


def test_the_state_that_was_answered_is_drawn_and_not_reckoned_again(
    studio: Studio, telling: Telling, live: Live, monkeypatch: pytest.MonkeyPatch
) -> None:
    reckoned: list[str] = []
    real = set_up_now.assess

    def counted(*said: Any) -> Any:
        reckoned.append("once")
        return real(*said)

    monkeypatch.setattr(set_up_now, "assess", counted)

    told = asyncio.run(
        _heard(studio, live, of_session(studio), lambda: requested(telling, lambda: dialled(studio, "16")), "</span>")
    )[0]

    assert 'value="f/16"' in told
    assert reckoned == ["once"]


def test_a_state_that_is_not_the_newest_any_more_is_reckoned_again(
    studio: Studio, telling: Telling, live: Live, monkeypatch: pytest.MonkeyPatch
) -> None:
    def both() -> None:
        def work() -> None:
            dialled(studio, "16")
            # Another thread's change, while this request is worked on.
            contextvars.Context().run(logged, studio)

        requested(telling, work)

    told = asyncio.run(_heard(studio, live, of_session(studio), both, "data-number"))[0]

    assert "Log frame 2" in told


def test_what_a_request_changes_is_told_when_it_is_answered_and_not_to_the_page_that_asked(
    studio: Studio, telling: Telling, live: Live
) -> None:
    told_before: list[bool] = []

    def work() -> None:
        dialled(studio, "16")
        told_before.append(bool(telling._soon._noted))

    requested(telling, work, page="mine")
    wait_until(lambda: live.newest_of(of_session(studio)) == studio.records.newest)

    assert told_before == [False]
    assert live._line(of_session(studio)).undrawn_by == "mine"


def test_trouble_with_one_shot_costs_the_others_nothing(
    studio: Studio, telling: Telling, live: Live, caplog: pytest.LogCaptureFixture
) -> None:
    page = opened(studio)
    live.newest_of(page)

    def change() -> None:
        telling._note(Noted(studio.records.newest, frozenset({FrameOf("no shot at all", "no frame")})))
        logged(studio)

    assert "</article>" in asyncio.run(_heard(studio, live, page, change, "</article>"))[0]


def test_pages_that_cannot_be_drawn_now_are_drawn_anew(
    studio: Studio, telling: Telling, live: Live, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_said: Any) -> str:
        raise RuntimeError("no paper")

    monkeypatch.setattr(Drawing, "parts_of", broken)

    told = asyncio.run(_heard(studio, live, of_session(studio), lambda: dialled(studio, "16"), "anew"))[0]

    assert "event: draw-anew" in told
    assert "could not be told" in caplog.text
