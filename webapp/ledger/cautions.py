"""The usual cautions that follow from a set-up: short, never in the way, and never a clearance.

They remind; the maker's manual, the house's own rules, local codes and licensed electricians decide.
"""

from __future__ import annotations

from webapp.ledger.set_up import Light, SetUp

STANDING_WORDS = (
    "Reminders, not clearance: the maker's manual, local codes and the rules of the house decide; mains and repairs are "
    "for licensed electricians and qualified technicians."
)
_CLOSE_MM = 500.0
_MANY_POPS = 3


def cautions(set_up: SetUp) -> tuple[str, ...]:
    """What to mind with this set-up, most pressing first."""
    lit = [light for light in set_up.lights if light.lit]
    flashes = [light for light in set_up.lights if light.head.kind == "flash"]
    said: list[str] = []
    close = [light for light in lit if light.distance_mm is not None and light.distance_mm < _CLOSE_MM]
    if any(light.head.kind == "flash" for light in close):
        said.append(
            f"{_letters(close)} close in: do not fire towards eyes of people or animals, and do not look into it to test it."
        )
    scorched = [light for light in set_up.lights if light.modelling_lamp and light.filters]
    if scorched:
        said.append(
            f"{_letters(scorched)}: a modelling lamp scorches gels, polarising sheet and cloth; lamp and glass burn skin. "
            "Switch it off over them, and let it cool."
        )
    if set_up.pops >= _MANY_POPS:
        said.append(
            "Repeated flashing: ask everybody in the room about photosensitivity first, give notice, let people leave."
        )
    if flashes:
        said.append(
            "Flash units hold dangerous charge even unplugged: never open one; switch off and discharge as the manual "
            "says before changing heads."
        )
    if set_up.lights:
        said.append(
            "Heaviest leg under the load, sandbag on the stand, tether on anything overhead; leads taped down and never "
            "coiled under load; keep liquids away from mains."
        )
    return tuple(said)


def _letters(lights: list[Light]) -> str:
    return " and ".join(light.letter for light in lights)
