"""The curve of a camera's rendered files: what is known of it, what it rests on, and what would teach it."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from webapp.kit.curves import SeriesStep
from webapp.optics.exposure_series import LEAST_EXPOSURES, LearnedCurve
from webapp.pictures.kinds import Kind
from webapp.pictures.metadata import PictureStyle

NOT_KNOWN: Final = (
    "Read from a rendered file, through a tone curve that is not known here. A difference is good to about a tenth of a stop "
    "where the level is that of the reference frame, and to half a stop where it lies a stop away. An exposure series "
    "teaches the curve (see the camera under Kit); a raw file reads exactly."
)
KNOWN: Final = (
    "Levels are those of the rendered file. Differences are of light, through the camera's tone curve as the exposure series "
    "of this log show it (see the camera under Kit)."
)
TEACHES: Final = (
    f"A series teaches it: {LEAST_EXPOSURES} frames or more of one shot, one after the other, with nothing changed but aperture "
    "or ISO (the shutter, too, if no flash was lit), over a stop at least. Three stops down to one up is a good series; patches "
    "from dark to light make it a short one."
)
_CONTRASTS: Final = ("normal contrast", "soft contrast", "hard contrast")
_SCENES: Final = ("standard", "landscape", "portrait", "night")


_KINDS: Final[Mapping[Kind, str]] = {
    "jpeg": "JPEG",
    "tiff": "TIFF",
    "png": "PNG",
    "heic": "HEIC",
    "webp": "WebP",
    "raw": "raw",
}


def style_words(kind: Kind, style: PictureStyle | None) -> str:
    """The kind of file, and the picture style as far as the files tell it: "JPEG, portrait, soft contrast"."""
    style = style or PictureStyle()
    said = [
        "" if style.scene is None else _SCENES[style.scene],
        "" if style.contrast is None else _CONTRASTS[style.contrast],
        "custom rendering" if style.custom else "",
        f"written by {style.program}" if style.program else "",
    ]
    told = ", ".join(filter(None, said))
    return f"{_KINDS[kind]}, {told or 'picture style not told by the files'}"


def series_words(step: SeriesStep) -> str:
    """The key that sets up the next frame of a series."""
    return f"Set up f/{step.f_number.text} for the curve ({step.number} of {step.count})"


def rests_on(learned: LearnedCurve) -> str:
    """What a curve rests on."""
    words = (
        f"Rests on {_counted(learned.frames, 'frame')} in {_counted(learned.series, 'series', 'series')}, "
        f"{_counted(learned.readings, 'reading')} of patches and colours."
    )
    if learned.stood_out:
        words += f" {learned.stood_out} of the {learned.frames} stood out and hardly count."
    return words


def known_over(learned: LearnedCurve) -> str:
    """Where a curve is known, and where it is not."""
    known = learned.curve.known
    if known is None:
        return "It is not yet known to 0.15 stop anywhere but at mid-tone itself: the series are too short."
    low, high = (f"{level:+.1f}".replace("-", "−") for level in known)
    return (
        f"Known to 0.15 stop or better from {low} to {high} about mid-tone in the file. Beyond (dashed) it is as cameras' "
        "curves usually go on, and the tolerance grows."
    )


def _counted(count: int, noun: str, plural: str = "") -> str:
    return f"{count} {noun if count == 1 else plural or noun + 's'}"
