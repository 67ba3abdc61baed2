"""The curve of a camera's rendered files, learned from the exposure series of a log and used for what is read after."""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.made_sets import MadeSet, Truth, contrasty, made_set, picture_of
from webapp.kit.curves import KnownCurve, known_curves
from webapp.ledger.evidence import FrameEvidence
from webapp.optics.tone_curve import KNOWN_WITHIN_STOPS
from webapp.records import readings as reading_records
from webapp.records import shots as shot_records
from webapp.records.tables import Camera
from webapp.shoots import frames, set_up_now
from webapp.shoots.evidence import renew_evidence
from webapp.shoots.set_up_now import Change

F_NUMBERS = (("5.6", 1.0), ("8", 0.0), ("11", -1.0), ("16", -2.0), ("22", -3.0))


@pytest.fixture
def made(tmp_path: Path) -> Iterator[MadeSet]:
    with made_set(tmp_path, contrasty, alone=False) as made:
        yield made


def curves(made: MadeSet) -> tuple[KnownCurve, ...]:
    camera = set_up_now.state(made.records, made.shot_id).set_up.camera
    with made.records.reading() as db:
        return known_curves(db, db.get_one(Camera, camera.id))


def seen(made: MadeSet, frame_id: str) -> FrameEvidence:
    return frames.one(made.records, frame_id).evidence


def at(made: MadeSet, f_number: str, stops: float, truth: float = 0.0) -> str:
    made.set(f_number=f_number)
    return made.shoot(picture_of(Truth(camera=stops + truth)))


def test_a_series_of_the_log_teaches_the_curve_by_which_frames_are_read(made: MadeSet) -> None:
    """One story: what is told before a curve is known, what a series changes in it, what is told since."""
    first = at(made, "16", -2.0)
    before = seen(made, first)

    # An ordinary curve makes a perfectly logged change look half a stop off; that is not told as a difference.
    worst = max(abs(each.unexplained_stops or 0.0) for each in before.patches)
    assert worst > 0.3
    assert not any(each.is_told for each in before.patches)
    assert all(each.estimated and each.scene is None for each in before.patches)
    again = seen(made, at(made, "8", 0.0))
    assert max(each.tolerance_stops or 0.0 for each in again.patches) < 0.15
    assert curves(made) == ()

    series = [at(made, f_number, stops) for f_number, stops in F_NUMBERS]

    (known,) = curves(made)
    # The reference frame and the two after it are of the run, too.
    assert (known.learned.series, known.learned.frames) == (1, 8)
    for light in (-3.0, -2.0, -1.0, -0.5):
        level = math.log2(float(contrasty(0.18 * 2.0**light)) / 0.18)  # type: ignore[arg-type]
        assert known.learned.curve.light_stops(level) == pytest.approx(light, abs=KNOWN_WITHIN_STOPS / 2.0)
    for frame_id in (first, *series):
        evidence = seen(made, frame_id)
        told = [each for each in evidence.patches if each.tolerance_stops is not None]
        assert max(abs(each.unexplained_stops or 0.0) for each in told) < 0.1
        assert not any(each.is_told for each in told)
    assert not any(each.estimated for each in seen(made, first).patches)

    wrong = seen(made, at(made, "16", -2.0, truth=-0.5))

    assert all(each.is_told for each in wrong.patches)
    assert [each.unexplained_stops for each in wrong.patches] == pytest.approx([-0.5] * 6, abs=0.1)


def test_frames_at_one_exposure_and_changes_of_anything_else_are_no_series(made: MadeSet) -> None:
    for _ in range(3):
        at(made, "8", 0.0)
    for distance, stops in (("60 cm", 0.0), ("85 cm", -1.0), ("120 cm", -2.0)):
        made.set(lights__A__distance=distance)
        made.shoot(picture_of(Truth({"A": stops})))

    assert curves(made) == ()


def test_another_picture_style_has_a_curve_of_its_own(tmp_path: Path) -> None:
    with made_set(tmp_path, contrasty, alone=False, contrast=2) as hard:
        for f_number, stops in F_NUMBERS:
            at(hard, f_number, stops)
        made_hard = curves(hard)
        hard.contrast = 0
        plain = seen(hard, at(hard, "8", 0.0))

    (known,) = made_hard
    assert known.style is not None
    assert known.style.contrast == 2
    assert all(each.scene is None for each in plain.patches)


def test_a_frame_that_is_corrected_or_taken_back_is_no_longer_in_the_series_as_it_was(made: MadeSet) -> None:
    series = [at(made, f_number, stops) for f_number, stops in F_NUMBERS]
    (whole,) = curves(made)

    # More than its exposure was another.
    frames.edit(made.records, series[-1], changes=[Change("lights.A.distance", 850.0)])
    (shorter,) = curves(made)
    frames.take_back(made.records, series[3])

    assert (whole.learned.frames, shorter.learned.frames) == (6, 5)
    assert [each.learned.frames for each in curves(made)] == [4]
    with made.records.writing() as db:
        stored = {each.id: each.evidence for each in reading_records.frames_with_readings(db, made.shot_id)}
        renew_evidence(db, shot_records.shot_of(db, made.shot_id))
        anew = {each.id: each.evidence for each in reading_records.frames_with_readings(db, made.shot_id)}
    assert stored == anew
