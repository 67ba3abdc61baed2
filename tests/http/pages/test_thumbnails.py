"""Where a picture is shown small, a small one is asked for."""

from __future__ import annotations

import io
import re
from pathlib import Path

from PIL import Image
from starlette.testclient import TestClient

from tests.http.recipes.conftest import Shoot, published
from tests.http.recipes.conftest import shoot as shoot
from tests.http.running import wait_until

_KEPT_FOR_GOOD = "private, max-age=31536000, immutable"


def _size(content: bytes) -> tuple[int, int]:
    return Image.open(io.BytesIO(content)).size


def _large_picture() -> bytes:
    out = io.BytesIO()
    Image.effect_noise((1200, 800), 20).convert("RGB").save(out, "JPEG")
    return out.getvalue()


def _row_picture(client: TestClient, shot: str) -> str:
    """The address in the newest line of the log, once the picture is there."""
    address = re.compile(r'<td class="picture"><a [^>]+><img src="([^"]+)"')
    wait_until(lambda: address.search(client.get(shot).text))
    found = address.search(client.get(shot).text)
    assert found is not None
    return found.group(1)


def _logged_with(client: TestClient, shot: str, content: bytes) -> str:
    client.post(f"{shot}/frames", data={"purpose": "test"}, files={"picture": ("a.jpg", content, "image/jpeg")})
    return _row_picture(client, shot)


def _shot(client: TestClient) -> str:
    session = client.post("/sessions", data={"name": "bench day"}).headers["location"]
    return client.post(f"{session}/shots", data={"title": "enamel dial"}).headers["location"]


def test_a_line_of_the_log_has_a_thumbnail_from_the_first(client: TestClient) -> None:
    address = _logged_with(client, _shot(client), _large_picture())

    answer = client.get(address)

    assert address.endswith("/thumbnail")
    assert _size(answer.content) == (320, 213)
    assert answer.headers["cache-control"] == _KEPT_FOR_GOOD
    assert _size(client.get(address.replace("thumbnail", "preview")).content) == (1200, 800)


def test_pictures_from_before_there_were_thumbnails_show_their_preview_until_it_is_made(
    client: TestClient, tmp_path: Path
) -> None:
    address = _logged_with(client, _shot(client), _large_picture())
    [made] = (tmp_path / "data" / "previews").glob("*.thumbnail.jpg")
    made.unlink()

    first = client.get(address)

    assert first.status_code == 200
    assert _size(first.content) == (1200, 800)
    assert first.headers["cache-control"] == "private, no-cache"
    wait_until(made.is_file)
    second = client.get(address)
    assert _size(second.content) == (320, 213)
    assert second.headers["cache-control"] == _KEPT_FOR_GOOD


def test_a_list_of_recipes_has_thumbnails(shoot: Shoot) -> None:
    published(shoot)
    page = shoot.client.get("/recipes").text
    [address] = re.findall(r'<img src="(/recipes/pictures/[^"]+)"', page)

    assert address.endswith("/thumbnail")
    wait_until(lambda: shoot.client.get(address).headers["cache-control"] == _KEPT_FOR_GOOD)
    assert max(_size(shoot.client.get(address).content)) <= 320


def test_a_picture_that_is_not_there_has_no_thumbnail(client: TestClient) -> None:
    for address in ("/pictures/abc/thumbnail", "/recipes/pictures/abc/thumbnail"):
        assert client.get(address).status_code == 404
