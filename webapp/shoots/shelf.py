"""The kit of the records, as the set-up's fields look it up."""

from __future__ import annotations

from sqlmodel import Session as Database

from webapp.kit import inventory
from webapp.kit.learned import with_learned
from webapp.ledger.set_up import (
    CameraFigures,
    FilterFigures,
    HeadFigures,
    IncidentReading,
    LensFigures,
    ModifierFigures,
)
from webapp.records import kit as kit_records
from webapp.records.tables import Camera, Filter, Lens, LightHead, Modifier


class RecordedShelf:
    """The kit of the records, as the set-up's fields look it up."""

    def __init__(self, db: Database) -> None:
        self._db = db

    def camera(self, item_id: str) -> CameraFigures:
        return inventory.camera_figures(kit_records.item_of(self._db, Camera, item_id))

    def lens(self, item_id: str) -> LensFigures:
        return inventory.lens_figures(kit_records.item_of(self._db, Lens, item_id))

    def head(self, item_id: str) -> HeadFigures:
        return with_learned(self._db, inventory.head_figures(kit_records.item_of(self._db, LightHead, item_id)))

    def modifier(self, item_id: str) -> ModifierFigures:
        return inventory.modifier_figures(kit_records.item_of(self._db, Modifier, item_id))

    def filter(self, item_id: str) -> FilterFigures:
        return inventory.filter_figures(kit_records.item_of(self._db, Filter, item_id))

    def incident_reading(self, light_id: str, modifier_id: str | None) -> IncidentReading | None:
        return inventory.incident_reading(self._db, light_id, modifier_id)
