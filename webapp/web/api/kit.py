"""The kit a studio owns: one set of routes for all kinds."""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Any, Final

from fastapi import APIRouter, Path, Query, Response
from pydantic import BaseModel, WithJsonSchema

from webapp.kit import inventory
from webapp.kit.forms import KIT_FORMS, CameraForm, FilterForm, LensForm, LightForm, MeterReadingForm, ModifierForm
from webapp.records import kit as kit_records
from webapp.records.tables import KIT_TABLES, Kit, LightHead, MeterReading, Origin
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.web.api.facts import Answer
from webapp.web.api.forms import one_of, parted, some_of
from webapp.web.api.requests import ItemId, JsonRoute, named_in_body

router = APIRouter(tags=["kit"], route_class=JsonRoute)

Kind = Annotated[str, Path(max_length=40, json_schema_extra={"enum": list(KIT_TABLES)})]
NewItem = Annotated[dict[str, Any], WithJsonSchema(one_of(*KIT_FORMS.values()))]
ItemChanges = Annotated[dict[str, Any], WithJsonSchema(some_of(*KIT_FORMS.values()))]


class OnRecord(BaseModel):
    """What the records add to what was said of an item."""

    id: str
    origin: Origin
    retired: bool
    revision: int
    created_at: dt.datetime


class CameraAnswer(OnRecord, CameraForm):
    """A camera."""


class LensAnswer(OnRecord, LensForm):
    """A lens."""


class LightAnswer(OnRecord, LightForm):
    """A light. Its dial goes from full down by `range_stops`."""


class ModifierAnswer(OnRecord, ModifierForm):
    """A modifier."""


class FilterAnswer(OnRecord, FilterForm):
    """A filter. Its loss is told in stops, however it was given."""


KitAnswer = CameraAnswer | LensAnswer | LightAnswer | ModifierAnswer | FilterAnswer
_ANSWERS: Final[dict[str, type[KitAnswer]]] = {
    "cameras": CameraAnswer,
    "lenses": LensAnswer,
    "lights": LightAnswer,
    "modifiers": ModifierAnswer,
    "filters": FilterAnswer,
}


class ReadingAnswer(Answer):
    """An incident reading of a light, at ISO 100."""

    id: str
    light_id: str
    modifier_id: str | None
    mark: str
    power_stops: float
    distance_mm: float
    read_at: dt.datetime


@router.get("/kit/{kind}")
def list_items(services: InServices, kind: Kind, retired: Annotated[bool, Query()] = False) -> list[KitAnswer]:
    """The items of one kind; with `retired` those that are out of use as well."""
    with services.records.reading() as db:
        rows = kit_records.items_in(db, inventory.table_of(kind), retired=None if retired else False)
    return [_answer(kind, row) for row in rows]


@router.post("/kit/{kind}", status_code=201)
def add_item(services: InServices, kind: Kind, said: NewItem) -> KitAnswer:
    """Add an item."""
    return _item(services, kind, inventory.keep(services.records, kind, said))


@router.get("/kit/{kind}/{item_id}")
def read_item(services: InServices, kind: Kind, item_id: ItemId) -> KitAnswer:
    """One item."""
    return _item(services, kind, item_id)


@router.patch("/kit/{kind}/{item_id}")
def change_item(services: InServices, kind: Kind, item_id: ItemId, changes: ItemChanges) -> KitAnswer:
    """Change an item. Old frames keep the figures they copied; set-ups take the new ones over."""
    inventory.change(services.records, kind, item_id, *parted(changes))
    return _item(services, kind, item_id)


@router.delete("/kit/{kind}/{item_id}", status_code=204)
@owner_only
def delete_item(services: InServices, kind: Kind, item_id: ItemId) -> Response:
    """Forget an item that nothing refers to."""
    inventory.delete(services.records, kind, item_id)
    return Response(status_code=204)


@router.post("/kit/{kind}/{item_id}/retire")
def retire(services: InServices, kind: Kind, item_id: ItemId) -> KitAnswer:
    """Take an item out of use. It stays readable in old frames."""
    inventory.retire(services.records, kind, item_id)
    return _item(services, kind, item_id)


@router.post("/kit/{kind}/{item_id}/return")
def bring_back(services: InServices, kind: Kind, item_id: ItemId) -> KitAnswer:
    """Bring a retired item back into use."""
    inventory.retire(services.records, kind, item_id, retired=False)
    return _item(services, kind, item_id)


@router.get("/kit/lights/{light_id}/meter-readings")
def list_readings(services: InServices, light_id: ItemId) -> list[ReadingAnswer]:
    """A light's meter readings, the newest first."""
    with services.records.reading() as db:
        kit_records.item_of(db, LightHead, light_id)
        return [ReadingAnswer.model_validate(row) for row in kit_records.readings_of(db, light_id)]


@router.post("/kit/lights/{light_id}/meter-readings", status_code=201)
def add_reading(services: InServices, light_id: ItemId, said: MeterReadingForm) -> ReadingAnswer:
    """Keep an incident reading; set-ups with that light and modifier take it over."""
    with services.records.reading() as db:
        kit_records.item_of(db, LightHead, light_id)
    with named_in_body("modifier_id"):
        reading_id = inventory.add_meter_reading(services.records, light_id, said.model_dump())
    with services.records.reading() as db:
        return ReadingAnswer.model_validate(db.get_one(MeterReading, reading_id))


def _item(services: Services, kind: str, item_id: str) -> KitAnswer:
    with services.records.reading() as db:
        return _answer(kind, kit_records.item_of(db, inventory.table_of(kind), item_id))


def _answer(kind: str, row: Kit) -> KitAnswer:
    """A row in the words of its form, so that what was read can be sent back."""
    stored = row.model_dump()
    if isinstance(row, LightHead):
        stored["range_stops"] = -stored.pop("lowest_power_stops")
    return _ANSWERS[kind].model_validate(stored)
