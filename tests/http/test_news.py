"""Every change is told to every page that follows, once, whoever made it: heard on the stream of events."""

from __future__ import annotations

import html
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from typing import Any

import httpx
import pytest
from PIL import Image

from tests.http.running import Listener, running, wait_until
from webapp.records.tables import SavedMix

API = "/api/v1"


@dataclass
class House:
    client: httpx.Client
    services: Any

    def begin(self, name: str) -> Shot:
        session = self.client.post("/sessions", data={"name": name}).headers["location"]
        return self.begin_in(session, name)

    def begin_in(self, session: str, title: str) -> Shot:
        shot = self.client.post(f"{session}/shots", data={"title": title}).headers["location"]
        return Shot(self, session, shot)


@dataclass
class Shot:
    """A shot with those who follow it."""

    house: House
    session: str
    address: str
    pages: int = field(default=0)

    @property
    def id(self) -> str:
        return self.address.rsplit("/", 1)[1]

    def post(self, path: str, page: str = "", **said: Any) -> httpx.Response:
        headers = {"X-Page": page, "HX-Request": "true"} if page else {}
        answer = self.house.client.post(f"{self.address}{path}", data=said, headers=headers)
        assert answer.status_code < 400, answer.text
        return answer

    def api(self, method: str, path: str, **said: Any) -> Any:
        answer = self.house.client.request(method, f"{API}{path}", **said)
        assert answer.status_code < 400, answer.text
        return answer.json() if answer.content else None

    def follow(self, path: str = "", page: str = "a page") -> Listener:
        """A page that follows, from a page that was drawn just now."""
        text = self.house.client.get(f"{self.address}{path}").text
        news = html.unescape(re.findall(r'hx-sse:connect="([^"]+)"', text)[0])
        listener = Listener(self.house.client, re.sub(r"page=[^&]*", f"page={page}", news))
        listener.wait_for("listening")
        return listener

    def log(self) -> str:
        return str(self.api("POST", f"{self.address}/frames", json={})["id"])

    def settle(self, listener: Listener) -> str:
        """Everything heard up to something that is told after all that was done before."""
        marker = f"settled {len(listener.text)}"
        self.post("/next", because=marker)
        return listener.wait_for(marker)


def drawn(text: str, element_id: str) -> int:
    """How often an element was told."""
    return text.count(f'id="{element_id}"')


@pytest.fixture(scope="module")
def house(tmp_path_factory: pytest.TempPathFactory) -> Iterator[House]:
    with running(tmp_path_factory.mktemp("house") / "data") as (client, app):
        yield House(client, app.state.services)


@pytest.fixture
def shot(house: House) -> Shot:
    return house.begin("enamel dial")


def test_a_dial_is_told_to_the_other_pages_and_not_to_its_own(shot: Shot) -> None:
    mine, other = shot.follow(page="mine"), shot.follow(page="other")

    answer = shot.post("/standing", page="mine", field="f_number", value="16")

    assert 'value="f/16"' in answer.text
    assert 'value="f/16"' in other.wait_for('value="f/16"')
    assert drawn(shot.settle(mine), f"desk-{shot.id}") == 1  # by what it was settled


def test_the_page_that_changed_a_field_over_the_interface_hears_of_it_as_the_others_do(shot: Shot) -> None:
    listener = shot.follow()

    shot.api("PATCH", f"{shot.address}/standing", json={"changes": [{"field": "f_number", "value": "f/16"}]})

    assert drawn(listener.wait_for('value="f/16"'), f"desk-{shot.id}") == 1


def test_another_shot_on_the_set_is_told_in_both_sessions(house: House) -> None:
    first, second = house.begin("bottle"), house.begin("watch")
    of_first, of_second = first.follow(), second.follow()

    first.post("/on-set")

    told_first = of_first.wait_for(f'id="stands-{first.id}"')
    told_second = of_second.wait_for(f'id="stands-{second.id}"')
    assert ">active<" in told_first
    assert "Make it the active shot" in told_second
    second.api("POST", f"{second.address}/on-set")
    assert "Make it the active shot" in of_first.wait_for("Make it the active shot")
    assert ">active<" in of_second.wait_for(">active<")


def test_a_new_shot_is_told_to_the_page_whose_shot_leaves_the_set(house: House) -> None:
    first = house.begin("bottle")
    listener = first.follow()

    house.begin("watch")

    assert f'action="{first.address}/on-set"' in listener.wait_for("Make it the active shot")


def test_a_frame_over_the_interface_is_told_once(shot: Shot) -> None:
    listener = shot.follow()

    frame = shot.log()

    told = listener.wait_for(f'id="frame-{frame}"')
    assert "Log frame 2" in told
    told = shot.settle(listener)
    assert drawn(told, f"frame-{frame}") == 1
    assert drawn(told, f"desk-{shot.id}") == 2  # with what it was settled by


