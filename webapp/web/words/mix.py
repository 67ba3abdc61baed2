"""From a mix back to the dials: what stands in the way of a light's mark."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.mix_settings import PowerSetting
from webapp.ledger.reasons import Reason
from webapp.quantities.lengths import CENTIMETRES, Lengths

if TYPE_CHECKING:
    from webapp.web.words.say import Say


def mark_words(mark: PowerSetting) -> str:
    """What is said beside the mark of a light."""
    if mark.out:
        return "off"
    return " ".join(WORDS[each.reason](each, CENTIMETRES) for each in mark.notes)


def _out_of_reach(told: Fact, _: Lengths) -> str:
    end = "highest" if told["highest"] else "lowest"
    return f"{told['light']} would need {told.number('short_stops'):.1f} stops past its {end} mark, {told['ends']}."


WORDS: Final[Mapping[str, Say]] = {
    Reason.MIX_POWER_UNKNOWN: lambda told, _: f"The power of {told['light']} is unknown.",
    Reason.MIX_OUT_OF_REACH: _out_of_reach,
    Reason.MIX_AS_IN_FRAME: lambda told, _: f"With all else as in frame {told['frame']}.",
}
