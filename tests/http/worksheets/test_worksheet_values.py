"""Every worksheet against a published value, or against the same number by another road."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from scipy import integrate, optimize

Ask = Callable[..., dict[str, Any]]
SETTING = {"from_shutter": "1/125", "to_shutter": "1/125", "from_iso": 100, "to_iso": 100}


@pytest.mark.parametrize(
    ("from_mark", "to_mark", "gaps"),
    # The full series of ISO 517: 2.8, 4, 5.6, 8, 11, 16, 22, 32; gaps counted, not marks.
    [("f/5.6", "f/22", -4), ("f/2.8", "f/22", -6), ("f/32", "f/4", 6)],
)
def test_gaps_between_apertures_are_counted(ask: Ask, from_mark: str, to_mark: str, gaps: int) -> None:
    balance = ask("exposure-difference", from_f_number=from_mark, to_f_number=to_mark, **SETTING)

    assert balance["flash_balance_stops"] == pytest.approx(gaps, abs=1e-9)
    assert balance["ambient_balance_stops"] == pytest.approx(gaps, abs=1e-9)


def test_a_meter_reads_bright_sunlight(ask: Ask) -> None:
    # EV 15 at ISO 100 is 4096 cd/m2 (K 12.5) and 81 920 lx (C 250): L = 2^(EV-3), encyclopaedia, Exposure value.
    read = ask("light-meter", f_number="f/16", shutter="1/125", iso=100)

    assert read["ev"] == read["ev100"] == pytest.approx(15)
    assert read["luminance_cd_m2"] == pytest.approx(4096)
    assert read["illuminance_lx"] == pytest.approx(81_920)


@pytest.mark.parametrize(
    ("quantity", "mark", "dial", "exact", "literal_off"),
    [
        ("f_number", "f/5.6", "full", 5.656854, -0.0291),
        ("f_number", "1.2", "half", 1.189207, 0.0261),
        ("f_number", "1.2", "third", 1.259921, -0.1406),
        ("f_number", "f/13", "third", 12.699208, 0.0676),
        ("shutter", "1/125", "third", 1 / 128, 0.0342),
        ("shutter", "30", "half", 32, -0.0931),
        ("iso", "ISO 160", "third", 158.7401, 0.0114),
        ("power", "1/32", "full", -5, 0),
        ("power", "1/64+0.7", "third", -16 / 3, 0.0333),
    ],
)
def test_a_mark_names_an_exact_step(
    ask: Ask, quantity: str, mark: str, dial: str, exact: float, literal_off: float
) -> None:
    # The series as powers of two (ISO 516, ISO 517, from memory), differences to four places.
    read = ask("marked-value", quantity=quantity, mark=mark, dial=dial)

    assert read["exact"] == pytest.approx(exact, rel=1e-6)
    assert read["literal_minus_exact_stops"] == pytest.approx(literal_off, abs=6e-5)


def test_levels_of_a_picture_differ_by_the_light_behind_them(ask: Ask) -> None:
    # IEC 61966-2-1: decoded, 64 is 0.0512695 and 128 is 0.215861; on the linear toe 10 is twice 5.
    middle = ask("pixel-levels", from_level=64, to_level=128)
    toe = ask("pixel-levels", from_level=5, to_level=10)

    assert middle["difference_stops"] == pytest.approx(math.log2(0.215861 / 0.0512695), abs=1e-5)
    assert toe["difference_stops"] == pytest.approx(1, abs=1e-9)


def test_a_sixteenth_of_the_energy_is_four_stops(ask: Ask) -> None:
    turned_down = ask("flash-energy", full_energy_j=1200, power_stops=0, change_stops=-4)

    assert turned_down["to_energy_j"] == pytest.approx(75)


def test_two_and_a_half_stops_above_full_take_six_flashes(ask: Ask) -> None:
    wanted = ask("flash-energy", full_energy_j=500, power_stops=0, change_stops=2.5)

    assert wanted["pops"] == next(n for n in range(1, 99) if math.log2(n) >= 2.5)
    assert wanted["residue_stops"] == 2.5


def test_guide_number_45_suits_f9_at_five_metres(ask: Ask) -> None:
    # A photographic dictionary's example: 45 at 5 m is f/9.
    assert ask("guide-number", guide_number_m=45, distance_mm=5000) == {
        "f_number": pytest.approx(9),
        "guide_number_at_setting_m": 45,
    }
    assert ask("guide-number", guide_number_m=45, f_number=9)["distance_mm"] == pytest.approx(5000)
    assert ask("guide-number", f_number="f/9", distance_mm=5000)["guide_number_m"] == pytest.approx(45)


def test_the_tail_of_an_exponential_flash_is_found_on_its_curve(ask: Ask) -> None:
    blur = ask("flash-duration", t_half_s="1/1000", speed_m_s=1, magnification=1, pixel_pitch_um=5)

    tenth_s = optimize.brentq(lambda t: 0.5 ** (t / 0.001) - 0.1, 1e-4, 1e-2)
    assert blur["t_tenth_s"] == pytest.approx(tenth_s)
    assert blur["blur_mm"] == pytest.approx(1000 * tenth_s)
    assert blur["blur_px"] == pytest.approx(200_000 * tenth_s)


def test_lights_add_as_light(ask: Ask) -> None:
    mixed = ask("mixed-light", levels_stops="10;9;8")

    assert mixed["total_stops"] == pytest.approx(math.log2(1024 + 512 + 256))
    assert mixed["shares"] == pytest.approx([4 / 7, 2 / 7, 1 / 7])


def test_800_to_200_is_told_as_four_and_as_five_to_one(ask: Ask) -> None:
    # An encyclopaedia's example for both conventions, in foot-candles.
    ratio = ask("lighting-ratio", key_minus_fill_stops=math.log2(800 / 200))

    assert ratio["key_to_fill"] == pytest.approx(4)
    assert ratio["sum_to_fill"] == pytest.approx((800 + 200) / 200)


def test_dragging_the_shutter_grows_the_ambient_part_only(ask: Ask) -> None:
    share = ask("ambient-share", ambient_stops=-3, shutter_change_stops=2, shadow_stops=-4)

    assert share["added_stops"] == pytest.approx(math.log2(9 / 8))
    assert share["total_change_stops"] == pytest.approx(math.log2((8 + 4) / (8 + 1)))
    assert share["shadow_lift_stops"] == pytest.approx(math.log2((1 / 16 + 1 / 8) / (1 / 16)))


def test_a_50_mm_lens_at_170_mm_needs_twice_the_exposure(ask: Ask) -> None:
    # "Exposure increase for closeups": twice at 170 mm, four times at 100 mm (m = 1); 2.007 exactly.
    near = ask("close-up", f_number=8, magnification=50 / (170 - 50))
    life_size = ask("close-up", f_number=8, magnification=1)

    assert 2 ** near["exposure_increase_stops"] == pytest.approx(2, abs=0.01)
    assert 2 ** life_size["exposure_increase_stops"] == pytest.approx(4)
    assert life_size["effective_f_number"] == pytest.approx(16)


def test_the_hyperfocal_distance_is_the_printed_one(ask: Ask) -> None:
    # "Precision Depth of Field", mapleprimes.com: 25 mm, f/16, 0.015 mm: 2629.1667 mm.
    field = ask(
        "depth-of-field",
        focal_length_mm=25,
        f_number=16,
        circle_of_confusion_mm=0.015,
        subject_distance_mm=3000,
    )

    assert field["hyperfocal_mm"] == pytest.approx(2629.1667, abs=5e-5)
    assert field["far_mm"] is None
    assert field["depth_mm"] is None


def test_the_limits_of_depth_throw_discs_of_the_circle_of_confusion(ask: Ask) -> None:
    f, n, c, u = 100.0, 16.0, 0.02, 400.0
    field = ask("depth-of-field", focal_length_mm=f, f_number=n, circle_of_confusion_mm=c, subject_distance_mm=u)

    sensor_mm = 1 / (1 / f - 1 / u)
    for limit in (field["near_mm"], field["far_mm"]):
        image_mm = 1 / (1 / f - 1 / limit)
        assert f / n * abs(sensor_mm - image_mm) / image_mm == pytest.approx(c, rel=1e-9)


@pytest.mark.parametrize(
    ("spread_mm", "mark", "tenths"), [(1, 16, 6), (2, 22, 6), (4, 32, 6), (6, 45, 2), (8, 45, 6), (9, 45, 8)]
)
def test_the_sharpest_aperture_is_the_tabulated_one(ask: Ask, spread_mm: float, mark: float, tenths: int) -> None:
    # The table of 1996 on largeformatphotography.info ("32.6" is f/32 and six tenths); it rounds up by tenths.
    sharpest = ask("sharpest-aperture", depth_mm=spread_mm * 1e4, magnification=0.01)

    full_stop = 2 * math.log2({16: 16, 22: 22.627, 32: 32, 45: 45.255}[mark])
    assert 2 * math.log2(sharpest["effective_f_number"]) == pytest.approx(full_stop + tenths / 10, abs=0.13)


def test_no_other_f_number_blurs_less(ask: Ask) -> None:
    sharpest = ask("sharpest-aperture", depth_mm=5, magnification=1, circle_of_confusion_mm=0.09)

    least = min(row["blur_mm"] for row in sharpest["by_f_number"])
    assert sharpest["blur_mm"] <= least <= sharpest["blur_mm"] * 1.01
    assert sharpest["reaches_circle_of_confusion"] is True


def test_the_slices_of_a_stack_cover_the_depth(ask: Ask) -> None:
    query = {
        "depth_mm": 10,
        "magnification": 1,
        "f_number": "f/5.6",
        "circle_of_confusion_mm": 0.02,
        "overlap": 0.25,
    }
    stack = ask("focus-stack", **query, recycle_s=4)

    reached_mm, frames = stack["slice_mm"], 1
    while reached_mm < 10:
        reached_mm, frames = reached_mm + stack["step_mm"], frames + 1
    assert (stack["frames"], stack["frames_with_ends"]) == (frames, 31)
    assert stack["duration_s"] == 4 * (frames - 1)


def test_a_rectangle_is_the_sum_of_its_patches(ask: Ask) -> None:
    lit = ask("source-illuminance", shape="rectangle", width_mm=300, height_mm=1200, distance_mm=400)

    whole, _ = integrate.dblquad(lambda y, x: 400**2 / (x * x + y * y + 400**2) ** 2, -150, 150, -600, 600)
    assert lit["relative_illuminance"] == pytest.approx(whole / math.pi, rel=1e-6)


def test_a_ring_is_strongest_where_the_search_finds_it(ask: Ask) -> None:
    ring = {"shape": "ring", "diameter_mm": 150, "inner_diameter_mm": 60}

    def dark(distance_mm: float) -> float:
        return -float(ask("source-illuminance", **ring, distance_mm=distance_mm)["relative_illuminance"])

    found = optimize.minimize_scalar(dark, bounds=(10, 200), method="bounded", options={"xatol": 1e-4})
    at_peak = ask("source-illuminance", **ring, distance_mm=100)
    assert at_peak["peak_distance_mm"] == pytest.approx(found.x, abs=1e-2)
    assert -found.fun == pytest.approx((75 - 30) / (75 + 30), abs=1e-8)


@pytest.mark.parametrize(("diameters", "stops"), [(0.5, -1), (1, -0.3219), (2, -0.0875), (5, -0.01436)])
def test_inverse_square_overstates_a_near_disc(ask: Ask, diameters: float, stops: float) -> None:
    # Within one per cent from five diameters on: inverse-square law, IES definition 9.1.1.
    lit = ask("source-illuminance", shape="disc", diameter_mm=600, distance_mm=600 * diameters)

    assert lit["over_inverse_square_stops"] == pytest.approx(stops, abs=6e-5)


def test_the_shadow_is_what_rays_leave_dark(ask: Ask) -> None:
    shadow = ask(
        "shadow", source_width_mm=200, source_distance_mm=1000, screen_distance_mm=100, occluder_width_mm=100
    )

    screen = np.linspace(-100, 100, 2001)[:, None]
    source = np.linspace(-100, 100, 801)[None, :]
    at_occluder = source + (screen - source) * 1000 / 1100
    lit = (np.abs(at_occluder) > 50).mean(axis=1)
    assert shadow["umbra_mm"] == pytest.approx((lit == 0).sum() * 0.1, abs=0.3)
    assert shadow["penumbra_mm"] == pytest.approx(((lit > 0) & (lit < 1)).sum() * 0.05, abs=0.3)
    assert shadow["umbra_length_mm"] == pytest.approx(1000)


@pytest.mark.parametrize("tilt_deg", [0, 10, 22.5])
def test_the_family_of_angles_is_where_reflected_rays_land(ask: Ask, tilt_deg: float) -> None:
    family = ask(
        "family-of-angles",
        subject_width_mm=100,
        camera_distance_mm=300,
        light_distance_mm=600,
        tilt_deg=tilt_deg,
    )

    tilt = math.radians(tilt_deg)
    normal = np.array([math.sin(tilt), math.cos(tilt)])
    landed = []
    for along in (-50, 0, 50):
        place = along * np.array([math.cos(tilt), -math.sin(tilt)])
        ray = place - np.array([0.0, 300.0])
        ray = ray - 2 * (ray @ normal) * normal
        landed.append((place + ray * (600 - place[1]) / ray[1])[0])
    assert family["width_mm"] == pytest.approx(landed[2] - landed[0])
    assert family["centre_mm"] == pytest.approx(landed[1], abs=1e-9)


def test_a_card_behind_the_subject_fills_the_view(ask: Ask) -> None:
    view = {"camera_distance_mm": 775, "card_distance_mm": 350, "field_width_mm": 240, "field_height_mm": 180}

    card = ask("background-card", **view, margin_mm=0)

    half_angle = math.atan(120 / 775)
    assert card["width_mm"] == pytest.approx(2 * (775 + 350) * math.tan(half_angle))
    assert card["height_mm"] == pytest.approx(card["width_mm"] * 3 / 4)


@pytest.mark.parametrize(
    ("label", "stops", "within"),
    [
        # The table of neutral density filters in the encyclopaedia prints 8 2/3 stops and density 2.6 for ND400.
        ({"factor": 400}, 8 + 2 / 3, 0.03),
        ({"density": 2.6}, 8 + 2 / 3, 0.04),
        ({"density": 0.9}, 2.9897, 5e-5),
        ({"factor": 1000}, 9.9658, 5e-5),
        # Malus: half the light is left at 45 degrees, a quarter at 60.
        ({"crossed_deg": 45}, 1, 1e-9),
        ({"crossed_deg": 60}, 2, 1e-9),
    ],
)
def test_a_filter_has_one_loss_under_all_its_names(
    ask: Ask, label: dict[str, float], stops: float, within: float
) -> None:
    named = ask("filter", **label)

    assert named["stops"] == pytest.approx(stops, abs=within)
    assert named["factor"] * named["transmission"] == pytest.approx(1)
    assert 10 ** named["density"] == pytest.approx(named["factor"])


@pytest.mark.parametrize(
    ("from_kelvin", "to_kelvin", "printed"),
    # 80A −131 (filter handbook, from memory), 85B +131 (bet.de Lexikon, Mired), 85 +112 (Mired in photography).
    [(3200, 5500, -131), (5500, 3200, 131), (5500, 3400, 112)],
)
def test_conversion_filters_have_their_printed_shift(
    ask: Ask, from_kelvin: float, to_kelvin: float, printed: int
) -> None:
    shift = ask("colour-shift", from_kelvin=from_kelvin, to_kelvin=to_kelvin)

    assert round(shift["shift_mired"]) == printed
    assert ask("colour-shift", from_kelvin=from_kelvin, shift_mired=shift["shift_mired"])[
        "to_kelvin"
    ] == pytest.approx(to_kelvin)


@pytest.mark.parametrize(
    ("kelvin", "shares", "mixed", "duv"),
    # Computed with the colour-science library: tristimulus values summed, nearest Planckian radiator.
    [
        ("2900;6500", "1;1", 4138, -0.0052),
        ("3200;5600", "0.25;0.75", 4790, None),
        ("3200;5600", "75;25", 3616, None),
    ],
)
def test_mixed_colour_temperatures_meet_the_library(
    ask: Ask, kelvin: str, shares: str, mixed: float, duv: float | None
) -> None:
    mix = ask("colour-mix", kelvin=kelvin, shares=shares)

    assert mix["kelvin"] == pytest.approx(mixed, abs=1)
    assert duv is None or mix["duv"] == pytest.approx(duv, abs=5e-5)


def test_life_size_at_f16_on_half_the_format_is_marked_f10_67(ask: Ask) -> None:
    # The same entrance pupil and the same field: pupil over subject distance stays, the thin lens does the rest.
    half = ask(
        "format-equivalence",
        from_sensor_width_mm=36,
        from_sensor_height_mm=24,
        to_sensor_width_mm=18,
        to_sensor_height_mm=12,
        f_number=16,
        magnification=1,
    )

    subject_mm = 2 * 100.0
    focal_mm = 1 / (1 / subject_mm + 1 / (subject_mm * 0.5))
    assert half["magnification"] == 0.5
    assert half["f_number"] == pytest.approx(focal_mm / (100.0 / 16))
    assert half["total_light_stops"] == pytest.approx(0, abs=1e-12)


def test_a_100_mm_lens_takes_in_60_cm_of_full_frame_at_177_cm(ask: Ask) -> None:
    # m = 36/600 = 0.06, u = 100 (1 + 1/0.06), by hand.
    view = ask(
        "field-of-view", focal_length_mm=100, sensor_width_mm=36, sensor_height_mm=24, subject_width_mm="60 cm"
    )

    assert view["subject_distance_mm"] == pytest.approx(1766.667, abs=5e-4)
    assert view["field_height_mm"] == pytest.approx(400)
    assert ask(
        "field-of-view",
        focal_length_mm=100,
        sensor_width_mm=36,
        sensor_height_mm=24,
        subject_distance_mm=view["subject_distance_mm"],
    )["field_width_mm"] == pytest.approx(600)


def test_ambient_light_beyond_the_sync_speed_is_left_to_the_aperture(ask: Ask) -> None:
    # From 1/30 at f/8 to five under with sync at 1/125: two stops by the shutter, three by the aperture, f/22.
    under = ask("sync-ambient", ambient_f_number="f/8", ambient_shutter="1/30", iso=400, wanted_stops=5, sync="1/125")

    assert under["shutter"] == "1/125"
    assert under["rest_stops"] == pytest.approx(3)
    assert under["f_number"] == pytest.approx(8 * 2**1.5)
    assert under["iso"] == pytest.approx(50)


def test_a_pair_is_told_where_its_glare_begins(ask: Ask) -> None:
    pair = ask(
        "copy-pair",
        original_width_mm=600,
        original_height_mm=400,
        light_distance_mm=1500,
        bearing_deg=45,
        camera_distance_mm=1200,
    )
    glare = ask(
        "copy-glare", original_width_mm=600, camera_distance_mm=1200, light_distance_mm=1500, light_width_mm=400
    )

    assert pair["clear_from_deg"] == pytest.approx(glare["barred_to_deg"]) == pytest.approx(-glare["barred_from_deg"])
    assert pair["best_bearing_deg"] >= pair["clear_from_deg"]
    assert pair["best_range_stops"] <= pair["range_stops"]


def test_a_field_for_an_edge_and_the_edge_of_that_field(ask: Ask) -> None:
    tumbler = {"glass_width_mm": "7 cm", "wall_mm": "2 mm", "field_distance_mm": "30 cm"}

    field = ask("edge-cards", **tumbler, dark_edge_mm="5 mm")
    edge = ask("edge-cards", **tumbler, field_width_mm=field["field_width_mm"])

    assert edge["dark_edge_mm"] == pytest.approx(5, abs=0.01)
