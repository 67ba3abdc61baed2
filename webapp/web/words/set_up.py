"""What a change of the set-up did, where it did more than was asked, and what a camera file said that the set-up did
not."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.reasons import Reason as LedgerReason
from webapp.optics.scales import Quantity
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.marks import written
from webapp.quantities.ratios import ratio_text
from webapp.shoots.set_up_reasons import Reason
from webapp.web.words.corrections import action_of
from webapp.web.words.listing import begun, joined, names

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def says_words(says: Iterable[Fact], lengths: Lengths = CENTIMETRES) -> str:
    """What the last change did, as the desk says it."""
    return " ".join(WORDS[each.reason](each, lengths) for each in says)


def field_mark(field: str, mark: str) -> str:
    """A setting of the camera by its mark: "f/11", "2 s", "ISO 200", "100 mm"."""
    return f"{mark} mm" if field == "focal_length" else written(Quantity(field), mark)


def set_key(path: str, mark: str) -> str:
    """What the key says that sets a field of the camera or the power of a light: "Set ISO 100", "Set A 6.25 J"."""
    group, _, rest = path.partition(".")
    return f"Set {rest.partition('.')[0]} {mark}" if group == "lights" else f"Set {field_mark(path, mark)}"


def _file_differs(told: Fact, _: Lengths) -> str:
    found = zip(names(told, "fields"), names(told, "file"), names(told, "stood"), strict=True)
    differing = [f"file {field_mark(field, file)}, set {field_mark(field, stood)}" for field, file, stood in found]
    return f"{begun('; '.join(differing))}. The set-up follows the file."


def _correction_written(told: Fact, lengths: Lengths) -> str:
    move = Fact(told.text("move"), told.about, told.values)
    return f"Now set: {action_of(move, lengths)}. Turn the dial to match."


def _ratio_aimed_at(told: Fact, _: Lengths) -> str:
    return (
        f"{told.about}: {told['was']} to {told['now']}, for {ratio_text(told.number('ratio'))} at {told['patch']}. "
        "Turn the dial to match."
    )


def _not_the_check(told: Fact, _: Lengths) -> str:
    shutter = field_mark("shutter", told.text("shutter")) if told["shutter"] is not None else ""
    shown = " and ".join(filter(None, (shutter, "a fired flash" if told["fired"] else "")))
    goes_on = " The check goes on." if told["goes_on"] else ""
    return f"{told['file']} shows {shown}: logged as a test, not as the ambient check.{goes_on}"


WORDS: Final[Mapping[str, Say]] = {
    LedgerReason.FILE_DIFFERS: _file_differs,
    Reason.LIGHT_PUT_IN: lambda told, _: f"{told['light']} is in the set: {told['head']}.",
    Reason.LIGHT_TAKEN_OUT: lambda told, _: f"{told.about} is out of the set.",
    Reason.CORRECTION_WRITTEN: _correction_written,
    Reason.AS_FRAME_AGAIN: lambda told, _: (
        f"The set-up of frame {told['frame']} stands again. Turn the dials to match."
    ),
    Reason.AS_FRAME_WITH_ONE_LIGHT: lambda told, _: (
        f"The set-up of frame {told['frame']} stands again, lit by {told.about} alone. Turn the dials to match."
    ),
    Reason.AS_FRAME_AT_APERTURE: lambda told, _: (
        f"The set-up of frame {told['frame']} stands again at f/{told['f_number']}, for an exposure series. Turn the dials to match."
    ),
    Reason.SHIFT_IS_MEANT: lambda told, _: f"{told.about} at {told.number('meant_stops'):+.1f} is intended.",
    Reason.RATIO_AIMED_AT: _ratio_aimed_at,
    Reason.AMBIENT_CHECK_BEGUN: lambda *_: "Ambient check: flashes off, 1 s. Modelling lamps as in the shoot.",
    Reason.AMBIENT_CHECK_ENDED: lambda *_: "Lights and shutter are back as they were.",
    Reason.ONE_LIGHT_SET_UP: lambda told, _: f"{told.about} alone, the other lights off, for one frame.",
    Reason.RULE_SET_UP: lambda *_: "A rule beside the subject, square to the lens, for one frame.",
    Reason.LIGHTS_PUT_BACK: lambda *_: "The lights are back as they were.",
    Reason.NOT_THE_CHECK: _not_the_check,
    Reason.CAMERA_BOUND: lambda told, _: (
        f"Files of “{told['file']}” are those of {told['camera']} from now on; another camera's wait in the in-tray."
    ),
    Reason.FILE_CAME_LATE: lambda told, _: (
        f"Frame {told['frame']} came late: it was exposed before another. The set-up stays as it is."
    ),
    Reason.PURPOSE_OVER: lambda told, _: (
        f"Set-up changed, so the {told['purpose']} is over: frame {told['frame']} is a test."
    ),
    Reason.PLACES_CARRIED_OVER: lambda told, _: f"Carried over, not measured here: {joined(names(told, 'names'))}.",
    Reason.FILE_LOGGED_ALREADY: lambda told, _: (
        f"{told['file']} is in the log already: frame {told['frame']}"
        + (f" of {told['shot']}." if told["shot"] else ".")
    ),
    Reason.FILLED_IN_FROM_RECIPE: lambda *_: "Filled in from the recipe. Build the set by the checklist.",
}
