"""A house with one shot in it whose every private field and camera file carries a marker."""

from __future__ import annotations

import io
import re
import time
from dataclasses import dataclass

import pytest
from PIL import Image
from starlette.testclient import TestClient

MARK = "XLEAKX"


@dataclass(frozen=True)
class Shoot:
    """Addresses of a shoot over HTTP."""

    client: TestClient
    session: str
    shot: str
    frame: str


def marked_jpeg() -> bytes:
    """A picture whose metadata says what must not leave the house: who, where, with which body."""
    image = Image.effect_noise((240, 160), 40).convert("RGB")
    exif = Image.Exif()
    exif[0x010E] = f"{MARK} description"
    exif[0x013B] = f"{MARK} artist"
    exif[0x8298] = f"{MARK} rights"
    exif.get_ifd(0x8769)[0xA431] = f"{MARK}-serial"
    exif.get_ifd(0x8825)[0x001D] = f"{MARK}"
    out = io.BytesIO()
    image.save(out, "JPEG", exif=exif, comment=f"{MARK} comment".encode())
    return out.getvalue()


@pytest.fixture
def shoot(client: TestClient) -> Shoot:
    private = {
        name: f"{MARK} {name}"
        for name in ("name", "place", "made_for", "brief", "used_for", "size", "crop", "must_match", "notes")
    }
    session = client.post("/sessions", data=private).headers["location"]
    shot = client.post(f"{session}/shots", data={"title": "enamel dial", "look": "soft"}).headers["location"]
    picture = {"picture": (f"{MARK}.jpg", marked_jpeg(), "image/jpeg")}
    client.post(f"{shot}/frames", data={"purpose": "test", "notes": f"{MARK} frame notes"}, files=picture)
    frame = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', client.get(shot).text)[0]
    wait_for_picture(client, frame)
    return Shoot(client, session, shot, frame)


def wait_for_picture(client: TestClient, frame: str) -> None:
    """Until the picture of a frame is there to be seen."""
    deadline = time.monotonic() + 120
    while "/preview" not in client.get(frame).text:
        assert time.monotonic() < deadline, "the picture was never read"
        time.sleep(0.05)


def published(shoot: Shoot, **said: str) -> str:
    """Publish the shoot's frame; the answer is the recipe's address."""
    form = {
        "title": "Enamel dial",
        "why": "soft from above",
        "step-90-words": "prove black",
        "step-91-words": "key first",
    }
    answer = shoot.client.post(f"{shoot.frame}/recipe", data=form | said)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def link(shoot: Shoot, recipe: str, **said: str) -> str:
    """Hand out a link; the answer is its address."""
    before = set(re.findall(r'href="(/shared/[\w-]+)"', shoot.client.get(recipe).text))
    shoot.client.post(f"{recipe}/links", data={"number": "1", "reader": "student"} | said)
    after = set(re.findall(r'href="(/shared/[\w-]+)"', shoot.client.get(recipe).text))
    return str((after - before).pop())
