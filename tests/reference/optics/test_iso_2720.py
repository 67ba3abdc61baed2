"""ISO 2720:1974 and what is quoted from it: meter constants, luminance and illuminance."""

from __future__ import annotations

from collections.abc import Callable

from webapp.optics import exposure


def test_the_printed_readings_of_a_meter(
    checked: Callable[..., None], table: Callable[[str], list[dict[str, str]]]
) -> None:
    for row in table("meter_constants.csv"):
        formula = getattr(exposure, row["quantity"])

        got = formula(float(row["f_number"]), float(row["shutter_s"]), float(row["iso"]))

        source = "ISO 2720:1974 constants, printed examples of colour-hdri"
        checked("exposure", source, "luminance and illuminance", float(row["value"]), got, 1e-12, "relative")


def test_the_usual_constants_lie_in_the_ranges_of_the_standard(
    table: Callable[[str], list[dict[str, str]]],
) -> None:
    ranges = {
        row["receptor"]: (float(row["lowest"]), float(row["highest"])) for row in table("meter_constant_ranges.csv")
    }

    assert ranges["reflected"][0] <= exposure.REFLECTED_CONSTANT <= ranges["reflected"][1]
    assert ranges["flat"][0] <= exposure.INCIDENT_CONSTANT <= ranges["flat"][1]


def test_luminance_and_illuminance_of_whole_exposure_values(
    checked: Callable[..., None], table: Callable[[str], list[dict[str, str]]]
) -> None:
    for row in table("exposure_value.csv"):
        shutter_s = 64 / 2.0 ** float(row["ev"])

        luminance = exposure.luminance_cd_m2(8, shutter_s, 100)
        illuminance = exposure.illuminance_lx(8, shutter_s, 100)

        source = "encyclopaedia article “Exposure value”"
        checked("exposure", source, "EV as luminance", float(row["luminance_cd_m2"]), luminance, 1e-9, "relative")
        checked("exposure", source, "EV as illuminance", float(row["illuminance_lx"]), illuminance, 1e-9, "relative")
        checked("exposure", source, "EV of a setting", float(row["ev"]), exposure.ev(8, shutter_s), 1e-9, "stop")
