"""The in-tray over HTTP, and a folder that is really watched: what was in it is a frame or a line, also over a restart."""

from __future__ import annotations

import errno
import html
import importlib.util
import io
import os
import re
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from sqlmodel import col, select
from starlette.testclient import TestClient

from tests.houses import new_house
from tests.http.pages.walk import begin, element, folded
from tests.http.running import Listener, running, wait_until
from tests.made_pictures import jpeg_bytes, rational
from webapp import app
from webapp.app import create_app
from webapp.pictures.isolation import IsolatedPictures
from webapp.pictures.watch import watch_folder
from webapp.records.tables import Arrival
from webapp.settings import Settings
from webapp.shoots import again, in_tray, together

SIX = 6


def jpeg(number: int, *, minute: int = 31, f_number: float = 8, body: str = "Bench Camera 1") -> bytes:
    """The picture that a camera took as its number so many, at that second of the minute; noise makes it more than a few bytes."""
    codes = np.random.default_rng(number).integers(0, 255, (200, 300, 3), dtype=np.uint8)
    settings = {0x829A: rational("1/125"), 0x829D: rational(f_number), 0x8827: 100}
    taken_at = {0x9003: f"2026:11:24 10:{minute:02d}:{number:02d}"}
    return jpeg_bytes(codes, exif={0x10F: "Invented Works", 0x110: body}, settings=settings | taken_at)


@pytest.fixture
def watch(tmp_path: Path) -> Path:
    folder = tmp_path / "tethered"
    folder.mkdir()
    return folder


@pytest.fixture
def serve(tmp_path: Path, watch: Path) -> Callable[[], Any]:
    """Start a server over the same house and folder, again and again."""
    data = new_house(tmp_path / "data")

    @contextmanager
    def start() -> Iterator[TestClient]:
        with TestClient(create_app(Settings(data=data, watch=watch)), follow_redirects=False) as client:
            # The watch has taken stock once it waits for what comes.
            client.get("/in-tray")
            yield client

    return start


def lines(client: TestClient) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = client.get("/api/v1/in-tray").json()
    return found


def frames(client: TestClient, shot: str) -> list[dict[str, Any]]:
    answer = client.get(f"/api/v1{shot}/frames").json()
    found: list[dict[str, Any]] = answer["frames"] if isinstance(answer, dict) else answer
    return sorted(found, key=lambda each: each["number"])


def names(client: TestClient, shot: str) -> list[list[str]]:
    return [[each["name"] for each in frame["pictures"]] for frame in frames(client, shot)]


def is_seen(client: TestClient, name: str) -> bool:
    """Whether a file is in the register; no page shows that of one that is not whole."""
    with client.app.state.services.records.reading() as db:  # type: ignore[attr-defined]
        return bool(db.exec(select(Arrival).where(col(Arrival.path) == name)).first())


def arrive(watch: Path, name: str, content: bytes) -> None:
    """As tethering software does it: written under another name, then put in place."""
    (watch / f"{name}.part").write_bytes(content)
    (watch / f"{name}.part").rename(watch / name)


def test_a_file_without_an_active_shot_waits_on_the_page_and_one_press_files_it(
    serve: Callable[[], Any], watch: Path
) -> None:
    with serve() as client:
        arrive(watch, "a_1.jpg", jpeg(1, f_number=11))
        wait_until(lambda: len(lines(client)) == 1)
        shot = begin(client)

        page = folded(client.get("/in-tray").text)
        assert "a_1.jpg" in page
        assert "No shot was active when it came." in page
        assert '<a href="/in-tray">1 file waits in the in-tray</a>' in client.get(shot).text
        (line,) = re.findall(r'name="only" value="([^"]+)" aria-label="File', page)
        filed = client.post("/in-tray/file", data={"shot": shot.rsplit("/", 1)[1], "only": line})

        assert filed.headers["location"] == "/in-tray"
        assert names(client, shot) == [["a_1.jpg"]]
        assert "Nothing waits" in client.get("/in-tray").text
        assert "wait in the in-tray" not in client.get(shot).text