def test_a_frame_sent_twice_under_one_key_is_told_once(shot: Shot) -> None:
    listener = shot.follow()

    for _ in range(2):
        shot.api("POST", f"{shot.address}/frames", json={}, headers={"Idempotency-Key": "the same key 01"})

    assert len(re.findall(r'<tr id="frame-', shot.settle(listener))) == 1


def test_a_picture_and_its_reading_are_told_when_they_are_there(shot: Shot) -> None:
    listener = shot.follow()
    out = io.BytesIO()
    Image.effect_noise((240, 160), 40).convert("RGB").save(out, "JPEG")

    shot.api(
        "POST",
        f"{shot.address}/frames",
        files={"picture": ("one.jpg", out.getvalue(), "image/jpeg")},
    )

    assert "/thumbnail" in listener.wait_for("/thumbnail")


def test_a_file_that_is_no_picture_is_told_as_a_line_in_the_log(shot: Shot) -> None:
    listener = shot.follow()

    refused = shot.house.client.post(
        f"{shot.address}/frames",
        data={"purpose": "test"},
        files={"picture": ("note.jpg", b"no picture", "image/jpeg")},
    )

    assert refused.status_code == 422
    assert "note.jpg" in listener.wait_for("note.jpg")


def test_a_shot_that_is_closed_and_opened_is_told(shot: Shot) -> None:
    listener = shot.follow()

    shot.api("POST", f"{shot.address}/close", json={"answers": {}})
    assert "the set is struck" in listener.wait_for("Closed on")
    shot.post("/reopen")
    shot.settle(listener)

    assert listener.text.rindex(">active<") > listener.text.index("Closed on")


def test_what_is_said_of_a_shot_is_told(shot: Shot) -> None:
    listener = shot.follow()
    live = follow_live_page(shot)

    shot.api("PATCH", shot.address, json={"title": "steel case"})

    assert drawn(listener.wait_for("log-of-"), f"desk-{shot.id}") == 1
    assert "steel case" in live.wait_for("steel case")


def follow_live_page(shot: Shot) -> Listener:
    client = shot.house.client
    client.post(f"{shot.session}/live-pages", data={"title": "class", "hours": "8"})
    page = re.findall(r'href="(/open/[\w-]+)"', client.get(shot.session).text)[0]
    news = html.unescape(re.findall(r'data-news="([^"]+)"', client.get(page).text)[0])
    listener = Listener(client, news)
    listener.wait_for("listening")
    return listener


def test_a_new_shot_comes_to_those_who_follow_the_session_from_outside(shot: Shot) -> None:
    live = follow_live_page(shot)

    shot.house.begin_in(shot.session, "second dial")

    assert "second dial" in live.wait_for('id="shot-2"')


def test_a_live_page_that_is_withdrawn_over_the_interface_ends(shot: Shot) -> None:
    live = follow_live_page(shot)
    token = re.findall(r"/open/([\w-]+)", shot.house.client.get(shot.session).text)[0]

    shot.api("DELETE", f"/live-pages/{token}")

    assert live.wait_for_the_end().endswith("event: ended\ndata:\n\n")


def test_kit_that_is_added_renamed_and_retired_is_told_to_every_desk(house: House) -> None:
    one, another = house.begin("bottle"), house.begin("watch")
    listeners = [one.follow(), another.follow()]

    def told_by(change: Callable[[], Any]) -> Any:
        """Every page hears of a newer desk, by which an open list of kit draws itself anew."""
        heard = [len(each.text) for each in listeners]
        answer = change()
        wait_until(lambda: f'id="desk-{one.id}"' in listeners[0].text[heard[0] :])
        wait_until(lambda: f'id="desk-{another.id}"' in listeners[1].text[heard[1] :])
        return answer

    kept = told_by(lambda: one.api("POST", "/kit/lights", json={"name": "lantern", "full_energy_j": 400}))
    assert "lantern" in house.client.get(f"{another.address}/set-up").text
    told_by(lambda: one.api("PATCH", f"/kit/lights/{kept['id']}", json={"name": "beacon"}))
    assert "beacon" in house.client.get(f"{another.address}/set-up").text
    told_by(lambda: one.api("POST", f"/kit/lights/{kept['id']}/retire"))
    assert "beacon" not in house.client.get(f"{another.address}/set-up").text


def test_a_patch_is_told_and_one_that_was_retired(shot: Shot) -> None:
    frame = shot.log()
    listener = shot.follow()
    place = {"name": "enamel", "x": 0.1, "y": 0.1, "width": 0.2, "height": 0.2}

    patch = shot.api("POST", f"{shot.address}/patches", json=place)
    assert f'id="frame-{frame}"' in listener.wait_for(f'id="log-of-{shot.id}"')
    heard = len(listener.text)
    shot.api("POST", f"/patches/{patch['id']}/retire")
    shot.settle(listener)

    assert drawn(listener.text[heard:], f"log-of-{shot.id}") == 1


