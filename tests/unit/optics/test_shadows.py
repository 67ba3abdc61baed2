"""Shadows and reflections: domains, conventions and signs. Outside values are in tests/reference."""

from __future__ import annotations

import math

import pytest

from webapp.optics.shadows import (
    background_card_side_mm,
    ball_highlight_mm,
    ball_highlight_paraxial_mm,
    displacement_mm,
    distant_displacement_mm,
    family_of_angles,
    penumbra_mm,
    umbra_length_mm,
    umbra_mm,
)


def test_the_penumbra_stays_where_no_umbra_is_left() -> None:
    assert umbra_mm(600.0, 1000.0, 300.0, 100.0) == 0.0
    assert penumbra_mm(600.0, 1000.0, 300.0) == 180.0


def test_a_source_no_wider_than_the_occluder_leaves_an_endless_umbra() -> None:
    assert umbra_length_mm(30.0, 500.0, 30.0) == math.inf
    assert umbra_length_mm(20.0, 500.0, 30.0) == math.inf


def test_the_umbra_ends_where_its_length_says() -> None:
    length_mm = umbra_length_mm(600.0, 1000.0, 100.0)

    assert umbra_mm(600.0, 1000.0, 0.999 * length_mm, 100.0) > 0.0
    assert umbra_mm(600.0, 1000.0, 1.001 * length_mm, 100.0) == 0.0


def test_the_soft_edge_lies_half_outside_the_shadow_a_point_would_draw() -> None:
    umbra, penumbra = umbra_mm(200.0, 1000.0, 100.0, 100.0), penumbra_mm(200.0, 1000.0, 100.0)

    shadow_of_a_point_mm = umbra_mm(1e-6, 1000.0, 100.0, 100.0)

    assert umbra + penumbra == pytest.approx(shadow_of_a_point_mm)


@pytest.mark.parametrize("bad_mm", [0.0, -5.0, math.nan, math.inf])
def test_lengths_that_are_none_are_refused(bad_mm: float) -> None:
    with pytest.raises(ValueError, match="width of the source"):
        penumbra_mm(bad_mm, 1000.0, 100.0)
    with pytest.raises(ValueError, match="from the source to the occluder"):
        umbra_length_mm(600.0, bad_mm, 100.0)
    with pytest.raises(ValueError, match="from the occluder to the screen"):
        displacement_mm(500.0, 1000.0, bad_mm)
    with pytest.raises(ValueError, match="width of the occluder"):
        umbra_mm(600.0, 1000.0, 100.0, bad_mm)
    with pytest.raises(ValueError, match="distance from the camera"):
        family_of_angles(200.0, bad_mm, 1000.0)
    with pytest.raises(ValueError, match="side of the field"):
        background_card_side_mm(bad_mm, 775.0, 350.0)


def test_a_shadow_moves_away_from_the_light_whichever_side_that_is() -> None:
    assert displacement_mm(-500.0, 750.0, 50.0) == displacement_mm(500.0, 750.0, 50.0) > 0.0
    assert displacement_mm(0.0, 750.0, 50.0) == 0.0


def test_a_near_light_moves_the_shadow_as_a_distant_one_once_it_is_distant() -> None:
    far_mm = 1e7

    near = displacement_mm(far_mm * math.tan(math.radians(30.0)), far_mm, 20.0)

    assert near == pytest.approx(distant_displacement_mm(20.0, 30.0), rel=1e-9)


def test_a_light_along_the_screen_is_refused() -> None:
    with pytest.raises(ValueError, match="below 90°"):
        distant_displacement_mm(20.0, 90.0)


def test_square_on_the_family_of_angles_lies_about_the_camera() -> None:
    family = family_of_angles(100.0, 300.0, 600.0)

    assert family.centre_mm == 0.0
    assert family.from_mm == pytest.approx(-family.to_mm)


def test_a_tilted_subject_sees_away_from_the_camera_on_either_side() -> None:
    family = family_of_angles(50.0, 800.0, 500.0, 10.0)

    assert family.centre_mm > 0.0
    assert family == family_of_angles(50.0, 800.0, 500.0, -10.0)
    assert family.from_mm < family.centre_mm < family.to_mm


def test_tilting_goes_over_into_square_on() -> None:
    square, nearly = family_of_angles(200.0, 1000.0, 700.0), family_of_angles(200.0, 1000.0, 700.0, 1e-7)

    assert nearly.width_mm == pytest.approx(square.width_mm, rel=1e-6)


@pytest.mark.parametrize("tilt_deg", [45.0, -45.0, 90.0, math.nan])
def test_a_tilt_that_never_meets_the_light_is_refused(tilt_deg: float) -> None:
    with pytest.raises(ValueError, match="never meets a light on the camera's side"):
        family_of_angles(50.0, 800.0, 500.0, tilt_deg)


def test_a_large_tilted_subject_that_throws_its_far_edge_past_the_light_is_refused() -> None:
    with pytest.raises(ValueError, match="past the plane of the light"):
        family_of_angles(900.0, 800.0, 500.0, 40.0)


def test_a_tilted_subject_that_reaches_through_the_lights_plane_is_refused() -> None:
    with pytest.raises(ValueError, match="reaches through the plane of the light"):
        family_of_angles(900.0, 8000.0, 100.0, 30.0)


def test_the_highlight_of_a_small_distant_source_is_the_paraxial_one() -> None:
    exact = ball_highlight_mm(10.0, 1.0, 2000.0)

    assert exact == pytest.approx(ball_highlight_paraxial_mm(10.0, 1.0, 2000.0), rel=1e-6)


def test_the_highlight_never_outgrows_the_half_of_the_ball_that_mirrors_forwards() -> None:
    assert ball_highlight_mm(10.0, 1e6, 20.0) < 2.0 * 10.0 * math.sin(math.radians(45.0)) + 1e-6


def test_a_source_inside_the_ball_is_refused() -> None:
    with pytest.raises(ValueError, match="stands inside it"):
        ball_highlight_mm(10.0, 5.0, 10.0)
    with pytest.raises(ValueError, match="stands inside it"):
        ball_highlight_paraxial_mm(10.0, 5.0, 9.0)


def test_the_margin_of_a_card_is_added_on_every_side() -> None:
    bare_mm = background_card_side_mm(180.0, 775.0, 350.0, 0.0)

    assert background_card_side_mm(180.0, 775.0, 350.0) == pytest.approx(bare_mm + 20.0)
    with pytest.raises(ValueError, match="margin"):
        background_card_side_mm(180.0, 775.0, 350.0, -1.0)
