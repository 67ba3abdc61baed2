"""Three doors: what is asked at each, who is let in, and what each role may do at every address that there is."""

from __future__ import annotations

import datetime as dt
import re
import socket
import ssl
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import httpx
import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute, iter_route_contexts
from starlette.testclient import TestClient

from tests.houses import new_house
from tests.http.running import Listener, running, wait_until
from webapp import certificates, doors
from webapp import devices as devices_of
from webapp.app import create_app
from webapp.doors import bound
from webapp.errors import CannotStart
from webapp.records.engine import Records
from webapp.security import guard
from webapp.security.guard import AtDoor, Door
from webapp.security.identity import RIGHTS, Right, Role, right_asked
from webapp.services import Services
from webapp.settings import Settings

MATRIX: Final = Path(__file__).with_name("rights.txt")


@dataclass(frozen=True)
class House:
    """The program with one shot, and a browser at each door."""

    app: FastAPI
    owner: TestClient
    shot: str

    @property
    def services(self) -> Services:
        services: Services = self.app.state.services
        return services

    def at(self, door: Door, **more: Any) -> TestClient:
        return TestClient(AtDoor(self.app, door), follow_redirects=False, **more)

    def let_in(self, role: str, name: str = "Ada’s phone", *, private: bool = False) -> TestClient:
        """A browser of the studio's network, let in as a role."""
        code = self.code(role, private=private)
        phone = self.at(Door.STUDIO)
        assert phone.post(f"/pair/{code}", data={"name": name}).status_code == 303
        return phone

    def code(self, role: str, *, private: bool = False) -> str:
        session = self.owner.get(f"/api/v1{self.shot}").json()["session_id"]
        return self.services.devices.pair(Role(role), sees_private=private, session_id=session).code


@pytest.fixture
def house(tmp_path: Path) -> Iterator[House]:
    app = create_app(Settings(data=new_house(tmp_path / "data")))
    with TestClient(app, follow_redirects=False) as owner:
        session = owner.post("/sessions", data={"name": "day", "made_for": "Secret Client", "notes": "hush"}).headers[
            "location"
        ]
        shot = owner.post(f"{session}/shots", data={"title": "dial"}).headers["location"]
        yield House(app, owner, shot)


def test_at_the_studios_door_nobody_comes_in_unasked(house: House) -> None:
    stranger = house.at(Door.STUDIO)

    assert stranger.get("/").headers["location"] == "/sign-in"
    assert stranger.get(house.shot).headers["location"] == f"/sign-in?next={house.shot}"
    assert stranger.post(f"{house.shot}/frames").status_code == 401
    assert stranger.get("/api/v1/sessions").status_code == 401
    assert stranger.get("/api/v1/openapi.json").status_code == 401
    assert stranger.get("/nowhere").headers["location"].startswith("/sign-in")


def test_a_code_lets_one_phone_in_once(house: House) -> None:
    code = house.code("assistant")
    phone, other = house.at(Door.STUDIO), house.at(Door.STUDIO)

    assert "Sign in" in phone.get(f"/pair/{code}").text
    assert phone.post(f"/pair/{code}", data={"name": "Ada’s phone"}).headers["location"] == "/"
    assert phone.get(house.shot).status_code == 200
    assert "Ada’s phone" in house.owner.get("/devices").text
    assert other.post(f"/pair/{code}", data={"name": "thief"}).status_code == 404
    assert other.get(house.shot).status_code == 303


def test_looking_at_a_code_does_not_use_it_and_a_name_is_asked_for(house: House) -> None:
    code = house.code("assistant")
    phone = house.at(Door.STUDIO)

    for _ in range(3):
        assert phone.get(f"/pair/{code}").status_code == 200
    assert phone.post(f"/pair/{code}", data={"name": "  "}).status_code == 422
    assert phone.post(f"/pair/{code}", data={"name": "phone"}).status_code == 303


