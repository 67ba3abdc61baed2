"""Whatever is typed into a form, stands in an address or is asked behind it: it is answered, or refused with a sentence.

The forms are those of the pages of a small house. An ordinary run sends some hundred requests;
`STOPLEDGER_FUZZ_REQUESTS=20000 pytest tests/faults/test_hostile_requests.py` sends so many.
"""

from __future__ import annotations

import os
import re
import traceback
from collections.abc import Iterator
from dataclasses import dataclass, field
from html import unescape
from pathlib import Path
from typing import Final
from urllib.parse import quote, quote_from_bytes, urlsplit

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from tests.http.recipes.conftest import Shoot, published
from tests.http.recipes.conftest import shoot as shoot
from webapp.security.guard import AtDoor, Door
from webapp.security.identity import Role
from webapp.services import Services

REQUESTS: Final = int(os.environ.get("STOPLEDGER_FUZZ_REQUESTS", "400"))
RIGHTS: Final = Path(__file__).parents[1] / "http" / "rights.txt"
# Streams have no end, and the door to the network is a port of this machine.
_LEFT_OUT: Final = re.compile(r"news|/sign-out|/devices/studio")
_NEVER_PRESSED: Final = re.compile(r"/(delete|forget|withdraw|sign-out|sign-in|strike|close)$")
_ID: Final = re.compile(r"[0-9a-f]{8}-[0-9a-f-]{27}|[0-9a-f]{64}|(?<=/shared/)[\w-]{20,}|(?<=/open/)[\w-]{20,}")
_MOST_PAGES: Final = 150
_IN_ADDRESS: Final = 5000
_LONGEST_ADDRESS: Final = 60_000
_URLENCODED: Final = {"content-type": "application/x-www-form-urlencoded"}
_CHARSETS: Final = ["utf-8", "utf-7", "utf-16", "idna", "no-charset"]
_OTHER_HEADERS: Final = [
    *[{}] * 4,
    *[{"HX-Request": "true"}] * 4,
    {"Referer": "http://testserver/\xff\xe9"},
    {"Cookie": "theme=\xff; stopledger=\xe9%00"},
    {"Idempotency-Key": "\xff", "X-Page": "\xe9"},
    {"HX-Request": "true", "X-Page": "f" * 5000, "Range": "bytes=9-" + "9" * 5000},
    {"If-None-Match": "\xff", "If-Modified-Since": "9" * 5000, "Accept": "\xff"},
    {"Last-Event-ID": "9" * 5000},
]

HOSTILE: Final = [
    *(
        "",
        " ",
        "\0",
        "a\0b",
        "\ud800",
        "a\udfffb",
        "\r\nX-Injected: yes",
        "‮",
        "é",
        "💥",
        "日本語",
        "'\"<script>",
        "../../etc/passwd",
    ),
    *(
        "0",
        "-0",
        "-1",
        "2147483648",
        str(2**63 - 1),
        str(2**63),
        str(-(2**63) - 1),
        "1" + "0" * 40,
        "9" * 400,
        "9" * 4301,
        "-" + "9" * 5000,
    ),
    *(
        "nan",
        "inf",
        "-inf",
        "1e400",
        "1e-400",
        "-1e308",
        "1/0",
        "0/0",
        "1/" + "9" * 400,
        "1.5",
        "1,5",
        "1_000",
        "0x10",
        "--1",
        "1e9999999999",
    ),
    *(
        "²",
        "½",
        "٣",
        "１２",
        "∞",
        "−1",
        "f/0",
        "f/" + "9" * 400,
        "9" * 400 + " cm",
        "1:0",
        "true",
        "null",
        "[]",
        "{}",
        "%00",
        "%",
        "&",
        "a=b&c",
    ),
    *(
        "f" * 64,
        "f" * 300,
        "F" * 64,
        "g" * 64,
        "x" * 5000,
        "x" * 120_000,
        "💥" * 3000,
        "2026-13-45",
        "9999-12-31",
        "0001-01-01",
        "10000-01-01",
    ),
]
hostile = st.one_of(
    st.sampled_from(HOSTILE),
    st.sampled_from(HOSTILE),
    st.text(st.characters(exclude_categories=()), max_size=40),
    st.integers().map(str),
    st.floats().map(str),
    st.integers(1, 6000).map(lambda digits: "7" * digits),
)


@dataclass(frozen=True)
class HtmlForm:
    """A form as a page has it; `fields` are what a browser would send."""

    method: str
    action: str
    fields: dict[str, str]


