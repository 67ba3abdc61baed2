"""Photos of the set: what they are called, and where they were taken."""

from __future__ import annotations

from webapp.plan.positions import Place
from webapp.quantities.angles import bearing_text
from webapp.quantities.lengths import Lengths
from webapp.records.tables import SetPhoto


def photo_words(number: int, caption: str) -> str:
    """ "Photo 2: the key from behind"."""
    return f"Photo {number}: {caption}" if caption else f"Photo {number} of the set"


def looks_text(looks_deg: float) -> str:
    """The way that a photo looks, as it can be typed: turned from where the camera looks.

    >>> looks_text(-45.0), looks_text(0.2), looks_text(180.0)
    ('45° left', 'ahead', '180°')
    """
    turned = round(looks_deg)
    if turned == 0:
        return "ahead"
    if abs(turned) == 180:
        return "180°"
    return f"{abs(turned)}° {'right' if turned > 0 else 'left'}"


def spot_words(photo: SetPhoto, lengths: Lengths) -> str:
    """Where a photo was taken: "120 cm from the subject, 45° left, looks 45° right"; empty where it is not placed."""
    if photo.x_mm is None or photo.y_mm is None or photo.looks_deg is None:
        return ""
    at = Place(photo.x_mm, photo.y_mm)
    where = f"{lengths.text(at.floor_mm)} from the subject, {bearing_text(at.bearing_deg)}"
    return f"{where}, looks {looks_text(photo.looks_deg)}"
