"""Lighting ratios as printed, in both conventions."""

from __future__ import annotations

import math
from collections.abc import Callable

from webapp.optics import mixed_light


def test_the_printed_ratios(checked: Callable[..., None], table: Callable[[str], list[dict[str, str]]]) -> None:
    for row in table("lighting_ratio.csv"):
        ratio_of = getattr(mixed_light, row["convention"])
        key_minus_fill = math.log2(float(row["key"])) - math.log2(float(row["fill"]))

        source = "encyclopaedia article “Lighting ratio”"
        checked(
            "mixed light", source, row["convention"], float(row["ratio"]), ratio_of(key_minus_fill), 1e-9, "ratio"
        )