def test_a_code_is_good_for_two_minutes(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    code = house.code("owner")
    later = dt.datetime.now(dt.UTC) + dt.timedelta(seconds=121)
    monkeypatch.setattr(devices_of, "now", lambda: later)

    assert house.at(Door.STUDIO).post(f"/pair/{code}", data={"name": "late"}).status_code == 404


def test_a_cookie_is_for_our_pages_alone_and_for_no_script(house: House) -> None:
    answer = house.at(Door.STUDIO).post(f"/pair/{house.code('owner')}", data={"name": "phone"})
    secure = house.at(Door.STUDIO, base_url="https://testserver").post(
        f"/pair/{house.code('owner')}", data={"name": "phone"}
    )

    assert {"HttpOnly", "SameSite=lax"} <= set(answer.headers["set-cookie"].split("; "))
    assert "Secure" not in answer.headers["set-cookie"]
    assert "Secure" in secure.headers["set-cookie"]


def test_the_records_do_not_hold_what_a_cookie_holds(house: House) -> None:
    phone = house.let_in("owner")

    token = phone.cookies["stopledger"]
    assert token.encode() not in b"".join(
        each.read_bytes() for each in house.services.settings.data.glob("*.sqlite3*")
    )


def test_signed_out_is_at_once(house: House) -> None:
    phone = house.let_in("assistant")
    listed = house.owner.get("/devices").text
    (address,) = re.findall(r'action="(/devices/[\w-]+/sign-out)"', listed)

    house.owner.post(address)

    assert phone.get(house.shot).headers["location"].startswith("/sign-in")
    assert phone.post(f"{house.shot}/frames").status_code == 401


def test_what_is_being_told_to_a_browser_ends_when_it_is_signed_out(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doors, "own_address", lambda: "127.0.0.2")
    with running(tmp_path / "data") as (owner, app):
        services: Services = app.state.services
        owner.post("/devices/studio", data={"open": "true"})
        session = owner.post("/sessions", data={"name": "day"}).headers["location"]
        device, token = services.devices.let_in(services.devices.pair(Role.ASSISTANT).code, "phone")
        with httpx.Client(base_url=services.doors.studio, cookies={"stopledger": token}, timeout=120) as phone:
            heard = Listener(phone, f"{session}/news?page=phone&since=0", {"cookie": f"stopledger={token}"})
            heard.wait_for("listening")
            assert not heard.over

            owner.post(f"/devices/{device.id}/sign-out")

            heard.wait_for_the_end()
            assert phone.get(session).status_code == 303
        owner.post("/devices/studio", data={"open": "false"})
        assert services.doors.studio == ""


def test_a_phone_signs_itself_out_and_forgets(house: House) -> None:
    phone = house.let_in("assistant")

    answer = phone.post("/sign-out")

    assert "storage" in answer.headers["clear-site-data"]
    assert phone.get("/").headers["location"] == "/sign-in"


def test_a_browser_that_was_not_used_for_a_fortnight_is_out(house: House, monkeypatch: pytest.MonkeyPatch) -> None:
    phone = house.let_in("assistant")
    later = dt.datetime.now(dt.UTC) + dt.timedelta(days=15)
    monkeypatch.setattr(devices_of, "now", lambda: later)

    assert phone.get("/").headers["location"] == "/sign-in"


def test_the_passphrase_lets_the_owner_in_and_guessing_is_slowed(house: House) -> None:
    house.owner.post("/devices/passphrase", data={"passphrase": "four plain words here"})
    laptop, thief = house.at(Door.STUDIO), house.at(Door.STUDIO, client=("192.0.2.9", 1))

    right = {"passphrase": "four plain words here", "name": "office", "next": "/recipes"}
    assert laptop.post("/sign-in", data=right).headers["location"] == "/recipes"
    assert laptop.get("/devices").status_code == 200
    for guess in range(6):
        assert "not the passphrase" in thief.post("/sign-in", data={"passphrase": f"guess {guess}"}).text
    assert "wrong too often" in thief.post("/sign-in", data=right).text


@pytest.mark.parametrize("there", ["https://elsewhere.example", "//elsewhere.example", "/\\elsewhere.example", ""])
def test_after_signing_in_nobody_is_led_elsewhere(house: House, there: str) -> None:
    house.owner.post("/devices/passphrase", data={"passphrase": "four plain words here"})

    said = {"passphrase": "four plain words here", "name": "office", "next": there}
    assert house.at(Door.STUDIO).post("/sign-in", data=said).headers["location"] == "/"


def test_another_passphrase_signs_out_whoever_came_in_by_the_one_before(house: House) -> None:
    house.owner.post("/devices/passphrase", data={"passphrase": "four plain words here"})
    laptop = house.at(Door.STUDIO)
    laptop.post("/sign-in", data={"passphrase": "four plain words here", "name": "office"})
    assistant = house.let_in("assistant")

    house.owner.post("/devices/passphrase", data={"passphrase": "four other words now"})

    assert laptop.get("/").headers["location"] == "/sign-in"
    assert assistant.get(house.shot).status_code == 200


def test_an_assistant_logs_and_is_named(house: House) -> None:
    phone = house.let_in("assistant")

    assert phone.post(f"{house.shot}/frames").status_code in (200, 303)

    (frame,) = house.owner.get(f"/api/v1{house.shot}/frames").json()["frames"]
    assert frame["logged_by"] == "Ada’s phone"
    assert "Ada’s phone" in house.owner.get(f"/frames/{frame['id']}").text


def test_an_assistant_gives_nothing_away_and_deletes_nothing(house: House) -> None:
    phone = house.let_in("assistant")
    session = house.owner.get(f"/api/v1{house.shot}").json()["session_id"]

    for address in (
        f"/sessions/{session}/delete",
        f"{house.shot}/delete",
        f"/sessions/{session}/live-pages",
        "/devices",
    ):
        answer = phone.post(address)
        assert answer.status_code == 403, address
        assert "owner of the house" in answer.text
    assert phone.delete(f"/api/v1/sessions/{session}").status_code == 403


def test_an_assistant_sees_private_fields_where_the_owner_says_so(house: House) -> None:
    session = house.owner.get(f"/api/v1{house.shot}").json()["session_id"]
    trusted, other = house.let_in("assistant", private=True), house.let_in("assistant")

    for address in (f"/sessions/{session}", f"/api/v1/sessions/{session}"):
        assert "Secret Client" in trusted.get(address).text
        assert "Secret Client" not in other.get(address).text
        assert "hush" not in other.get(address).text
    said = {"name": "day", "day": "2026-11-29", "notes": "wiped"}
    assert other.post(f"/sessions/{session}", data=said).status_code == 403
    assert "hush" in house.owner.get(f"/sessions/{session}").text


def test_a_viewer_sees_their_live_page_and_nothing_else(house: House) -> None:
    session = house.owner.get(f"/api/v1{house.shot}").json()["session_id"]
    client = house.let_in("viewer", name="client’s tablet")

    page = client.get("/").headers["location"]
    assert page.startswith("/open/")
    assert client.get(page).status_code == 200
    for address in (house.shot, f"/sessions/{session}", "/api/v1/sessions", "/devices"):
        assert client.get(address).headers.get("location") == page, address
    house.owner.post(f"{house.shot}/frames", data={"because": "first"})
    house.owner.post(f"{house.shot}/frames", data={"because": "second"})
    rejected = house.owner.get(f"/api/v1{house.shot}/frames").json()["frames"][0]
    house.owner.post(f"/frames/{rejected['id']}/verdict", data={"verdict": "fails"})
    # A live page is drawn at most once a second.
    wait_until(lambda: "Frame 1" in client.get(page).text)
    assert "Frame 2" not in client.get(page).text
    (address,) = re.findall(r'action="(/devices/[\w-]+/sign-out)"', house.owner.get("/devices").text)
    house.owner.post(address)
    assert client.get(page).status_code == 404


def test_the_door_outside_leads_to_links_and_live_pages_alone(house: House) -> None:
    outside = house.at(Door.OUTSIDE)
    session = house.owner.get(f"/api/v1{house.shot}").json()["session_id"]
    token = house.owner.post(f"/api/v1/sessions/{session}/live-pages", json={"title": "class"}).json()["token"]

    assert outside.get(f"/open/{token}").status_code == 200
    assert outside.get("/static/stopledger.css").status_code == 200
    for address in ("/", house.shot, "/sign-in", "/devices", "/api/v1/sessions", "/api/v1/openapi.json", "/pair/x"):
        assert outside.get(address).status_code == 404, address
        assert outside.post(address).status_code == 404, address


def test_the_owners_cookie_opens_nothing_at_the_door_outside(house: House) -> None:
    phone = house.let_in("owner")
    outside = house.at(Door.OUTSIDE, cookies=dict(phone.cookies))

    assert outside.get("/").status_code == 404


@pytest.mark.parametrize("header", ["X-Forwarded-For", "Forwarded", "X-Real-IP", "X-Forwarded-Host"])
def test_a_tunnel_that_was_not_named_is_not_taken_for_this_machine(house: House, header: str) -> None:
    answer = house.owner.get("/", headers={header: "203.0.113.7"})

    assert answer.status_code == 403
    assert "proxy" in answer.text


def test_a_proxy_that_was_named_is_believed_and_nobody_is_let_in_unasked(tmp_path: Path) -> None:
    data = new_house(tmp_path / "data")
    records = Records(data)
    devices_of.keep_passphrase(records, "four plain words here")
    records.close()
    forwarded = {"X-Forwarded-For": "203.0.113.7", "X-Forwarded-Proto": "https"}

    with running(data, proxy=("127.0.0.1",)) as (client, _):
        assert client.get("/").headers["location"] == "/sign-in"
        said = {"passphrase": "four plain words here", "name": "office"}
        signed_in = client.post("/sign-in", data=said, headers=forwarded)

    assert "Secure" in signed_in.headers["set-cookie"]


def test_a_certificate_that_was_made_is_used_at_the_studios_door(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(doors, "own_address", lambda: "127.0.0.2")
    made, _ = certificates.make(new_house(tmp_path / "data") / "certificates", ())
    before = made.chain.read_bytes()

    with running(tmp_path / "data") as (owner, app):
        owner.post("/devices/studio", data={"open": "true"})
        studio = app.state.services.doors.studio
        trusting = ssl.create_default_context(cafile=made.authority)
        assert httpx.get(f"{studio}healthz", verify=trusting, timeout=120).json() == {"status": "ok"}
        owner.post("/devices/studio", data={"open": "false"})

    assert studio.startswith("https://127.0.0.2:")
    assert made.chain.read_bytes() != before, "it was made anew for the address that the network gave"


def test_guessing_addresses_is_slowed_and_whoever_holds_one_waits_for_nobody(
    house: House, monkeypatch: pytest.MonkeyPatch
) -> None:
    waited: list[float] = []

    async def sleep(seconds: float) -> None:
        waited.append(seconds)

    monkeypatch.setattr(guard.anyio, "sleep", sleep)
    session = house.owner.get(f"/api/v1{house.shot}").json()["session_id"]
    token = house.owner.post(f"/api/v1/sessions/{session}/live-pages", json={"title": "class"}).json()["token"]
    outside = house.at(Door.OUTSIDE)

    assert {outside.get("/open/ended").status_code for _ in range(40)} == {404}
    assert set(waited) == {0}, "a class that reloads a page which has ended guesses once"
    waited.clear()
    assert {outside.get(f"/shared/guess-{number}").status_code for number in range(26)} == {404}
    assert waited[:19] == [0] * 19
    assert waited[-1] == 5.0
    assert sorted(waited) == waited
    waited.clear()
    assert outside.get(f"/open/{token}").status_code == 200
    assert waited == []


def test_what_is_private_is_kept_by_no_cache(house: House) -> None:
    for address in ("/", house.shot, f"/api/v1{house.shot}", "/devices", "/kit"):
        assert house.owner.get(address).headers["cache-control"] == "no-store", address
    assert (
        "immutable"
        in house.owner.get(re.findall(r'href="(/static/[^"]+css)"', house.owner.get("/").text)[0]).headers[
            "cache-control"
        ]
    )


def _matrix(app: FastAPI) -> str:
    """Every address with its method, what it asks for, and the roles that have it."""
    app.state.later_routes.add()
    lines = set()
    for context in iter_route_contexts(app.routes):
        route = context.original_route
        if not isinstance(route, APIRoute):
            continue
        for method in sorted(route.methods):
            right = right_asked(route.endpoint, method)
            holders = " ".join(role for role in Role if right in RIGHTS[role])
            lines.add(f"{context.path:70} {method:6}  {right:16}  {holders}")
    return "\n".join(sorted(lines)) + "\n"


def test_every_address_asks_for_the_right_that_is_written_down(house: House) -> None:
    """A new address has to be written down with what it asks for: `python -m tests.http.test_doors` writes the table."""
    assert _matrix(house.app) == MATRIX.read_text()


def test_what_gives_away_or_deletes_is_the_owners_alone(house: House) -> None:
    for line in MATRIX.read_text().splitlines():
        address, method, *_ = line.split()
        undone = (
            "/lights/",
            "/plan/",
            "/mixes/",
            "/mixtures/",
            "/ambient-check",
            "/shots/{shot_id}/lights",
            "/set-photos/{photo_id}/place",
        )
        if method == "DELETE" and not any(each in address for each in undone):
            assert Right.OWN in line, line
        if re.search(r"/delete$|/links|live-pages|/devices", address):
            assert Right.OWN in line, line


def test_each_role_is_answered_at_every_address_as_the_table_says(house: House) -> None:
    """Over HTTP: whoever lacks a right gets 401, 403 or the way to where they belong, and whoever has it does not."""
    by_role = {
        Role.ASSISTANT: house.let_in("assistant", private=True),
        Role.STRANGER: house.at(Door.STUDIO),
    }
    for line in MATRIX.read_text().splitlines():
        address, method, rest = line.split(maxsplit=2)
        path = re.sub(r"\{[^}]+\}", "none", address)
        if "news" in path or path == "/sign-out":
            continue
        for role, browser in by_role.items():
            answer = browser.request(method, path)
            refused = answer.status_code in (401, 403) or answer.headers.get("location", "").startswith("/sign-in")
            assert refused == (role not in rest.split()), (role, line, answer.status_code)


if __name__ == "__main__":
    import tempfile

    with tempfile.TemporaryDirectory() as folder:
        MATRIX.write_text(_matrix(create_app(Settings(data=Path(folder)))))


def test_a_port_that_is_taken_is_said_before_anything_is_begun() -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(
            CannotStart, match=rf"at 127\.0\.0\.1, port {port}: Address already in use. Name another port"
        ):
            bound("Stopledger", "127.0.0.1", port)
