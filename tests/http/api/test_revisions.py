"""No lost updates: whoever saves a record names the revision that was read, and a stale save is answered 409 with both."""

from __future__ import annotations

import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from html import unescape
from typing import Any, Final

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from starlette.testclient import TestClient

from tests.conftest import Studio
from tests.http.api.conftest import Desk
from tests.http.api.test_api_readings import picture, shoot
from webapp.errors import StaleRecord
from webapp.kit import inventory
from webapp.records import kit as kit_records
from webapp.records import shots as shot_records
from webapp.records.tables import Camera
from webapp.shoots import sessions

Json = dict[str, Any]


@dataclass(frozen=True)
class Kind:
    """A kind of record: how one comes about, where it is edited as a form and over the API, and two of its fields."""

    name: str
    begin: Callable[[Desk], Json]
    api: str
    ours: tuple[str, Any, Any]
    theirs: tuple[str, Any, Any]
    page: str = ""
    form: str = ""
    method: str = "PATCH"

    def read(self, desk: Desk, record: Json) -> Json:
        address = self.api.format(**record)
        if self.name in ("patch", "term"):
            listed = desk.call("GET", f"/shots/{desk.shot_id}/patches" if self.name == "patch" else "/vocabulary")
            return next(each for each in listed if each["id"] == record["id"])
        found: Json = desk.call("GET", address)
        return found

    def change(self, desk: Desk, record: Json, field: str, value: Any, status: int = 200, **more: Any) -> Json:
        """Change one field over the API; a PUT sends the rest of what stands along."""
        whole = {name: record[name] for name in ("facet", "term", "others")} if self.method == "PUT" else {}
        body = whole | {field: value} | more
        answer: Json = desk.call(self.method, self.api.format(**record), status, json=body)
        return answer


def begin_patch(desk: Desk) -> Json:
    frame = shoot(desk, picture(0.0, seed=1), "a1.jpg")["id"]
    said = {"name": "card", "x": 0.4, "y": 0.4, "width": 0.1, "height": 0.1}
    return desk.call("POST", f"/shots/{desk.shot_id}/patches", 201, json=said) | {"frame": frame}


def kit_of(kind: str) -> Callable[[Desk], Json]:
    return lambda desk: dict(desk.call("GET", f"/kit/{kind}")[0])


WORDS: Final = (("name", "ours", "ours"), ("notes", "theirs", "theirs"))
KINDS: Final = [
    Kind(
        "session",
        lambda desk: desk.call("GET", f"/sessions/{desk.session_id}"),
        "/sessions/{id}",
        *WORDS,
        page="/sessions/{id}",
        form="/sessions/{id}",
    ),
    Kind(
        "shot",
        lambda desk: desk.call("GET", f"/shots/{desk.shot_id}"),
        "/shots/{id}",
        ("title", "ours", "ours"),
        ("look", "theirs", "theirs"),
    ),
    *(
        Kind(
            f"kit, {kind}",
            kit_of(kind),
            f"/kit/{kind}/{{id}}",
            *WORDS,
            page=f"/kit/{kind}/{{id}}",
            form=f"/kit/{kind}/{{id}}",
        )
        for kind in inventory.KIT_NOUNS
    ),
    Kind(
        "patch",
        begin_patch,
        "/patches/{id}",
        ("name", "ours", "ours"),
        ("wanted_stops", -2.5, "−2.5"),
        page="/frames/{frame}",
        form="/frames/{frame}/patches/{id}",
    ),
    Kind(
        "term",
        lambda desk: dict(desk.call("GET", "/vocabulary")[0]),
        "/vocabulary/{id}",
        ("term", "ours", "ours"),
        ("others", ["theirs"], "theirs"),
        page="/recipes/vocabulary?open={id}",
        form="/recipes/vocabulary",
        method="PUT",
    ),
    Kind(
        "frame",
        lambda desk: desk.log(notes="first"),
        "/frames/{id}",
        ("because", "ours", "ours"),
        ("notes", "theirs", "theirs"),
        page="/frames/{id}",
        form="/frames/{id}",
    ),
]
kinds = pytest.mark.parametrize("kind", KINDS, ids=lambda kind: kind.name)
on_pages = pytest.mark.parametrize("kind", [kind for kind in KINDS if kind.page], ids=lambda kind: kind.name)


def forms_of(page: str) -> list[tuple[str, str]]:
    return re.findall(r'<form[^>]*method="post"[^>]*action="([^"]+)"[^>]*>(.*?)</form>', page, re.DOTALL)


