"""Exposure: what settings, meters and sums of light say in stops."""

from __future__ import annotations

import math

import pytest

from webapp.optics import exposure, mixed_light, tone
from webapp.optics.scales import Quantity
from webapp.quantities.marks import read_mark


def test_sunlight_at_f16_has_exposure_value_15() -> None:
    shutter_s = read_mark(Quantity.SHUTTER, "1/125").exact

    assert exposure.ev(16, shutter_s) == pytest.approx(15, abs=1e-9)


def test_a_higher_iso_setting_suits_less_light() -> None:
    at_100 = exposure.luminance_cd_m2(8, 1 / 64, 100)

    assert exposure.luminance_cd_m2(8, 1 / 64, 400) == pytest.approx(at_100 / 4)
    assert exposure.ev100(8, 1 / 64, 400) == exposure.ev100(8, 1 / 64, 100) - 2


@pytest.mark.parametrize(
    ("ev100", "luminance", "illuminance"),
    [(-6, 0.001953125, 0.0390625), (0, 0.125, 2.5), (12, 512, 10_240), (15, 4096, 81_920)],
)
def test_a_meter_reads_the_usual_scenes(ev100: int, luminance: float, illuminance: float) -> None:
    shutter_s = 2.0**-ev100

    assert exposure.luminance_cd_m2(1, shutter_s, 100) == pytest.approx(luminance)
    assert exposure.illuminance_lx(1, shutter_s, 100) == pytest.approx(illuminance)


@pytest.mark.parametrize(("constant", "stops"), [(14, 0.1635), (13.4, 0.1003), (10.6, -0.2379)])
def test_another_meter_constant_shifts_the_reading(constant: float, stops: float) -> None:
    usual = exposure.luminance_cd_m2(8, 1, 100)

    shift = math.log2(exposure.luminance_cd_m2(8, 1, 100, reflected_constant=constant) / usual)

    assert shift == pytest.approx(stops, abs=5e-5)


def test_a_hemisphere_asks_for_another_constant() -> None:
    shift = math.log2(exposure.illuminance_lx(8, 1, 100, incident_constant=340) / 160)

    assert shift == pytest.approx(0.4436, abs=5e-5)


@pytest.mark.parametrize(
    ("from_mark", "to_mark", "stops"),
    [("5.6", "22", -4), ("2.8", "22", -6), ("4", "32", -6), ("22", "11", 2), ("5.6", "11", -2)],
)
def test_gaps_between_marks_are_counted_not_marks(from_mark: str, to_mark: str, stops: int) -> None:
    from_n, to_n = (read_mark(Quantity.F_NUMBER, mark).exact for mark in (from_mark, to_mark))

    assert exposure.aperture_change_stops(from_n, to_n) == pytest.approx(stops, abs=1e-9)


def test_a_longer_time_and_a_higher_iso_are_more_light() -> None:
    shutter_s = [read_mark(Quantity.SHUTTER, mark).exact for mark in ("1/1000", "1/60")]

    assert exposure.shutter_change_stops(*shutter_s) == pytest.approx(4, abs=1e-9)
    assert exposure.iso_change_stops(100, 1600) == pytest.approx(4, abs=1e-9)


@pytest.mark.parametrize("bad", [0, -8, math.nan, math.inf])
def test_a_setting_that_is_none_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="f-number"):
        exposure.ev(bad, 1)
    with pytest.raises(ValueError, match="f-number"):
        exposure.luminance_cd_m2(bad, 1, 100)
    with pytest.raises(ValueError, match="meter constant C"):
        exposure.illuminance_lx(8, 1, 100, incident_constant=bad)


@pytest.mark.parametrize(
    ("levels", "total"), [([10, 9, 8], 10.8074), ([0, 0, 0], 1.5850), ([5], 5), ([0, -1 / 3], 0.8429)]
)
def test_lights_add_as_light(levels: list[float], total: float) -> None:
    assert mixed_light.total_stops(levels) == pytest.approx(total, abs=5e-5)


def test_a_light_twice_as_strong_has_two_thirds() -> None:
    assert mixed_light.shares([1, 0]) == pytest.approx([2 / 3, 1 / 3])


def test_no_light_at_all_has_no_level() -> None:
    with pytest.raises(ValueError, match="no light to add"):
        mixed_light.total_stops([])
    with pytest.raises(ValueError, match="no light to add"):
        mixed_light.shares([])


def test_turning_the_flash_down_leaves_the_ambient_half() -> None:
    before = mixed_light.total_stops([0, 0])

    after = mixed_light.total_stops([-1, 0])

    assert after - before == pytest.approx(-0.4150, abs=5e-5)


