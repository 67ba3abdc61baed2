"""What is noted on a reading of a picture, and on the watched folder."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.pictures.reasons import Reason
from webapp.web.words.figures import percent

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_REDUCED: Final = {2: "half", 4: "a quarter of its", 8: "an eighth of its"}

WORDS: Final[Mapping[str, Say]] = {
    Reason.NO_PATCH_DRAWN: lambda *_: "No patch is drawn: the middle of the picture was measured.",
    Reason.PATCH_CUT_AT_EDGE: lambda told, _: (
        f"The patch “{told.about}” reaches past the edge of the picture; what lies inside was measured."
    ),
    Reason.READ_REDUCED: lambda told, _: (
        f"The picture was read at {_REDUCED[round(told.number('reduced_by'))]} size."
    ),
    Reason.NOT_TOLD_FROM_BLACK: lambda told, _: (
        "The patch cannot be told from black: it lies at least "
        f"{told.number('below_stops'):.1f} stops below clipping."
    ),
    Reason.PATCH_CLIPS: lambda told, _: (
        f"{percent(told.number('clipped_share'))} of the patch is clipped: its light is at least what was read."
    ),
    Reason.UPPER_BITS_READ: lambda *_: "Of the file's 16 bits of each colour the upper 8 were read.",
    Reason.LAB_CONVERTED: lambda *_: "Lab colours were converted to sRGB.",
    Reason.PRINTING_COLOURS: lambda *_: (
        "The picture is in printing colours without a profile that can be read; plain arithmetic turned them into sRGB."
    ),
    Reason.TRANSPARENCY_LEFT_OUT: lambda *_: "Transparency was left out.",
    Reason.GREY_PROFILE_UNUSED: lambda *_: (
        "The embedded colour profile is not used for a grey picture of 16 bits; it was read as sRGB."
    ),
    Reason.PROFILE_BROKEN: lambda *_: "The embedded colour profile is broken; the picture was read as sRGB.",
    Reason.PROFILE_CONVERTED: lambda told, _: (
        f"The embedded colour profile ({told['profile'] or 'without a name'}) was converted to sRGB."
    ),
    Reason.ADOBE_RGB_BY_EXIF: lambda *_: (
        "The file says by its Exif data alone that its colours are Adobe RGB; they were converted to sRGB."
    ),
    Reason.FLOATING_POINT_READ: lambda *_: "The file holds floating-point numbers; 1.0 was read as white.",
    Reason.FOLDER_AWAY: lambda told, _: (
        f"The watched folder {told['folder']} cannot be read; pictures are taken in again when it is back."
    ),
    Reason.FOLDER_BACK: lambda told, _: f"The watched folder {told['folder']} is back.",
}
