"""What the pictures of a shot prove: loads the frames that others are read against, lets the pure parts weigh.

The evidence of a frame is worked out in the transaction that saved what it rests on, and stored with the frame, so
that a page of frames and a tap on the set-up now read no pictures' figures.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from zoneinfo import ZoneInfo

from sqlmodel import Session as Database

from webapp.facts import fact
from webapp.kit.curves import curve_of, learn_curve
from webapp.ledger.ambient_proof import AmbientCheck, AmbientProof, CheckedPatch, prove
from webapp.ledger.assessment import Assessment
from webapp.ledger.evidence import (
    BY_EYE,
    EyeReading,
    FrameEvidence,
    HeldAgainst,
    PatchEvidence,
    Read,
    RoomPlace,
    weigh,
)
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.reasons import Reason as Origin
from webapp.ledger.reshoot_target import ReshootTarget
from webapp.ledger.room_map import WantedAt, nearest_place
from webapp.ledger.set_up import SetUp
from webapp.ledger.totals import (
    LightingRatio,
    Shares,
    Solo,
    Total,
    lighting_ratio,
    measured_shares,
    predicted_difference,
)
from webapp.optics.tone_curve import ToneCurve
from webapp.pictures.light_map import Place
from webapp.pictures.readings import MIDDLE, PatchReading
from webapp.records import readings as reading_records
from webapp.records import reshoots as reshoot_records
from webapp.records import shots as shot_records
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import Frame, Picture, PictureLight, Reading, Shot
from webapp.shoots import frame_lines


@dataclass(frozen=True, slots=True)
class PatchTotal:
    """The total of a patch at the set-up now, with the shares it rests on."""

    name: str
    total: Total
    shares: Shares
    ratio: LightingRatio | None


@dataclass(frozen=True, slots=True)
class StandingEvidence:
    """What the pictures say about the set-up now. `totals` has the patches whose shares are measured."""

    proof: AmbientProof | None = None
    totals: tuple[PatchTotal, ...] = ()

    @property
    def ratio(self) -> PatchTotal | None:
        return next((each for each in self.totals if each.ratio is not None), None)


@dataclass(frozen=True, slots=True)
class Witnesses:
    """The frames that others are read against, and what they say. `target` stands in for the reference frame of a
    reshoot while it has none; `carried` is the newest ambient check of the session, where the shot has none."""

    reference: Frame | None = None
    reference_evidence: FrameEvidence = FrameEvidence()
    lit_in_reference: tuple[str, ...] = ()
    solos: Mapping[str, Frame] = field(default_factory=dict)
    check: AmbientCheck | None = None
    carried: AmbientCheck | None = None
    target: ReshootTarget | None = None

    @property
    def standard(self) -> SetUp | None:
        """The set-up that the frames are read against."""
        if self.reference is not None:
            return self.reference.set_up
        return self.target.set_up if self.target else None

    def reference_patch(self, patch_id: str | None) -> PatchEvidence | None:
        return next((each for each in self.reference_evidence.patches if each.patch_id == patch_id), None)

    def shares_of(self, patch_id: str | None) -> Shares:
        """The shares of a patch; none where the reference frame has no level there."""
        seen = self.reference_patch(patch_id)
        if seen is None or seen.light_stops is None:
            return Shares()
        if self.target is not None:
            return Shares(seen.shares, {letter: fact(Origin.SHARE_OF_RECIPE, letter) for letter in seen.shares})
        solos = self._solos_at(seen)
        shares = measured_shares(2.0**seen.light_stops, self.lit_in_reference, solos)
        return replace(shares, by_eye=bool(solos) and (seen.by_eye or any(each.by_eye for each in solos)))

    def _solos_at(self, seen: PatchEvidence) -> list[Solo]:
        if len(self.lit_in_reference) == 1:
            letters: Sequence[str] = [each for each in self.solos if each not in self.lit_in_reference]
        else:
            letters = list(self.solos)
        found = []
        for letter in letters:
            frame = self.solos[letter]
            there = next((e for e in frame.seen.patches if e.patch_id == seen.patch_id), None)
            line = frame.ledger.of(letter)
            if there is None or there.light_stops is None or _is_raw(there.kind) != _is_raw(seen.kind):
                continue
            if line is not None and line.stops is not None and not line.metered:
                found.append(Solo(letter, frame.number, 2.0**there.light_stops, line.stops, there.by_eye))
        return found


def witnesses(db: Database, shot: Shot) -> Witnesses:
    """The frames that the others of a shot are read against."""
    frames = reading_records.telling_frames(db, shot)
    reference = next((frame for frame in frames if frame.id == shot.reference_frame_id), None)
    checks = [frame for frame in frames if frame.purpose == AMBIENT_CHECK]
    target = target_of(db, shot)
    if reference is not None:
        said, lit = reference.seen, tuple(reference.lit)
    else:
        said, lit = _target_evidence(db, shot, target), target.lit if target else ()
    check = _check(db, shot, checks[-1], reference) if checks else None
    return Witnesses(
        reference=reference,
        reference_evidence=said,
        lit_in_reference=lit,
        solos={frame.lit: frame for frame in frames if len(frame.lit) == 1 and frame.purpose != AMBIENT_CHECK},
        check=check,
        carried=_carried(db, shot) if check is None else None,
        target=target,
    )


def target_of(db: Database, shot: Shot) -> ReshootTarget | None:
    """What stands in for the reference frame of a reshoot; None where there is one, or the shot is none."""
    if shot.reference_frame_id is not None:
        return None
    found = reshoot_records.reshoot_of(db, shot.id)
    return found.target if found else None


def _target_evidence(db: Database, shot: Shot, target: ReshootTarget | None) -> FrameEvidence:
    """The target's patches, each under the patch of the shot that has its name."""
    if target is None:
        return FrameEvidence()
    drawn = [(row.id, target.patch(row.name)) for row in reading_records.patches_in(db, shot.id)]
    return FrameEvidence(tuple(patch.evidence(patch_id) for patch_id, patch in drawn if patch is not None))


