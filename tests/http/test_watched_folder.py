"""The folder that is watched: shown on the page, chosen there, and followed without another start."""

from __future__ import annotations

import html
import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from tests.houses import new_house
from tests.http.pages.walk import begin, folded
from tests.http.running import wait_until
from tests.http.test_in_tray import arrive, jpeg, names
from webapp.app import create_app
from webapp.security.guard import AtDoor, Door
from webapp.security.identity import Role
from webapp.settings import Settings


@contextmanager
def served(data: Path, watch: Path | None = None) -> Iterator[TestClient]:
    with TestClient(create_app(Settings(data=new_house(data), watch=watch)), follow_redirects=False) as client:
        yield client


@pytest.fixture
def house(tmp_path: Path) -> Iterator[TestClient]:
    with served(tmp_path / "data") as client:
        yield client


@pytest.fixture
def tethered(tmp_path: Path) -> Path:
    folder = tmp_path / "tethered"
    folder.mkdir()
    return folder


def choose(client: TestClient, folder: Path | str) -> str:
    """Choose a folder; the answer is what the page says, once the folder was looked into for the first time."""
    answer = client.post("/in-tray/folder", data={"folder": str(folder)})
    watching = client.app.state.services.watching  # type: ignore[attr-defined]
    if answer.status_code == 303:
        wait_until(lambda: str(folder) in watching.now().earlier)
    page = answer if answer.status_code != 303 else client.get(answer.headers["location"])
    return folded(html.unescape(page.text))


def test_a_folder_is_chosen_on_the_page_followed_at_once_and_after_the_next_start(
    tmp_path: Path, tethered: Path
) -> None:
    with served(tmp_path / "data") as client:
        shot = begin(client)
        assert "No folder is watched. " in client.get("/").text
        assert "Choose the folder" in client.get(shot).text

        assert f"Watching {tethered}, 0 files today" in choose(client, tethered)
        assert "or fire: the next file becomes frame 1" in client.get(shot).text
        arrive(tethered, "a_1.jpg", jpeg(1))
        wait_until(lambda: names(client, shot) == [["a_1.jpg"]])
        assert f"Watching {tethered}, 1 file today" in client.get("/").text

    arrive(tethered, "a_2.jpg", jpeg(2))
    with served(tmp_path / "data") as client:
        wait_until(lambda: names(client, shot) == [["a_1.jpg"], ["a_2.jpg"]])


def test_another_folder_takes_the_place_of_the_first_and_none_that_of_both(
    house: TestClient, tethered: Path, tmp_path: Path
) -> None:
    shot = begin(house)
    other = tmp_path / "other card"
    other.mkdir()
    choose(house, tethered)
    choose(house, other)

    arrive(tethered, "a_1.jpg", jpeg(1))
    arrive(other, "a_2.jpg", jpeg(2))
    wait_until(lambda: names(house, shot) == [["a_2.jpg"]])
    house.post("/in-tray/folder", data={"stop": "yes"})

    assert "No folder is watched" in house.get("/in-tray").text
    assert "or fire:" not in house.get(shot).text
    assert names(house, shot) == [["a_2.jpg"]]


def test_what_cannot_be_watched_is_refused_and_the_old_folder_stays(
    house: TestClient, tethered: Path, tmp_path: Path
) -> None:
    choose(house, tethered)
    inside = tmp_path / "data" / "pictures"
    (tmp_path / "a file").write_text("")
    way_round = tmp_path / "way round"
    way_round.symlink_to(tmp_path / "data")

    for folder, says in (
        ("", "Write the whole path"),
        ("tethered", "Write the whole path"),
        (tmp_path / "nowhere", f"There is no folder {tmp_path / 'nowhere'}"),
        (tmp_path / "a file", f"There is no folder {tmp_path / 'a file'}"),
        (tmp_path / "data", "Stopledger keeps its own records in"),
        (inside, "Stopledger keeps its own records in"),
        (tmp_path, "Stopledger keeps its own records in"),
        (tethered / ".." / "data", "Stopledger keeps its own records in"),
        (way_round, "Stopledger keeps its own records in"),
        ("~no-such-user-here/x", "no path of a folder"),
    ):
        answer = house.post("/in-tray/folder", data={"folder": str(folder)})
        assert answer.status_code == 422, folder
        page = html.unescape(answer.text)
        assert says in page, folder
        assert f'value="{folder}"' in page
        assert f"Watching {tethered}," in page


def test_a_folder_that_may_not_be_read_is_refused(
    house: TestClient, tethered: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tethered.chmod(0o000)
    if os.geteuid() == 0:
        # Root may read everything: its question is answered as its owner's would be.
        monkeypatch.setattr(os, "access", lambda path, mode: bool(Path(path).stat().st_mode & mode << 6))
    said = choose(house, tethered)
    tethered.chmod(0o700)

    assert "may not be read" in said


def test_the_command_line_wins_and_is_told(tmp_path: Path, tethered: Path) -> None:
    other = tmp_path / "other"
    other.mkdir()
    with served(tmp_path / "data", watch=tethered) as client:
        page = client.get("/in-tray").text
        answer = client.post("/in-tray/folder", data={"folder": str(other)})

        assert "The server was started with this folder (--watch)" in page
        assert 'action="/in-tray/folder"' not in page
        assert answer.status_code == 409
        assert f"Stopledger was started with --watch {tethered}" in answer.text
        assert f"Watching {tethered}," in client.get("/").text


def test_only_the_owner_chooses(house: TestClient, tethered: Path) -> None:
    devices = house.app.state.services.devices  # type: ignore[attr-defined]
    phone = TestClient(AtDoor(house.app, Door.STUDIO), follow_redirects=False)
    phone.post(f"/pair/{devices.pair(Role.ASSISTANT).code}", data={"name": "phone"})

    answer = phone.post("/in-tray/folder", data={"folder": str(tethered)})

    assert answer.status_code == 403
    assert 'action="/in-tray/folder"' not in phone.get("/in-tray").text
    assert "No folder is watched" in house.get("/in-tray").text


def test_a_folder_that_went_away_is_told(house: TestClient, tethered: Path) -> None:
    choose(house, tethered)
    tethered.rmdir()

    assert f"Watching {tethered}, which is not there now" in house.get("/").text
