"""News: what a page is told, and what it is told after it lost its line."""

from __future__ import annotations

import asyncio
from collections.abc import Coroutine
from typing import Any

from webapp.news import Item, News


def _heard(news: News, page: str, last_seen: int, count: int) -> list[Item | None]:
    async def listen() -> list[Item | None]:
        found: list[Item | None] = []
        lines = news.listen("session", page, last_seen)
        try:
            async with asyncio.timeout(0.3):
                async for item in lines:
                    found.append(item)
                    if len(found) == count:
                        break
        except TimeoutError:
            pass
        await lines.aclose()  # type: ignore[attr-defined]
        return found

    return _run(listen())


def _run(work: Coroutine[Any, Any, list[Item | None]]) -> list[Item | None]:
    return asyncio.run(work)


def test_a_page_hears_what_others_did_and_not_what_it_did_itself() -> None:
    news = News()
    start = news.newest_id()
    news.tell("session", "by one", by="one")
    news.tell("session", "by two", by="two")

    assert [item.html for item in _heard(news, "one", start, 2) if item] == ["by two"]


def test_a_page_that_lost_its_line_catches_up_from_what_it_saw_last() -> None:
    news = News()
    start = news.newest_id()
    for text in ("first", "second", "third"):
        news.tell("session", text)

    assert [item.html for item in _heard(news, "page", start + 1, 2) if item] == ["second", "third"]


def test_every_page_of_every_session_is_told_to_draw_anew_and_then_hears_on() -> None:
    news = News()
    start = news.newest_id()
    news.tell("session", "before", by="page")
    news.draw_anew()
    news.tell("session", "after")

    assert [item and item.html for item in _heard(news, "page", start, 2)] == [None]
    assert _heard(news, "page", news.newest_id(), 1) == []


def test_a_page_that_listens_hears_at_once_that_it_is_to_draw_itself_anew() -> None:
    async def listen() -> list[Item | None]:
        news = News()
        lines = news.listen("session", "page", news.newest_id())
        waiting = asyncio.ensure_future(anext(lines))
        await asyncio.sleep(0)
        news.draw_anew()
        news.tell("session", "after")
        heard = [await asyncio.wait_for(waiting, 10), await asyncio.wait_for(anext(lines), 10)]
        await lines.aclose()  # type: ignore[attr-defined]
        return heard

    anew, after = _run(listen())

    assert anew is None
    assert after is not None
    assert after.html == "after"


def test_a_page_that_missed_more_than_is_kept_is_told_to_draw_anew() -> None:
    news = News()
    start = news.newest_id()
    for index in range(300):
        news.tell("session", str(index))

    assert _heard(news, "page", start + 5, 1) == [None]


def test_a_change_that_nobody_listened_to_makes_a_returning_page_draw_anew() -> None:
    news = News()
    start = news.newest_id()
    news.not_drawn("session", "other")

    assert _heard(news, "page", start, 1) == [None]
    assert _heard(news, "other", start, 1) == []


def test_another_session_hears_nothing() -> None:
    news = News()
    start = news.newest_id()
    news.tell("elsewhere", "not for here")

    assert _heard(news, "page", start, 1) == []


def test_a_server_that_was_started_again_makes_pages_draw_anew() -> None:
    earlier = News().newest_id() - 60_000

    assert _heard(News(), "page", earlier, 1) == [None]