def test_another_reference_is_told_with_the_whole_log(shot: Shot) -> None:
    shot.log()
    shot.api("PATCH", f"{shot.address}/standing", json={"changes": [{"field": "f_number", "value": "f/16"}]})
    second = shot.log()
    listener = shot.follow()

    shot.api("POST", f"/frames/{second}/reference")

    assert drawn(listener.wait_for(f'id="log-of-{shot.id}"'), f"desk-{shot.id}") == 1
    assert "against frame 2" in listener.wait_for(f'id="stands-{shot.id}"')


def test_mixes_that_are_kept_and_forgotten_are_told(shot: Shot) -> None:
    listener = shot.follow()
    with shot.house.services.records.writing() as db:
        row = SavedMix(shot_id=shot.id, name="darker fill", levels={"A": 0.0}, frames={})
        db.add(row)

    assert "darker fill" in listener.wait_for(f'id="mixes-of-{shot.id}"')
    shot.post(f"/mixes/{row.id}/forget")
    assert "None yet" in listener.wait_for("None yet")


def test_a_plan_that_is_moved_is_told(shot: Shot) -> None:
    listener = shot.follow("/plan", page="the plan")

    shot.post("/plan/things", page="another", kind="flag")

    assert f'id="desk-{shot.id}"' in listener.wait_for(f'id="desk-{shot.id}"')


def test_another_unit_of_lengths_makes_every_page_draw_itself_anew_and_hear_on(house: House) -> None:
    shot = house.begin("enamel dial")
    listener = shot.follow()

    house.client.post("/lengths", data={"unit": "in"})
    listener.wait_for("event: draw-anew")
    shot.post("/standing", page="another", field="lights.A.distance", value="24")

    assert ">24 in · " in listener.wait_for("24 in")
    house.client.post("/lengths", data={"unit": "cm"})


def test_a_reshoot_that_is_begun_is_told_and_each_line_that_is_ticked(house: House) -> None:
    first = house.begin("enamel dial")
    frame = first.log()
    recipe = house.client.post(
        f"/frames/{frame}/recipe", data={"title": "Enamel dial", "why": "soft", "step-90-words": "prove black"}
    ).headers["location"]
    of_first = first.follow()

    form = house.client.get(f"{recipe}/reshoot").text
    said = dict(re.findall(r'<input[^>]*name="([^"]+)"[^>]*value="([^"]*)"', form))
    said |= {
        name: (re.findall(r'<option value="([^"]*)" selected', options) or [""])[0]
        for name, options in re.findall(r'<select[^>]*name="([^"]+)"[^>]*>(.*?)</select>', form, re.S)
    }
    said["session"] = first.session.rsplit("/", 1)[1]
    begun = house.client.post(f"{recipe}/reshoot", data=said)
    again = Shot(house, first.session, begun.headers["location"])

    assert "Make it the active shot" in of_first.wait_for("Make it the active shot")
    mine, other = again.follow(page="mine"), again.follow("/checklist", page="other")
    page = house.client.get(f"{again.address}/checklist").text
    line = re.findall(rf'action="{again.address}(/checklist/[^"]+)"', page)[0]
    again.post(line, page="mine", ticked="yes")
    assert "1 of " in other.wait_for("1 of ")
    assert "1 of " not in again.settle(mine)


def test_another_session_hears_nothing(house: House) -> None:
    one, another = house.begin("bottle"), house.begin("watch")
    listener = another.follow()

    one.post("/standing", field="f_number", value="16")

    assert f"desk-{one.id}" not in another.settle(listener)


def test_a_page_that_lost_its_line_catches_up_without_drawing_itself_anew(shot: Shot) -> None:
    listener = shot.follow(page="mine")
    shot.post("/standing", field="f_number", value="16")
    last = re.findall(r"^id: (\d+)$", listener.wait_for('value="f/16"'), re.M)[-1]
    shot.post("/standing", field="f_number", value="22")
    listener.wait_for('value="f/22"')

    news = f"{shot.session}/news?page=mine"
    back = Listener(shot.house.client, news, {"Last-Event-ID": last})

    told = back.wait_for('value="f/22"')
    assert 'value="f/16"' not in told
    assert "draw-anew" not in told


def test_a_page_that_is_drawn_after_a_change_hears_nothing_of_it(shot: Shot) -> None:
    """Its answer may be told to the pages only after this one was drawn."""
    for value in ("16", "22", "11"):
        shot.post("/standing", field="f_number", value=value)
        listener = shot.follow(page="mine")

        told = shot.settle(listener)

        assert "draw-anew" not in told
        assert told.count("event:") == 0
