"""The kit: its list, its items, their meter readings."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Final

from fastapi import APIRouter, Request
from pydantic import BaseModel
from starlette.concurrency import run_in_threadpool
from starlette.responses import Response

from webapp.errors import InUse, InvalidValue, SeveralInvalid, StaleRecord
from webapp.kit import inventory, units
from webapp.kit.curves import known_curves
from webapp.kit.forms import KIT_FORMS, MeterReadingForm
from webapp.quantities.lengths import UNITS, Lengths
from webapp.quantities.reading import UNKNOWN
from webapp.quantities.stops import stops_text
from webapp.records import kit as kit_records
from webapp.records.tables import (
    KIT_TABLES,
    Camera,
    Filter,
    Kit,
    Lens,
    LightHead,
    MeterReading,
    Modifier,
    Origin,
    Shot,
)
from webapp.security.identity import owner_only
from webapp.services import InServices, Services
from webapp.web.pages.curve_view import CurveView, curve_views
from webapp.web.pages.figures import plural, signed
from webapp.web.pages.form_view import (
    Choice,
    fields_of,
    in_millimetres,
    parted,
    revision_view,
    side_by_side,
    stray_problem,
    ticked,
    without_unit,
)
from webapp.web.pages.render import go_to, whole_page
from webapp.web.pages.sessions import said_in
from webapp.web.pages.worksheet_view import UNIT_FIELD
from webapp.web.words import tone_curve

router = APIRouter()
_USED_ON: Final[Mapping[str, str]] = {"both": "light, lens", "light": "light", "lens": "lens"}
_HEADS: Final[Mapping[type[Kit], tuple[str, ...]]] = {
    Camera: ("sensor, mm", "pixels", "sync, s", "ISO"),
    Lens: ("focal length, mm", "f-number", "f-number in files"),
    LightHead: ("kind", "full, J", "range, stops", "step"),
    Modifier: ("shape", "size, {unit}", "loss, stops"),
    Filter: ("kind", "for", "loss, stops", "shift, mired"),
}
"""What the list says of each kind, with its unit."""
_SHOTS_NAMED: Final = 8
"""A piece of kit that more shots have names the newest, and says how many more there are."""


@dataclass(frozen=True, slots=True)
class KitLine:
    id: str
    name: str
    facts: tuple[str, ...]
    """A figure for each head of its kind."""

    frames: int
    """In how many it was used."""

    retired: bool


@dataclass(frozen=True, slots=True)
class KitGroup:
    kind: str
    """A kind of kit: one's own, what was laid out for a newcomer, and the demo's."""

    title: str
    noun: str
    heads: tuple[str, ...]
    own: tuple[KitLine, ...]
    starter: tuple[KitLine, ...]
    demo: tuple[KitLine, ...]


@dataclass(frozen=True, slots=True)
class ReadingLine:
    words: str
    read_at: str


@router.get("/kit")
def kit_page(request: Request, services: InServices) -> Response:
    groups = []
    with services.records.reading() as db:
        lengths = units.lengths_in(db)
        frames = kit_records.frames_by_item(db)
        for kind, table in KIT_TABLES.items():
            rows = kit_records.items_in(db, table, retired=None)
            own, starter, demo = (
                tuple(
                    KitLine(row.id, row.name, _facts(row, lengths), frames.get(row.id, 0), row.retired)
                    for row in rows
                    if row.origin == origin
                )
                for origin in (Origin.OWN, Origin.STARTER, Origin.DEMO)
            )
            heads = tuple(each.format(unit=lengths.unit) for each in _HEADS[table])
            groups.append(KitGroup(kind, kind.capitalize(), inventory.KIT_NOUNS[kind], heads, own, starter, demo))
    return whole_page(request, "kit.html", groups=groups)


@router.get("/kit/{kind}/new")
def new_item(request: Request, services: InServices, kind: str) -> Response:
    return _item(request, services, kind)


@router.post("/kit/{kind}/new")
async def add_item(request: Request, services: InServices, kind: str) -> Response:
    return await _keep(request, services, kind, None)


@router.get("/kit/{kind}/{item_id}")
def item_page(request: Request, services: InServices, kind: str, item_id: str) -> Response:
    return _item(request, services, kind, item_id)


@router.post("/kit/{kind}/{item_id}")
async def keep_item(request: Request, services: InServices, kind: str, item_id: str) -> Response:
    return await _keep(request, services, kind, item_id)


@router.post("/kit/{kind}/{item_id}/retire")
def retire_item(request: Request, services: InServices, kind: str, item_id: str) -> Response:
    inventory.retire(services.records, kind, item_id)
    return go_to(request, "/kit")


@router.post("/kit/{kind}/{item_id}/return")
def return_item(request: Request, services: InServices, kind: str, item_id: str) -> Response:
    inventory.retire(services.records, kind, item_id, retired=False)
    return go_to(request, "/kit")


@router.post("/kit/{kind}/{item_id}/delete")
@owner_only
def delete_item(request: Request, services: InServices, kind: str, item_id: str) -> Response:
    try:
        inventory.delete(services.records, kind, item_id)
    except InUse as reason:
        return _item(request, services, kind, item_id, status=409, trouble=str(reason))
    return go_to(request, "/kit")


@router.post("/kit/lights/{item_id}/readings")
async def add_reading(request: Request, services: InServices, item_id: str) -> Response:
    said = await said_in(request)
    unit = said.pop(UNIT_FIELD, "")
    try:
        await run_in_threadpool(_add_reading, services, item_id, said, unit)
    except InvalidValue as error:
        again = partial(_item, request, services, "lights", item_id, status=422, unit=unit)
        return await run_in_threadpool(partial(again, reading_said=said, reading_error=error))
    return go_to(request, f"/kit/lights/{item_id}")


async def _keep(request: Request, services: Services, kind: str, item_id: str | None) -> Response:
    inventory.table_of(kind)
    said: dict[str, Any] = ticked(KIT_FORMS[kind], await said_in(request))
    unit = said.pop(UNIT_FIELD, "")
    fields, revision = parted(said)
    try:
        await run_in_threadpool(_keep_item, services, kind, fields, item_id, revision, unit)
    except (InvalidValue, StaleRecord) as error:
        status = 409 if isinstance(error, StaleRecord) else 422
        return await run_in_threadpool(
            partial(_item, request, services, kind, item_id, status=status, said=said, error=error, unit=unit)
        )
    return go_to(request, "/kit")


def _keep_item(
    services: Services, kind: str, said: dict[str, Any], item_id: str | None, revision: int | None, unit: str
) -> None:
    lengths = _lengths_of_form(services, KIT_FORMS[kind], said, unit)
    with services.records.reading() as db:
        stands = inventory.said_of(kit_records.item_of(db, inventory.table_of(kind), item_id)) if item_id else {}
    inventory.keep(services.records, kind, in_millimetres(KIT_FORMS[kind], said, lengths, stands), item_id, revision)


def _as_typed(row: Kit) -> dict[str, Any]:
    """What stands of a piece of kit, as its form has it."""
    stands = inventory.said_of(row)
    loss = stands.get("loss_stops")
    return stands if loss is None else stands | {"loss": f"{loss:.3g} stops"}


def _lengths(services: Services, unit: str) -> Lengths:
    """The unit that a form says it was drawn in, which may have been changed since; without one the reader's."""
    return Lengths(inches=unit == UNITS[1]) if unit in UNITS else units.lengths(services.records)