def drawn(client: TestClient, kind: Kind, record: Json, page: str = "") -> dict[str, str]:
    """The fields of a record's form as its page has it, which a browser would post."""
    text = page or client.get(kind.page.format(**record)).text
    for action, body in forms_of(text):
        if action == kind.form.format(**record) and 'name="revision"' in body:
            fields = _fields(body)
            # Unticked, a keyword that is renamed takes no other word along.
            fields.pop("keep_old", None)
            if fields.get("term_id", record["id"]) == record["id"]:
                return fields
    raise AssertionError(f"{kind.name}: no form with a revision")


def _fields(body: str) -> dict[str, str]:
    found = {}
    for tag in re.findall(r"<input[^>]*>", body):
        ticks = 'type="checkbox"' in tag
        if not ticks or " checked" in tag:
            name, value = re.search(r'name="([^"]*)"', tag), re.search(r'value="([^"]*)"', tag)
            assert name is not None
            found[name[1]] = unescape(value[1]) if value else ""
    found |= {
        name: unescape(text)
        for name, text in re.findall(r'<textarea[^>]*name="(\w+)"[^>]*>(.*?)</textarea>', body, re.S)
    }
    for name, options in re.findall(r'<select[^>]*name="(\w+)"[^>]*>(.*?)</select>', body, re.DOTALL):
        chosen = re.search(r'value="([^"]*)" selected', options) or re.search(r'value="([^"]*)"', options)
        found[name] = unescape(chosen[1]) if chosen else ""
    return found


@kinds
def test_what_the_api_leaves_unnamed_stays(desk: Desk, kind: Kind) -> None:
    record = kind.begin(desk)

    if kind.method == "PATCH":
        kind.change(desk, record, *kind.theirs[:2])
        kind.change(desk, record, *kind.ours[:2])

        stands = kind.read(desk, record)
        assert (stands[kind.ours[0]], stands[kind.theirs[0]]) == (kind.ours[1], kind.theirs[1])
        assert stands["revision"] == record["revision"] + 2


@kinds
def test_a_stale_save_over_the_api_is_refused_with_both_values(desk: Desk, kind: Kind) -> None:
    record = kind.begin(desk)
    theirs = kind.change(desk, record, *kind.theirs[:2], revision=record["revision"])

    refused = kind.change(desk, record, *kind.ours[:2], status=409, revision=record["revision"])

    told = {each["loc"][-1]: each for each in refused["detail"]}[kind.ours[0]]
    assert told["offered"] == kind.ours[1]
    assert told["stands"] == record[kind.ours[0]]
    assert told["revision"] == theirs["revision"] == record["revision"] + 1
    assert kind.read(desk, record)[kind.theirs[0]] == kind.theirs[1]
    kind.change(desk, theirs, *kind.ours[:2], revision=told["revision"])
    assert kind.read(desk, record)[kind.ours[0]] == kind.ours[1]


@kinds
def test_a_revision_is_a_whole_number(desk: Desk, kind: Kind) -> None:
    record = kind.begin(desk)

    for revision in ('"1"', "1.5", "true", "0", str(2**63), "9" * 5000):
        text = f'{{"revision": {revision}}}'
        answer = desk.client.request(
            kind.method,
            f"/api/v1{kind.api.format(**record)}",
            content=text,
            headers={"content-type": "application/json"},
        )
        assert answer.status_code == 422, answer.text


@on_pages
def test_a_stale_form_is_answered_with_both_and_one_press_saves_it_after_all(desk: Desk, kind: Kind) -> None:
    record = kind.begin(desk)
    opened = drawn(desk.client, kind, record)
    kind.change(desk, record, *kind.theirs[:2])

    ours = opened | {kind.ours[0]: kind.ours[1]}
    answer = desk.client.post(kind.form.format(**record), data=ours)

    assert answer.status_code == 409
    assert "Somebody changed this since you read it" in answer.text
    assert "Save mine after all" in answer.text
    both = re.findall(r"saved</span> (.*?)</dd>.*?yours</span> (.*?)</dd>", answer.text)
    assert both
    assert all(stands != typed for stands, typed in both)
    assert f"</span> {kind.theirs[2]}</dd>" in answer.text
    assert f"</span> {kind.ours[2]}</dd>" in answer.text
    assert kind.read(desk, record)[kind.theirs[0]] == kind.theirs[1]
    assert kind.read(desk, record)[kind.ours[0]] == record[kind.ours[0]]

    again = drawn(desk.client, kind, record, answer.text)
    assert again[kind.ours[0]] == kind.ours[2]
    assert desk.client.post(kind.form.format(**record), data=again).status_code == 303
    stands = kind.read(desk, record)
    assert stands[kind.ours[0]] == kind.ours[1]
    assert stands[kind.theirs[0]] == record[kind.theirs[0]]


