"""The interface is as it describes itself: every route, whatever a machine thinks of to send."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
import schemathesis
from fastapi import FastAPI
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis.checks import negative_data_rejection, positive_data_acceptance
from starlette.testclient import TestClient
from starlette.types import Receive, Scope, Send

from tests.http.api.conftest import Desk
from webapp.app import create_app
from webapp.ledger.entries import Cause
from webapp.ledger.fields import CAMERA, LIGHT
from webapp.settings import Settings
from webapp.web import api

# A bundle is sent as it is, as any other run of bytes.
schemathesis.serializer.alias("application/zip", "application/octet-stream")
# A description cannot say which texts are settings: "eleven" is text, and no f-number.
SAYS_LESS = [positive_data_acceptance]
# The forms that the pages share read what is typed there, so "0.6" is a number in them, and "yes" a yes.
READS_TEXT = re.compile(r"/api/v1/(kit/.*|sessions.*|shots/\{shot_id\})")


def described_routes() -> list[tuple[str, str, GenerationMode]]:
    """Every route with what is to be sent: what fits its description, and, where it takes anything, what does not."""
    bare = FastAPI()
    api.add_to(bare)
    return [
        (method, path, mode)
        for path, item in bare.openapi()["paths"].items()
        for method, route in item.items()
        for mode in GenerationMode
        if mode.is_positive or can_be_wrong(route)
    ]


def can_be_wrong(route: dict[str, Any]) -> bool:
    """Whether something can be sent that does not fit the description: any bytes at all fit one of a file."""
    return bool(
        route.get("parameters") or route.get("requestBody", {}).get("content", {}).keys() - {"application/zip"}
    )


@dataclass(frozen=True)
class Described:
    """The description, and the ids of what is on record."""

    schema: schemathesis.BaseSchema
    ids: dict[str, str]

    def at_home(self, case: schemathesis.Case, mode: GenerationMode) -> schemathesis.Case:
        """The case at an address that there is, unless the address is what is wrong about it."""
        wrong = [name for name, part in case.meta.components.items() if part.mode.is_negative] if case.meta else []
        if mode.is_positive or "path" not in {name.value for name in wrong}:
            found = {name: id_ for name, id_ in self.ids.items() if name in case.path_parameters}
            case.path_parameters = {**case.path_parameters, **found}
        return case


def recipe_ids(client: TestClient, frame_id: str) -> dict[str, str]:
    """A recipe with a link to it, and a term of the vocabulary."""
    recipe = client.post(f"/frames/{frame_id}/recipe", json={"title": "dial"}).json()["id"]
    link = client.post(f"/recipes/{recipe}/links", json={"reader": "student"}).json()
    term = client.get("/vocabulary").json()[0]["id"]
    return {"recipe_id": recipe, "number": "1", "token": link["token"], "term_id": term}


@pytest.fixture(scope="module")
def described(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Described]:
    app = create_app(Settings(data=tmp_path_factory.mktemp("described")))

    async def without_lifespan(scope: Scope, receive: Receive, send: Send) -> None:
        # The client below begins and ends the program's life.
        assert scope["type"] == "http"
        await app(scope, receive, send)

    with TestClient(app, base_url="http://testserver/api/v1") as client:
        session = client.post("/sessions", json={"name": "bench day"}).json()["id"]
        shot = client.post(f"/sessions/{session}/shots", json={"title": "enamel dial"}).json()["id"]
        frame = client.post(f"/shots/{shot}/frames", json={}).json()["id"]
        light = client.get("/kit/lights").json()[0]["id"]
        ids = {"session_id": session, "shot_id": shot, "frame_id": frame, "light_id": light, "letter": "A"}
        ids |= recipe_ids(client, frame)
        schema = schemathesis.openapi.from_asgi("/api/v1/openapi.json", without_lifespan)
        yield Described(schema, ids | {"kind": "lights", "item_id": light})


@pytest.mark.parametrize(("method", "path", "mode"), described_routes())
def test_every_route_answers_as_described(described: Described, method: str, path: str, mode: GenerationMode) -> None:
    operation = described.schema[path][method]
    excluded = SAYS_LESS + ([negative_data_rejection] if READS_TEXT.fullmatch(path) else [])

    @settings(max_examples=12, deadline=None, database=None, suppress_health_check=list(HealthCheck))
    @given(operation.as_strategy(generation_mode=mode))
    def answers(case: schemathesis.Case) -> None:
        described.at_home(case, mode).call_and_validate(excluded_checks=excluded)

    answers()


def test_the_description_names_every_cause(client: TestClient) -> None:
    schemas = client.get("/api/v1/openapi.json").json()["components"]["schemas"]

    assert schemas["Cause"]["enum"] == [cause.value for cause in Cause]
    assert schemas["EntryAnswer"]["properties"]["cause"] == {"$ref": "#/components/schemas/Cause"}


def test_the_description_says_how_an_exposure_is_written(client: TestClient) -> None:
    schemas = client.get("/api/v1/openapi.json").json()["components"]["schemas"]

    assert schemas["BalanceBody"]["required"] == ["from", "to"]
    assert set(schemas["ExposureBody"]["required"]) == {"f_number", "shutter", "iso", "lights"}
    assert schemas["LightBody"]["properties"]["lowest_power_stops"]["default"] == -7.0
    assert schemas["EntryAnswer"]["required"] == ["cause", "acts_on", "stops", "from", "to"]


def test_every_refusal_is_described(client: TestClient) -> None:
    paths = client.get("/api/v1/openapi.json").json()["paths"]

    told = {status for item in paths.values() for route in item.values() for status in route["responses"]}
    assert {"200", "201", "204", "404", "409", "413", "422", "503"} == told


typed = (
    st.text(max_size=12)
    | st.sampled_from(
        ["", "unknown", "full", "1/0", "-1/3", "+1 1/3", "f/0", "1:0", "5.6+0.3", "1/1e9", "９", "٣", "½"]
    )
    | st.from_regex(r"[+\-]?[0-9]{1,190}(\.[0-9]{1,3})?( ?(J|mm|cm|m|s|/[0-9]{1,180}))?", fullmatch=True)
)
sent = (
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False) | typed | st.lists(typed, max_size=3)
).filter(lambda value: value not in (float("inf"), float("-inf")))
fields = st.sampled_from([*CAMERA, *(f"lights.A.{name}" for name in LIGHT)])


@settings(max_examples=150, deadline=None, database=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(fields, sent)
def test_whatever_is_sent_for_a_field_is_answered_at_it(desk: Desk, field: str, value: Any) -> None:
    body = {"changes": [{"field": field, "value": value}]}

    answer = desk.client.patch(f"/api/v1/shots/{desk.shot_id}/standing", json=body)

    assert answer.status_code in (200, 422), answer.text
    if answer.status_code == 422:
        assert answer.json()["detail"][0]["loc"] in (["body", *field.split(".")], ["body", "changes", "0", "value"])
