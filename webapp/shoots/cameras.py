"""The camera in use and the one that a file is of: each piece of kit is known by the make and model in its files."""

from __future__ import annotations

from dataclasses import dataclass

from webapp.facts import Fact, fact
from webapp.records import kit as kit_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.revisions import revise
from webapp.records.tables import Camera
from webapp.shoots.reasons import Reason
from webapp.shoots.set_up_reasons import Reason as SetUpReason


@dataclass(frozen=True, slots=True)
class UsedCamera:
    """Whether a file is of another camera than the one in use, and what is to be said of it."""

    is_another: bool = False
    says: tuple[Fact, ...] = ()


def use_camera(records: Records, shot_id: str, named: str | None) -> UsedCamera:
    """Hold the camera that a file names against the one in a shot's set-up. A camera that no file came of yet is bound
    to the name, unless the name is that of another in the kit. A file that names none is taken for one of its own."""
    if named is None:
        return UsedCamera()
    with records.reading() as db:
        in_use = db.get(Camera, shot_records.standing_of(db, shot_id).set_up.camera.id)
        others = kit_records.items_in(db, Camera)
    if in_use is None or in_use.in_files.casefold() == named.casefold():
        return UsedCamera()
    if in_use.in_files or any(each.in_files.casefold() == named.casefold() for each in others):
        return UsedCamera(is_another=True, says=(fact(Reason.OTHER_CAMERA, file=named, kit=in_use.name),))
    with records.writing() as db:
        camera = db.get_one(Camera, in_use.id)
        if not camera.in_files:
            revise(camera, {"in_files": named}, None)
            return UsedCamera(says=(fact(SetUpReason.CAMERA_BOUND, camera=camera.name, file=named),))
    # Another file was quicker to bind it.
    return use_camera(records, shot_id, named)
