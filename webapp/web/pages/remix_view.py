"""The re-mix as a template may print it: every label, figure and mark is decided here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from webapp.ledger.mix_settings import PowerSetting, ladder_of, power_settings
from webapp.ledger.ratio import CONVENTIONS
from webapp.ledger.remix import Levels, Mixed, Part, PatchOfMix
from webapp.optics.working import Step
from webapp.records.tables import SavedMix
from webapp.shoots.mixes import SAVED_FOR, Mixing
from webapp.web.drawings.drawing import Drawing
from webapp.web.pages.figures import signed, tone
from webapp.web.pages.form_view import Choice
from webapp.web.pages.level_chart import Level, level_chart
from webapp.web.words.figures import percent
from webapp.web.words.mix import mark_words
from webapp.web.words.ratios import both_ratios, key_to_fill_text
from webapp.web.words.say import say

LEVEL: Final = "level-"
"""Before a light's letter: the name of its field."""
_OFF: Final = "off"


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
class RungView:
    """A mark on the ladder of a light: `value` is what its field sends, `id` its own on the page."""

    id: str
    mark: str
    value: str
    chosen: bool


@dataclass(frozen=True, slots=True)
class LightView:
    """A light of the mix with its ladder of powers. `mark` is the one to set; `now` says where the dial stands otherwise
    and what the mark leaves; `level` how much it gives against its own frame, `number`. `darker` and `lighter` are one
    click, empty where there is none. A light whose power is unknown has no ladder, and its level is typed."""

    letter: str
    name: str
    field: str
    value: str
    level: str
    number: int
    gel: str
    gel_tone: str
    frame_id: str
    mark: str
    now: str
    note: str
    rungs: tuple[RungView, ...]
    has_ladder: bool
    darker: str
    lighter: str


@dataclass(frozen=True, slots=True)
class PatchLine:
    """A patch of the mix."""

    name: str
    total: str
    tone: str
    shares: str
    ratio: str
    note: str
    working: Step


@dataclass(frozen=True, slots=True)
class SavedMixLine:
    id: str
    name: str
    words: str
    stands: bool


@dataclass(frozen=True, slots=True)
class RemixView:
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
    lights: tuple[LightView, ...]
    chart: Drawing | None
    patches: tuple[PatchLine, ...]
    can_be_set: bool
    keys: tuple[Choice, ...]
    fills: tuple[Choice, ...]
    places: tuple[Choice, ...]
    ratio: str
    conventions: tuple[str, ...]
    typed_of: tuple[Choice, ...]
    typed_to: str
    saved: tuple[SavedMixLine, ...]
    saved_for: tuple[str, ...]
    save_problem: str
    mix_id: str
    plain: bool


def remix_view(
    found: Mixing,
    levels: Levels,
    mixed: Mixed | None,
    wanted: Wanted,
    *,
    typed: Mapping[str, str],
    problem: str,
    save_problem: str,
    query: str,
) -> RemixView:
    """`typed` is what stays in the fields where something was wrong with it; `query` asks for the picture."""
    sums = found.found
    marks = {each.letter: each for each in power_settings(sums, levels, found.standing)} if mixed else {}
    patches = mixed.patches if mixed else ()
    at = next((each for each in patches if each.name == wanted.at), patches[0] if patches else None)
    ratio = at.ratio(wanted.key, wanted.fill) if at else None
    names = {part.letter: part.alone.light.name for part in sums.parts}
    return RemixView(
        shot_id=found.shot.id,
        title=found.shot.title,
        session_id=found.shot.session_id,
        session_name=found.session_name,
        refused=tuple(map(say, sums.refused)),
        problem=problem,
        picture=f"/shots/{found.shot.id}/remix.jpg?{query}" if mixed else "",
        alt="the lights re-mixed: " + ", ".join(_level_words(names[each], levels[each]) for each in levels),
        settings=f"at the settings of frame {sums.settings_of}" if sums.parts else "",
        notes=tuple(map(say, sums.notes)),
        lights=tuple(_light_view(part, levels, found, marks.get(part.letter)) for part in sums.parts),
        chart=_chart(patches, found.wanted),
        patches=tuple(_patch_line(each, wanted) for each in patches),
        can_be_set=any(each.mark or each.out for each in marks.values()),
        keys=_choices(names, wanted.key),
        fills=_choices(names, wanted.fill),
        places=tuple(Choice(each.name, each.name, each is at) for each in patches),
        ratio=typed.get("ratio") or (key_to_fill_text(ratio.key_minus_fill_stops) if ratio else ""),
        conventions=CONVENTIONS,
        typed_of=_choices(names, typed.get("of", "")),
        typed_to=typed.get("to", ""),
        saved=saved_mixes(found.saved, query),
        saved_for=SAVED_FOR,
        save_problem=save_problem,
        mix_id=next((each.id for each in found.saved if f"mix={each.id}" in query), ""),
        plain="plain=" in query,
    )


