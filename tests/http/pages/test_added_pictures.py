"""Pictures that are added on the page, several at once: each is a frame or is said not to be, and raw and JPEG of one
exposure are one frame."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from httpx import Response
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, element, folded
from tests.made_pictures import counts_of, jpeg_bytes, mosaic, rational, scene, write_dng

BODY = {0x10F: "Invented Works", 0x110: "Bench Camera 1"}


def jpeg(second: int, f_number: float = 8) -> bytes:
    settings = {0x829A: rational("1/125"), 0x829D: rational(f_number), 0x8827: 100, 0x9291: "25"}
    taken_at = {0x9003: f"2026:11:24 10:31:{second:02d}"}
    return jpeg_bytes(np.full((24, 36, 3), 90, np.uint8), exif=BODY, settings=settings | taken_at)


def raw(path: Path, second: int) -> bytes:
    """The raw file of the same exposure."""
    counts = counts_of(mosaic(scene(24, 32)), noise=0.001, seed=second)
    return write_dng(path, counts, taken_at=f"2026:11:24 10:31:{second:02d}").read_bytes()


def add(client: TestClient, shot: str, files: dict[str, bytes], **headers: str) -> Response:
    sent = [("picture", (name, content)) for name, content in files.items()]
    return client.post(f"{shot}/frames", data={"purpose": "test"}, files=sent, headers=headers)  # type: ignore[return-value]


def names(client: TestClient, shot: str) -> list[list[str]]:
    """The files of each frame, in the order of their numbers."""
    found = client.get(f"/api/v1{shot}/frames").json()["frames"]
    return [sorted(each["name"] for each in frame["pictures"]) for frame in reversed(found)]


def test_several_files_are_frames_in_the_order_of_exposure(client: TestClient) -> None:
    shot = begin(client)

    answer = add(client, shot, {"a_3.jpg": jpeg(3, 16), "a_1.jpg": jpeg(1), "a_2.jpg": jpeg(2)}, **HTMX)

    assert answer.status_code == 200
    assert names(client, shot) == [["a_1.jpg"], ["a_2.jpg"], ["a_3.jpg"]]
    assert answer.text.count('<tr id="frame-') == 3
    # The set-up is that of the last exposure.
    assert 'value="f/16"' in answer.text


def test_without_scripts_several_files_are_frames_too(client: TestClient) -> None:
    shot = begin(client)

    answer = add(client, shot, {"a_1.jpg": jpeg(1), "a_2.jpg": jpeg(2)})

    assert answer.status_code == 303
    assert names(client, shot) == [["a_1.jpg"], ["a_2.jpg"]]


@pytest.mark.parametrize("headers", [HTMX, {}])
def test_a_batch_of_which_one_fails_says_which_and_why(client: TestClient, headers: dict[str, str]) -> None:
    shot = begin(client)

    answer = add(client, shot, {"a_1.jpg": jpeg(1), "broken.jpg": b"no picture", "a_2.jpg": jpeg(2)}, **headers)

    assert answer.status_code == 200
    assert names(client, shot) == [["a_1.jpg"], ["a_2.jpg"]]
    said = "broken.jpg: This is not a picture that can be taken in"
    assert said in folded(answer.text)
    assert said in element(client.get(shot).text, f"notices-{shot.rsplit('/', 1)[1]}")


def test_a_batch_of_which_all_fail_logs_nothing_and_names_each(client: TestClient) -> None:
    shot = begin(client)

    answer = add(client, shot, {"one.jpg": b"no picture", "two.jpg": b""}, **HTMX)

    assert answer.status_code == 422
    assert "one.jpg:" in answer.text
    assert "two.jpg: The file is empty." in answer.text
    assert names(client, shot) == []


def test_raw_and_jpeg_in_one_batch_are_one_frame(client: TestClient, tmp_path: Path) -> None:
    shot = begin(client)

    add(client, shot, {"a_2.jpg": jpeg(2), "a_1.jpg": jpeg(1), "a_1.dng": raw(tmp_path / "a_1.dng", 1)})

    assert names(client, shot) == [["a_1.dng", "a_1.jpg"], ["a_2.jpg"]]


@pytest.mark.parametrize("order", [("a_1.jpg", "a_1.dng"), ("a_1.dng", "a_1.jpg")])
def test_raw_and_jpeg_that_are_added_one_after_the_other_are_one_frame(
    client: TestClient, tmp_path: Path, order: tuple[str, str]
) -> None:
    content = {"a_1.jpg": jpeg(1), "a_1.dng": raw(tmp_path / "a_1.dng", 1)}
    shot = begin(client)

    for name in order:
        add(client, shot, {name: content[name]})

    assert names(client, shot) == [["a_1.dng", "a_1.jpg"]]


def test_raw_and_jpeg_are_one_frame_by_the_interface_too(client: TestClient, tmp_path: Path) -> None:
    shot = begin(client)
    first = client.post(f"/api/v1{shot}/frames", files={"picture": ("a_1.jpg", jpeg(1))})
    second = client.post(f"/api/v1{shot}/frames", files={"picture": ("a_1.dng", raw(tmp_path / "a_1.dng", 1))})

    assert (first.status_code, second.status_code) == (201, 200)
    assert second.json()["id"] == first.json()["id"]
    assert names(client, shot) == [["a_1.dng", "a_1.jpg"]]


def test_a_file_that_is_added_late_stands_where_it_was_exposed(client: TestClient) -> None:
    shot = begin(client)
    add(client, shot, {"a_1.jpg": jpeg(1), "a_3.jpg": jpeg(3, 11)})

    answer = add(client, shot, {"a_2.jpg": jpeg(2, 16)}, **HTMX)

    assert "Frame 3 came late: it was exposed before another." in answer.text
    assert 'value="f/11"' in answer.text


def test_a_picture_that_is_known_from_another_shot_says_so(client: TestClient) -> None:
    there = begin(client)
    add(client, there, {"a_1.jpg": jpeg(1)})
    session = client.get(there).text.split('href="/sessions/', 1)[1].split('"', 1)[0]
    here = client.post(f"/sessions/{session}/shots", data={"title": "the box"}).headers["location"]

    one = add(client, here, {"copy.jpg": jpeg(1)}, **HTMX)
    two = add(client, here, {"copy.jpg": jpeg(1), "a_2.jpg": jpeg(2)}, **HTMX)

    assert "copy.jpg is in the log already: frame 1 of enamel dial." in one.text
    assert "copy.jpg is in the log already: frame 1 of enamel dial." in two.text
    assert names(client, here) == [["a_2.jpg"]]
    assert two.text.count('<tr id="frame-') == 1
