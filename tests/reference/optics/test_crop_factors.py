"""Crop factors of usual sensors against lensfun's database of real cameras."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable

import lensfunpy

from webapp.optics import equivalence

# A figure that fewer cameras share may be somebody's estimate.
CAMERAS_THAT_AGREE = 10


def test_usual_sensors_have_the_crop_factor_of_the_database(
    checked: Callable[..., None], table: Callable[[str], list[dict[str, str]]]
) -> None:
    found = Counter(round(camera.crop_factor, 4) for camera in lensfunpy.Database().cameras)
    shared = [crop for crop, cameras in found.items() if cameras >= CAMERAS_THAT_AGREE]
    for row in table("sensor_sizes.csv"):
        got = equivalence.crop_factor((float(row["width_mm"]), float(row["height_mm"])))

        nearest = min(shared, key=lambda crop, ours=got: abs(crop - ours))

        checked("equivalence", "lensfun’s database through lensfunpy", "crop factor", nearest, got, 1e-3, "factor")