@on_pages
def test_a_form_saved_twice_is_not_in_its_own_way(desk: Desk, kind: Kind) -> None:
    record = kind.begin(desk)
    ours = drawn(desk.client, kind, record) | {kind.ours[0]: kind.ours[1]}

    assert desk.client.post(kind.form.format(**record), data=ours).status_code == 303
    assert desk.client.post(kind.form.format(**record), data=ours).status_code == 303


@pytest.mark.parametrize(
    "kind", [kind for kind in KINDS if kind.page and kind.name not in ("patch", "term")], ids=lambda kind: kind.name
)
def test_a_form_put_right_after_a_refusal_is_still_made_from_what_was_read(desk: Desk, kind: Kind) -> None:
    record = kind.begin(desk)
    opened = drawn(desk.client, kind, record)
    kind.change(desk, record, *kind.theirs[:2])

    refused = desk.client.post(kind.form.format(**record), data=opened | {kind.ours[0]: "x" * 9000})
    assert refused.status_code == 422

    again = drawn(desk.client, kind, record, refused.text) | {kind.ours[0]: "ours"}
    assert desk.client.post(kind.form.format(**record), data=again).status_code == 409


@settings(max_examples=6, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.sampled_from(["place", "brief", "notes"]), st.booleans()), min_size=4, max_size=10))
def test_threads_that_edit_one_session_lose_nothing(studio: Studio, edits: list[tuple[str, bool]]) -> None:
    """Each reads, then saves the whole form with one field of its own longer by a word (`whole`), or that field alone.
    Each is kept or refused: what stands in the end are the words of all that were kept."""

    def read() -> tuple[Json, int]:
        with studio.records.reading() as db:
            row = shot_records.session_of(db, studio.session_id)
            return {name: getattr(row, name) for name in sessions.SessionForm.model_fields}, row.revision

    before, _ = read()

    def edit(number: int, field: str, *, whole: bool) -> tuple[str, str] | None:
        said, revision = read()
        said[field] = word = f"{said[field]} w{number}".strip()
        try:
            sessions.describe_session(studio.records, studio.session_id, said if whole else {field: word}, revision)
        except StaleRecord:
            return None
        return field, f"w{number}"

    with ThreadPoolExecutor(8) as pool:
        kept = [done.result() for done in [pool.submit(edit, n, f, whole=w) for n, (f, w) in enumerate(edits)]]

    after, _ = read()
    for name in ("place", "brief", "notes"):
        added = after[name].removeprefix(before[name]).split()
        assert sorted(added) == sorted(each[1] for each in kept if each and each[0] == name)
    assert any(kept)
    sessions.describe_session(studio.records, studio.session_id, {"place": "", "brief": "", "notes": ""})


def test_threads_that_edit_different_fields_of_one_camera_over_http_lose_nothing(desk: Desk) -> None:
    address = f"/kit/cameras/{desk.call('GET', '/kit/cameras')[0]['id']}"
    values = {
        "name": "bench body",
        "notes": "third shelf",
        "width_px": 7000,
        "height_px": 5000,
        "lowest_iso": 64,
        "highest_iso": 12800,
        "sync_mark": "1/160",
        "in_files": "Maker X1",
    }

    def edit(field: str, *, named: bool) -> int:
        while True:
            read = desk.client.get(f"/api/v1{address}").json()
            more = {"revision": read["revision"]} if named else {}
            status = desk.client.patch(f"/api/v1{address}", json={field: values[field]} | more).status_code
            assert status in (200, 409)
            if status == 200:
                return status

    with ThreadPoolExecutor(8) as pool:
        done = [pool.submit(edit, field, named=number % 2 == 0) for number, field in enumerate(values)]
        assert [each.result() for each in done] == [200] * len(values)

    stands = desk.call("GET", address)
    assert {name: stands[name] for name in values} == values


def test_a_form_of_kit_that_nobody_else_changed_counts_one_revision(studio: Studio) -> None:
    with studio.records.reading() as db:
        camera = kit_records.items_in(db, Camera)[0]

    inventory.change(studio.records, "cameras", camera.id, {"notes": "top shelf"}, camera.revision)
    inventory.change(studio.records, "cameras", camera.id, {"notes": "top shelf"}, camera.revision)

    with studio.records.reading() as db:
        assert kit_records.item_of(db, Camera, camera.id).revision == camera.revision + 1
