"""Photos of the set over HTTP: added, told what they show, placed on the plan, shown to nobody else, and deleted for good."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, element, folded
from tests.made_pictures import jpeg_bytes
from webapp.shoots import set_photos as photos_of

SECRET = "Zq91xJv-secret"


def photo_bytes(level: int = 90, *, place: bool = False) -> bytes:
    """A photo; with `place` it says where it was taken, and by whom."""
    content = jpeg_bytes(np.full((60, 90, 3), level, dtype=np.uint8))
    if not place:
        return content
    exif = Image.Exif()
    exif[0x013B] = SECRET
    exif.get_ifd(0x8825).update({0x0001: "N", 0x0002: (48.0, 12.0, 31.5)})
    out = io.BytesIO()
    with Image.open(io.BytesIO(content)) as image:
        image.save(out, "JPEG", exif=exif)
    return out.getvalue()


def add(client: TestClient, shot: str, *levels: int, **how: Any) -> list[dict[str, Any]]:
    """Add photos; the answer is all of the set."""
    files = [("photo", (f"set-{level}.jpg", photo_bytes(level, **how), "image/jpeg")) for level in levels]
    answer = client.post(f"{shot}/photos", files=files)
    assert (answer.status_code, answer.headers["location"]) == (303, f"{shot}/photos")
    return photos(client, shot)


def photos(client: TestClient, shot: str) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = client.get(f"/api/v1{shot}/set-photos").json()
    return found


def house(client: TestClient) -> Path:
    data: Path = client.app.state.services.settings.data  # type: ignore[attr-defined]
    return data


def everything_in(folder: Path) -> bytes:
    return b"".join(path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file())


def test_photos_are_added_and_stand_on_the_page_and_before_striking(client: TestClient) -> None:
    shot = begin(client)
    assert "Add one" in client.get(f"{shot}/strike").text

    first, second = add(client, shot, 90, 140)

    for address in (f"{shot}/photos", f"{shot}/strike"):
        page = client.get(address).text
        assert f'href="/set-photos/{first["id"]}"' in page
        assert f'src="/set-photos/{second["id"]}/thumbnail"' in page
    assert "2 photos" in client.get(f"{shot}/strike").text
    assert client.get(f"/set-photos/{first['id']}/thumbnail").headers["content-type"] == "image/jpeg"


def test_what_is_shown_of_a_photo_is_made_of_its_pixels_alone_and_asked_for_each_time(client: TestClient) -> None:
    (photo,) = add(client, begin(client), 90, place=True)

    for name in ("picture", "thumbnail"):
        shown = client.get(f"/set-photos/{photo['id']}/{name}")
        assert shown.headers["cache-control"] == "private, no-cache"
        with Image.open(io.BytesIO(shown.content)) as image:
            assert dict(image.getexif()) == {}
        assert SECRET.encode() not in shown.content


def test_the_same_photo_twice_is_one(client: TestClient) -> None:
    shot = begin(client)

    assert len(add(client, shot, 90)) == len(add(client, shot, 90)) == 1


def test_what_is_no_picture_is_refused_by_name_and_costs_the_others_nothing(client: TestClient) -> None:
    shot = begin(client)
    files = [
        ("photo", ("notes.jpg", b"no picture", "image/jpeg")),
        ("photo", ("set.jpg", photo_bytes(), "image/jpeg")),
    ]

    answer = client.post(f"{shot}/photos", files=files, headers=HTMX)

    assert answer.status_code == 422
    assert "notes.jpg: " in answer.text
    assert [each["name"] for each in photos(client, shot)] == ["set.jpg"]


def test_a_photo_that_is_too_large_and_one_too_many_are_refused(
    client: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    shot = begin(client)
    monkeypatch.setattr(photos_of, "MOST_PHOTOS", 1)
    add(client, shot, 90)

    one_more = client.post(f"{shot}/photos", files={"photo": ("b.jpg", photo_bytes(120), "image/jpeg")})
    monkeypatch.setattr(photos_of, "MOST_PHOTOS", 9)
    monkeypatch.setattr(photos_of, "MOST_BYTES", 100)
    larger = client.post(f"{shot}/photos", files={"photo": ("b.jpg", photo_bytes(120), "image/jpeg")})

    assert "A set has 1 photos at most" in one_more.text
    assert "has at most" in larger.text
    assert len(photos(client, shot)) == 1


def test_a_caption_is_kept_and_a_stale_one_is_refused(client: TestClient) -> None:
    (photo,) = add(client, begin(client), 90)
    page = f"/set-photos/{photo['id']}"

    kept = client.post(page, data={"caption": " the key  from behind ", "revision": "1"})
    stale = client.post(page, data={"caption": "mine", "revision": "1"}, headers=HTMX)
    longer = client.post(page, data={"caption": "a" * 301, "revision": "2"}, headers=HTMX)

    assert kept.headers["location"] == page
    assert (stale.status_code, longer.status_code) == (409, 422)
    assert 'role="alert"' in stale.text
    assert 'value="mine"' in stale.text
    assert 'value="the key from behind"' in client.get(page).text


def test_it_is_placed_by_numbers_and_stands_on_the_plan(client: TestClient) -> None:
    shot = begin(client)
    (photo,) = add(client, shot, 90)
    page = f"/set-photos/{photo['id']}"
    client.post(page, data={"caption": "from the door"})
    assert 'class="viewpoint"' not in client.get(f"{shot}/plan").text

    placed = client.post(f"{page}/place", data={"distance": "200 cm", "bearing": "90 right", "looks": ""})

    assert placed.headers["location"] == page
    place = photos(client, shot)[0]["place"]
    assert place["x_mm"] == pytest.approx(2000.0)
    assert place["y_mm"] == pytest.approx(0.0, abs=1e-6)
    assert place["looks_deg"] == pytest.approx(-90.0), "at the subject, which lies to the left"
    assert "200 cm from the subject, 90° right, looks 90° left" in client.get(page).text
    plan = client.get(f"{shot}/plan").text
    assert f'<a class="viewpoint" href="{page}" aria-label="Photo 1: from the door">' in plan
    assert "1 photo of the set" in plan


def test_it_is_placed_by_a_tap_turned_and_taken_off_again(client: TestClient) -> None:
    shot = begin(client)
    (photo,) = add(client, shot, 90)
    page = f"/set-photos/{photo['id']}"

    told = client.post(f"{page}/place", data={"x": "-500 mm", "y": "-1200 mm", "looks": "30"}, headers=HTMX)
    assert 'class="viewpoint here"' in told.text
    assert photos(client, shot)[0]["place"] == {"x_mm": -500.0, "y_mm": -1200.0, "looks_deg": 30.0}

    client.post(f"{page}/place", data={"away": "1"})
    assert photos(client, shot)[0]["place"] is None


@pytest.mark.parametrize(
    "said",
    [
        {"distance": "far", "bearing": "45 left"},
        {"distance": "2 m", "bearing": "sideways"},
        {"distance": "2 m", "bearing": "45 left", "looks": "up"},
        {"x": "101 m", "y": "0"},
        {"x": "1 m"},
    ],
)
def test_a_place_that_is_none_comes_back_as_it_was_typed(client: TestClient, said: dict[str, str]) -> None:
    shot = begin(client)
    (photo,) = add(client, shot, 90)

    answer = client.post(f"/set-photos/{photo['id']}/place", data=said, headers=HTMX)

    assert answer.status_code == 422
    assert 'role="alert"' in answer.text
    assert all(f'value="{each}"' in answer.text for name, each in said.items() if name not in ("x", "y"))
    assert photos(client, shot)[0]["place"] is None


def test_a_photo_can_be_added_to_a_closed_shot(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/strike")

    assert len(add(client, shot, 90)) == 1
    assert "Photos of the set" in client.get(f"{shot}/strike").text


def test_a_deleted_photo_is_gone_with_its_file_and_its_words(client: TestClient) -> None:
    shot = begin(client)
    (photo,) = add(client, shot, 90, place=True)
    client.post(f"/set-photos/{photo['id']}", data={"caption": SECRET})

    answer = client.post(f"/set-photos/{photo['id']}/delete")

    assert answer.headers["location"] == f"{shot}/photos"
    for name in ("", "/picture", "/thumbnail"):
        assert client.get(f"/set-photos/{photo['id']}{name}").status_code == 404
    assert SECRET.encode() not in everything_in(house(client))
    assert not [each for each in (house(client) / "pictures").rglob("*") if each.is_file()]
    assert not list((house(client) / "previews").iterdir())


def test_a_photo_that_is_a_frame_too_is_deleted_and_the_frame_keeps_its_picture(client: TestClient) -> None:
    shot = begin(client)
    client.post(f"{shot}/frames", files={"picture": ("a.jpg", photo_bytes(), "image/jpeg")})
    client.app.state.services.intake.finish()  # type: ignore[attr-defined]
    (photo,) = add(client, shot, 90)

    client.post(f"/set-photos/{photo['id']}/delete")

    (digest,) = set(re.findall(r"/pictures/(\w+)/", client.get(shot).text))
    assert client.get(f"/pictures/{digest}/original").content == photo_bytes()


def test_photos_go_with_the_session_for_good(client: TestClient) -> None:
    session = client.post("/sessions", data={"name": "enamel day"}).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": "dial"}).headers["location"]
    (photo,) = add(client, shot, 90, place=True)
    client.post(f"/set-photos/{photo['id']}", data={"caption": SECRET})
    assert "1 photo of the set" in client.get(f"{session}/delete-for-good").text

    assert client.post(f"{session}/delete-for-good", data={"name": "enamel day"}).status_code == 303

    assert client.get(f"/set-photos/{photo['id']}/picture").status_code == 404
    assert SECRET.encode() not in everything_in(house(client))
    assert not [each for each in (house(client) / "pictures").rglob("*") if each.is_file()]


def test_a_shot_with_photos_is_not_deleted_by_a_slip(client: TestClient) -> None:
    shot = begin(client)
    add(client, shot, 90)

    assert client.post(f"{shot}/delete").status_code == 409
    assert len(photos(client, shot)) == 1


def test_everything_of_a_session_has_its_photos(client: TestClient) -> None:
    session = client.post("/sessions", data={"name": "enamel day"}).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": "dial"}).headers["location"]
    (photo,) = add(client, shot, 90)
    client.post(f"/set-photos/{photo['id']}", data={"caption": "from the door"})

    answer = client.get(f"/api/v1{session}/everything.zip")

    with zipfile.ZipFile(io.BytesIO(answer.content)) as archive:
        assert archive.read("shot-1/set-photos/photo-01.jpg") == photo_bytes()
        assert "from the door" in archive.read("shot-1/set-photos.json").decode()


def test_a_lost_preview_is_made_again(client: TestClient) -> None:
    (photo,) = add(client, begin(client), 90)
    for each in (house(client) / "previews").iterdir():
        each.unlink()

    assert client.get(f"/set-photos/{photo['id']}/picture").status_code == 200


def test_the_partial_is_the_element_of_the_full_page(client: TestClient) -> None:
    shot = begin(client)
    (photo,) = add(client, shot, 90)

    for address, name in (
        (f"{shot}/photos", f"photos-{shot[7:]}"),
        (f"/set-photos/{photo['id']}", f"set-photo-{photo['id']}"),
    ):
        partial = client.get(address, headers=HTMX).text
        assert folded(element(partial, name)) == folded(element(client.get(address).text, name))


def test_a_photo_that_there_is_not_is_not_found(client: TestClient) -> None:
    assert client.get("/set-photos/none").status_code == 404
    assert client.post("/set-photos/none/place", data={"x": "1", "y": "1"}).status_code == 404
    assert (
        client.post("/shots/none/photos", files={"photo": ("a.jpg", photo_bytes(), "image/jpeg")}).status_code == 404
    )
