"""The shares that the pictures of a shot gave, brought to a set-up: what the modelled ones are compared with.

Shares are measured in the reference frame. Each light has moved by its balance since, so at another set-up its share
is another; where one balance is unknown, no share is known.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from sqlmodel import Session as Database

from webapp.errors import InvalidValue
from webapp.ledger.assessment import Assessment
from webapp.plan.sides import SIDES, Surface, direction
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.shoots.evidence import PatchTotal, totals_at, witnesses
from webapp.shoots.frames import LoggedFrame


@dataclass(frozen=True, slots=True)
class MeasuredShares:
    """The shares of the lit lights at a patch, by letter; none where they are not all measured."""

    at: str = ""
    by_light: Mapping[str, float] = field(default_factory=dict)


def shares_at(totals: Sequence[PatchTotal], ledger: Assessment) -> MeasuredShares:
    """The shares at a set-up with this ledger: of the patch that has key and fill, else of the first."""
    found = next((each for each in totals if each.ratio is not None), next(iter(totals), None))
    if found is None:
        return MeasuredShares()
    shares = found.shares.by_light
    now = {
        line.acts_on: shares[line.acts_on] * 2.0**line.stops
        for line in ledger.lit
        if line.stops is not None and line.acts_on in shares
    }
    total = sum(now.values())
    if len(now) < len(ledger.lit) or total <= 0.0:
        return MeasuredShares(found.name)
    return MeasuredShares(found.name, {letter: light / total for letter, light in now.items()})


def faces_of(db: Database, shot_id: str) -> tuple[Surface, ...]:
    """The patches of a shot that lie on a face of the subject whose direction was said, as such faces."""
    return tuple(
        Surface(each.name, "own", direction(each.bearing_deg, each.elevation_deg or 0.0))
        for each in reading_records.patches_in(db, shot_id)
        if each.bearing_deg is not None
    )


@dataclass(frozen=True, slots=True)
class ReadOn:
    """What the figures of a shot are for: its subject's own faces, and the key of the surface that was chosen, "" where
    none was."""

    own: tuple[Surface, ...] = ()
    chosen: str = ""


def read_on(records: Records, shot_id: str) -> ReadOn:
    """What the figures of a shot are for. Raises NotFound for a shot that there is not."""
    with records.reading() as db:
        return ReadOn(faces_of(db, shot_id), shot_records.shot_of(db, shot_id).figures_for)


def choose_surface(records: Records, shot_id: str, key: str) -> None:
    """Remember for a shot which surface its shares and ratio are for; "" leaves it to what was measured. Raises
    InvalidValue for one that there is not."""
    with records.writing() as db:
        shot, own = shot_records.shot_of(db, shot_id), faces_of(db, shot_id)
        known = ("", *SIDES, *(each.key for each in own))
        if key not in known:
            named = ", ".join(each for each in known if each)
            raise InvalidValue("surface", f"“{key[:60]}” is no surface of this subject; those are {named}.")
        shot.figures_for = key
        db.add(shot)


def shares_of_frame(records: Records, frame: LoggedFrame) -> MeasuredShares:
    """The shares at the set-up of a frame."""
    with records.reading() as db:
        found = witnesses(db, shot_records.shot_of(db, frame.row.shot_id))
    return shares_at(totals_at(found, frame.set_up, frame.ledger), frame.ledger)
