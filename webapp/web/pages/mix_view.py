"""The sum of lights as a template may print it: every label, figure and mark is decided here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.ledger.mix_settings import DialMark, marks_to_dial
from webapp.ledger.ratio import CONVENTIONS
from webapp.ledger.remix import MOST_STOPS, Mixed, Part, PatchOfMixture, Weights
from webapp.optics.working import Step
from webapp.shoots.mixes import KEPT_FOR, KeptMixture, Mixing
from webapp.web.pages.figures import signed, tone
from webapp.web.pages.form_view import Choice
from webapp.web.words.mix import mark_words
from webapp.web.words.say import say

WEIGHT: Final = "weight-"
"""Before a light's letter: the name of its field."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What the ratio is told between, and where."""

    key: str
    fill: str
    at: str

    @classmethod
    def of(cls, found: Mixing, said: Mapping[str, str]) -> Wanted:
        """As chosen; else by the roles of the lights, and at the first patch."""
        letters = found.found.letters
        roles = {part.alone.light.role: part.letter for part in reversed(found.found.parts)}
        key = (
            said.get("key", "") if said.get("key", "") in letters else roles.get("key", letters[0] if letters else "")
        )
        others = [letter for letter in letters if letter != key]
        fill = said.get("fill", "") if said.get("fill", "") in others else roles.get("fill", "")
        if fill not in others:
            fill = others[0] if others else ""
        return cls(key, fill, said.get("at", ""))


@dataclass(frozen=True, slots=True)
class WeightView:
    """A light of the mixture with its weight. `colour` is that of its gel, empty where no gels differ."""

    letter: str
    name: str
    field: str
    value: str
    number: str
    facts: str
    gel: str
    gel_tone: str
    frame_id: str
    mark: str
    mark_words: str


@dataclass(frozen=True, slots=True)
class PatchLine:
    """A patch of the mixture."""

    name: str
    total: str
    tone: str
    shares: str
    ratio: str
    note: str
    working: Step


@dataclass(frozen=True, slots=True)
class KeptView:
    id: str
    name: str
    words: str
    stands: bool


@dataclass(frozen=True, slots=True)
class MixtureView:
    shot_id: str
    title: str
    session_id: str
    session_name: str
    refused: tuple[str, ...]
    problem: str
    picture: str
    alt: str
    settings: str
    notes: tuple[str, ...]
    weights: tuple[WeightView, ...]
    most: str
    patches: tuple[PatchLine, ...]
    marks_possible: bool
    keys: tuple[Choice, ...]
    fills: tuple[Choice, ...]
    places: tuple[Choice, ...]
    ratio: str
    conventions: tuple[str, ...]
    kept: tuple[KeptView, ...]
    kept_for: tuple[str, ...]
    keep_problem: str
    mixture_id: str
    plain: bool


def mixture_view(
    found: Mixing,
    weights: Weights,
    mixed: Mixed | None,
    wanted: Wanted,
    *,
    typed: Mapping[str, str],
    problem: str,
    keep_problem: str,
    query: str,
) -> MixtureView:
    """`typed` is what stays in the fields where something was wrong with it; `query` asks for the picture."""
    sums = found.found
    marks = {each.letter: each for each in marks_to_dial(sums, weights, found.standing)} if mixed else {}
    patches = mixed.patches if mixed else ()
    at = next((each for each in patches if each.name == wanted.at), patches[0] if patches else None)
    ratio = at.ratio(wanted.key, wanted.fill) if at else None
    names = {part.letter: part.alone.light.name for part in sums.parts}
    return MixtureView(
        shot_id=found.shot.id,
        title=found.shot.title,
        session_id=found.shot.session_id,
        session_name=found.session_name,
        refused=tuple(map(say, sums.refused)),
        problem=problem,
        picture=f"/shots/{found.shot.id}/sum.jpg?{query}" if mixed else "",
        alt="the lights added up: " + ", ".join(_weight_words(names[each], weights[each]) for each in weights),
        settings=f"at the settings of frame {sums.settings_of}" if sums.parts else "",
        notes=tuple(map(say, sums.notes)),
        weights=tuple(_weight_view(part, weights, typed, marks.get(part.letter), sums.parts) for part in sums.parts),
        most=f"{MOST_STOPS:.0f}",
        patches=tuple(_patch_line(each, wanted) for each in patches),
        marks_possible=any(each.mark or each.out for each in marks.values()),
        keys=_choices(names, wanted.key),
        fills=_choices(names, wanted.fill),
        places=tuple(Choice(each.name, each.name, each is at) for each in patches),
        ratio=typed.get("ratio") or (f"{ratio.key_to_fill:.3g}:1" if ratio else ""),
        conventions=CONVENTIONS,
        kept=kept_view(found.kept, query),
        kept_for=KEPT_FOR,
        keep_problem=keep_problem,
        mixture_id=next((each.id for each in found.kept if f"mixture={each.id}" in query), ""),
        plain="plain=" in query,
    )


