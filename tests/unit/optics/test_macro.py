"""Close up: effective f-number, exposure increase, distances."""

from __future__ import annotations

import math

import pytest

from webapp.optics import macro


@pytest.mark.parametrize(
    ("magnification", "stops"), [(0, 0), (0.1, 0.275), (0.25, 0.644), (0.5, 1.170), (1, 2), (2, 3.170), (5, 5.170)]
)
def test_magnification_costs_light(magnification: float, stops: float) -> None:
    assert macro.exposure_increase_stops(magnification) == pytest.approx(stops, abs=5e-4)


def test_a_retrofocus_lens_loses_less() -> None:
    assert macro.effective_f_number(8, 1, 1.5) == pytest.approx(13.333, abs=5e-4)
    assert macro.exposure_increase_stops(1, 1.5) == pytest.approx(1.474, abs=5e-4)


def test_reversing_a_symmetrical_lens_changes_nothing() -> None:
    assert macro.effective_f_number(8, 2, reversed_lens=True) == macro.effective_f_number(8, 2)


def test_reversing_a_retrofocus_lens_opens_it() -> None:
    assert macro.exposure_increase_stops(0.1, 2, reversed_lens=True) < 0
    assert macro.effective_f_number(8, 0, 2, reversed_lens=True) == 4


def test_the_mark_for_an_effective_f_number_is_the_way_back() -> None:
    effective = macro.effective_f_number(16, 1.5, 0.7)

    assert macro.marked_f_number(effective, 1.5, 0.7) == pytest.approx(16)


@pytest.mark.parametrize(
    ("focal_length", "magnification", "subject_to_sensor"),
    [(100, 1, 400), (100, 0.5, 450), (60, 1, 240), (50, 2, 225)],
)
def test_life_size_needs_four_focal_lengths(
    focal_length: float, magnification: float, subject_to_sensor: float
) -> None:
    assert macro.subject_to_sensor_mm(focal_length, magnification) == pytest.approx(subject_to_sensor)


def test_life_size_doubles_the_draw() -> None:
    assert macro.extension_mm(100, 1) == 100
    assert macro.subject_distance_mm(100, 1) == 200


def test_four_dioptres_before_100_mm_give_two_fifths() -> None:
    assert macro.supplementary_lens_magnification(100, 4) == pytest.approx(0.4)


@pytest.mark.parametrize("distance", [50, 49.9, 1e-3])
def test_a_subject_within_the_focal_length_is_refused(distance: float) -> None:
    with pytest.raises(ValueError, match="within its focal length"):
        macro.magnification_at(50, distance)


@pytest.mark.parametrize("bad", [-0.1, math.nan, math.inf])
def test_a_magnification_that_is_none_is_refused(bad: float) -> None:
    for formula in (macro.exposure_increase_stops, lambda m: macro.extension_mm(50, m)):
        with pytest.raises(ValueError, match="magnification"):
            formula(bad)


def test_no_subject_distance_belongs_to_magnification_zero() -> None:
    with pytest.raises(ValueError, match="magnification must be above 0"):
        macro.subject_distance_mm(50, 0)


def test_a_pupil_magnification_of_zero_is_refused() -> None:
    with pytest.raises(ValueError, match="pupil magnification"):
        macro.effective_f_number(8, 1, 0)
