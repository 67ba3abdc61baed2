"""What is drafted into a recipe beside its steps, in words: ratios and tolerances."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.quantities.lengths import Lengths
from webapp.recipes.reasons import Reason

if TYPE_CHECKING:
    from webapp.web.words.say import Say

_TOLERANCES: Final = {"level": "each light's level", "distance": "distances", "angle": "angles"}


def tolerance_of(told: Fact) -> str:
    """What a drafted tolerance is of."""
    return f"level at {told['patch']}" if told["patch"] else _TOLERANCES[told.about]


def _ratio(told: Fact, _: Lengths) -> str:
    stops = told.number("from_key_stops")
    ratio, below = 2.0 ** abs(stops), stops <= 0
    as_light = f"{ratio:.1f}:1" if below else f"1:{ratio:.1f}"
    return (
        f"{told.text('key')} to {told.text('light')}: {as_light}, {abs(stops):.1f} stops "
        f"{'under' if below else 'over'}, {'as metered' if told['here'] else 'by the readings in the kit'}"
    )


WORDS: Final[Mapping[str, Say]] = {
    Reason.RATIO: _ratio,
    Reason.USUAL_TOLERANCE: lambda told, _: f"{tolerance_of(told)}: ± {told.number('within'):g} {told.text('unit')}",
}
