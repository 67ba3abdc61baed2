"""Explain a frame's unexplained difference, and take an explanation into the frame as a revision."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sqlmodel import Session as Database

from webapp.errors import Conflict
from webapp.facts import Fact, fact
from webapp.kit import inventory
from webapp.kit.curves import SeriesStep, next_in_series
from webapp.kit.learned import LearnedHead, learned_of_head, learned_of_pair
from webapp.ledger.ambient_proof import room_stops
from webapp.ledger.assessment import assess
from webapp.ledger.attribution import attribute
from webapp.ledger.consistency import LearnedLoss
from webapp.ledger.evidence_reasons import Reason as Evident
from webapp.ledger.explanations import Attribution, Case, PatchCase
from webapp.ledger.gains import Solved, said_of
from webapp.ledger.left_over_map import LeftOverMap
from webapp.ledger.set_up import SetUp
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Frame, Shot
from webapp.shoots import frames
from webapp.shoots.evidence import Witnesses, witnesses
from webapp.shoots.frames import LoggedFrame
from webapp.shoots.left_over import left_over_in
from webapp.shoots.light_given import solve_frame
from webapp.shoots.reasons import Reason
from webapp.shoots.set_up_now import Change, stand_as_frame
from webapp.shoots.shot_context import baselines_for
from webapp.shoots.together import moment


@dataclass(frozen=True, slots=True)
class HeadKnown:
    """What is known of a head that lit a frame."""

    letter: str
    name: str
    known: LearnedHead


@dataclass(frozen=True, slots=True)
class Explained:
    """What each light gave by the picture, the letter of the light whose own frame would tell it, what may lie behind
    a frame's difference, what the kit in it is known to do, where in the whole picture light is left over, and what to shoot
    next for the camera's curve."""

    attribution: Attribution
    gave: Solved | None = None
    solo_wanted: str = ""
    heads: tuple[HeadKnown, ...] = ()
    crossed_pair: LearnedLoss | None = None
    sums: tuple[tuple[str, float], ...] = ()
    left_over: LeftOverMap | None = None
    series: SeriesStep | None = None

    @property
    def says(self) -> tuple[Fact, ...]:
        """What each light gave, or which frame would tell."""
        if self.gave is not None:
            return said_of(self.gave)
        return (fact(Evident.SOLO_WOULD_TELL, self.solo_wanted),) if self.solo_wanted else ()


def explain(records: Records, frame_id: str) -> Explained:
    """The likely causes of a frame's unexplained difference, in order; silent within the tolerance."""
    with records.reading() as db:
        frame = shot_records.frame_of(db, frame_id)
        shot = shot_records.shot_of(db, frame.shot_id)
        set_up = frame.set_up
        found = witnesses(db, shot)
        gave = solve_frame(db, frame, found)
        case = _case(db, shot, frame, found, gave)
        sums = [
            (seen.name, sum_off)
            for seen in found.reference_evidence.patches
            if (sum_off := found.shares_of(seen.patch_id).sum_off_stops) is not None
        ]
        return Explained(
            attribution=attribute(case) if case is not None else Attribution(),
            gave=gave,
            solo_wanted=_solo_wanted(frame, found) if gave is None else "",
            heads=tuple(
                HeadKnown(light.letter, light.head.name, learned_of_head(db, light.head.id))
                for light in set_up.lights
                if light.lit
            ),
            crossed_pair=learned_of_pair(db, set_up),
            sums=tuple(sums) if shot.reference_frame_id == frame.id else (),
            left_over=left_over_in(db, frame, found),
            series=next_in_series(db, frame),
        )


def set_up_series(records: Records, frame_id: str) -> str:
    """Set up the next frame of the exposure series that a frame is of; the answer is the shot. Raises Conflict where there
    is none to shoot."""
    with records.reading() as db:
        frame = shot_records.frame_of(db, frame_id)
        shot_id, step = frame.shot_id, next_in_series(db, frame)
    if step is None:
        raise Conflict("Nothing is missing for the curve of this camera any more.")
    stand_as_frame(records, shot_id, frame_id, f_number=step.f_number)
    return shot_id


