"""A shadow as the lens sees it: how deep, how soft, and where; or why it is not seen."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from webapp.errors import NotTraced
from webapp.facts import Fact
from webapp.plan.reasons import Reason
from webapp.plan.shadows import InPicture, Shadow
from webapp.quantities.lengths import Lengths

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_ON: Final = {"table": "the table", "background": "the background", "subject": "the subject itself"}
_BY: Final = {"subject": "the subject", "table": "the table", "background": "the background", "reflector": "a card"}
_AROUND: Final = {"left", "right", "below", "above"}


def on_words(on: object) -> str:
    """The surface that a shadow falls on."""
    return _ON.get(str(on), f"the {on}")


def by_words(by: str) -> str:
    """What hides something from the lens."""
    return _BY.get(by, f"a {by}")


def stops_words(stops: float) -> str:
    """A depth in stops.

    >>> stops_words(1.83), stops_words(0.42), stops_words(1.04)
    ('1.8 stops', '0.4 stop', '1.0 stop')
    """
    return f"{stops:.1f} stop" + ("s" if round(stops, 1) > 1.0 else "")


def deep_words(each: Shadow) -> str:
    """How deep it is: in the light of all where that is known, else in its own."""
    if each.in_all_stops is not None and not _alone(each):
        return f"{stops_words(each.in_all_stops)} deep"
    return "full" if each.is_full else f"{stops_words(each.depth_stops or 0.0)} deep"


def _alone(each: Shadow) -> bool:
    """Whether no other light reaches its deepest place."""
    return each.in_all_stops is not None and abs(each.in_all_stops - (each.depth_stops or 0.0)) < 0.05


def seen_words(each: Shadow, lengths: Lengths) -> str:
    """What else the lens sees of a shadow."""
    told = []
    if each.in_all_stops is not None and not _alone(each):
        alone = "full" if each.is_full else stops_words(each.depth_stops or 0.0)
        told.append(f"in the light of all; {alone} in {each.letter} alone")
    told.append(_edge(each, lengths))
    if each.full_mm is not None:
        told.append(f"full shadow {lengths.sides(*each.full_mm)}")
    if each.picture is not None:
        told.append(_where(each, each.picture, lengths))
    return "; ".join(told)


def _edge(each: Shadow, lengths: Lengths) -> str:
    if each.edge_mm is None:
        return _no_edge(each)
    if each.edge_mm < 0.5:
        return "hard edge"
    return f"edge {lengths.text(each.edge_mm)} from 10 to 90\N{NO-BREAK SPACE}%"


def _no_edge(each: Shadow) -> str:
    """Why no width of its edge is told; on a block the shadow mostly ends where a side does."""
    why = None if each.edge_why is None else each.edge_why.reason
    if why == Reason.EDGES_RUN_TOGETHER:
        return "its edge runs into another shadow"
    if each.on == "subject":
        return "its edge is that of the subject"
    if why == Reason.EDGE_CUT_OFF:
        return f"its edge runs past the end of {on_words(each.on)}"
    return "no edge of it in the picture"


def _where(each: Shadow, picture: InPicture, lengths: Lengths) -> str:
    sides = set(picture.sides)
    if each.on == "subject":
        place = f"on its {' and '.join(_HALF[side] for side in picture.sides)} side" if sides else "over all of it"
    elif sides == _AROUND:
        place = "all around the subject"
    elif not sides:
        place = "within the subject's outline"
    elif sides == {"left", "right"}:
        place = "on both sides of the subject"
    else:
        place = " and ".join(_SIDE[side] for side in picture.sides) + " the subject"
    if picture.part is not None:
        width, height = (max(1, round(100.0 * each)) for each in picture.part)
        return f"{place}, {width} × {height}\N{NO-BREAK SPACE}% of the picture"
    size = [high - low for low, high in (picture.across_mm, picture.up_mm)]
    return f"{place}, {lengths.sides(*size)} as seen at the subject"


_SIDE: Final = {"left": "left of", "right": "right of", "below": "below", "above": "above"}
_HALF: Final = {"left": "left", "right": "right", "below": "lower", "above": "upper"}


def why_words(told: Fact) -> str:
    """Why a shadow is not seen, in a few words."""
    match told.reason:
        case Reason.NO_SUCH_SURFACE:
            return f"no {told['on']} stands on the plan"
        case Reason.NO_LIGHT_ON_IT:
            return f"no light of {told.about} reaches it"
        case Reason.OUTSIDE_PICTURE:
            return "outside the picture"
        case Reason.HIDDEN_FROM_LENS:
            return f"hidden from the lens by {by_words(str(told['by']))}"
    return "less than 0.2 stop deep" if told.number("depth_stops") >= 0.005 else "none falls there"


def _unseen(told: Fact, _: Lengths) -> str:
    return f"No shadow of {told.about} is seen on {on_words(told['on'])}: {why_words(told)}."


def _cut_off(told: Fact, _: Lengths) -> str:
    return f"The edge of the shadow of {told.about} runs past the end of {on_words(told['on'])}: it has no width to tell."


def _together(told: Fact, _: Lengths) -> str:
    return (
        f"The edge of the shadow of {told.about} on {on_words(told['on'])} runs into another shadow before the light is "
        "whole: it has no width to tell."
    )


def _no_edge_seen(told: Fact, _: Lengths) -> str:
    return f"No edge of a shadow of {told.about} is seen on {on_words(told['on'])}."


_OF_EDGES: Final[Mapping[str, Say]] = {
    Reason.EDGE_CUT_OFF: _cut_off,
    Reason.EDGES_RUN_TOGETHER: _together,
    Reason.EDGE_NOT_SEEN: _no_edge_seen,
}
WORDS: Final[Mapping[str, Say]] = dict(_OF_EDGES) | dict.fromkeys(
    (
        Reason.NO_SUCH_SURFACE,
        Reason.NO_LIGHT_ON_IT,
        Reason.OUTSIDE_PICTURE,
        Reason.HIDDEN_FROM_LENS,
        Reason.TOO_SHALLOW,
    ),
    _unseen,
)


# --- the cards --------------------------------------------------------------------------------------------------------

SHAPE_NAMES: Final[Mapping[str, str]] = {"block": "block", "ball": "ball", "disc": "ridged disc"}


def card_words(
    look: str, shape: str, field_mm: tuple[float, float] | None, left_out: Sequence[str], lengths: Lengths
) -> tuple[str, str]:
    """What a card shows: as its text where pictures are not seen, and as the line below it. `left_out` are the lights
    that shine on something else than the subject."""
    without = f" Without {' and '.join(left_out)}, which shines on something else." if left_out else ""
    subject = f"a matt grey {SHAPE_NAMES[shape]} of the subject's size"
    if look == "above":
        return f"{subject} and its shadows from above", f"From above: where shadows lie on the table.{without}"
    told = f"{subject} and its shadows from the lens"
    if field_mm is None:
        return told, f"From the lens. What the picture takes in is unknown, as the magnification is.{without}"
    return told, f"From the lens: the whole picture, {lengths.sides(*field_mm)} at the subject.{without}"


def traced_words(trouble: NotTraced) -> str:
    """Why the shadows are not there.

    >>> traced_words(NotTraced("Ask again.", goes_on=True, waits=True))
    'Waiting for a picture that is being prepared; the shadows follow.'
    """
    if not trouble.goes_on:
        return str(trouble)
    if trouble.waits:
        return "Waiting for a picture that is being prepared; the shadows follow."
    return "Tracing the shadows."
