"""What many frames teach about the kit: the spread of a head, its own curve, and what crossed polarisers take.

A rendered file's tone curve would pass for the curve of a head. So a step counts from raw files, from rendered ones whose
camera's curve is known there (`kit.curves`), or from a pair of rendered ones whose levels lie within half a stop of each
other, where the curve is the same for both.
"""

from __future__ import annotations

import json
import math
import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import groupby, pairwise

from pydantic import TypeAdapter
from sqlmodel import Session as Database

from webapp.ledger.consistency import (
    LEAST_RUN,
    LEAST_STEPS,
    LearnedLoss,
    LearnedStep,
    Spread,
    StepReading,
    learned_loss,
    learned_step,
    spread_of,
    that_scatter,
)
from webapp.ledger.entries import Cause, balance, compare
from webapp.ledger.evidence import PatchEvidence
from webapp.ledger.exposures import exposure_of
from webapp.ledger.set_up import FilterFigures, HeadFigures, Light, SetUp
from webapp.records import kit as kit_records
from webapp.records import readings as reading_records
from webapp.records.tables import Filter, Frame

_SAME_CURVE_STOPS = 0.5
_SAME_STOPS = 0.05
_CLIPPED_SHARE = 0.01


@dataclass(frozen=True, slots=True)
class Run:
    """The spread of a run at one power, without the frames that stood out."""

    power_stops: float
    spread: Spread
    stood_out: int = 0


@dataclass(frozen=True, slots=True)
class LearnedHead:
    """What is known of a head. `step` is None until enough changes of its power have been read."""

    runs: tuple[Run, ...] = ()
    step: LearnedStep | None = None
    step_readings: int = 0

    @property
    def spread_stops(self) -> float | None:
        """The standard deviation over all its runs: the root of the mean of their squares, by their frames."""
        if not self.runs:
            return None
        weights = [run.spread.count - 1 for run in self.runs]
        squares = [run.spread.deviation_stops**2 for run in self.runs]
        return math.sqrt(sum(w * s for w, s in zip(weights, squares, strict=True)) / sum(weights))


@lru_cache(maxsize=1)
def _heads() -> TypeAdapter[LearnedHead]:
    return TypeAdapter(LearnedHead)


def learned_of_head(db: Database, head_id: str) -> LearnedHead:
    """What is known of a head; nothing, where no frame taught anything."""
    row = reading_records.learned(db, head_id)
    return LearnedHead() if row is None else _heads().validate_json(row.document)


def with_learned(db: Database, head: HeadFigures) -> HeadFigures:
    """A head's figures with what its frames have taught."""
    return _with(head, learned_of_head(db, head.id))


def _with(head: HeadFigures, known: LearnedHead) -> HeadFigures:
    return replace(
        head,
        learned_slope=known.step.slope if known.step else 1.0,
        learned_from=known.step.count if known.step else 0,
        spread_stops=known.spread_stops,
    )


def learn_from(db: Database, frame: Frame) -> None:
    """Take a frame that was just read into account: for the head that alone lit it, and for crossed polarisers."""
    set_up = frame.set_up
    lit = [light for light in set_up.lights if light.lit]
    if len(lit) == 1 and lit[0].head.kind == "flash":
        _learn_head(db, lit[0].head.id)
    _learn_pair(db, frame, set_up, lit)


def _learn_head(db: Database, head_id: str) -> None:
    frames = [each for each in reading_records.frames_lit_by_head(db, head_id) if _lit(each).head.id == head_id]
    changes = list(_changes(frames))
    known = LearnedHead(tuple(_runs(frames)), learned_step(changes), len(changes))
    reading_records.keep_learned(db, head_id, _heads().dump_json(known).decode())
    for standing in kit_records.standing_with(db, head_id):
        set_up = standing.set_up
        for light in set_up.lights:
            if light.head.id == head_id:
                set_up = set_up.with_light(replace(light, head=_with(light.head, known)))
        standing.set_up = set_up
        db.add(standing)


def _lit(frame: Frame) -> Light:
    return next(light for light in frame.set_up.lights if light.lit)


def _runs(frames: Sequence[Frame]) -> Iterator[Run]:
    """Neighbouring frames at the same settings, of three and more."""

    def settings(frame: Frame) -> tuple[object, ...]:
        there, light = exposure_of(frame.set_up), _lit(frame)
        camera = (there.f_number, there.iso, there.lens_filters, there.magnification, there.pops)
        return (
            frame.shot_id, frame.lit, camera, light.power_stops, light.distance_mm, light.modifier, light.filters, frame.purpose
        )  # fmt: skip

    for _, same in groupby(frames, key=settings):
        run = list(same)
        firsts = [first for frame in run if (first := frame.seen.first) and _is_good(first)]
        read = [first.light_stops for first in firsts if first.light_stops is not None]
        levels = that_scatter(read) if read else []
        power = _lit(run[0]).power_stops
        if len(levels) >= LEAST_RUN and power is not None:
            yield Run(power, spread_of(levels), len(read) - len(levels))