def test_several_lines_are_filed_by_one_press_and_what_cannot_be_read_stays(
    serve: Callable[[], Any], watch: Path
) -> None:
    for number in (3, 1, 2):
        (watch / f"a_{number}.jpg").write_bytes(jpeg(number))
    (watch / "broken.jpg").write_bytes(b"no picture")
    with serve() as client:
        shot = begin(client)
        wait_until(lambda: len(lines(client)) == 4)
        ids = [each["id"] for each in lines(client)]

        client.post("/in-tray/file", data={"shot": shot.rsplit("/", 1)[1], "line": ids})

        assert names(client, shot) == [["a_1.jpg"], ["a_2.jpg"], ["a_3.jpg"]]
        (left,) = lines(client)
        assert (left["files"], left["state"]) == (["broken.jpg"], "refused")
        assert "not a picture that can be taken in" in left["why"][0]
        again = client.post("/in-tray/file", data={"shot": shot.rsplit("/", 1)[1], "only": left["id"]})
        assert again.status_code == 422
        assert "not a picture that can be taken in" in again.text
        assert client.post("/in-tray/dismiss", data={"only": left["id"]}).status_code == 303
        assert lines(client) == []


def test_the_interface_lists_files_and_dismisses(serve: Callable[[], Any], watch: Path) -> None:
    for number in (1, 2):
        (watch / f"a_{number}.jpg").write_bytes(jpeg(number))
    with serve() as client:
        shot = begin(client)
        wait_until(lambda: len(lines(client)) == 2)
        first, second = lines(client)
        assert first["why_facts"] == [{"reason": "found_at_first_look", "about": "", "values": {}}]
        shot_id = shot.rsplit("/", 1)[1]

        filed = client.post(f"/api/v1/in-tray/{first['id']}/file", json={"shot_id": shot_id})
        dismissed = client.post(f"/api/v1/in-tray/{second['id']}/dismiss")

        assert filed.json()["frame_ids"] == [frames(client, shot)[0]["id"]]
        assert dismissed.status_code == 204
        assert lines(client) == []
        gone = client.post(f"/api/v1/in-tray/{first['id']}/file", json={"shot_id": shot_id})
        assert gone.status_code == 409
        assert "it is taken" in gone.json()["detail"][0]["msg"]
        assert client.post("/api/v1/in-tray/none/dismiss").status_code == 404
        assert client.post(f"/api/v1/in-tray/{second['id']}/file", json={"shot_id": "none"}).status_code == 404