def kept_view(kept: Sequence[KeptMixture], query: str = "") -> tuple[KeptView, ...]:
    """The mixtures that are kept of a shot. `query` asks for the one that stands on the page."""
    return tuple(
        KeptView(
            each.id,
            each.name,
            f"for a {each.kept_for}: " + ", ".join(_weight_words(k, v) for k, v in each.weights.items()),
            f"mixture={each.id}" in query,
        )
        for each in kept
    )


def _choices(names: Mapping[str, str], chosen: str) -> tuple[Choice, ...]:
    return tuple(Choice(letter, name, letter == chosen) for letter, name in names.items())


def _weight_words(name: str, weight: float | None) -> str:
    return f"{name} off" if weight is None else f"{name} {signed(weight)}"


def _weight_view(
    part: Part, weights: Weights, typed: Mapping[str, str], mark: DialMark | None, parts: tuple[Part, ...]
) -> WeightView:
    light, weight = part.alone.light, weights[part.letter]
    field = WEIGHT + part.letter
    shifts = [sum(each.shift_mired for each in other.alone.light.filters) for other in parts]
    own = sum(each.shift_mired for each in light.filters)
    differ = max(shifts) - min(shifts) > 1.0
    return WeightView(
        letter=part.letter,
        name=light.name,
        field=field,
        value=typed.get(field, "off" if weight is None else f"{weight:.2f}".rstrip("0").rstrip(".")),
        number=f"{weight or 0.0:.2f}",
        facts=f"frame {part.alone.number} alone, {light.power_mark()}",
        gel=("white" if abs(own) < 1.0 else f"{signed(own, 0)} mired, {'warmer' if own > 0 else 'cooler'}")
        if differ
        else "",
        gel_tone="" if not differ or abs(own) < 1.0 else "warmer" if own > 0 else "cooler",
        frame_id=part.alone.frame_id,
        mark=_mark_text(mark),
        mark_words=mark_words(mark) if mark and not mark.out else "",
    )


def _mark_text(mark: DialMark | None) -> str:
    if mark is None:
        return ""
    if mark.out:
        return "off"
    if not mark.mark:
        return "unknown"
    leaves = f", leaves {signed(mark.leaves_stops, 2)}" if abs(mark.leaves_stops) >= 0.005 else ""
    moved = f" for {mark.stands}" if mark.stands and mark.stands != mark.mark else ""
    return f"{mark.mark}{moved}{leaves}"


def _patch_line(patch: PatchOfMixture, wanted: Wanted) -> PatchLine:
    total = sum(patch.levels.values())
    shares = (
        ", ".join(f"{letter} {level / total:.0%}" for letter, level in patch.levels.items() if level) if total else ""
    )
    ratio = patch.ratio(wanted.key, wanted.fill)
    notes = []
    if patch.clipped_alone:
        notes.append(f"clipped in the frame of {' and '.join(patch.clipped_alone)}: at least so much")
    if patch.blown_share > 0.01:
        notes.append(f"{patch.blown_share:.0%} of it would clip")
    return PatchLine(
        name=patch.name,
        total=("≥ " if patch.clipped_alone else "") + signed(patch.total_stops),
        tone=tone(patch.total_stops),
        shares=shares,
        ratio=(
            f"{ratio.key_to_fill:.1f}:1 as key : fill, {ratio.sum_to_fill:.1f}:1 as (key + fill) : fill, "
            f"{signed(ratio.key_minus_fill_stops)} stops"
            if ratio
            else ""
        ),
        note="; ".join(notes),
        working=patch.working,
    )
