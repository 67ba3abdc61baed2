"""The usual cautions that follow from a set-up."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Final

from webapp.facts import Fact
from webapp.ledger.reasons import Reason
from webapp.web.words.listing import joined, names

if TYPE_CHECKING:
    from webapp.web.words.say import Say

NO_CLEARANCE: Final = (
    "Reminders, not clearance: the maker's manual, local codes and the rules of the house decide; mains and repairs are "
    "for licensed electricians and qualified technicians."
)


def _letters(told: Fact) -> str:
    return " and ".join(names(told, "lights"))


WORDS: Final[Mapping[str, Say]] = {
    Reason.CAUTION_EYES: lambda told, _: (
        f"{_letters(told)} close in: do not fire towards eyes of people or animals, and do not look into it to test it."
    ),
    Reason.CAUTION_SCORCHING: lambda told, _: (
        f"{_letters(told)}: a modelling lamp scorches gels, polarising sheet and cloth; lamp and glass burn skin. "
        "Switch it off over them, and let it cool."
    ),
    Reason.CAUTION_FLICKER: lambda *_: (
        "Repeated flashing: ask everybody in the room about photosensitivity first, give notice, let people leave."
    ),
    Reason.CAUTION_CHARGE: lambda *_: (
        "Flash units hold dangerous charge even unplugged: never open one; switch off and discharge as the manual "
        "says before changing heads."
    ),
    Reason.CAUTION_BOOM: lambda told, _: (
        f"{joined(names(told, 'held'))} on a boom: a counterweight at its other end, a sandbag on its stand, and a safety "
        "line to what it carries."
    ),
    Reason.CAUTION_OVERHEAD: lambda told, _: (
        f"{joined(names(told, 'held'))} hung or clamped: a safety line to what holds by itself, and nobody under it."
    ),
    Reason.CAUTION_LOADS: lambda *_: (
        "Heaviest leg under the load, sandbag on the stand, tether on anything overhead; leads taped down and never "
        "coiled under load; keep liquids away from mains."
    ),
}
