"""The guide number of a flash: typed into the kit, standing in for a meter reading on the plan, frozen with a frame."""

from __future__ import annotations

import html
import re

import pytest
from starlette.testclient import TestClient

from tests.http.pages.walk import HTMX, begin, log, set_field
from webapp.kit import inventory
from webapp.shoots import frames

HEAD = {"name": "small flash 2", "range_stops": "7", "step_stops": "1/3", "guide_number_m": "40"}


def keep(client: TestClient, **said: str) -> str:
    """A flash in the kit; the answer is its id."""
    assert client.post("/kit/lights/new", data=HEAD | said).status_code == 303
    records = client.app.state.services.records  # type: ignore[attr-defined]
    return next(item for item, name in inventory.choices(records).heads if name.startswith(HEAD["name"]))


def share_of_a(client: TestClient, shot: str) -> str:
    """The line of A's share on the plan, as words; it stands below that of what the last move did to it."""
    text = html.unescape(client.get(f"{shot}/plan").text)
    *_, found = re.findall(r'<th scope="row">share of A(.*?)</tr>', text, re.S)
    return re.sub(r"<[^>]+>|\s+", " ", found)


def set_up_with(client: TestClient, head: str, **fields: str) -> str:
    shot = begin(client)
    for name, value in ({"head": head, "power": "1/4"} | fields).items():
        assert set_field(client, shot, f"lights.A.{name}", value).status_code == 303
    place = {"field": "lights.A", "distance": "100", "bearing": "30 left", "height": "0"}
    assert client.post(f"{shot}/plan", data=place, headers=HTMX).status_code == 200
    return shot


def test_a_flash_that_was_never_metered_has_its_share_from_its_guide_number_and_says_so(client: TestClient) -> None:
    shot = set_up_with(client, keep(client))

    told = share_of_a(client, shot)

    assert "100 %" in told
    assert "modelled from its guide number, not metered" in told
    assert "ISO 1230" in client.get(f"{shot}/plan").text


def test_with_another_modifier_on_it_the_guide_number_does_not_hold(client: TestClient) -> None:
    head = keep(client, guide_reflector="standard reflector")
    listed = inventory.choices(client.app.state.services.records).modifiers  # type: ignore[attr-defined]
    stated, other = (next(item for item, name in listed if word in name) for word in ("standard", "snoot"))

    with_stated = share_of_a(client, set_up_with(client, head, modifier=stated))
    with_other = share_of_a(client, set_up_with(client, head, modifier=other))

    assert "modelled from its guide number" in with_stated
    assert "stated for standard reflector, not for what is on it" in with_other


@pytest.mark.parametrize(
    ("said", "told"),
    [
        ({"guide_number_m": "forty"}, "number"),
        ({"guide_number_m": "-4"}, "more than 0 is needed"),
        ({"kind": "continuous"}, "Only a flash has a guide number"),
    ],
)
def test_what_is_no_guide_number_is_refused_and_kept_on_the_form(
    client: TestClient, said: dict[str, str], told: str
) -> None:
    answer = client.post("/kit/lights/new", data=HEAD | said)

    assert answer.status_code == 422
    assert told in html.unescape(answer.text)
    assert f'value="{(HEAD | said)["guide_number_m"]}"' in answer.text


def test_a_frame_keeps_the_guide_number_that_it_was_made_with(client: TestClient) -> None:
    head = keep(client)
    shot = set_up_with(client, head)
    frame = log(client, shot).rsplit("/", 1)[1]

    assert client.post(f"/kit/lights/{head}", data=HEAD | {"guide_number_m": "20"}).status_code == 303

    records = client.app.state.services.records  # type: ignore[attr-defined]
    frozen = frames.one(records, frame).set_up.light("A")
    assert frozen is not None
    assert frozen.head.guide_number_m == 40.0
