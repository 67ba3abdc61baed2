"""The shares that the pictures of a shot gave, brought to a set-up: what the modelled ones are compared with.

Shares are measured in the reference frame. Each light has moved by its balance since, so at another set-up its share
is another; where one balance is unknown, no share is known.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from webapp.ledger.assessment import Assessment
from webapp.plan.cube import Surface, direction
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


def faces_of(records: Records, shot_id: str) -> tuple[Surface, ...]:
    """The patches of a shot that lie on a face of the subject whose direction was said, as such faces."""
    with records.reading() as db:
        return tuple(
            Surface(each.name, "own", direction(each.bearing_deg, each.elevation_deg or 0.0))
            for each in reading_records.patches_in(db, shot_id)
            if each.bearing_deg is not None
        )


def shares_of_frame(records: Records, frame: LoggedFrame) -> MeasuredShares:
    """The shares at the set-up of a frame."""
    with records.reading() as db:
        found = witnesses(db, shot_records.shot_of(db, frame.row.shot_id))
    return shares_at(totals_at(found, frame.set_up, frame.ledger), frame.ledger)