def _lengths_of_form(services: Services, form: type[BaseModel], said: Mapping[str, Any], unit: str) -> Lengths:
    """How the lengths of a form are read. Raises SeveralInvalid where it does not say its unit and has bare lengths: a
    page that was open across an upgrade had others, and a size ten times too large is not seen."""
    lengths = _lengths(services, unit)
    if unit not in UNITS and (written := without_unit(form, said, lengths)):
        raise SeveralInvalid(
            [
                InvalidValue(name, f"This page was open across an upgrade. Not saved yet: check {text}, then save.")
                for name, text in written.items()
            ]
        )
    return lengths


def _add_reading(services: Services, item_id: str, said: dict[str, Any], unit: str) -> None:
    lengths = _lengths_of_form(services, MeterReadingForm, said, unit)
    inventory.add_meter_reading(services.records, item_id, in_millimetres(MeterReadingForm, said, lengths, {}))


def _item(
    request: Request,
    services: Services,
    kind: str,
    item_id: str | None = None,
    *,
    status: int = 200,
    said: dict[str, Any] | None = None,
    error: InvalidValue | StaleRecord | None = None,
    trouble: str = "",
    unit: str = "",
    reading_said: dict[str, Any] | None = None,
    reading_error: InvalidValue | None = None,
) -> Response:
    table, form = inventory.table_of(kind), KIT_FORMS[kind]
    readings: list[ReadingLine] = []
    modifiers: dict[str | None, str] = {None: "bare"}
    row: Kit | None = None
    curves: tuple[CurveView, ...] = ()
    shots: Sequence[tuple[Shot, int]] = ()
    lengths = _lengths(services, unit)
    if error and said and unit not in UNITS:
        said = said | without_unit(form, said, lengths)
    if reading_error and reading_said and unit not in UNITS:
        reading_said = reading_said | without_unit(MeterReadingForm, reading_said, lengths)
    if item_id is not None:
        with services.records.reading() as db:
            row = kit_records.item_of(db, table, item_id)
            shots = kit_records.shots_with(db, item_id)
            if isinstance(row, Camera):
                curves = curve_views(known_curves(db, row))
            if isinstance(row, LightHead):
                modifiers |= {each.id: each.name for each in kit_records.items_in(db, Modifier, retired=None)}
                readings = [
                    _reading_line(each, row, modifiers, lengths) for each in kit_records.readings_of(db, item_id)
                ]
    fields = fields_of(form, _as_typed(row) if row else None, lengths=lengths)
    typed = fields_of(form, said, error, lengths=lengths) if said else fields
    return whole_page(
        request,
        "kit_item.html",
        status=status,
        kind=kind,
        noun=inventory.KIT_NOUNS[kind],
        title=row.name if row else f"New {inventory.KIT_NOUNS[kind]}",
        item_id=item_id,
        unit=lengths.unit,
        retired=bool(row and row.retired),
        fields=typed,
        revision=revision_view(row.revision, said, error, side_by_side(fields, typed)) if row else None,
        trouble=trouble or stray_problem(form, error),
        shots=[(shot.id, shot.title, plural(count, "frame")) for shot, count in shots[:_SHOTS_NAMED]],
        more_shots=len(shots) - _SHOTS_NAMED,
        curves=curves,
        teaches=tone_curve.TEACHES,
        readings=readings,
        reading_fields=fields_of(
            MeterReadingForm,
            reading_said,
            reading_error,
            {"modifier_id": tuple(Choice(item or "", name) for item, name in modifiers.items())},
            lengths,
        ),
    )


