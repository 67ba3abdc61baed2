"""What each light gave by the picture, and what is left over."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.evidence_reasons import Reason
from webapp.ledger.exposures import AMBIENT
from webapp.quantities.lengths import Lengths
from webapp.web.words.in_picture import in_picture_words

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_TOLD_COLOUR_STOPS: Final = 0.1


def _name(source: str) -> str:
    return "the room" if source == AMBIENT else source


def _named(told: Fact) -> str:
    sources = told["sources"]
    *others, last = [_name(str(each)) for each in (sources if isinstance(sources, tuple) else ())]
    words = f"{', '.join(others)} and {last}" if others else last
    return words[:1].upper() + words[1:]


def _who(told: Fact) -> str:
    name = _name(told.about)
    return name[:1].upper() + name[1:]


def _amount(told: Fact, more: str = "more", less: str = "less", name: str = "stops") -> str:
    stops = told.number(name)
    return f"{abs(stops):.2f} {more if stops > 0 else less}"


def _error(told: Fact) -> str:
    return f"(±{max(told.number('error_stops'), 0.01):.2f})"


def _otherwise(told: Fact, _: Lengths) -> str:
    return f"{_who(told)} gave {_amount(told)} than logged {_error(told)}."


def _left_over(told: Fact, _: Lengths) -> str:
    redder = told["redder_stops"]
    coloured = isinstance(redder, float) and abs(redder) > _TOLD_COLOUR_STOPS
    what = "coloured" if coloured else "local"
    hue = f", {_amount(told, 'redder', 'bluer', 'redder_stops')}" if coloured else ""
    return f"Something {what} at {told.about}: {_amount(told, 'brighter', 'darker')}{hue} than the lights together make it."


def _left_over_there(told: Fact, _: Lengths) -> str:
    place = in_picture_words(told.number("x"), told.number("y")).removeprefix("the ")
    return f"{place[:1].upper()}{place[1:]}, {left_over_words(told)} left over: outlined on the picture."


def left_over_words(told: Fact) -> str:
    """ "0.4 stop more light", and of what colour, where it is that."""
    stops, redder = told.number("stops"), told["redder_stops"]
    coloured = isinstance(redder, float) and abs(redder) > max(_TOLD_COLOUR_STOPS, abs(stops) / 2.0)
    parts = (
        []
        if coloured and abs(stops) < _TOLD_COLOUR_STOPS
        else [f"{_stops(stops)} {'more' if stops > 0 else 'less'} light"]
    )
    if coloured:
        parts.append(
            f"{_stops(told.number('redder_stops'))} {'redder' if told.number('redder_stops') > 0 else 'bluer'}"
        )
    return ", ".join(parts)


def _stops(stops: float) -> str:
    return f"{abs(stops):.1f} stop{'s' * (abs(stops) >= 1.05)}"


WORDS: Final[Mapping[str, Say]] = {
    Reason.ALL_GAVE: lambda told, _: f"All lights gave {_amount(told)} than logged, alike {_error(told)}.",
    Reason.GAVE_OTHERWISE: _otherwise,
    Reason.GAVE_NOTHING: lambda told, _: f"{_who(told)} gave nothing.",
    Reason.GAVE_THOUGH_OFF: lambda told, _: (
        f"{_who(told)} is logged as off and gave light, {_amount(told)} than it would at its mark {_error(told)}."
    ),
    Reason.GAVE_ANOTHER_COLOUR: lambda told, _: (
        f"{_who(told)} was {_amount(told, 'redder', 'bluer', 'redder_stops')} than in its own frame {_error(told)}."
    ),
    Reason.GAVE_AS_LOGGED: lambda told, _: f"{_named(told)} gave as logged.",
    Reason.GAVE_TOO_LITTLE: lambda told, _: f"{_named(told)} gave too little here to be told.",
    Reason.LEFT_OVER: _left_over,
    Reason.LEFT_OVER_THERE: _left_over_there,
    Reason.LEFT_OVER_BY_NO_LIGHT: lambda *_: (
        "No light brings that by giving more or less: look for a reflection, a flag, a head that was turned, or something "
        "that was moved."
    ),
    Reason.PICTURE_IS_NO_SUM: lambda *_: (
        "As a whole this picture is no sum of the frames lit by one light alone: the camera, the subject or a light's "
        "place was another. So it is not told where light is left over."
    ),
    Reason.LIGHTS_NOT_APART: lambda *_: (
        "These patches do not tell the lights apart: one more, which they reach differently, would."
    ),
    Reason.SOLO_WOULD_TELL: lambda told, _: f"A frame lit by {told.about} alone would tell what each light gave.",
}
