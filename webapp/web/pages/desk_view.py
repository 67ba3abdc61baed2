"""What stands beside the picture while shooting: the dials, the lights with their balances, one sentence with its key,
and the key that logs. Every label, figure and flag is decided here; templates print, they do not think."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final
from urllib.parse import urlencode

from webapp.ledger.assessment import Assessment, LightBalance
from webapp.ledger.exposures import AMBIENT, counted
from webapp.ledger.set_up import Light
from webapp.quantities.lengths import Lengths
from webapp.records.shots import AMBIENT_CHECK, ONE_LIGHT_ALONE, RULE_IN_FRAME
from webapp.records.tables import Shot
from webapp.shoots.log_frame import PURPOSES
from webapp.shoots.set_up_now import StandingState
from webapp.shoots.set_up_reasons import Reason
from webapp.web.pages.balance_view import CorrectionView, can_intend, even_words, taken_against, ways_of
from webapp.web.pages.dial_view import DialMaker, DialView, FieldKey, Problem, nearest_key
from webapp.web.pages.figures import signed, tone
from webapp.web.pages.form_view import Choice
from webapp.web.pages.standing_evidence_view import AmbientLine, ambient_line
from webapp.web.words.balance import against_words
from webapp.web.words.in_tray import count_words
from webapp.web.words.listing import joined
from webapp.web.words.set_up import says_words

LEAVE: Final[Mapping[str, str]] = {
    AMBIENT_CHECK: "Leave the ambient check",
    ONE_LIGHT_ALONE: "Put the lights back",
    RULE_IN_FRAME: "Leave the rule out",
}


@dataclass(frozen=True, slots=True)
class LightRow:
    """One light of the set-up: its ring, its power, its balance."""

    letter: str
    role: str
    name: str
    facts: str
    lit: bool
    lit_version: int
    lit_changed: str
    figure: str
    tone: str
    against: str
    power: DialView


@dataclass(frozen=True, slots=True)
class BalanceCell:
    """The balance of a light, or of the ambient light, as the last line has it; `target` where another is intended."""

    name: str
    words: str
    figure: str
    tone: str
    target: str


@dataclass(frozen=True, slots=True)
class DeskView:
    """The set-up now, its balance, and the log key: everything that a tap may change. `as_of` is the last change that
    is in it; `spoken` is what a screen reader is told of it."""

    shot_id: str
    as_of: int
    next_number: int
    dials: tuple[DialView, ...]
    lights: tuple[LightRow, ...]
    against: str
    balances: tuple[BalanceCell, ...]
    way: CorrectionView | None
    other_ways: bool
    sentence: str
    spoken: str
    can_intend: tuple[str, ...]
    leave: str
    purposes: tuple[Choice, ...]
    because: str
    save_key: str
    watches: bool
    on_set: bool
    in_tray: str
    ambient: AmbientLine
    ways_address: str
    closed: str = ""
    problem: str = ""
    nearest: FieldKey | None = None


@dataclass(frozen=True, slots=True)
class ShotHeader:
    """The head of a shot's page."""

    id: str
    title: str
    session_id: str
    session_name: str
    number: int
    on_set: bool
    closed: bool


def shot_header(state: StandingState, session_name: str) -> ShotHeader:
    return ShotHeader(
        id=state.shot.id,
        title=state.shot.title,
        session_id=state.shot.session_id,
        session_name=session_name,
        number=state.shot.number,
        on_set=state.shot.on_set,
        closed=state.shot.closed_at is not None,
    )


def desk_view(
    state: StandingState,
    *,
    save_key: str,
    watches: bool,
    in_tray: int = 0,
    problems: Mapping[str, Problem] | None = None,
) -> DeskView:
    """The desk as it stands, with so many files `in_tray`; `problems` are what was refused, by field path."""
    maker = DialMaker(state)
    refused, problem = next(iter((problems or {}).items()), ("", None))
    balances = tuple(_cell(line) for line in (*state.assessment.lit, *_ambient(state.assessment)))
    ways = ways_of(state.assessment, state.lengths)
    best = ways[0] if ways else None
    # What takes back the change that was just made is told, and pressed only where all ways stand.
    way = best if best and not best.turns_back else None
    sentence = _sentence(state, best)
    wish = _wish(refused, problem)
    return DeskView(
        shot_id=state.shot.id,
        as_of=state.as_of,
        next_number=state.next_number,
        dials=maker.of_camera("large"),
        lights=tuple(_light_row(light, state, maker) for light in state.set_up.lights),
        against=taken_against(state.assessment),
        balances=balances,
        way=way,
        other_ways=bool(wish) or len(ways) > (way is not None),
        sentence=sentence,
        spoken=_spoken(state.assessment, way) or sentence,
        can_intend=can_intend(state.assessment),
        leave=LEAVE.get(state.set_up_for, ""),
        purposes=tuple(Choice(each, each, each == state.purpose) for each in PURPOSES),
        because=state.because,
        save_key=save_key,
        watches=watches,
        on_set=state.shot.on_set,
        in_tray=count_words(in_tray),
        ambient=ambient_line(state.evidence.proof),
        closed=closed_words(state.shot),
        ways_address=f"/shots/{state.shot.id}/balance{wish}",
        problem=problem.message if problem else "",
        nearest=nearest_key(state, refused, problem),
    )