def _chart(patches: Sequence[PatchOfMix], wanted: Mapping[str, float]) -> Drawing | None:
    """The mix on the level chart."""
    levels = [
        Level(each.name, wanted.get(each.name, 0.0), each.total_stops, is_least=bool(each.clipped_alone))
        for each in patches
    ]
    return level_chart(levels, "levels-of-the-mix", read_as="mix", unread="no light")


def saved_mixes(saved: Sequence[SavedMix], query: str = "") -> tuple[SavedMixLine, ...]:
    """The mixes that are saved of a shot. `query` asks for the one that stands on the page."""
    return tuple(
        SavedMixLine(
            each.id,
            each.name,
            f"for a {each.saved_for}: " + ", ".join(_level_words(k, v) for k, v in each.levels.items()),
            f"mix={each.id}" in query,
        )
        for each in saved
    )


def _choices(names: Mapping[str, str], chosen: str) -> tuple[Choice, ...]:
    return tuple(Choice(letter, name, letter == chosen) for letter, name in names.items())


def _level_words(name: str, level: float | None) -> str:
    return f"{name} off" if level is None else f"{name} {signed(level)}"


def _sent(level: float | None) -> str:
    """A level as its field sends it."""
    return _OFF if level is None else f"{level + 0.0:.3f}".rstrip("0").rstrip(".")


def _light_view(part: Part, levels: Levels, found: Mixing, mark: PowerSetting | None) -> LightView:
    light, level, field = part.alone.light, levels[part.letter], LEVEL + part.letter
    shifts = [sum(each.shift_mired for each in other.alone.light.filters) for other in found.found.parts]
    own = sum(each.shift_mired for each in light.filters)
    differ = max(shifts) - min(shifts) > 1.0
    ladder = ladder_of(part, level, found.standing)
    rungs = [(each.mark, _sent(each.level_stops), each.chosen) for each in ladder.rungs] if ladder else []
    if ladder is None and level is not None:
        rungs = [(signed(level), _sent(level), True)]
    return LightView(
        letter=part.letter,
        name=light.name,
        field=field,
        value=_sent(level),
        level="off; alone in" if level is None else f"{signed(level)} against" if signed(level) != "0.0" else "as in",
        number=part.alone.number,
        gel=("white" if abs(own) < 1.0 else f"{signed(own, 0)} mired, {'warmer' if own > 0 else 'cooler'}")
        if differ
        else "",
        gel_tone="" if not differ or abs(own) < 1.0 else "warmer" if own > 0 else "cooler",
        frame_id=part.alone.frame_id,
        mark=_mark_text(mark),
        now=_now_text(mark),
        note=mark_words(mark) if mark and not mark.out else "",
        rungs=tuple(
            RungView(f"{field}-{place}", words, value, chosen)
            for place, (words, value, chosen) in enumerate([*rungs, (_OFF, _OFF, level is None)])
        ),
        has_ladder=ladder is not None,
        darker="" if ladder is None or ladder.darker_stops is None else _sent(ladder.darker_stops),
        lighter="" if ladder is None or ladder.lighter_stops is None else _sent(ladder.lighter_stops),
    )


def _mark_text(mark: PowerSetting | None) -> str:
    if mark is None:
        return ""
    if mark.out:
        return _OFF
    if not mark.mark:
        return "unknown"
    return mark.mark


def _now_text(mark: PowerSetting | None) -> str:
    """Where the dial stands otherwise now, and what the nearest mark is off by."""
    if mark is None or mark.out or not mark.mark:
        return ""
    now = f"now {mark.stands}" if mark.stands and mark.stands != mark.mark else ""
    leaves = f"leaves {signed(mark.leaves_stops, 2)}" if abs(mark.leaves_stops) >= 0.005 else ""
    return ", ".join(filter(None, (now, leaves)))


def _patch_line(patch: PatchOfMix, wanted: Wanted) -> PatchLine:
    total = sum(patch.light.values())
    shares = (
        ", ".join(f"{letter} {percent(level / total)}" for letter, level in patch.light.items() if level)
        if total
        else ""
    )
    ratio = patch.ratio(wanted.key, wanted.fill)
    notes = []
    if patch.clipped_alone:
        notes.append(f"clipped in the frame of {' and '.join(patch.clipped_alone)}: at least so much")
    if patch.blown_share > 0.01:
        notes.append(f"{percent(patch.blown_share)} of it would clip")
    return PatchLine(
        name=patch.name,
        total=("≥ " if patch.clipped_alone else "") + signed(patch.total_stops),
        tone=tone(patch.total_stops),
        shares=shares,
        ratio=(
            f"{both_ratios(ratio.key_minus_fill_stops)}, {signed(ratio.key_minus_fill_stops)} stops" if ratio else ""
        ),
        note="; ".join(notes),
        working=patch.working,
    )
