"""The set as geometry: why something is not known of it, why nothing can be suggested, and what has to be looked at."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.plan.reasons import Reason
from webapp.quantities.lengths import Lengths
from webapp.web.words.figures import percent
from webapp.web.words.listing import joined
from webapp.web.words.places import came_in_words, moved_words
from webapp.web.words.shadows import by_words
from webapp.web.words.sides import named_side

if TYPE_CHECKING:
    from webapp.plan.levels import LightMap
    from webapp.web.words.say import Say


def _not_reached(told: Fact, _: Lengths) -> str:
    between = ": something stands between" if told["something_between"] else ""
    return f"{told.about} does not reach {named_side(told.text('on'))}{between}."


def _guide(told: Fact, _: Lengths) -> str:
    stated = f"for {told['reflector']}" if told["reflector"] else "for the head as it comes"
    return f"{told.about} has no meter reading, and its guide number is stated {stated}, not for what is on it."


def _roles(told: Fact, _: Lengths) -> str:
    roles = told["roles"]
    absent = " and no ".join(map(str, roles)) if isinstance(roles, tuple) else ""
    return f"There is no {absent} that is lit: a ratio needs both."


def _ring(told: Fact, lengths: Lengths) -> str:
    fills = told.number("fills_mm")
    within = lengths.text(fills) if lengths.inches else f"{fills / 10:.1f} cm"
    return f"{told.about} stands within {within}, where the middle of its light is darker."


def _off_lens(told: Fact, lengths: Lengths) -> str:
    off = lengths.text(told.number("from_lens_mm"))
    if told["around_axis"]:
        return f"{told.about} is a ring light and stands {off} before the lens, which still looks through it."
    return f"{told.about} is a ring light and has left the lens: it stands {off} from it, beside the lens axis."


def _in_picture(told: Fact, _: Lengths) -> str:
    return f"{told.about} stands in the picture{' and shines into the lens' if told['shines'] else ''}."


def _shines(told: Fact, _: Lengths) -> str:
    beside = told.number("beside_deg")
    where = f"from {beside:.0f}° outside the picture" if beside else "from the edge of the picture"
    return f"{told.about} shines into the lens {where}: shade the lens from it."


def evenness_words(light_map: LightMap | None, middle_behind: Sequence[str]) -> str:
    """How even the light is over the subject, and what of it is left out; empty where that is not known."""
    if light_map is None:
        behind = joined([by_words(each) for each in middle_behind])
        return f"Not told: from the lens the middle of the subject lies behind {behind}." if behind else ""
    even = f"Even within {light_map.range_stops:.2f} stop over "
    if not light_map.left_out:
        return f"{even}the subject."
    behind = joined([by_words(each) for each in light_map.left_out])
    return f"{even}what the lens sees of the subject: a part of it lies behind {behind} and is left out."


WORDS: Final[Mapping[str, Say]] = {
    Reason.CAME_IN: came_in_words,
    Reason.PLACE_LOST: lambda told, _: f"{told.about} has no position any more.",
    Reason.MOVED: moved_words,
    Reason.AIMED_ELSEWHERE: lambda told, _: f"{told.about} is aimed elsewhere.",
    Reason.WENT_OUT: lambda told, _: f"{told.about} went out.",
    Reason.NOT_REACHED: _not_reached,
    Reason.NO_POSITION: lambda told, _: f"{told.about} has no position.",
    Reason.SHINES_ELSEWHERE: lambda told, _: (
        f"{told.about} does not shine on the subject itself: what reaches it by way of a panel, a card or the background "
        "is not modelled."
    ),
    Reason.NO_METER_READING: lambda told, _: (
        f"{told.about} has no meter reading; joules rank the settings of one head only."
    ),
    Reason.GUIDE_NOT_FOR_THIS: _guide,
    Reason.LIGHT_POWER_UNKNOWN: lambda told, _: f"The power of {told.about} is unknown.",
    Reason.FILTER_LOSS_UNKNOWN: lambda told, _: f"What the filters on {told.about} take is unknown.",
    Reason.ANOTHER_LIGHT_UNKNOWN: lambda *_: "another light of the set is unknown",
    Reason.NO_SUCH_LIGHT: lambda told, _: f"There is no light {told.about} in the set.",
    Reason.PLACE_IT_FIRST: lambda told, _: f"{told.about} has no position: place it first.",
    Reason.AT_NO_DISTANCE: lambda told, _: f"{told.about} stands at no distance from the subject: place it first.",
    Reason.ROLES_NOT_LIT: _roles,
    Reason.OFF_ON_THE_PLAN: lambda told, _: f"{told.about} is off.",
    Reason.HAS_NO_SIZE: lambda told, _: (
        f"{told.about} has no size: fit a modifier, or its shadow is hard at any distance."
    ),
    Reason.IN_THE_MIDDLE: lambda told, _: f"{told.about} stands at no distance, in the middle of the subject.",
    Reason.INSIDE_SUBJECT: lambda told, _: f"{told.about} stands inside the subject.",
    Reason.AIMED_AWAY: lambda told, _: f"{told.about} is aimed away: its face sees nothing of the subject.",
    Reason.AIMED_PAST: lambda told, _: f"{told.about} is aimed {told.number('off_deg'):.0f}° past the subject.",
    Reason.BEHIND_BACKGROUND: lambda told, _: f"{told.about} stands behind the background.",
    Reason.UNDER_TABLE: lambda told, _: f"{told.about} stands under the table.",
    Reason.PARTLY_HIDDEN: lambda told, _: (
        f"{percent(told.number('hidden_share'))} of {told.about} is hidden from the subject by what stands between."
    ),
    Reason.RING_TOO_NEAR: _ring,
    Reason.RING_OFF_LENS: _off_lens,
    Reason.IN_ONE_PLACE: lambda told, _: f"{told.about} and {told['other']} stand in one place.",
    Reason.IN_THE_PICTURE: _in_picture,
    Reason.SHINES_INTO_LENS: _shines,
}
