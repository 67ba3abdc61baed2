"""Live pages: drawn once however many read them, and what their readers ask for costs the set nothing."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from tests.conftest import Studio
from webapp.errors import NotFound
from webapp.live import Followed, Live
from webapp.pictures.previews import make_preview
from webapp.recipes.share import live_page
from webapp.recipes.share.live_page import LetOut
from webapp.records import links as link_records
from webapp.records.tables import LivePage
from webapp.shoots.log_frame import FrameWords, log_frame
from webapp.web.pages import live_page_parts
from webapp.web.pages.live_page_parts import LivePages

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
def live(studio: Studio) -> Live:
    return Live(lambda: studio.records.newest)


@pytest.fixture
def live_pages(studio: Studio, live: Live) -> Iterator[LivePages]:
    made = LivePages(studio.records, live)
    yield made
    made.close()


def opened(studio: Studio) -> str:
    return live_page.open_up(studio.records, studio.session_id, title="class", hours=8, let_out=LetOut())


def test_a_page_that_many_open_at_once_is_drawn_once_until_something_changes(
    studio: Studio, live_pages: LivePages, live: Live, drawn: Drawn, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(live_page_parts, "_DRAWN_FOR_S", 3600.0)
    token = opened(studio)

    pages = {live_pages.sheets(token) for _ in range(20)}
    log_frame(studio.records, studio.shot_id, FrameWords())
    live.skip(Followed("live page", token), studio.records.newest)
    live_pages.sheets(token)

    assert len(pages) == 1
    assert drawn == ["live_shots.html", "live_shots.html"]


def test_a_page_says_up_to_which_change_it_was_drawn(studio: Studio, live_pages: LivePages) -> None:
    token = opened(studio)

    assert live_pages.sheets(token)[1] == studio.records.newest


def test_a_page_drawn_before_is_not_served_after_it_was_withdrawn(studio: Studio, live_pages: LivePages) -> None:
    token = opened(studio)
    live_pages.sheets(token)
    live_page.withdraw(studio.records, token)

    with pytest.raises(NotFound):
        live_pages.sheets(token)


def test_views_are_kept_when_the_server_goes_down(studio: Studio, live: Live) -> None:
    token = opened(studio)
    live_pages = LivePages(studio.records, live)
    for _ in range(25):
        live_pages.viewed(token)
    live_pages.close()
    live_pages.viewed(token)

    with studio.records.reading() as db:
        assert link_records.live_page_with(db, token).views == 25


def test_a_picture_is_sought_and_made_small_once_and_carries_nothing_but_pixels(
    studio: Studio, tmp_path: Path, live_pages: LivePages
) -> None:
    path = tmp_path / "preview.jpg"
    exif = Image.Exif()
    exif[0x013B] = "somebody"
    Image.effect_noise((1600, 1000), 20).convert("RGB").save(path, "JPEG", exif=exif)
    token = opened(studio)
    sought: list[Path] = []

    def make(page: LivePage) -> bytes:
        assert page.session_id == studio.session_id
        sought.append(path)
        return make_preview(path, 960)

    pictures = {live_pages.picture(token, (1, 1, 0), make) for _ in range(20)}
    live_page.withdraw(studio.records, token)

    assert len(sought) == 1
    assert b"somebody" not in pictures.pop()
    with pytest.raises(NotFound):
        live_pages.picture(token, (1, 1, 0), make)
