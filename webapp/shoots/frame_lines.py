"""What the search reads of frames, written with every change that reaches them: which lights are lit, where their dials
stand, what a frame is for, what became of it, and what its picture leaves unexplained."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any, Final

from sqlmodel import Session as Database

from webapp.ledger.ambient_proof import AmbientCheck, Standing, prove
from webapp.ledger.set_up import Light
from webapp.quantities.powers import end_of_dial
from webapp.records import frame_search
from webapp.records.recipe_search import mark_of
from webapp.records.shots import AMBIENT_CHECK
from webapp.records.tables import Frame, Session, Shot

# The marks of what is said of a frame, under one facet.
STATE: Final = "state"
UNEXPLAINED, CHECK_FAILED, TAKEN_BACK, REFERENCE = "unexplained", "check failed", "taken back", "reference"


def write_lines(db: Database, shot: Shot, frames: Iterable[Frame], checks: Iterable[AmbientCheck] = ()) -> None:
    """Write what the search reads of some frames of a shot. `checks` are the ambient checks among them that were read."""
    session = db.get(Session, shot.session_id)
    if session is None:
        # A damaged record, whose session is gone: the check of the records says so.
        return
    failed = {check.frame_id for check in checks if has_failed(check)}
    lines = [_line(frame, shot, frame.id in failed) | {"made_on": session.day} for frame in frames]
    frame_search.write_lines(db, shot.id, lines)


def has_failed(check: AmbientCheck) -> bool:
    """Whether an ambient check found the room too bright at the settings that it was made for, or was none at all."""
    proof = prove(check, check.working or check.set_up)
    return proof is not None and (
        proof.standing is Standing.VOID or (proof.now_stops is not None and not proof.is_wide)
    )


def _line(frame: Frame, shot: Shot, check_failed: bool) -> dict[str, Any]:
    set_up = frame.set_up
    lit = [light for light in set_up.lights if light.lit]
    energies = [None if light.power_stops is None else light.head.dial.energy_j(light.power_stops) for light in lit]
    told = [abs(each.unexplained_stops or 0.0) for each in frame.seen.patches if each.is_told]
    figures = {
        "f_number": set_up.f_number.exact if set_up.f_number else None,
        "shutter_s": set_up.shutter.exact if set_up.shutter else None,
        "iso": set_up.iso.exact if set_up.iso else None,
        "focal_mm": set_up.focal_length_mm,
        "magnification": set_up.magnification,
        "energy_j": None if not energies or None in energies else sum(each for each in energies if each),
        "light_count": len(lit),
        "unexplained_stops": max(told, default=None),
    }
    marks = dict.fromkeys((*_marks(frame, shot, lit, check_failed), *frame_search.figure_marks(figures)))
    return {
        "frame_id": frame.id,
        "number": frame.number,
        "shot": f"{shot.title}\n{shot.subject}",
        "said": "\n".join((frame.because, frame.notes)),
        "marks": " ".join(mark_of(*each) for each in marks),
        **figures,
    }


def _marks(frame: Frame, shot: Shot, lit: Iterable[Light], check_failed: bool) -> Iterator[tuple[str, str]]:
    yield "purpose", frame.purpose
    if frame.verdict:
        yield "verdict", frame.verdict
    if frame.taken_back:
        yield STATE, TAKEN_BACK
    if shot.reference_frame_id == frame.id:
        yield STATE, REFERENCE
    if any(each.is_told for each in frame.seen.patches):
        yield STATE, UNEXPLAINED
    if frame.purpose == AMBIENT_CHECK and (check_failed or frame.verdict == "fails"):
        yield STATE, CHECK_FAILED
    for light in lit:
        yield "letter", light.letter
        if light.role:
            yield "role", light.role
        if light.head.form == "ring":
            yield "light", "ring light"
        else:
            yield "light", "continuous light" if light.head.kind == "continuous" else "flash head"
        if end := end_of_dial(light.power_stops, light.head.lowest_power_stops, light.head.step_stops):
            yield from ((end, which) for which in ("any", light.letter, light.role) if which)