def test_a_picture_that_is_written_with_pauses_is_one_frame_with_one_picture(
    serve: Callable[[], Any], watch: Path
) -> None:
    content = jpeg(1)
    with serve() as client:
        shot = begin(client)
        with (watch / "slow.jpg").open("wb") as file:
            for start in range(0, len(content), len(content) // 4):
                file.write(content[start : start + len(content) // 4])
                file.flush()
                time.sleep(0.6)
        wait_until(lambda: len(frames(client, shot)) == 1)
        time.sleep(1)

        ((name,),) = names(client, shot)
        assert name == "slow.jpg"
        assert lines(client) == []


def test_a_transfer_that_pauses_is_told_as_arriving_and_is_one_frame_once_it_is_whole(
    serve: Callable[[], Any], watch: Path
) -> None:
    content = jpeg(1)
    with serve() as client:
        shot = begin(client)
        (watch / "slow.jpg").write_bytes(content[:20_000])
        wait_until(lambda: "Still arriving" in client.get("/in-tray").text)

        page = folded(client.get("/in-tray").text)
        assert "slow.jpg" in page
        assert "It is still arriving: 20 kB so far. It becomes a frame once it is whole." in page
        assert frames(client, shot) == []
        assert lines(client) == []
        with (watch / "slow.jpg").open("ab") as file:
            file.write(content[20_000:])

        wait_until(lambda: names(client, shot) == [["slow.jpg"]])
        assert "Still arriving" not in client.get("/in-tray").text


def test_a_transfer_that_stops_for_long_is_told_and_its_rest_makes_it_a_frame(
    serve: Callable[[], Any], watch: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app, "watch_folder", partial(watch_folder, patience_s=1.0))
    content = jpeg(1)
    with serve() as client:
        shot = begin(client)
        (watch / "slow.jpg").write_bytes(content[:20_000])
        wait_until(lambda: len(lines(client)) == 1)

        (line,) = lines(client)
        assert (line["files"], line["state"]) == (["slow.jpg"], "refused")
        assert line["why"] == [
            "The JPEG is broken or cut short: its pixels cannot be decoded. It stopped growing before it was whole; if "
            "the rest still comes, it becomes a frame by itself."
        ]
        assert "broken or cut short" in client.get(shot).text
        with (watch / "slow.jpg").open("ab") as file:
            file.write(content[20_000:])

        wait_until(lambda: names(client, shot) == [["slow.jpg"]])
        assert lines(client) == []
        assert "broken or cut short" not in client.get(shot).text


def test_a_multi_picture_file_is_waited_for_to_its_last_picture(serve: Callable[[], Any], watch: Path) -> None:
    first = Image.open(io.BytesIO(jpeg(1)))
    out = io.BytesIO()
    first.save(out, "MPO", save_all=True, append_images=[first.copy()], exif=first.getexif())
    content = out.getvalue()
    with serve() as client:
        shot = begin(client)
        # The first picture is whole.
        (watch / "two.jpg").write_bytes(content[: -len(content) // 4])
        wait_until(lambda: "Still arriving" in client.get("/in-tray").text)
        assert frames(client, shot) == []

        (watch / "two.jpg").write_bytes(content)
        wait_until(lambda: names(client, shot) == [["two.jpg"]])


def test_a_heic_without_its_part_says_at_once_what_to_install_and_is_tried_at_the_next_start(
    serve: Callable[[], Any], watch: Path
) -> None:
    if importlib.util.find_spec("pillow_heif") is not None:
        pytest.skip("HEIC can be read here")
    boxes = (16).to_bytes(4, "big") + b"ftypheic" + bytes(4) + b"heic" + bytes(500)
    said: list[str] = []

    def is_told() -> bool:
        said[:] = [why for line in lines(client) for why in line["why"]]
        return any("pip install 'stopledger[heic]'" in why for why in said)

    # Also where no shot is active.
    with serve() as client:
        arrive(watch, "a_1.heic", boxes)
        began = time.monotonic()
        wait_until(is_told)

        # A file that may still be growing is waited for ten seconds.
        assert time.monotonic() - began < 8
        assert said[0].endswith("It is tried again at the next start.")
        assert "pip install 'stopledger[heic]'" in html.unescape(client.get("/in-tray").text)

    read: list[Path] = []
    read_facts = IsolatedPictures.read_facts
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(
            IsolatedPictures, "read_facts", lambda self, path: (read.append(path), read_facts(self, path))[1]
        )
        with serve() as client:
            wait_until(lambda: bool(read) and is_told())


def test_what_came_while_the_server_was_off_is_there_when_it_is_back(serve: Callable[[], Any], watch: Path) -> None:
    with serve() as client:
        shot = begin(client)
        arrive(watch, "a_1.jpg", jpeg(1))
        wait_until(lambda: len(frames(client, shot)) == 1)
    for number in (5, 3, 4, 2):
        (watch / f"a_{number}.jpg").write_bytes(jpeg(number))
    (watch / "b_1.jpg").write_bytes(jpeg(9, body="Second Body"))

    with serve() as client:
        wait_until(lambda: len(frames(client, shot)) == 5 and len(lines(client)) == 1)
        arrive(watch, f"a_{SIX}.jpg", jpeg(SIX))
        wait_until(lambda: len(frames(client, shot)) == SIX)

        assert names(client, shot) == [[f"a_{number}.jpg"] for number in range(1, SIX + 1)]
        assert lines(client)[0]["files"] == ["b_1.jpg"]
        assert lines(client)[0]["why"] == [
            "It is from Invented Works Second Body; Camera 36 × 24 is the camera in the set-up."
        ]


def test_a_card_that_was_copied_while_the_server_was_off_is_asked_about(
    serve: Callable[[], Any], watch: Path
) -> None:
    with serve() as client:
        shot = begin(client)
    for number in range(in_tray.MOST_AT_ONCE + 1):
        (watch / f"card_{number:02d}.jpg").write_bytes(jpeg(number))

    with serve() as client:
        wait_until(lambda: len(lines(client)) == in_tray.MOST_AT_ONCE + 1)

        assert frames(client, shot) == []
        assert "It came with 21 files at once, as from a card." in client.get("/in-tray").text
        assert "21 files wait in the in-tray" in client.get(shot).text


def test_a_card_that_is_copied_while_the_server_runs_is_asked_about(
    serve: Callable[[], Any], watch: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # However slowly it is copied, and no longer waited for than it takes.
    monkeypatch.setattr(together, "APART_S", 600.0)
    card = {f"card_{number:02d}.jpg": jpeg(number, minute=5) for number in range(in_tray.MOST_AT_ONCE + 5)}
    with serve() as client:
        shot = begin(client)
        arrive(watch, "a_1.jpg", jpeg(1))
        wait_until(lambda: len(frames(client, shot)) == 1)

        for name, content in card.items():
            (watch / name).write_bytes(content)
            time.sleep(0.05)
        arrive(watch, "a_2.jpg", jpeg(2))
        wait_until(lambda: len(frames(client, shot)) == 2 and all(is_seen(client, name) for name in card))
        monkeypatch.setattr(together, "APART_S", 0.0)

        wait_until(lambda: len(lines(client)) == len(card) and len(frames(client, shot)) == 2)
        said = f"It came with {len(card)} files at once, as from a card."
        wait_until(lambda: {why for line in lines(client) for why in line["why"]} == {said})
        assert names(client, shot) == [["a_1.jpg"], ["a_2.jpg"]]


def test_many_frames_that_are_shot_in_a_row_are_no_card(serve: Callable[[], Any], watch: Path) -> None:
    with serve() as client:
        shot = begin(client)
        for number in range(in_tray.MOST_AT_ONCE + 5):
            arrive(watch, f"a_{number:02d}.jpg", jpeg(number))

        wait_until(lambda: len(frames(client, shot)) == in_tray.MOST_AT_ONCE + 5)
        assert lines(client) == []


def test_a_few_files_that_come_late_are_frames_once_no_more_of_them_come(
    serve: Callable[[], Any], watch: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(together, "APART_S", 0.5)
    with serve() as client:
        shot = begin(client)
        arrive(watch, "a_9.jpg", jpeg(9))
        wait_until(lambda: len(frames(client, shot)) == 1)

        for number in (3, 2):
            arrive(watch, f"a_{number}.jpg", jpeg(number, minute=5))

        wait_until(lambda: len(frames(client, shot)) == 3)
        assert names(client, shot) == [["a_9.jpg"], ["a_2.jpg"], ["a_3.jpg"]]


def test_a_file_that_vanishes_before_it_is_whole_is_told_at_once(serve: Callable[[], Any], watch: Path) -> None:
    with serve() as client:
        begin(client)
        (watch / "brief.jpg").write_bytes(jpeg(1)[:5000])
        wait_until(lambda: is_seen(client, "brief.jpg"))
        (watch / "brief.jpg").unlink()

        wait_until(lambda: [line["files"] for line in lines(client)] == [["brief.jpg"]])
        assert lines(client)[0]["why"] == ["It was gone from the folder before it was whole."]


def test_a_file_that_is_renamed_before_it_is_whole_is_one_frame(serve: Callable[[], Any], watch: Path) -> None:
    content = jpeg(1)
    with serve() as client:
        shot = begin(client)
        (watch / "name_as_written.jpg").write_bytes(content[:5000])
        wait_until(lambda: is_seen(client, "name_as_written.jpg"))
        (watch / "name_as_written.jpg").rename(watch / "name.jpg")
        (watch / "name.jpg").write_bytes(content)

        wait_until(lambda: names(client, shot) == [["name.jpg"]])
        wait_until(lambda: all(line["files"] != ["name.jpg"] for line in lines(client)))


def test_a_file_of_a_full_disk_is_a_frame_once_there_is_room(
    serve: Callable[[], Any], watch: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(again, "FIRST_PAUSE_S", 0.2)
    with serve() as client:
        shot = begin(client)
        with monkeypatch.context() as disk:
            disk.setattr(os, "fsync", full)
            arrive(watch, "a_1.jpg", jpeg(1))
            wait_until(lambda: len(lines(client)) == 1)
            assert "No space left" in lines(client)[0]["why"][0]
            assert "tried again by itself" in lines(client)[0]["why"][0]
            # It is tried, and told of once.
            time.sleep(1)

        wait_until(lambda: names(client, shot) == [["a_1.jpg"]])
        assert lines(client) == []
        assert client.get(shot).text.count("No space left") == 1


def a_card(watch: Path, count: int = in_tray.MOST_AT_ONCE + 1) -> None:
    for number in range(count):
        (watch / f"card_{number:02d}.jpg").write_bytes(jpeg(number))


def question(client: TestClient) -> str:
    (found,) = re.findall(r'name="question" value="([^"]+)"', client.get("/in-tray").text)
    return str(found)


def test_a_card_is_one_question_and_one_press_logs_all_of_it(serve: Callable[[], Any], watch: Path) -> None:
    a_card(watch)
    with serve() as client:
        shot = begin(client)
        wait_until(lambda: len(lines(client)) == in_tray.MOST_AT_ONCE + 1)
        page = folded(client.get("/in-tray").text)
        assert "21 files were in the folder before it was watched for the first time." in page
        (active,) = re.findall(r'name="active" value="([^"]+)">Log all as frames of enamel dial<', page)

        asked = question(client)
        answer = client.post("/in-tray/file", data={"question": asked, "shot": "another", "active": active})

        assert answer.status_code == 303
        wait_until(lambda: lines(client) == [])
        assert names(client, shot) == [[f"card_{number:02d}.jpg"] for number in range(in_tray.MOST_AT_ONCE + 1)]
        again = client.post("/in-tray/file", data={"question": asked, "active": active})
        assert again.status_code == 409
        assert "That was answered already" in again.text


@pytest.mark.parametrize("leave_out", [True, False])
def test_a_card_is_filed_to_another_shot_or_left_out(
    serve: Callable[[], Any], watch: Path, *, leave_out: bool
) -> None:
    a_card(watch, 3)
    with serve() as client:
        other, shot = begin(client), begin(client)
        wait_until(lambda: len(lines(client)) == 3)
        line = lines(client)[0]["id"]
        # One of them by itself, whatever is asked about.
        client.post("/in-tray/dismiss", data={"question": question(client), "only": line})
        said = {"question": question(client), "shot": other.rsplit("/", 1)[1]}

        client.post("/in-tray/dismiss" if leave_out else "/in-tray/file", data=said)

        wait_until(lambda: lines(client) == [])
        assert frames(client, shot) == []
        assert len(frames(client, other)) == (0 if leave_out else 2)


def test_the_page_is_told_what_comes_and_goes(tmp_path: Path, watch: Path) -> None:
    with running(tmp_path / "data", watch=watch) as (client, _):
        page = client.get("/in-tray").text
        (address,) = re.findall(r'hx-sse:connect="([^"]+)"', page)
        listener = Listener(client, html.unescape(address))
        listener.wait_for("listening")

        arrive(watch, "a_1.jpg", jpeg(1))
        heard = listener.wait_for("No shot was active when it came.")

        assert '<div id="in-tray" hx-swap-oob="outerMorph">' in heard
        assert element(client.get("/in-tray").text, "in-tray").removeprefix('<div id="in-tray">') in folded(
            heard.replace("data: ", "")
        )
        listener.text = ""
        (line,) = client.get("/api/v1/in-tray").json()
        client.post(f"/api/v1/in-tray/{line['id']}/dismiss")
        listener.wait_for("Nothing waits")
        # The shots that it may be filed to are told, too.
        begin(client)  # type: ignore[arg-type]
        arrive(watch, "a_2.jpg", b"no picture")
        listener.wait_for("enamel dial")


def test_a_film_in_the_folder_is_told_of(serve: Callable[[], Any], watch: Path) -> None:
    (watch / "clip.mov").write_bytes(b"\0\0\0\x14ftypqt  " + bytes(100))
    (watch / "notes.txt").write_bytes(b"no camera file")
    with serve() as client:
        wait_until(lambda: len(lines(client)) == 1)

        assert lines(client)[0]["files"] == ["clip.mov"]
