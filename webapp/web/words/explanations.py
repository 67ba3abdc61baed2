"""What may lie behind a difference that nothing explains: its name in a few words, what would have happened, and the
frame that would tell two causes apart."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.entries import Cause
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.explanations import Attribution, Explanation
from webapp.quantities.lengths import CENTIMETRES, Lengths
from webapp.quantities.ratios import magnification_text
from webapp.web.words.entries import CAUSE_WORDS, setting_of

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_NUMBERS: Final = (
    "No",
    "One",
    "Two",
    "Three",
    "Four",
    "Five",
    "Six",
    "Seven",
    "Eight",
    "Nine",
    "Ten",
    "Eleven",
    "Twelve",
)


def title_of(found: Explanation, lengths: Lengths = CENTIMETRES) -> str:
    """A cause by its name: "A stood at 50 J, and B did not fire"."""
    return titles_of(found.causes, lengths)


def titles_of(causes: Iterable[Fact], lengths: Lengths = CENTIMETRES) -> str:
    """Causes that come together, by their names."""
    return ", and ".join(TITLES[each.reason](each, lengths) for each in causes)


def sentence_of(found: Explanation, lengths: Lengths = CENTIMETRES) -> str:
    """What would have happened, and what the colour says of it."""
    told = (*found.causes, *([found.colour] if found.colour else []))
    return " ".join(WORDS[each.reason](each, lengths) for each in told)


def telling_frame_of(found: Attribution, lengths: Lengths = CENTIMETRES) -> str:
    """The frame that would tell the first two causes apart, with their names; "" where there is none."""
    told = found.test_frame
    if told is None:
        return ""
    if told.reason == Reason.TEST_WITH_ONE_LIGHT:
        first, second = (f"“{title_of(each, lengths)}”" for each in found.explanations[:2])
        return _one_light(told, first, second)
    return WORDS[told.reason](told, lengths)


# --- in a few words -----------------------------------------------------------------------------------------------


def _not_made_title(told: Fact, lengths: Lengths) -> str:
    whose = f"{told.about}: " if told.about else ""
    return f"{whose}{_cause(told)} still at {setting_of(told, 'was', lengths)}"


def _filter_title(told: Fact, _: Lengths) -> str:
    return f"{told.text('filter')} not on {told.about or 'the lens'}"


def _close_up_title(told: Fact, _: Lengths) -> str:
    return f"magnification {_magnification(told, 'really')} for {_magnification(told, 'logged')}"


def _modifier_title(told: Fact, _: Lengths) -> str:
    return f"{told.text('fitted')} on {told.about}" if told.text("fitted") else f"nothing on {told.about}"


TITLES: Final[Mapping[str, Say]] = {
    Reason.CHANGE_NOT_MADE: _not_made_title,
    Reason.DID_NOT_FIRE: lambda told, _: f"{told.about} did not fire",
    Reason.FIRED_AS_WELL: lambda told, _: f"{told.about} fired as well",
    Reason.FILTER_NOT_ON: _filter_title,
    Reason.LIGHT_AT_ANOTHER_MARK: lambda told, _: f"{told.about} stood at {told.text('stood')}",
    Reason.CAMERA_AT_ANOTHER_MARK: lambda told, _: f"{_cause(told)} stood at {setting_of(told, 'stood')}",
    Reason.CLOSE_UP_COUNTED_TWICE: lambda *_: "the close-up loss is counted twice",
    Reason.CLOSE_UP_NOT_COUNTED: _close_up_title,
    Reason.LIGHT_AT_ANOTHER_DISTANCE: lambda told, lengths: (
        f"{told.about} stood at {lengths.text(told.number('really_mm'))}"
    ),
    Reason.FILTER_ALSO_ON: lambda told, _: f"{told.text('filter')} on {told.about or 'the lens'}",
    Reason.ANOTHER_MODIFIER: _modifier_title,
    Reason.NOT_RECYCLED: lambda told, _: f"{told.about} had not recycled",
    Reason.POWERS_SWAPPED: lambda told, _: f"the powers of {told.about} and {told.text('other')} were swapped",
    Reason.OTHER_POPS: lambda told, _: f"{_pops(told, 'pops')} for {told['logged']}",
    Reason.AMBIENT_ADDS: lambda *_: "ambient light",
    Reason.FLASH_VARIES: lambda *_: "flash variation",
}


# --- in full ------------------------------------------------------------------------------------------------------


def _not_made(told: Fact, lengths: Lengths) -> str:
    was, now = setting_of(told, "was", lengths), setting_of(told, "now", lengths)
    return f"The change from {was} to {now} was written down and not made."


def _did_not_fire(told: Fact, _: Lengths) -> str:
    return f"{_capital(told)} is written down as lit; the picture reads as it would without it."


def _fired_as_well(told: Fact, _: Lengths) -> str:
    return f"{_capital(told)} is written down as off; the picture reads as it would with it at {told.text('mark')}."


def _filter_not_on(told: Fact, _: Lengths) -> str:
    where = told.about or "the lens"
    return f"{told.text('filter')} takes {told.number('loss_stops'):.1f}, and is written down as standing on {where}."


def _light_at_another_mark(told: Fact, _: Lengths) -> str:
    marks = told.number("marks")
    words = "The neighbouring mark" if abs(marks) == 1 else f"{_counted(told)} marks"
    return (
        f"{words} {'up' if marks > 0 else 'down'} on the dial of {told.text('light')}, "
        f"{told.text('stood')} for {told.text('logged')}, {_makes(told)}."
    )


def _camera_at_another_mark(told: Fact, _: Lengths) -> str:
    words = "The neighbouring mark" if abs(told.number("marks")) == 1 else f"{_counted(told)} marks off"
    return f"{words}, {setting_of(told, 'stood')} for {setting_of(told, 'logged')}, {_makes(told)}."


def _counted_twice(told: Fact, _: Lengths) -> str:
    return (
        f"From {_magnification(told, 'was')} to {_magnification(told, 'now')} it is {told.number('loss_stops'):.1f}; a "
        "camera that records the effective f-number has it in the aperture already. The kit says of each lens which of "
        "the two is recorded."
    )


def _not_counted(told: Fact, _: Lengths) -> str:
    return (
        f"A close-up loss of {told.number('loss_stops'):.1f} is not written down; a magnification of "
        f"{_magnification(told, 'really')} would have it."
    )


def _another_distance(told: Fact, lengths: Lengths) -> str:
    really, logged = (lengths.text(told.number(name)) for name in ("really_mm", "logged_mm"))
    return f"{really} for {logged}, {_makes(told)}."


def _also_on(told: Fact, _: Lengths) -> str:
    where = told.about or "the lens"
    return f"{told.text('filter')} takes {told.number('loss_stops'):.1f}, and is not written down as standing on {where}."


def _another_modifier(told: Fact, _: Lengths) -> str:
    logged, fitted = (told.text(name) or "the bare head" for name in ("logged", "fitted"))
    return f"{fitted[:1].upper()}{fitted[1:]} for {logged}, {_makes(told)}."


def _not_recycled(told: Fact, _: Lengths) -> str:
    lacked = f"It gave {told.number('off_stops'):.1f} less than when it is full"
    if told["since_s"] is None or told["recycle_s"] is None:
        return f"{lacked}; nothing says how soon it fired again."
    return (
        f"{lacked}; by the files it fired {told.number('since_s'):.0f} s after the frame before, and recycles in "
        f"{told.number('recycle_s'):.1f} s."
    )


def _swapped(told: Fact, _: Lengths) -> str:
    return (
        f"{told.about} at {told.text('stood')} and {told.text('other')} at {told.text('logged')}: each with the power that "
        "is written down for the other."
    )


def _ambient_adds(told: Fact, _: Lengths) -> str:
    return (
        f"By the ambient check the room lies {told.number('margin_stops'):.1f} stops below the level wanted at "
        f"{told.text('patch')}, at these settings, and adds to what the flash gives."
    )


def _varies(told: Fact, _: Lengths) -> str:
    off, deviation, letters = told.number("off_stops"), told.number("deviation_stops"), told["lights"]
    named = " and ".join(map(str, letters)) if isinstance(letters, tuple) else str(letters)
    return (
        f"Runs of {named} at one power scatter by {deviation:.2f} (standard deviation): {off:.2f} is "
        f"{off / deviation:.1f} of it."
    )


def _colour_unexplained(told: Fact, _: Lengths) -> str:
    stops = told.number("redder_stops")
    return f"But {told.about} was {abs(stops):.1f} {'redder' if stops > 0 else 'bluer'} than this would make it."


def _one_light(told: Fact, first: str, second: str) -> str:
    return (
        f"A frame lit by {told.about} alone, nothing else touched: {first} says {_alone(told, 'first_stops')} there "
        f"against the prediction, {second} {_alone(told, 'second_stops')}."
    )


def _set_anew(told: Fact, _: Lengths) -> str:
    group, *rest = told.text("field").split(".")
    dial = f"{rest[1]} of {rest[0]}" if rest else group.replace("_", "-")
    return (
        f"Set the {dial} to its logged mark anew and make the frame once more: if the difference goes, it was that; if "
        "it stays, it was the other."
    )


WORDS: Final[Mapping[str, Say]] = {
    Reason.CHANGE_NOT_MADE: _not_made,
    Reason.DID_NOT_FIRE: _did_not_fire,
    Reason.FIRED_AS_WELL: _fired_as_well,
    Reason.FILTER_NOT_ON: _filter_not_on,
    Reason.LIGHT_AT_ANOTHER_MARK: _light_at_another_mark,
    Reason.CAMERA_AT_ANOTHER_MARK: _camera_at_another_mark,
    Reason.CLOSE_UP_COUNTED_TWICE: _counted_twice,
    Reason.CLOSE_UP_NOT_COUNTED: _not_counted,
    Reason.LIGHT_AT_ANOTHER_DISTANCE: _another_distance,
    Reason.FILTER_ALSO_ON: _also_on,
    Reason.ANOTHER_MODIFIER: _another_modifier,
    Reason.NOT_RECYCLED: _not_recycled,
    Reason.POWERS_SWAPPED: _swapped,
    Reason.OTHER_POPS: lambda told, _: f"{_pops(told, 'pops')} made, {told['logged']} written down.",
    Reason.AMBIENT_ADDS: _ambient_adds,
    Reason.FLASH_VARIES: _varies,
    Reason.COLOUR_AGREES: lambda told, _: f"The patch is {_hue(told)} as well, as without it.",
    Reason.COLOUR_DISAGREES: lambda told, _: f"But the patch is {_hue(told)}, as it would not be without it.",
    Reason.COLOUR_SUITS: lambda told, _: f"The light is {_hue(told)} as well, as with it.",
    Reason.COLOUR_UNEXPLAINED: _colour_unexplained,
    Reason.TEST_WITHOUT_FLASH: lambda *_: (
        "The same frame with every flash off, at 1 s: it shows what the room gives, and nothing else."
    ),
    Reason.TEST_FOR_SCATTER: lambda *_: (
        "The same frame once more with nothing touched: a scatter moves, a wrong setting stays."
    ),
    Reason.TEST_WITH_ONE_LIGHT: lambda told, _: _one_light(told, "the first", "the second"),
    Reason.TEST_WITH_DIAL_SET_ANEW: _set_anew,
    Reason.TEST_ONCE_MORE: lambda *_: "The same frame once more with nothing touched.",
}


def _cause(told: Fact) -> str:
    return CAUSE_WORDS[Cause(told.text("cause"))]


def _magnification(told: Fact, name: str) -> str:
    return magnification_text(told.number(name))


def _capital(told: Fact) -> str:
    name = told.text("light")
    return name[:1].upper() + name[1:]


def _makes(told: Fact) -> str:
    return f"makes {told.number('makes_stops'):+.1f}".replace("-", "−")


def _counted(told: Fact) -> str:
    count = int(abs(told.number("marks")))
    return _NUMBERS[count] if count < len(_NUMBERS) else str(count)


def _pops(told: Fact, name: str) -> str:
    count = int(told.number(name))
    return f"{count} pop{'s' * (count != 1)}"


def _hue(told: Fact) -> str:
    return "bluer" if told["bluer"] else "redder"


def _alone(told: Fact, name: str) -> str:
    if told[name] is None:
        return "nothing"
    stops = told.number(name)
    return f"{stops:+.1f}".replace("-", "−") if abs(stops) >= 0.05 else "0.0"
