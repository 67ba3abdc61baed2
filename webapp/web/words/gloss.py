"""A flat gloss in words: which lights, cards and flags show in it, where, and from where they would."""

from __future__ import annotations

from typing import Final

from webapp.plan.reflections import Family, Gloss, Mirrored, Where
from webapp.web.words.figures import percent

_ACROSS: Final = {"low": "left", "middle": "middle", "high": "right"}
_UP: Final = {"low": "lower", "middle": "middle", "high": "upper"}
_ENDS: Final = {"low": "bottom", "middle": "middle", "high": "top"}
_LOOKING_DOWN: Final = {"above": "the top", "below": "the bottom", "left": "the left", "right": "the right"}
_LEAST: Final = 0.005
_MOST: Final = 0.9
_ALWAYS_TOLD: Final = ("light", "reflector", "flag")


def is_worth_a_line(each: Mirrored) -> bool:
    """Lights, cards and flags are told also where they do not show; a table only where it does."""
    return each.fraction >= _LEAST or each.kind in _ALWAYS_TOLD


def share_words(fraction: float) -> str:
    """A part of the gloss.

    >>> share_words(0.236), share_words(0.0004)
    ('24\xa0%', 'less than 1\xa0%')
    """
    return "less than 1\u00a0%" if fraction < _LEAST else percent(fraction)


def mirrored_words(each: Mirrored) -> str:
    """Where a thing shows, what hides it, and from where a thing at its distance would show."""
    told = []
    if each.where is not None:
        told.append(where_in_gloss(each.where, each.fraction))
    if each.hidden >= _LEAST:
        told.append(f"{share_words(each.hidden)} more is hidden by what stands before it")
    # Nobody moves the table or the camera to be seen in a gloss.
    if each.family is not None and each.kind in _ALWAYS_TOLD:
        told.append(f"at its distance the gloss mirrors {family_words(each.family)}")
    return "; ".join(told)


def where_in_gloss(where: Where, fraction: float) -> str:
    """The part of the gloss, as the lens sees it.

    >>> where_in_gloss(Where("low", "high"), 0.1), where_in_gloss(Where("all", "high"), 0.3)
    ('in the upper left third', 'across the top')
    """
    if where.across == "all" and where.up == "all":
        return "all over it" if fraction >= _MOST else "in every part of it"
    if where.across == "all":
        return f"across the {_ENDS[where.up]}"
    if where.up == "all":
        return f"down the {_ACROSS[where.across]}"
    if where.up == "middle":
        return "in the middle" if where.across == "middle" else f"at the {_ACROSS[where.across]}, half way up"
    return f"in the {_UP[where.up]} {_ACROSS[where.across]} third"


def family_words(family: Family) -> str:
    """The family of angles.

    >>> family_words(Family(12.2, 24.7, "above", False)), family_words(Family(12.2, 24.7, "above left", True))
    ('from 12° to 25° off the lens axis, above it', 'from 12° to 25° off the lens axis, towards the top and the left of the picture')
    >>> family_words(Family(0.0, 8.4, "", False))
    'up to 8° off the lens axis'
    """
    if not family.side:
        return f"up to {family.to_deg:.0f}° off the lens axis"
    angles = f"from {family.from_deg:.0f}° to {family.to_deg:.0f}° off the lens axis"
    if family.overhead:
        sides = " and ".join(_LOOKING_DOWN[each] for each in family.side.split())
        return f"{angles}, towards {sides} of the picture"
    if family.side in ("left", "right"):
        return f"{angles}, to its {family.side}"
    height, _, side = family.side.partition(" ")
    return f"{angles}, {height} it" + (f" to the {side}" if side else "")


def gloss_title(gloss: Gloss) -> str:
    """The drawing of the gloss for those who do not see it."""
    shown = [each for each in gloss.mirrored if each.where is not None and each.fraction >= _LEAST]
    if not shown:
        return "The subject as a flat gloss: nothing of the set shows in it."
    told = "; ".join(
        f"{each.name} {where_in_gloss(each.where, each.fraction)}" for each in reversed(shown) if each.where
    )
    return f"The subject as a flat gloss shows {told}."
