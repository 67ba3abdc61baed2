"""Exposure increase for close-ups as printed."""

from __future__ import annotations

from collections.abc import Callable

from scipy.optimize import brentq

from webapp.optics import macro

Table = Callable[[str], list[dict[str, str]]]


def test_the_printed_factors_from_the_magnification(checked: Callable[..., None], table: Table) -> None:
    for row in table("close_up_increase.csv"):
        magnification = float(row["image_mm"]) / float(row["subject_mm"])

        got = 2 ** macro.exposure_increase_stops(magnification)

        what = "exposure factor from the magnification"
        checked("close-up", row["source"], what, float(row["factor"]), got, float(row["half_digit"]), "factor")


def test_the_printed_factors_of_a_50_mm_lens(checked: Callable[..., None], table: Table) -> None:
    for row in table("close_up_fifty.csv"):
        magnification = macro.magnification_at(50, float(row["subject_mm"]))

        got = 2 ** macro.exposure_increase_stops(magnification)

        what = "exposure factor from the distance"
        source = "Exposure increase for closeups"
        checked("close-up", source, what, float(row["factor"]), got, float(row["half_digit"]), "factor")


def test_the_printed_distances_for_an_increase(checked: Callable[..., None], table: Table) -> None:
    for row in table("close_up_distance.csv"):
        wanted_stops = float(row["stops"])

        got = brentq(
            lambda distance, wanted=wanted_stops: (
                macro.exposure_increase_stops(macro.magnification_at(1, distance)) - wanted
            ),
            1.01,
            1000,
        )

        what = "distance for an exposure increase"
        source = "photographers’ forum, post 1406745"
        expected = float(row["focal_lengths"])
        checked("close-up", source, what, expected, got, float(row["half_digit"]), "focal lengths")