def _carried(db: Database, shot: Shot) -> AmbientCheck | None:
    """The newest check of another shot of the session."""
    frame = reading_records.newest_check_in(db, shot.session_id)
    if frame is None:
        return None
    other = shot_records.shot_of(db, frame.shot_id)
    reference = db.get(Frame, other.reference_frame_id) if other.reference_frame_id else None
    return replace(_check(db, other, frame, reference), shot=other.title)


def _check(db: Database, shot: Shot, frame: Frame, reference: Frame | None) -> AmbientCheck:
    lit = {each.patch_id: each for each in reference.seen.patches} if reference else {}
    around = shot_records.frame_before(db, shot.id, frame.stands_at)
    return AmbientCheck(
        frame_id=frame.id,
        number=frame.number,
        set_up=frame.set_up,
        patches=tuple(
            CheckedPatch(
                each.name,
                each.light_wanted_stops,
                each.light_stops,
                each.light_at_most_stops,
                each.estimated,
                each.warmth_stops,
                each.by_eye,
                _over(each, lit.get(each.patch_id)),
                each.clipped_high_share > RoomPlace.CLIPS_FROM,
            )
            for each in frame.seen.patches
        ),
        working=around.set_up if around else None,
        nearest=frame.seen.room,
        made_at=frame.logged_at.astimezone(ZoneInfo(shot_records.session_of(db, shot.session_id).zone)),
    )


def _over(seen: PatchEvidence, lit: PatchEvidence | None) -> float | None:
    """How far a patch reads above another frame's; at least so far where it is clipped."""
    if lit is None or lit.light_stops is None or seen.light_stops is None or _is_raw(seen.kind) != _is_raw(lit.kind):
        return None
    return seen.light_stops - lit.light_stops


def standing_evidence(found: Witnesses, shot: Shot, set_up: SetUp, assessment: Assessment) -> StandingEvidence:
    """What the pictures say about a set-up as it stands."""
    check = found.check or found.carried
    proof = prove(check, set_up, shot.surface, dt.datetime.now(dt.UTC)) if check else None
    return StandingEvidence(proof, tuple(totals_at(found, set_up, assessment)))


def totals_at(found: Witnesses, set_up: SetUp, assessment: Assessment) -> list[PatchTotal]:
    """The patches whose shares are measured, each with its total at a set-up; none for a single light."""
    balances = {line.acts_on: None if line.metered else line.stops for line in assessment.lit}
    if len(balances) < 2:
        return []
    roles = {light.letter: light.role for light in set_up.lights}
    totals = []
    for seen in found.reference_evidence.patches:
        shares = found.shares_of(seen.patch_id)
        if shares.by_light.keys() & balances.keys():
            total = predicted_difference(balances, found.lit_in_reference, shares.by_light)
            totals.append(PatchTotal(seen.name, total, shares, lighting_ratio(roles, balances, shares.by_light)))
    return totals


