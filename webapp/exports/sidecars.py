"""Frames as XMP sidecars: one for each picture file by its stem, so that a raw file and its JPEG share one."""

from __future__ import annotations

import datetime as dt
import io
import re
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from webapp.errors import NotFound
from webapp.facts import Wording
from webapp.ledger.exposures import AMBIENT
from webapp.ledger.set_up import Light
from webapp.optics.scales import Marked
from webapp.pictures.metadata import PictureFacts, turned
from webapp.pictures.xmp import Sidecar, SidecarLight, packet
from webapp.quantities.reading import words_in
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Picture, Shot
from webapp.shoots import frames
from webapp.shoots.frames import LoggedFrame

# What no file system, and no header of an answer, may be given in a name.
_NOT_IN_NAMES: Final = re.compile(r'[\x00-\x1f\x7f<>:"|?*\\/]')
_LARGEST_DENOMINATOR: Final = 10_000


@dataclass(frozen=True, slots=True)
class NamedSidecar:
    """A sidecar and the name under which it lies beside its picture."""

    name: str
    content: bytes


def of_frame(records: Records, frame_id: str, say: Wording) -> NamedSidecar:
    """The sidecar of a frame's first picture file. Raises NotFound for a frame without one."""
    frame = frames.one(records, frame_id)
    with records.reading() as db:
        shot = shot_records.shot_of(db, frame.row.shot_id)
    found = next(_of_pictures(frame, shot, say), None)
    if found is None:
        raise NotFound(f"Frame {frame.row.number} has no picture file that a sidecar could lie beside.")
    return found


def of_shot(records: Records, shot_id: str, say: Wording) -> Iterator[tuple[int, NamedSidecar]]:
    """Frame number and sidecar, for every picture file of the shot, without the frames taken back."""
    with records.reading() as db:
        shot = shot_records.shot_of(db, shot_id)
    for frame in frames.in_order(records, shot_id):
        if not frame.row.taken_back:
            yield from ((frame.row.number, each) for each in _of_pictures(frame, shot, say))


def zipped(records: Records, shot_id: str, say: Wording) -> bytes:
    """The sidecars of a shot as a zip, each under its picture's name. A name that an earlier frame has already goes
    into a folder of its frame."""
    out = io.BytesIO()
    taken: set[str] = set()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for number, sidecar in of_shot(records, shot_id, say):
            # File systems that take upper and lower case for one would lay the second over the first.
            key = sidecar.name.casefold()
            name = sidecar.name if key not in taken else f"frame-{number}/{sidecar.name}"
            taken.add(key)
            archive.writestr(name, sidecar.content)
    return out.getvalue()


def _of_pictures(frame: LoggedFrame, shot: Shot, say: Wording) -> Iterator[NamedSidecar]:
    seen = set()
    for picture in frame.pictures:
        stem = stem_of(picture.name)
        if stem not in seen:
            seen.add(stem)
            yield NamedSidecar(f"{stem}.xmp", packet(sidecar_of(frame, shot, picture, say)).encode())


def stem_of(name: str) -> str:
    """A file's name without its folders and its ending, and without what no file system takes.

    >>> stem_of("card/BN_0042.JPG"), stem_of("../../x.y.dng"), stem_of(".jpg")
    ('BN_0042', 'x.y', 'picture')
    """
    last = name.replace("\\", "/").rpartition("/")[2]
    stem = last.rpartition(".")[0] if "." in last else last
    return _NOT_IN_NAMES.sub("_", stem).strip(" .") or "picture"


def sidecar_of(frame: LoggedFrame, shot: Shot, picture: Picture, say: Wording) -> Sidecar:
    """What goes beside a picture of a frame: the frame's own settings, and of the file its time, camera and size."""
    set_up, facts = frame.set_up, picture.facts
    terms = words_in(";".join((shot.subject_types, shot.surface, shot.look)))
    ambient = frame.ledger.of(AMBIENT)
    # The facts are of the upright picture, the properties of the file as it is stored.
    on_its_side = turned(facts.orientation)
    return Sidecar(
        title=shot.title,
        logged_at=frame.row.logged_at.astimezone(dt.UTC).isoformat(timespec="seconds"),
        frame_number=frame.row.number,
        subjects=terms,
        taken_at=_taken_at(facts),
        camera=facts.camera or "",
        exposure_time_s=_marked(set_up.shutter),
        f_number=_marked(set_up.f_number),
        iso=None if set_up.iso is None else round(_marked(set_up.iso) or 0),
        focal_length_mm=_fraction(set_up.focal_length_mm),
        subject_distance_mm=_fraction(set_up.subject_distance_mm),
        flash_fired=not set_up.is_dark,
        width_px=facts.height_px if on_its_side else facts.width_px,
        height_px=facts.width_px if on_its_side else facts.height_px,
        purpose=frame.row.purpose,
        verdict=frame.row.verdict,
        is_reference=frame.is_reference,
        magnification=set_up.magnification,
        pops=set_up.pops,
        ambient_balance_stops=ambient.stops if ambient else None,
        lights=tuple(_light(frame, light, say) for light in set_up.lights),
    )


def _light(frame: LoggedFrame, light: Light, say: Wording) -> SidecarLight:
    at = light.position.at if light.position else None
    line = frame.ledger.of(light.letter)
    return SidecarLight(
        letter=light.letter,
        role=light.role,
        lit=light.lit,
        power_stops=light.power_stops,
        distance_mm=light.distance_mm,
        bearing_deg=at.bearing_deg if at else None,
        height_mm=at.z_mm if at else None,
        balance_stops=line.stops if line else None,
        balance_against=say(line.against) if line and line.against else "",
    )


def _taken_at(facts: PictureFacts) -> str:
    """The camera's time as ISO 8601, as far as the camera said it: "2026:11:24 10:31:07" with its fraction and zone."""
    if not facts.taken_at:
        return ""
    day, _, time = facts.taken_at.partition(" ")
    fraction = f".{facts.subsecond}" if facts.subsecond else ""
    return f"{day.replace(':', '-')}T{time}{fraction}{facts.utc_offset or ''}"


def _marked(mark: Marked | None) -> Fraction | None:
    """A mark as cameras write it: 1/125 as 1/125, though it stands for 1/128."""
    if mark is None:
        return None
    try:
        named = Fraction(mark.text)
    except (ValueError, ZeroDivisionError):
        return _fraction(mark.exact)
    return named if named > 0 else _fraction(mark.exact)


def _fraction(value: float | None) -> Fraction | None:
    return None if value is None else Fraction(value).limit_denominator(_LARGEST_DENOMINATOR)