def _solo_wanted(frame: Frame, found: Witnesses) -> str:
    """The first light of a frame that has none lit by it alone, where the picture says something that this would tell."""
    unclear = any(each.is_told or each.predicted_stops is None for each in frame.seen.patches)
    if len(frame.lit) < 2 or not unclear or frame is found.reference or found.standard is None:
        return ""
    return next((letter for letter in frame.lit if letter not in found.solos), "")


def take_into_frame(records: Records, frame_id: str, key: str, revision: int | None = None) -> LoggedFrame:
    """Put a frame right as an explanation has it; what stood before is kept as a revision.

    Raises Conflict where that explanation is not offered any more.
    """
    chosen = next((each for each in explain(records, frame_id).attribution.explanations if each.key == key), None)
    if chosen is None or not chosen.can_take:
        raise Conflict("The frame or its reading has changed since this was worked out; look at it again.")
    return frames.edit(
        records,
        frame_id,
        changes=[Change(field, value) for field, value in chosen.changes],
        revision=revision,
        why=(fact(Reason.EXPLAINED_BY_PICTURE), *chosen.causes),
    )


def _case(db: Database, shot: Shot, frame: Frame, found: Witnesses, gave: Solved | None) -> Case | None:
    patches = []
    balances = {line.acts_on: line.stops for line in frame.ledger.lit if line.stops is not None}
    for seen in frame.seen.patches:
        if seen.measured_stops is None or seen.predicted_stops is None or seen.tolerance_stops is None:
            continue
        assert seen.light_stops is not None
        shared = balances.keys() <= seen.shares.keys()
        patches.append(
            PatchCase(
                name=seen.name,
                measured_stops=seen.measured_stops,
                predicted_stops=seen.predicted_stops,
                tolerance_stops=seen.tolerance_stops,
                level_stops=seen.light_stops,
                wanted_stops=seen.light_wanted_stops,
                balances=balances,
                shares=dict(seen.shares) if shared else None,
                warmth_stops=seen.warmth_stops,
                room_stops=_room(found, seen.name, frame.set_up),
                room_in_reference_stops=None if found.target else _room(found, seen.name, found.standard),
            )
        )
    reference = found.standard
    if not patches or reference is None or frame.id == shot.reference_frame_id:
        return None
    set_up = frame.set_up
    before = shot_records.frame_before(db, shot.id, frame.stands_at)
    return Case(
        set_up=set_up,
        reference=reference,
        patches=tuple(patches),
        previous=before.set_up if before else None,
        previous_number=before.number if before else None,
        told_by_file=_told_by_file(frame, set_up),
        spreads={
            light.letter: light.head.spread_stops for light in set_up.lights if light.head.spread_stops is not None
        },
        balances_if_lit=_balances_if_lit(db, shot, frame, set_up),
        gave=gave,
        at_hand=inventory.at_hand(db),
        since_previous_s=_since(db, before, frame),
    )


def _room(found: Witnesses, patch: str, set_up: SetUp | None) -> float | None:
    return None if found.check is None or set_up is None else room_stops(found.check, patch, set_up)


def _since(db: Database, before: Frame | None, frame: Frame) -> float | None:
    """How long before a frame the one before it was exposed, by their files; None where they do not say."""
    if before is None:
        return None
    pictures = shot_records.pictures_of(db, [before.id, frame.id])
    then, now = (next((moment(each.facts) for each in pictures[one.id]), None) for one in (before, frame))
    return None if then is None or now is None else (now - then).total_seconds()


def _told_by_file(frame: Frame, set_up: SetUp) -> frozenset[str]:
    """The dials whose value the frame holds as its file tells it."""
    marked = {"f_number": set_up.f_number, "shutter": set_up.shutter, "iso": set_up.iso}
    return frozenset(
        name for name, value in marked.items() if value is not None and frame.file_values.get(name) == value
    )


def _balances_if_lit(db: Database, shot: Shot, frame: Frame, set_up: SetUp) -> dict[str, float]:
    """The balances that the lights which are logged as off would have, had they fired as they stood."""
    off = [light for light in set_up.lights if not light.lit]
    if not off:
        return {}
    all_lit = replace(set_up, lights=tuple(replace(light, lit=True) for light in set_up.lights))
    said = assess(all_lit, baselines_for(db, shot, all_lit, frame.number))
    lines = [said.of(light.letter) for light in off]
    return {
        line.acts_on: line.stops for line in lines if line is not None and line.stops is not None and not line.metered
    }