# --- the evidence of frames ---------------------------------------------------------------------------------------


def renew_evidence(db: Database, shot: Shot, only: Frame | None = None) -> None:
    """Work out the evidence of a shot's frames anew (or of one that no other is read against)."""
    frames = [only] if only is not None else list(reading_records.frames_with_readings(db, shot.id))
    if not frames:
        return
    reference = db.get(Frame, shot.reference_frame_id) if shot.reference_frame_id else None
    drawn = reading_records.patches_in(db, shot.id)
    patches = {patch.id: (patch.wanted_stops, patch.name) for patch in drawn}
    places = [
        WantedAt(patch.name, Place(patch.x, patch.y, patch.width, patch.height), patch.wanted_stops)
        for patch in drawn
    ]
    checks = [frame.id for frame in frames if frame.purpose == AMBIENT_CHECK]
    light = reading_records.light_of(db, checks) if checks else {}
    ids = [frame.id for frame in frames] + ([reference.id] if reference else [])
    rows = reading_records.readings_of(db, ids)
    readings = {
        frame_id: _by_kind([(row.kind, reading.patch_id, reading.document) for row, reading in own], patches)
        for frame_id, own in rows.items()
    }
    seen = reading_records.by_eye_of(db, ids)
    curves = {each.id: _curve(db, each, rows[each.id]) for each in (*frames, *filter(None, (reference,)))}
    against = _against(readings[reference.id], seen[reference.id], curves[reference.id]) if reference else {}
    # Those that others are read against come first: their levels give the shares of all, and then their own.
    target = target_of(db, shot)
    leading = [frame for frame in frames if frame.id == shot.reference_frame_id or len(frame.lit) == 1]
    for stage in filter(None, (leading, frames)):
        found = witnesses(db, shot)
        for frame in stage:
            curve = curves[frame.id]
            standing_in = _read_in_target(target, patches, frame.set_up, curve) if target else against
            own = _own(readings[frame.id], seen[frame.id], standing_in)
            weighed = _weighed(frame, reference, own, standing_in, patches, found, curve)
            if frame.id in light:
                weighed = replace(weighed, room=_room(light[frame.id], weighed, places, curve))
            frame.evidence = weighed if weighed.patches else None
            db.add(frame)
        db.flush()
    write_lines_of(db, shot, frames)


def write_lines_of(db: Database, shot: Shot, frames: Sequence[Frame]) -> None:
    """Write what the search reads of some frames of a shot, as they stand now."""
    checks = [frame for frame in frames if frame.purpose == AMBIENT_CHECK and frame.seen.patches]
    reference = db.get(Frame, shot.reference_frame_id) if checks and shot.reference_frame_id else None
    frame_lines.write_lines(db, shot, frames, [_check(db, shot, frame, reference) for frame in checks])


def renew_by_curve(db: Database, frame: Frame) -> None:
    """Learn the camera's curve anew with a frame that was read, changed or taken back; where it is another then, work out
    the evidence of all shots that rests on it."""
    if learn_curve(db, frame):
        for shot in reading_records.shots_rendered_by(db, frame.set_up.camera.id):
            renew_evidence(db, shot)


def _curve(db: Database, frame: Frame, rows: Sequence[tuple[Picture, Reading]]) -> ToneCurve | None:
    """The curve of a frame's rendered file, where one was learned."""
    rendered = next((picture for picture, _ in rows if not _is_raw(picture.kind)), None)
    return None if rendered is None else curve_of(db, rendered, frame.set_up)


def _room(
    lights: Sequence[tuple[Picture, PictureLight]],
    seen: FrameEvidence,
    places: Sequence[WantedAt],
    curve: ToneCurve | None,
) -> RoomPlace | None:
    """Where the room comes nearest in the picture of a check, of the kind of file that its patches were read in."""
    raw = any(_is_raw(each.kind) for each in seen.patches)
    maps = [(_is_raw(picture.kind), found) for picture, row in lights if (found := row.map) is not None]
    if not maps:
        return None
    of_raw, light = min(maps, key=lambda each: each[0] != raw)
    return nearest_place(light, places, of_raw=of_raw, curve=None if of_raw else curve)


Kinds = dict[bool, dict[str | None, PatchReading]]
"""Readings of files by whether they are raw, then by patch."""
Seen = Mapping[str | None, EyeReading]
"""What was seen by eye, by patch."""
Standards = dict[bool, dict[str | None, HeldAgainst]]
"""What they are compared with, by the same."""


