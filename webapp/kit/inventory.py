"""The kit a studio owns: keep it, retire it, meter it, and turn its rows into the figures that a set-up copies."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from typing import Any
from weakref import WeakKeyDictionary

from pydantic import ValidationError
from sqlalchemy import Engine
from sqlmodel import Session as Database

from webapp.errors import InUse, InvalidValue, NotFound
from webapp.kit.forms import KIT_FORMS, KitForm, MeterReadingForm
from webapp.kit.learned import with_learned
from webapp.kit.units import lengths_in
from webapp.ledger.explanations import AtHand
from webapp.ledger.set_up import (
    CameraFigures,
    EmittingFigures,
    FilterFigures,
    HeadFigures,
    IncidentReading,
    LensFigures,
    ModifierFigures,
    SetUp,
)
from webapp.ledger.sheets import Sheet
from webapp.ledger.ways import Means
from webapp.optics.depth import circle_of_confusion_mm
from webapp.optics.scales import Dial, Quantity
from webapp.quantities.marks import read_mark
from webapp.quantities.powers import Marking
from webapp.quantities.refused import invalid_fields
from webapp.records import kit as kit_records
from webapp.records.engine import Records
from webapp.records.revisions import revise
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
    new_id,
)

KIT_NOUNS = {"cameras": "camera", "lenses": "lens", "lights": "light", "modifiers": "modifier", "filters": "filter"}


def table_of(kind: str) -> type[Kit]:
    """The table of one kind of kit. Raises NotFound for a word that is none."""
    if kind not in KIT_TABLES:
        raise NotFound(f"There is no kind of kit called “{kind[:40]}”; there are {', '.join(KIT_TABLES)}.")
    return KIT_TABLES[kind]


def keep(
    records: Records,
    kind: str,
    said: dict[str, Any],
    item_id: str | None = None,
    revision: int | None = None,
    *,
    origin: Origin = Origin.OWN,
) -> str:
    """Add an item, or (with `item_id`) write it anew as a whole; the answer is its id. What was changed is one's own from
    then on. Old frames keep the figures they copied; the shots' set-ups now that hold the item take the new ones over.
    `revision` is the one that was read.

    Raises SeveralInvalid, with every field that cannot be kept, and StaleRecord.
    """
    table, values = table_of(kind), _row_values(kind, said)
    with changing_kit(records) as db:
        if item_id is None:
            item: Kit = table(id=new_id(), origin=origin, **values)
            db.add(item)
        else:
            item = kit_records.item_of(db, table, item_id)
            _write(db, item, values, revision, origin)
    return item.id


def change(records: Records, kind: str, item_id: str, said: dict[str, Any], revision: int | None = None) -> None:
    """Change some fields of an item; what is left out stays. Otherwise as `keep`."""
    with changing_kit(records) as db:
        item = kit_records.item_of(db, table_of(kind), item_id)
        stands = _columns_said(item)
        if said.keys() & {"loss", "density"}:
            stands.pop("loss_stops", None)
        _write(db, item, _row_values(kind, stands | said), revision, Origin.OWN)


def _write(db: Database, item: Kit, values: dict[str, Any], revision: int | None, origin: Origin) -> None:
    revise(item, values, revision)
    item.origin = origin
    _refresh_standing(db, item)


def _row_values(kind: str, said: dict[str, Any]) -> dict[str, Any]:
    try:
        return KIT_FORMS[kind].model_validate(said).row_values()
    except ValidationError as error:
        raise invalid_fields(error) from error


def retire(records: Records, kind: str, item_id: str, *, retired: bool = True) -> None:
    """Take an item out of use (or back in). A retired item stays readable in old frames and in set-ups now."""
    with changing_kit(records) as db:
        item = kit_records.item_of(db, table_of(kind), item_id)
        item.retired = retired
        db.add(item)


def delete(records: Records, kind: str, item_id: str) -> None:
    """Forget an item that nothing refers to. Raises InUse, with the count, where something does."""
    with changing_kit(records) as db:
        delete_in(db, kit_records.item_of(db, table_of(kind), item_id))


def delete_in(db: Database, item: Kit) -> None:
    """Forget an item inside a transaction. Raises InUse, and has changed nothing then."""
    frames, standing = kit_records.references_to(db, item.id)
    if frames or standing:
        raise InUse(
            f"{item.name} cannot be deleted: {frames} frame{'s' * (frames != 1)} and {standing} "
            f"set-up{'s' * (standing != 1)} hold it. Retire it instead; old frames stay readable."
        )
    if metered := kit_records.readings_with_modifier(db, item.id):
        raise InUse(
            f"{item.name} cannot be deleted: {metered} meter reading{'s' * (metered != 1)} were taken with it. "
            "Retire it instead."
        )
    for reading in kit_records.readings_of(db, item.id):
        db.delete(reading)
    db.flush()
    db.delete(item)
    db.flush()


def add_meter_reading(records: Records, light_id: str, said: dict[str, Any]) -> str:
    """Keep an incident reading of a light with a modifier; a set-up now with that pair takes it over."""
    try:
        form = MeterReadingForm.model_validate(said)
    except ValidationError as error:
        raise invalid_fields(error) from error
    with changing_kit(records) as db:
        light = kit_records.item_of(db, LightHead, light_id)
        if form.modifier_id is not None:
            kit_records.item_of(db, Modifier, form.modifier_id)
        metered = reading_of(form, head_figures(light))
        reading = MeterReading(light_id=light_id, modifier_id=form.modifier_id, **asdict(metered))
        db.add(reading)
        db.flush()
        _refresh_standing(db, light)
    return reading.id


def reading_of(form: MeterReadingForm, head: HeadFigures) -> IncidentReading:
    """What a form says of a meter reading, its power on the dial of the head. Raises InvalidValue."""
    name = "f_number"
    try:
        metered = read_mark(Quantity.F_NUMBER, form.f_number, Dial.THIRD)
        name = "power"
        return IncidentReading(metered.stops, metered.text, head.dial.read(form.power), form.distance_mm)
    except ValueError as error:
        raise InvalidValue(name, str(error)) from error


def said_of(row: Kit) -> dict[str, Any]:
    """What a form would have said to make this row; of a filter its `loss_stops`, which a form has as a text."""
    said = _columns_said(row)
    if isinstance(row, Lens) and row.longest_focal_mm == row.shortest_focal_mm:
        said["longest_focal_mm"] = None
    return said


def _columns_said(row: Kit) -> dict[str, Any]:
    """The columns of a row in the words of its form."""
    said = {name: getattr(row, name) for name in type(row).model_fields if name in _form_of(row).model_fields}
    if isinstance(row, LightHead):
        said["range_stops"] = -row.lowest_power_stops
    return said


def _form_of(row: Kit) -> type[KitForm]:
    return next(KIT_FORMS[kind] for kind, table in KIT_TABLES.items() if isinstance(row, table))


def camera_figures(row: Camera) -> CameraFigures:
    dial = Dial(row.shutter_dial)
    sync = read_mark(Quantity.SHUTTER, row.sync_mark, dial) if row.sync_mark else None
    return CameraFigures(
        id=row.id,
        name=row.name,
        sensor_width_mm=row.sensor_width_mm,
        sensor_height_mm=row.sensor_height_mm,
        width_px=row.width_px,
        height_px=row.height_px,
        sync_mark=sync.text if sync else None,
        sync_tv=sync.stops if sync else None,
        lowest_iso=row.lowest_iso,
        highest_iso=row.highest_iso,
        shutter_dial=dial,
        iso_dial=Dial(row.iso_dial),
    )


def lens_figures(row: Lens) -> LensFigures:
    return LensFigures(
        id=row.id,
        name=row.name,
        shortest_focal_mm=row.shortest_focal_mm,
        longest_focal_mm=row.longest_focal_mm,
        widest_f_number=row.widest_f_number,
        smallest_f_number=row.smallest_f_number,
        greatest_magnification=row.greatest_magnification,
        pupil_ratio=row.pupil_ratio,
        f_number_dial=Dial(row.f_number_dial),
        records="effective" if row.records == "effective" else "marked",
    )


def head_figures(row: LightHead) -> HeadFigures:
    ring = row.form == "ring" and row.outer_diameter_mm is not None
    return HeadFigures(
        id=row.id,
        name=row.name,
        kind="continuous" if row.kind == "continuous" else "flash",
        form="ring" if ring else "head",
        full_energy_j=row.full_energy_j,
        lowest_power_stops=row.lowest_power_stops,
        step_stops=row.step_stops,
        marking=Marking(row.marking),
        full_number=row.full_number,
        stops_per_number=row.stops_per_number,
        face=EmittingFigures("ring", row.outer_diameter_mm, None, row.inner_diameter_mm)
        if ring
        else EmittingFigures(),
        recycle_s=row.recycle_s,
        t_half_s=row.t_half_s,
        kelvin=row.kelvin,
        guide_number_m=row.guide_number_m,
        guide_reflector=row.guide_reflector,
    )


_SHAPES = ("point", "disc", "ring", "rectangle")


def modifier_figures(row: Modifier) -> ModifierFigures:
    shape = next((shape for shape in _SHAPES if shape == row.shape), "point")
    face = EmittingFigures(shape, row.width_mm, row.height_mm, row.inner_diameter_mm)  # type: ignore[arg-type]
    return ModifierFigures(row.id, row.name, row.loss_stops, face, row.diffuses, row.cutoff_deg)


def filter_figures(row: Filter) -> FilterFigures:
    return FilterFigures(row.id, row.name, row.kind, row.loss_stops, row.shift_mired)


def at_hand(db: Database) -> AtHand:
    """What the kit in use holds that may have stood in a beam."""
    filters = kit_records.items_in(db, Filter)
    return AtHand(
        light_filters=tuple(filter_figures(row) for row in filters if row.fits in ("both", "light")),
        lens_filters=tuple(filter_figures(row) for row in filters if row.fits in ("both", "lens")),
        modifiers=tuple(modifier_figures(row) for row in kit_records.items_in(db, Modifier)),
    )


def incident_reading(db: Database, light_id: str, modifier_id: str | None) -> IncidentReading | None:
    row = kit_records.newest_reading(db, light_id, modifier_id)
    return None if row is None else IncidentReading(row.av, row.mark, row.power_stops, row.distance_mm)


def means_with(db: Database, set_up: SetUp, *, subject_is_static: bool) -> Means:
    """What the kit in the room can do for this set-up: the ranges of its camera and lens, the filters that lie
    ready, and the marks of the tape."""
    ready = _shelf(db)
    return Means(
        f_number_dial=set_up.lens.f_number_dial,
        iso_dial=set_up.camera.iso_dial,
        shutter_dial=set_up.camera.shutter_dial,
        widest_f_number=set_up.lens.widest_f_number,
        smallest_f_number=set_up.lens.smallest_f_number,
        lowest_iso=set_up.camera.lowest_iso,
        highest_iso=set_up.camera.highest_iso,
        light_sheets=ready.light_sheets,
        lens_sheets=ready.lens_sheets,
        subject_is_static=subject_is_static,
        circle_of_confusion_mm=circle_of_confusion_mm(set_up.camera.sensor_width_mm, set_up.camera.sensor_height_mm),
        tape=lengths_in(db),
    )


@dataclass(frozen=True, slots=True)
class Choices:
    """The kit in use as lists to choose from, (id, name) each, and the sheets that can correct an exposure."""

    cameras: tuple[tuple[str, str], ...]
    lenses: tuple[tuple[str, str], ...]
    heads: tuple[tuple[str, str], ...]
    modifiers: tuple[tuple[str, str], ...]
    light_filters: tuple[tuple[str, str], ...]
    lens_filters: tuple[tuple[str, str], ...]
    light_sheets: tuple[Sheet, ...]
    lens_sheets: tuple[Sheet, ...]


# Kit changes a few times a month and is needed at every tap, so the lists are kept until it does.
_shelves: WeakKeyDictionary[Engine, Choices] = WeakKeyDictionary()


def choices(records: Records) -> Choices:
    """The kit in use."""
    kept = _shelves.get(records.engine)
    if kept is not None:
        return kept
    with records.reading() as db:
        return _shelf(db)


def _shelf(db: Database) -> Choices:
    engine = db.get_bind().engine
    kept = _shelves.get(engine)
    if kept is None:
        filters = kit_records.items_in(db, Filter)
        on_light = [row for row in filters if row.fits in ("both", "light")]
        on_lens = [row for row in filters if row.fits in ("both", "lens")]
        kept = _shelves[engine] = Choices(
            cameras=_named(kit_records.items_in(db, Camera)),
            lenses=_named(kit_records.items_in(db, Lens)),
            heads=_named(kit_records.items_in(db, LightHead)),
            modifiers=_named(kit_records.items_in(db, Modifier)),
            light_filters=_named(on_light),
            lens_filters=_named(on_lens),
            light_sheets=_sheets(on_light, ("neutral", "diffusion")),
            lens_sheets=_sheets(on_lens, ("neutral",)),
        )
    return kept


def _named(rows: Sequence[Kit]) -> tuple[tuple[str, str], ...]:
    return tuple((row.id, row.name) for row in rows)


def _sheets(rows: Sequence[Filter], kinds: tuple[str, ...]) -> tuple[Sheet, ...]:
    return tuple(
        Sheet(row.id, row.name, row.loss_stops, softens=row.kind == "diffusion")
        for row in rows
        if row.loss_stops and row.kind in kinds
    )


@contextmanager
def changing_kit(records: Records) -> Iterator[Database]:
    """A transaction that changes kit; the lists that are kept are drawn up anew after it."""
    with records.writing() as db:
        yield db
    _shelves.pop(records.engine, None)


def _refresh_standing(db: Database, item: Kit) -> None:
    for standing in kit_records.standing_with(db, item.id):
        standing.set_up = _refreshed(db, standing.set_up, item)
        db.add(standing)


def _refreshed(db: Database, set_up: SetUp, item: Kit) -> SetUp:
    if isinstance(item, Camera):
        return replace(set_up, camera=camera_figures(item))
    if isinstance(item, Lens):
        return replace(set_up, lens=lens_figures(item))
    for light in set_up.lights:
        changed = light
        if isinstance(item, LightHead) and light.head.id == item.id:
            reading = incident_reading(db, item.id, light.modifier.id if light.modifier else None)
            changed = replace(light, head=with_learned(db, head_figures(item)), incident=reading)
        elif isinstance(item, Modifier) and light.modifier is not None and light.modifier.id == item.id:
            changed = replace(light, modifier=modifier_figures(item))
        elif isinstance(item, Filter):
            changed = replace(light, filters=_exchanged(light.filters, item))
        set_up = set_up.with_light(changed)
    if isinstance(item, Filter):
        set_up = replace(set_up, lens_filters=_exchanged(set_up.lens_filters, item))
    return set_up


def _exchanged(fitted: tuple[FilterFigures, ...], item: Filter) -> tuple[FilterFigures, ...]:
    return tuple(filter_figures(item) if each.id == item.id else each for each in fitted)
