"""Short ways over HTTP, as a browser without scripts goes them."""

from __future__ import annotations

import re

from httpx import Response
from starlette.testclient import TestClient

HTMX = {"HX-Request": "true"}


def begin(client: TestClient) -> str:
    """A session with a shot; the answer is the shot's address."""
    session = client.post("/sessions", data={"name": "bench day"}).headers["location"]
    return client.post(f"{session}/shots", data={"title": "enamel dial", "subject_is_static": "true"}).headers[
        "location"
    ]


def set_field(client: TestClient, shot: str, field: str, value: str, **more: str) -> Response:
    return client.post(f"{shot}/standing", data={"field": field, "value": value} | more)  # type: ignore[return-value]


def log(client: TestClient, shot: str, **words: str) -> str:
    """Log a frame; the answer is its address."""
    client.post(f"{shot}/frames", data={"purpose": "test"} | words)
    found = re.findall(r'href="(/frames/[^"]+)" aria-label="Frame', client.get(shot).text)
    return str(found[0])


def told(client: TestClient, shot: str) -> str:
    """What is told of a shot: on the page for shooting, and a press away from it."""
    return "".join(client.get(address).text for address in (shot, f"{shot}/set-up", f"{shot}/balance"))


def element(page: str, element_id: str) -> str:
    """The element of that id as text, white space folded; ids stand on sections, rows and divs that do not nest in
    their own kind."""
    start = re.search(rf'<(\w+)[^>]*\bid="{re.escape(element_id)}"', page)
    assert start is not None, f"no element {element_id}"
    end = page.index(f"</{start.group(1)}>", start.start())
    return folded(page[start.start() : end])


def folded(text: str) -> str:
    """Text without what differs between two drawings of the same thing: white space and save keys."""
    return re.sub(r"\s+", " ", re.sub(r'name="save_key" value="[^"]+"', "", text)).strip()


def offers(page: str) -> dict[str, str]:
    """The corrections that a page offers: what the key says, and the digest that it sends."""
    found = re.findall(r'name="digest" value="(\w+)"><button[^>]*>([^<]+)</button>', page)
    return {action: digest for digest, action in found}