def _against(readings: Kinds, seen: Seen, curve: ToneCurve | None) -> Standards:
    """What others are compared with in the reference frame. The eye judges what a screen shows, which is a rendered
    picture: the two are compared with each other, and a raw file against neither."""
    raw: Mapping[str | None, Read] = readings.get(True, {})
    rendered: Mapping[str | None, Read] = {**seen, **readings.get(False, {})}
    return {
        is_raw: {
            patch_id: HeldAgainst.of(reading, None if is_raw or isinstance(reading, EyeReading) else curve)
            for patch_id, reading in read.items()
        }
        for is_raw, read in ((True, raw), (False, rendered))
        if read
    }


def _own(readings: Kinds, seen: Seen, against: Standards) -> dict[str | None, Read]:
    """A frame's readings by patch: of the one kind of file that can be compared, and the eye's where no file was read."""
    raw = True in readings and (not against or True in against)
    of_files = readings.get(raw) or next(iter(readings.values()), {})
    measured = {patch_id for each in readings.values() for patch_id in each}
    return {**{patch_id: each for patch_id, each in seen.items() if patch_id not in measured}, **of_files}


def _read_in_target(
    target: ReshootTarget, patches: Mapping[str, tuple[float, str]], set_up: SetUp, curve: ToneCurve | None
) -> Standards:
    """What the recipe's picture read at the patches of the shot that have the same names."""
    held: Standards = {}
    for patch_id, (_, name) in patches.items():
        found = target.patch(name)
        if found is not None:
            other_camera = set_up.camera.id != target.set_up.camera.id
            through = None if _is_raw(found.kind) or found.kind == BY_EYE else curve
            against = found.held_against(other_camera=other_camera, curve=through)
            held.setdefault(_is_raw(found.kind), {})[patch_id] = against
    return held


def _by_kind(rows: list[tuple[str, str | None, PatchReading | None]], patches: Mapping[str, object]) -> Kinds:
    """The readings at the patches of the shot; at the middle of the picture where none is drawn."""
    kinds: Kinds = {}
    for kind, patch_id, document in rows:
        if document is not None and (patch_id in patches if patches else patch_id is None):
            kinds.setdefault(_is_raw(kind), {})[patch_id] = document
    return kinds


def _is_raw(kind: str) -> bool:
    return kind == "raw"


def _weighed(
    frame: Frame,
    reference: Frame | None,
    own: Mapping[str | None, Read],
    against: Standards,
    patches: Mapping[str, tuple[float, str]],
    found: Witnesses,
    curve: ToneCurve | None,
) -> FrameEvidence:
    order: list[str | None] = [*patches] or [None]
    return FrameEvidence(
        tuple(
            _weighed_patch(
                frame,
                reference,
                own[patch_id],
                against.get(_is_raw(own[patch_id].kind), {}).get(patch_id),
                patch_id,
                patches,
                found,
                curve,
            )
            for patch_id in order
            if patch_id in own
        )
    )


def _weighed_patch(
    frame: Frame,
    reference: Frame | None,
    reading: Read,
    theirs: HeldAgainst | None,
    patch_id: str | None,
    patches: Mapping[str, tuple[float, str]],
    found: Witnesses,
    curve: ToneCurve | None,
) -> PatchEvidence:
    wanted, name = patches[patch_id] if patch_id is not None else (0.0, MIDDLE.name)
    shares = found.shares_of(patch_id)
    set_up = frame.set_up
    if reference is None and found.target is None:
        predicted = Total(None, fact(Reason.NO_REFERENCE_FRAME))
    elif frame.purpose == AMBIENT_CHECK:
        predicted = Total(None, fact(Reason.CHECK_PREDICTS_NOTHING))
    elif reference is not None and frame.id == reference.id:
        predicted = Total(0.0)
    else:
        lines = frame.ledger.lit
        balances = {line.acts_on: None if line.metered else line.stops for line in lines}
        predicted = predicted_difference(balances, found.lit_in_reference, shares.by_light)
    spreads = [light.head.spread_stops or 0.0 for light in set_up.lights if light.lit]
    weighed = weigh(
        patch_id,
        wanted,
        reading,
        theirs,
        predicted,
        name=name,
        shares=shares.by_light,
        spread_stops=max(spreads, default=0.0),
        curve=None if _is_raw(reading.kind) or isinstance(reading, EyeReading) else curve,
    )
    if found.target is not None and theirs is None and predicted.stops is not None:
        return replace(weighed, why_not=fact(Reason.NOT_IN_RECIPE))
    return weighed