@pytest.mark.parametrize(("difference", "key_to_fill", "sum_to_fill"), [(0, 1, 2), (1, 2, 3), (2, 4, 5), (3, 8, 9)])
def test_one_difference_has_two_ratios(difference: float, key_to_fill: float, sum_to_fill: float) -> None:
    assert mixed_light.key_to_fill(difference) == key_to_fill
    assert mixed_light.sum_to_fill(difference) == sum_to_fill
    assert mixed_light.stops_from_key_to_fill(key_to_fill) == pytest.approx(difference)
    assert mixed_light.stops_from_sum_to_fill(sum_to_fill) == pytest.approx(difference)


@pytest.mark.parametrize("ratio", [1, 0.5, 0, -3, math.nan, math.inf])
def test_a_sum_to_fill_ratio_without_a_key_is_refused(ratio: float) -> None:
    with pytest.raises(ValueError, match="above 1"):
        mixed_light.stops_from_sum_to_fill(ratio)


def test_a_negative_ratio_is_refused() -> None:
    with pytest.raises(ValueError, match="key : fill"):
        mixed_light.stops_from_key_to_fill(-4)


@pytest.mark.parametrize(("shadow", "wanted"), [(-4, -2), (-3, -1), (-6, -5.5)])
def test_the_fill_brings_the_shadow_where_it_was_wanted(shadow: float, wanted: float) -> None:
    fill = mixed_light.fill_to_lift_stops(shadow, wanted)

    assert mixed_light.total_stops([shadow, fill]) == pytest.approx(wanted)


@pytest.mark.parametrize("wanted", [-3, -4])
def test_a_fill_cannot_darken_a_shadow(wanted: float) -> None:
    with pytest.raises(ValueError, match="only lifts"):
        mixed_light.fill_to_lift_stops(-3, wanted)


@pytest.mark.parametrize(
    ("ambient", "added"),
    [(0, 1), (-0.5, 0.7716), (-1, 0.5850), (-1.5, 0.4368), (-2, 0.3219), (-4, 0.0875), (-6, 0.0224)],
)
def test_ambient_light_below_the_flash_adds_little(ambient: float, added: float) -> None:
    assert mixed_light.added_stops(ambient) == pytest.approx(added, abs=5e-5)


def test_a_longer_shutter_brightens_only_the_ambient_part() -> None:
    ambient_far_below = mixed_light.shutter_on_mixed_light_stops(-10, 1)
    ambient_alone = mixed_light.shutter_on_mixed_light_stops(20, 1)

    assert ambient_far_below == pytest.approx(0.0014, abs=5e-5)
    assert ambient_alone == pytest.approx(1, abs=1e-5)


def test_ambient_seven_stops_down_lifts_a_shadow_five_down_by_a_third() -> None:
    assert mixed_light.shadow_lift_stops(-5, -7) == pytest.approx(0.32, abs=0.005)


@pytest.mark.parametrize(
    ("from_level", "to_level", "stops"),
    [(64, 128, 2.0739), (100, 200, 2.1802), (118, 186, 1.4385), (5, 10, 1.0), (200, 250, 0.7269)],
)
def test_levels_are_compared_as_light(from_level: int, to_level: int, stops: float) -> None:
    assert tone.level_difference_stops(from_level, to_level) == pytest.approx(stops, abs=5e-5)


@pytest.mark.parametrize("level", [0, 0.5, 255, 254.5, -1, 300, math.nan])
def test_black_and_clipped_levels_have_no_place_in_stops(level: float) -> None:
    with pytest.raises(ValueError, match="between 1 and 254"):
        tone.level_difference_stops(100, level)
    with pytest.raises(ValueError, match="between 1 and 254"):
        tone.quantisation_stops(level)


@pytest.mark.parametrize(("level", "stops"), [(5, 0.145), (20, 0.051), (64, 0.022), (118, 0.013)])
def test_a_dark_level_is_less_certain(level: int, stops: float) -> None:
    assert tone.quantisation_stops(level) == pytest.approx(stops, abs=5e-4)


def test_a_mean_is_taken_on_light_not_on_levels() -> None:
    light = [tone.linear_from_srgb(level / 255) for level in (64, 192)]

    level_of_the_mean = 255 * tone.srgb_from_linear(sum(light) / 2)

    assert level_of_the_mean == pytest.approx(146.41, abs=0.005)


@pytest.mark.parametrize("bad", [-0.01, 1.01, math.nan])
def test_srgb_outside_its_range_is_refused(bad: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        tone.linear_from_srgb(bad)
    with pytest.raises(ValueError, match="between 0 and 1"):
        tone.srgb_from_linear(bad)
