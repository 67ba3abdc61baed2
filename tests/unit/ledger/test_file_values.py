"""What a file says, read on the dials of the kit in use and held against what was set."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from tests.unit.ledger.builders import LENS, set_up, standing_light
from webapp.facts import fact
from webapp.ledger.file_values import FileValue, hold_against
from webapp.ledger.reasons import Reason
from webapp.optics.scales import Dial
from webapp.pictures.metadata import PictureFacts
from webapp.web.words.frames import value_text


def facts(**told: float) -> PictureFacts:
    return PictureFacts(kind="jpeg", **told)  # type: ignore[arg-type]


def texts(values: Mapping[str, FileValue]) -> dict[str, str]:
    """Values as a field is typed."""
    return {name: value_text(name, value) for name, value in values.items()}


def test_a_file_that_agrees_leaves_nothing_to_settle() -> None:
    held = hold_against(set_up("5.6"), facts(f_number=5.6, exposure_time_s=1 / 125, iso=100))

    assert held.set_values == {}
    assert held.says == ()
    assert texts(held.file_values) == {"f_number": "5.6", "shutter": "1/125", "iso": "100"}


def test_a_file_that_writes_the_exact_step_agrees_with_the_mark() -> None:
    # 1/128 s and f/11.3 are what 1/125 and f/11 stand for (CIPA DC-008: Tv 7, Av 7).
    held = hold_against(set_up("11"), facts(f_number=11.3, exposure_time_s=1 / 128))

    assert held.set_values == {}


def test_where_they_differ_both_are_kept_and_the_file_is_used() -> None:
    held = hold_against(set_up("8"), facts(f_number=11.0))

    assert held.set_up.f_number is not None
    assert held.set_up.f_number.stops == 7.0
    assert (texts(held.set_values), texts(held.file_values)) == ({"f_number": "8"}, {"f_number": "11"})
    assert held.says == (fact(Reason.FILE_DIFFERS, fields=("f_number",), file=("11",), stood=("8",)),)


def test_a_mark_that_two_dials_share_is_read_on_the_dial_in_use() -> None:
    half = replace(set_up("8"), lens=replace(LENS, f_number_dial=Dial.HALF))

    assert hold_against(half, facts(f_number=13.0)).set_up.f_number.stops == 7.5  # type: ignore[union-attr]
    assert hold_against(set_up("8"), facts(f_number=13.0)).set_up.f_number.stops == pytest.approx(22 / 3)  # type: ignore[union-attr]


def test_a_lens_whose_camera_records_the_effective_f_number_is_read_back_to_its_mark() -> None:
    effective = replace(set_up("8", magnification=1.0), lens=replace(LENS, records="effective"))

    held = hold_against(effective, facts(f_number=16.0))

    assert held.set_values == {}
    assert texts(held.file_values)["f_number"] == "8"


def test_a_subject_distance_in_the_file_never_sets_the_magnification() -> None:
    held = hold_against(set_up("8"), facts(subject_distance_mm=400.0))

    assert held.set_up.magnification == 0.0
    assert held.set_up.subject_distance_mm is None


def test_lights_are_never_in_a_file_and_stay_as_they_stand() -> None:
    before = set_up("8", standing_light(power=-2.0))

    assert hold_against(before, facts(f_number=22.0)).set_up.lights == before.lights
