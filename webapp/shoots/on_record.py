"""What is on record of a standing set that nobody can have once it is struck: each light alone, a rule in the frame, the
ambient check, meter readings, photos of the set. What is missing can be set up while the set stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from sqlmodel import Session as Database

from webapp.facts import Fact, fact
from webapp.ledger.ambient_proof import AmbientProof, Standing
from webapp.ledger.set_up import Light, SetUp
from webapp.records import set_photos as photo_records
from webapp.records import shots as shot_records
from webapp.records.shots import ONE_LIGHT_ALONE, RULE_IN_FRAME
from webapp.records.tables import Frame
from webapp.shoots.reasons import Reason

SAME_MM: Final = 1.0


class Kind(StrEnum):
    """What tells of a set."""

    ONE_LIGHT = ONE_LIGHT_ALONE
    RULE = RULE_IN_FRAME
    AMBIENT = shot_records.AMBIENT_CHECK
    METER = "meter reading"
    PHOTO = "photo of the set"


@dataclass(frozen=True, slots=True)
class OnRecord:
    """One thing that tells of a set: `about` is the letter of a light, or empty; `says` is what is on record of it (of the
    ambient light its proof says it), and `frame_id` the frame that it is in."""

    kind: Kind
    about: str
    is_there: bool
    says: Fact | None
    frame_id: str | None = None


def on_record(db: Database, shot_id: str, set_up: SetUp, proof: AmbientProof | None) -> tuple[OnRecord, ...]:
    """All that tells of the set as it stands, there or missing."""
    lit = [light for light in set_up.lights if light.lit]
    frames = shot_records.frames_that_tell(db, shot_id)
    pictured = {
        frame_id for frame_id, found in shot_records.pictures_of(db, [each.id for each in frames]).items() if found
    }
    # Of one light every frame is one that it lit alone.
    solos = [_one_light(light, frames, pictured) for light in lit] if len(lit) > 1 else []
    holds = proof is not None and proof.standing is Standing.HOLDS and not proof.is_old
    ambient = OnRecord(Kind.AMBIENT, "", holds, None, proof.frame_id if proof else None)
    return (*solos, _rule(set_up, frames), ambient, *_metered(lit), _photos(photo_records.count_of(db, shot_id)))


def _photos(count: int) -> OnRecord:
    says = fact(Reason.SET_PHOTOGRAPHED, photos=count) if count else fact(Reason.SET_NOT_PHOTOGRAPHED)
    return OnRecord(Kind.PHOTO, "", count > 0, says)


def _one_light(light: Light, frames: Sequence[Frame], pictured: set[str]) -> OnRecord:
    found = None
    for frame in frames:
        then = frame.set_up.light(light.letter)
        if frame.lit != light.letter or then is None:
            continue
        if not _is_as_it_was(then, light):
            found = found or (frame, Reason.LIT_ALONE_BEFORE_CHANGE)
        elif frame.evidence is not None:
            found = frame, Reason.LIT_ALONE
            break
        elif found is None or found[1] == Reason.LIT_ALONE_BEFORE_CHANGE:
            found = frame, Reason.LIT_ALONE_NOT_READ
    if found is None:
        return OnRecord(Kind.ONE_LIGHT, light.letter, is_there=False, says=fact(Reason.NEVER_LIT_ALONE, light.letter))
    frame, reason = found
    says = fact(reason, light.letter, frame=frame.number, pictured=frame.id in pictured)
    return OnRecord(Kind.ONE_LIGHT, light.letter, reason == Reason.LIT_ALONE, says, frame.id)


def _is_as_it_was(then: Light, now: Light) -> bool:
    """Whether a light stands where it stood, with the same before it; its energy may be another."""
    fitted = [
        (each.head.id, each.modifier and each.modifier.id, [one.id for one in each.filters]) for each in (then, now)
    ]
    if fitted[0] != fitted[1]:
        return False
    if then.position is not None and now.position is not None:
        return then.position.at.from_mm(now.position.at) < SAME_MM
    if then.distance_mm is not None and now.distance_mm is not None:
        return abs(then.distance_mm - now.distance_mm) < SAME_MM
    return True


def _rule(set_up: SetUp, frames: Sequence[Frame]) -> OnRecord:
    # "Distant" is what a set-up begins with, and measured by nobody.
    if set_up.magnification and not set_up.magnification_estimated:
        return OnRecord(Kind.RULE, "", True, fact(Reason.SCALE_KNOWN, magnification=set_up.magnification))
    frame = next((each for each in frames if each.purpose == RULE_IN_FRAME), None)
    if frame is None:
        return OnRecord(Kind.RULE, "", False, fact(Reason.NO_RULE))
    return OnRecord(Kind.RULE, "", True, fact(Reason.RULE_PICTURED, frame=frame.number), frame.id)


def _metered(lit: Sequence[Light]) -> Iterator[OnRecord]:
    for light in lit:
        read = light.incident
        if read is None:
            yield OnRecord(Kind.METER, light.letter, is_there=False, says=fact(Reason.NOT_METERED, light.letter))
        else:
            power = light.power_mark(read.power_stops)
            says = fact(Reason.METERED, light.letter, f_number=read.mark, power=power, distance_mm=read.distance_mm)
            yield OnRecord(Kind.METER, light.letter, is_there=True, says=says)