@dataclass
class House:
    """A house that is asked: its forms, its addresses with the ids that there are, and who asks from where."""

    browsers: dict[str, TestClient]
    forms: list[HtmlForm]
    ids: dict[str, str]
    failed: dict[str, str] = field(default_factory=dict)
    sent: int = 0

    def ask(self, who: str, method: str, address: str, body: bytes, headers: dict[str, str]) -> None:
        """Ask, and note whatever is no answer."""
        self.sent += 1
        address, sent = address[:_LONGEST_ADDRESS], {name: value.encode("latin-1") for name, value in headers.items()}
        where = f"{method} {_ID.sub('…', address.split('?')[0])[:90]}"
        try:
            answer = self.browsers[who].request(method, address, content=body, headers=sent)
        except Exception as error:
            frame = traceback.extract_tb(error.__traceback__)[-1]
            ours = [each for each in traceback.extract_tb(error.__traceback__) if "webapp" in each.filename][-1:]
            told = f"{type(error).__name__} at {frame.filename.rsplit('/', 1)[-1]}:{frame.lineno}"
            told += "".join(f", {each.filename.rsplit('webapp', 1)[-1]}:{each.lineno} {each.line}" for each in ours)
            self.failed.setdefault(
                told, f"{who}: {where}\n    {str(error)[:160]}\n    {address[:200]} {body[:300]!r}"
            )
            return
        if answer.status_code >= 500:
            self.failed.setdefault(f"{answer.status_code} {where}", f"{who}: {address[:200]} {body[:300]!r}")
        elif answer.status_code >= 400 and method != "HEAD" and not re.search(r"[A-Za-z]{3}", answer.text):
            self.failed.setdefault(f"{answer.status_code} without a word {where}", f"{who}: {address[:200]}")


def _typed(value: str, most: int | None = None) -> str:
    """As a form carries it, half characters too; an address has a length that servers take at `most`."""
    return quote_from_bytes(value[:most].encode("utf-8", "surrogatepass"), safe="")


def _as_urlencoded(fields: dict[str, str], most: int | None = None) -> str:
    return "&".join(f"{quote(name)}={_typed(value, most)}" for name, value in fields.items())


def _as_multipart(fields: dict[str, str]) -> bytes:
    parts = (
        b'--xx\r\nContent-Disposition: form-data; name="%s"\r\n\r\n%s\r\n'
        % (name.encode(), value.encode("utf-8", "surrogatepass"))
        for name, value in fields.items()
    )
    return b"".join(parts) + b"--xx--\r\n"


def _attribute(tag: str, name: str, otherwise: str = "") -> str:
    found = re.search(rf'\b{name}="([^"]*)"', tag)
    return unescape(found[1]) if found else otherwise


def _forms_on(page: str, address: str) -> Iterator[HtmlForm]:
    for head, inside in re.findall(r"<form\b([^>]*)>(.*?)</form>", page, re.DOTALL):
        fields = {}
        for tag in re.findall(r"<(?:input|select|textarea|button)\b[^>]*>", inside):
            if name := _attribute(tag, "name"):
                fields[name] = _attribute(tag, "value")
        action = _attribute(head, "action", address).split("#")[0]
        yield HtmlForm(_attribute(head, "method", "get").upper(), action, fields)


def _collected(client: TestClient, first: list[str]) -> list[HtmlForm]:
    """The forms of the house: one of each kind, found by following the links from some pages."""
    ahead, seen, forms = list(first), set(), {}
    while ahead and len(seen) < _MOST_PAGES:
        address = ahead.pop(0)
        shape = _ID.sub("…", address.split("?")[0])
        if shape in seen or _LEFT_OUT.search(address):
            continue
        seen.add(shape)
        answer = client.get(address)
        if not answer.headers.get("content-type", "").startswith("text/html"):
            continue
        for form in _forms_on(answer.text, address):
            if not _NEVER_PRESSED.search(form.action) and not _LEFT_OUT.search(form.action) and form.fields:
                forms.setdefault((form.method, _ID.sub("…", form.action), frozenset(form.fields)), form)
        ahead += [
            unescape(each) for each in re.findall(r'href="(/[^"#]*)', answer.text) if not each.startswith("/static")
        ]
    return list(forms.values())