def _reading_line(
    reading: MeterReading, light: LightHead, modifiers: dict[str | None, str], lengths: Lengths
) -> ReadingLine:
    power = inventory.head_figures(light).dial.mark(reading.power_stops)
    words = (
        f"f/{reading.mark} at {power}, {lengths.text(reading.distance_mm)}, "
        f"{modifiers.get(reading.modifier_id, 'a modifier that is gone')}"
    )
    return ReadingLine(words, reading.read_at.date().isoformat())


def _facts(row: Kit, lengths: Lengths) -> tuple[str, ...]:
    """The figures of a piece of kit, in the order of the heads of its kind."""
    if isinstance(row, Camera):
        return (
            f"{row.sensor_width_mm:g} × {row.sensor_height_mm:g}",
            f"{row.width_px} × {row.height_px}",
            row.sync_mark or UNKNOWN,
            f"{row.lowest_iso:g}–{row.highest_iso:g}",
        )
    if isinstance(row, Lens):
        zoom = f"–{row.longest_focal_mm:g}" if row.longest_focal_mm != row.shortest_focal_mm else ""
        return (
            f"{row.shortest_focal_mm:g}{zoom}",
            f"f/{row.widest_f_number:g}–{row.smallest_f_number:g}",
            str(row.records),
        )
    if isinstance(row, LightHead):
        return (
            f"{row.kind} {row.form}",
            f"{row.full_energy_j:g}" if row.full_energy_j else UNKNOWN,
            f"{-row.lowest_power_stops:g}",
            stops_text(row.step_stops).removeprefix("+"),
        )
    if isinstance(row, Modifier):
        size = lengths.sides(row.width_mm, row.height_mm).removesuffix(f" {lengths.unit}")
        return (str(row.shape), size or UNKNOWN, _loss(row.loss_stops))
    assert isinstance(row, Filter)
    return (
        str(row.kind),
        _USED_ON[row.fits],
        _loss(row.loss_stops),
        signed(row.shift_mired, 0) if row.shift_mired else "",
    )


def _loss(stops: float | None) -> str:
    return UNKNOWN if stops is None else f"{stops:.1f}"