def _changes(frames: Sequence[Frame]) -> Iterator[StepReading]:
    """Neighbouring frames of a shot between which the power of the one lit head moved, and what the pictures say."""
    for before, after in pairwise(frames):
        if before.shot_id != after.shot_id or before.lit != after.lit:
            continue
        was, light = _lit(before), _lit(after)
        if was.power_stops is None or light.power_stops is None or was.power_stops == light.power_stops:
            continue
        entries = compare(exposure_of(before.set_up), exposure_of(after.set_up)).of(light.letter)
        others = balance([entry for entry in entries if entry.cause is not Cause.ENERGY])
        measured = _difference(before, after, of_one_curve=True)
        if others is not None and measured is not None:
            yield StepReading(light.power_stops - was.power_stops, measured - others)


def _difference(before: Frame, after: Frame, *, of_one_curve: bool) -> float | None:
    """How much brighter the patches of one frame are than those of another, in the mean."""
    then = {each.patch_id: each for each in before.seen.patches if _is_good(each)}
    differences = []
    for seen in after.seen.patches:
        was = then.get(seen.patch_id)
        if was is None or not _is_good(seen) or (was.kind == "raw") != (seen.kind == "raw"):
            continue
        assert seen.light_stops is not None
        assert was.light_stops is not None
        difference = seen.light_stops - was.light_stops
        if of_one_curve and seen.estimated and abs(difference) > _SAME_CURVE_STOPS:
            continue
        differences.append(difference)
    return statistics.fmean(differences) if differences else None


def _is_good(seen: PatchEvidence) -> bool:
    """Whether a reading teaches: an eye's never does."""
    return seen.light_stops is not None and not seen.by_eye and seen.clipped_high_share <= _CLIPPED_SHARE


# --- crossed polarisers -------------------------------------------------------------------------------------------


def pair_subject(set_up: SetUp) -> str | None:
    """The name under which a crossed pair is learned: the polarisers on the lens and on every lit light. None where
    they do not stand on both."""
    lens = sorted({each.id for each in set_up.lens_filters if each.kind == "polariser"})
    lit = [light for light in set_up.lights if light.lit]
    sheets = [sorted(each.id for each in light.filters if each.kind == "polariser") for light in lit]
    if not lens or not lit or not all(sheets) or any(each != sheets[0] for each in sheets):
        return None
    return "pair " + " ".join([*lens, *sheets[0]])


def learned_of_pair(db: Database, set_up: SetUp) -> LearnedLoss | None:
    """What the crossed polarisers of a set-up take together, as read off frames with them and without."""
    subject = pair_subject(set_up)
    row = reading_records.learned(db, subject) if subject else None
    return learned_loss(list(json.loads(row.document).values())) if row else None


def with_crossed_pair(db: Database, set_up: SetUp) -> SetUp:
    """The set-up with the loss of its crossed polarisers as it was learned, once five readings tell it, and as the
    kit has it otherwise. The sheets on the lights keep their own loss; the polariser on the lens takes the rest, with
    the number of readings that it rests on."""
    fitted = [each for each in set_up.lens_filters if each.kind == "polariser"]
    if len(fitted) != 1:
        return set_up
    lens = fitted[0]
    row = db.get(Filter, lens.id)
    if row is None:
        return set_up
    plain = replace(lens, loss_stops=row.loss_stops, learned_from=0)
    known = learned_of_pair(db, set_up)
    on_sheets = {_sheet_loss(light) for light in set_up.lights if light.lit}
    if known is not None and known.count >= LEAST_STEPS and len(on_sheets) == 1:
        sheet = on_sheets.pop()
        if sheet is not None:
            plain = replace(plain, loss_stops=known.loss_stops - sheet, learned_from=known.count)
    return replace(set_up, lens_filters=tuple(plain if each is lens else each for each in set_up.lens_filters))


def _sheet_loss(light: Light) -> float | None:
    losses = [each.loss_stops for each in light.filters if each.kind == "polariser"]
    return None if None in losses else sum(loss for loss in losses if loss is not None)


def _learn_pair(db: Database, frame: Frame, set_up: SetUp, lit: Sequence[Light]) -> None:
    """Hold a frame with crossed polarisers against the last one before it without any."""
    subject = pair_subject(set_up)
    if subject is None:
        return
    before = next(
        (
            each
            for each in reversed(reading_records.frames_with_readings(db, frame.shot_id))
            if each.number < frame.number and each.lit == frame.lit and not _polarisers(each.set_up)
        ),
        None,
    )
    measured = _difference(before, frame, of_one_curve=False) if before else None
    if before is None or measured is None:
        return
    compared = compare(exposure_of(before.set_up), exposure_of(set_up))
    filters = (Cause.FILTERS, Cause.LENS_FILTERS)
    others = [balance([e for e in compared.of(light.letter) if e.cause not in filters]) for light in lit]
    known = [each for each in others if each is not None]
    if len(known) < len(others) or max(known) - min(known) > _SAME_STOPS:
        return
    row = reading_records.learned(db, subject)
    losses: dict[str, float] = json.loads(row.document) if row else {}
    losses[frame.id] = known[0] - measured
    reading_records.keep_learned(db, subject, json.dumps(losses))


def _polarisers(set_up: SetUp) -> list[FilterFigures]:
    on_lights = [each for light in set_up.lights if light.lit for each in light.filters]
    return [each for each in (*set_up.lens_filters, *on_lights) if each.kind == "polariser"]
