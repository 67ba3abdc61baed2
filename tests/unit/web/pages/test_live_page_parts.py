"""Open pages are drawn off the request: once for an event however many follow, and together what comes together."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.conftest import Studio
from tests.http.running import wait_until
from webapp.errors import NotFound
from webapp.followers import Followers
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut
from webapp.records import links as link_records
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.web.pages import live_page_parts
from webapp.web.pages.live_page_parts import OpenTelling

Drawn = list[str]


@pytest.fixture
def drawn(monkeypatch: pytest.MonkeyPatch) -> Drawn:
    """The names of the parts that were drawn."""
    names: Drawn = []
    real: Callable[..., str] = live_page_parts.fragment

    def counted(template: str, **view: Any) -> str:
        names.append(template)
        return real(template, **view)

    monkeypatch.setattr(live_page_parts, "fragment", counted)
    return names


@pytest.fixture
def followers() -> Followers:
    return Followers()


@pytest.fixture
def telling(studio: Studio, followers: Followers) -> Iterator[OpenTelling]:
    made = OpenTelling(studio.records, followers)
    yield made
    made.close()


def opened(studio: Studio) -> str:
    return live_page.open_up(studio.records, studio.session_id, title="class", hours=8, let_out=LetOut())


def logged(studio: Studio) -> str:
    return log_frame(studio.records, studio.shot_id, FrameWords()).frame_id


async def _heard(followers: Followers, token: str, tell: Callable[[], None], count: int, words: str) -> list[str]:
    async def one() -> str:
        seat = followers.seat(token)
        assert seat is not None
        text = ""
        async for chunk in followers.stream(seat, followers.newest_id(token)):
            text += chunk.decode()
            if words in text:
                break
        return text

    tasks = [asyncio.create_task(one()) for _ in range(count)]
    while not followers.anyone(token):
        await asyncio.sleep(0)
    await asyncio.sleep(0)
    tell()
    async with asyncio.timeout(20):
        return await asyncio.gather(*tasks)


def test_a_frame_is_drawn_once_for_all_who_follow(
    studio: Studio, telling: OpenTelling, followers: Followers, drawn: Drawn
) -> None:
    token, frame = opened(studio), logged(studio)

    told = asyncio.run(_heard(followers, token, lambda: telling.frame(studio.shot_id, frame), 40, "</article>"))

    assert len(told) == 40
    assert drawn == ["open_frame.html"]


def test_frames_that_come_close_together_are_told_together(
    studio: Studio, telling: OpenTelling, followers: Followers
) -> None:
    token = opened(studio)
    frames = [logged(studio) for _ in range(5)]

    def burst() -> None:
        for each in frames:
            telling.frame(studio.shot_id, each)

    told = asyncio.run(_heard(followers, token, burst, 1, 'id="frame-1-5"'))[0]

    assert told.count("\nid: ") == 1
    assert told.count("</article>") == 5


def test_nothing_is_drawn_where_nobody_follows(
    studio: Studio, telling: OpenTelling, followers: Followers, drawn: Drawn
) -> None:
    token, frame = opened(studio), logged(studio)
    before = followers.newest_id(token)

    telling.frame(studio.shot_id, frame)

    wait_until(lambda: followers.newest_id(token) > before)
    assert drawn == []


def test_a_house_whose_pages_nobody_reads_is_asked_nothing(
    studio: Studio, telling: OpenTelling, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened(studio)
    frame = logged(studio)
    monkeypatch.setattr(studio.records, "reading", None)

    telling.frame(studio.shot_id, frame)
    telling.whole_shot(studio.shot_id)
    telling.close()

    assert telling._changed == {}


def test_a_page_that_many_open_at_once_is_drawn_once_until_something_changes(
    studio: Studio, telling: OpenTelling, followers: Followers, drawn: Drawn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live_page_parts, "_DRAWN_FOR_S", 3600.0)
    token, frame = opened(studio), logged(studio)

    pages = {telling.sheets(token) for _ in range(20)}
    telling.frame(studio.shot_id, frame)
    seen = next(iter(pages))[1]
    wait_until(lambda: followers.newest_id(token) > seen)
    telling.sheets(token)

    assert len(pages) == 1
    assert drawn == ["open_shots.html", "open_shots.html"]


def test_a_page_drawn_before_is_not_served_after_it_was_withdrawn(studio: Studio, telling: OpenTelling) -> None:
    token = opened(studio)
    telling.sheets(token)
    live_page.withdraw(studio.records, token)

    with pytest.raises(NotFound):
        telling.sheets(token)


def test_views_are_kept_when_the_server_goes_down(studio: Studio, followers: Followers) -> None:
    token = opened(studio)
    telling = OpenTelling(studio.records, followers)
    for _ in range(25):
        telling.viewed(token)
    telling.close()
    telling.viewed(token)

    with studio.records.reading() as db:
        assert link_records.open_page_with(db, token).views == 25


def test_trouble_with_one_shot_costs_the_others_nothing(
    studio: Studio, telling: OpenTelling, followers: Followers
) -> None:
    token, frame = opened(studio), logged(studio)

    def tell() -> None:
        telling.frame("no shot at all", frame)
        telling.frame(studio.shot_id, frame)

    assert "</article>" in asyncio.run(_heard(followers, token, tell, 1, "</article>"))[0]


def test_a_picture_is_sought_and_made_small_once_and_carries_nothing_but_pixels(
    studio: Studio, tmp_path: Path, telling: OpenTelling
) -> None:
    path = tmp_path / "preview.jpg"
    exif = Image.Exif()
    exif[0x013B] = "somebody"
    Image.effect_noise((1600, 1000), 20).convert("RGB").save(path, "JPEG", exif=exif)
    token = opened(studio)
    sought: list[Path] = []

    def find(session_id: str) -> Path:
        assert session_id == studio.session_id
        sought.append(path)
        return path

    pictures = {telling.picture(token, (1, 1, 0), find) for _ in range(20)}
    live_page.withdraw(studio.records, token)

    assert len(sought) == 1
    assert b"somebody" not in pictures.pop()
    with pytest.raises(NotFound):
        telling.picture(token, (1, 1, 0), find)