def _wish(refused: str, problem: Problem | None) -> str:
    """The query of the balance for the other ways to a power that was refused as beyond the dial; else empty."""
    if problem is None or not problem.nearest or not refused.endswith(".power"):
        return ""
    return "?" + urlencode({"light": refused.split(".")[1], "power": problem.typed})


def closed_words(shot: Shot) -> str:
    """Since when a shot is closed; empty for an open one."""
    if shot.closed_at is None:
        return ""
    return f"Closed on {shot.closed_at:%d %B %Y, %H:%M} UTC: the set is struck, and the folder's files go elsewhere."


def _ambient(assessment: Assessment) -> tuple[LightBalance, ...]:
    return (assessment.ambient,) if assessment.reference_number is not None else ()


def _cell(line: LightBalance) -> BalanceCell:
    is_ambient = line.acts_on == AMBIENT
    return BalanceCell(
        name=line.acts_on,
        words="ambient" if is_ambient else line.name,
        figure=signed(line.stops),
        tone="plain" if is_ambient else tone(line.stops, line.target_stops),
        target=signed(line.target_stops) if line.target_stops else "",
    )


def _light_row(light: Light, state: StandingState, maker: DialMaker) -> LightRow:
    line = state.assessment.of(light.letter)
    assert line is not None
    (power,) = maker.of_light(light, "large")
    was = maker.light_before(light.letter)
    switched = was is not None and was.lit != light.lit
    return LightRow(
        letter=light.letter,
        role=light.role,
        name=light.name,
        facts=_light_facts(light, state.lengths),
        lit=light.lit,
        lit_version=state.versions.get(f"lights.{light.letter}.lit", 0),
        lit_changed=f"was {'off' if light.lit else 'lit'}" if switched else "",
        figure=signed(line.stops) if light.lit else "off",
        tone=tone(line.stops, light.intended_stops) if light.lit else "unknown",
        against=against_words(line.against),
        power=power,
    )


def _light_facts(light: Light, lengths: Lengths) -> str:
    """What else is known of a light, in a line under its name."""
    facts = [
        "distance unknown" if light.distance_mm is None else lengths.text(light.distance_mm),
        light.modifier.name if light.modifier else "bare",
        *counted([each.name for each in light.filters]),
    ]
    if light.modelling_lamp:
        facts.append("modelling lamp on")
    if light.intended_stops:
        facts.append(f"{signed(light.intended_stops)} intended")
    return " · ".join(facts)


def _sentence(state: StandingState, way: CorrectionView | None) -> str:
    """The one sentence: how the set-up is off and what would put it right, else what was just done, else that all is on
    target."""
    if set_up := set_up_words(state):
        return set_up
    said = says_words(state.says, state.lengths)
    return " ".join(filter(None, (said, way.sentence if way else even_words(state.assessment))))


def set_up_words(state: StandingState) -> str:
    """The frame made to be read that is set up, and how it is left; empty where none is."""
    if state.checking_ambient:
        refused = [each for each in state.says if each.reason == Reason.NOT_THE_CHECK]
        return says_words(refused) or "Ambient check: the flashes are off. Log the frame, or leave the check."
    if state.set_up_for == ONE_LIGHT_ALONE:
        lit = joined([light.letter for light in state.set_up.lights if light.lit]) or "no light"
        return f"Lit by {lit} alone for one frame. Log it, or put the lights back."
    if state.set_up_for == RULE_IN_FRAME:
        return "Lay a rule beside the subject, square to the lens. Log the frame, or leave it."
    return ""


def _spoken(assessment: Assessment, way: CorrectionView | None) -> str:
    """What is off, in a few words, and the key that puts it right: "A and B 1.0 under. Set f/11."; empty where nothing
    is, or no key does."""
    off: dict[str, list[str]] = {}
    for line in assessment.lit:
        how = tone(line.stops, line.target_stops)
        if line.stops is not None and how in ("over", "under"):
            off.setdefault(f"{abs(line.stops - line.target_stops):.1f} {how}", []).append(line.acts_on)
    told = ", ".join(f"{joined(lights)} {how}" for how, lights in off.items())
    return f"{told}. {way.action}." if told and way else ""