@pytest.fixture
def house(shoot: Shoot) -> House:
    """A session with a shot, a pictured frame with a patch, a recipe with a link, a live page, and four who ask."""
    client = shoot.client
    client.app.state.later_routes.add()  # type: ignore[attr-defined]
    services: Services = client.app.state.services  # type: ignore[attr-defined]
    client.post(f"{shoot.frame}/patches", data={"name": "card", "x": "40", "y": "40", "width": "9", "height": "9"})
    client.post(f"{shoot.shot}/frames", data={"purpose": "test"})
    recipe = published(shoot)
    client.post(f"{recipe}/links", data={"number": "1", "reader": "student"})
    client.post(f"{shoot.session}/live-pages", data={"title": "class", "hours": "4"})
    shared = re.findall(r"/shared/[\w-]+", client.get(recipe).text)[0]
    live = re.findall(r"/open/[\w-]+", client.get(shoot.session).text)[0]
    session_id = shoot.session.rsplit("/", 1)[1]
    browsers = {"owner": client}
    for door in (Door.STUDIO, Door.OUTSIDE):
        browsers[f"stranger at the {door} door"] = TestClient(
            AtDoor(client.app, door), follow_redirects=False, client=("192.0.2.7", 1)
        )
    code = services.devices.pair(Role.ASSISTANT, sees_private=False, session_id=session_id).code
    browsers["assistant"] = TestClient(AtDoor(client.app, Door.STUDIO), follow_redirects=False)
    browsers["assistant"].post(f"/pair/{code}", data={"name": "phone"})
    ahead = [
        "/",
        shoot.session,
        shoot.shot,
        shoot.frame,
        recipe,
        shared,
        live,
        "/devices",
        "/state",
        "/kit",
        "/worksheets",
    ]
    ahead += [f"{shoot.shot}/{each}" for each in ("set-up", "balance", "plan", "strike", "remix")]
    ahead += [
        f"{shoot.session}/delete-for-good",
        f"{shoot.frame}/plan",
        f"{shoot.frame}/recipe",
        "/in-tray",
        "/sign-in",
    ]
    patch = client.get(f"/api/v1{shoot.shot}/patches").json()[0]["id"]
    digest = re.findall(r"/pictures/([0-9a-f]{64})", client.get(shoot.frame).text)[0]
    ids = {
        "session_id": session_id,
        "shot_id": shoot.shot.rsplit("/", 1)[1],
        "frame_id": shoot.frame.rsplit("/", 1)[1],
    }
    ids |= {"recipe_id": recipe.rsplit("/", 1)[1], "patch_id": patch, "digest": digest, "number": "1", "letter": "A"}
    ids |= {
        "kind": "lights",
        "item_id": client.get("/api/v1/kit/lights").json()[0]["id"],
        "token": shared.rsplit("/", 1)[1],
    }
    ids |= {"term_id": client.get("/api/v1/vocabulary").json()[0]["id"], "light_id": ""} | {
        "revision": "1",
        "level": "0",
    }
    ids["light_id"] = ids["item_id"]
    found = House(browsers, _collected(client, ahead), ids)
    assert len(found.forms) > 40
    return found


ADDRESSES: Final = [line.split()[:2] for line in RIGHTS.read_text().splitlines() if not _LEFT_OUT.search(line)]
_QUERIES: Final = [
    "against",
    "before",
    "more",
    "q",
    "facet",
    "f_from",
    "since",
    "until",
    "version",
    "stops",
    "page",
    "limit",
    "next",
]
_PARAMETER: Final = re.compile(r"\{(\w+)(?::\w+)?\}")


def test_no_request_is_answered_with_a_fault_of_the_server(house: House) -> None:
    everybody = st.sampled_from([*["owner"] * 6, *house.browsers])

    @settings(
        max_examples=REQUESTS,
        deadline=None,
        database=None,
        phases=[Phase.generate],
        suppress_health_check=list(HealthCheck),
    )
    @given(st.data())
    def sent(data: st.DataObject) -> None:
        who = data.draw(everybody)
        headers = data.draw(st.sampled_from(_OTHER_HEADERS))
        if data.draw(st.integers(0, 2)):
            form = data.draw(st.sampled_from(house.forms))
            fields = form.fields | data.draw(
                st.dictionaries(st.sampled_from(sorted(form.fields)), hostile, min_size=1)
            )
            if form.method == "GET":
                query = _as_urlencoded(fields, _IN_ADDRESS)
                house.ask(who, "GET", f"{urlsplit(form.action).path}?{query}", b"", headers)
            elif data.draw(st.integers(0, 4)):
                house.ask(who, form.method, form.action, _as_urlencoded(fields).encode(), _URLENCODED | headers)
            else:
                charset = data.draw(st.sampled_from(_CHARSETS))
                kind = {"content-type": f"multipart/form-data; boundary=xx; charset={charset}"}
                house.ask(who, form.method, form.action, _as_multipart(fields), kind | headers)
            return
        address, method = data.draw(st.sampled_from(ADDRESSES))
        names = _PARAMETER.findall(address)
        wrong = data.draw(st.dictionaries(st.sampled_from(names), hostile, min_size=1)) if names else {}
        path = _PARAMETER.sub(
            lambda found: _typed(wrong.get(found[1], house.ids.get(found[1], "1")), _IN_ADDRESS), address
        )
        asked = data.draw(st.dictionaries(st.sampled_from(_QUERIES), hostile, min_size=not names))
        query = _as_urlencoded(asked, _IN_ADDRESS)
        house.ask(who, method, f"{path}?{query}" if query else path, b"", headers)

    sent()

    print(f"\n{house.sent} requests, {len(house.forms)} forms")
    assert not house.failed, "\n".join(f"{told}\n  {example}" for told, example in house.failed.items())
