"""The desk as a template may print it: the standing set-up with its dials, its balance and the log key. Every label,
figure and flag is decided here; templates print, they do not think."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from webapp.kit.inventory import Choices
from webapp.ledger import fields
from webapp.ledger.assessment import Assessment
from webapp.ledger.cautions import cautions
from webapp.ledger.entries import Cause
from webapp.ledger.exposures import ALL_LIGHTS, AMBIENT, counted
from webapp.ledger.fields import DialPlace, Field
from webapp.ledger.set_up import FilterFigures, Light, SetUp
from webapp.quantities.lengths import Lengths
from webapp.quantities.reading import UNKNOWN
from webapp.records.tables import Shot
from webapp.shoots.log_frame import PURPOSES
from webapp.shoots.set_up_now import StandingState
from webapp.web.pages.balance_view import BalanceView, balance_view, with_evidence
from webapp.web.pages.evidence_view import AmbientLine, ambient_line
from webapp.web.pages.figures import plural, signed, tone
from webapp.web.pages.form_view import Choice
from webapp.web.words.balance import against_words
from webapp.web.words.cautions import NO_CLEARANCE
from webapp.web.words.corrections import action_of
from webapp.web.words.dials import ambient_words, f_number_words, magnification_words, power_words, stack_words
from webapp.web.words.say import say
from webapp.web.words.set_up import says_words


@dataclass(frozen=True, slots=True)
class Problem:
    """A field that could not be kept: what was typed, and the sentence that goes under it."""

    typed: str
    message: str


@dataclass(frozen=True, slots=True)
class DialView:
    """A value with its two steppers, what it was, and what it brings with it."""

    field: str
    label: str
    value: str
    version: int
    changed: str = ""
    quiet: str = ""
    consequence: str = ""
    problem: str = ""
    steps: bool = True
    less: str = "less"
    more: str = "more"
    hint: str = ""


@dataclass(frozen=True, slots=True)
class FittedFilter:
    id: str
    name: str
    loss: str


@dataclass(frozen=True, slots=True)
class LightView:
    """One light of the standing set-up."""

    letter: str
    name: str
    lit: bool
    head_name: str
    facts: str
    figure: str
    tone: str
    against: str
    power: DialView
    further: tuple[DialView, ...]
    lit_version: int
    lit_changed: str
    modelling_lamp: bool
    modelling_version: int
    modelling_changed: str
    modifiers: tuple[Choice, ...]
    modifier_version: int
    heads: tuple[Choice, ...]
    head_version: int
    filters: tuple[FittedFilter, ...]
    filters_version: int


@dataclass(frozen=True, slots=True)
class DeskView:
    """The standing set-up, its balance, and the log key: everything that a tap may change. `as_of` is the last change
    that is in it."""

    shot_id: str
    as_of: int
    next_number: int
    dials: tuple[DialView, ...]
    more_dials: tuple[DialView, ...]
    more_summary: str
    more_changed: bool
    cameras: tuple[Choice, ...]
    camera_version: int
    lenses: tuple[Choice, ...]
    lens_version: int
    lens_filters: tuple[FittedFilter, ...]
    lens_filters_version: int
    filters_for_lens: tuple[Choice, ...]
    filters_for_light: tuple[Choice, ...]
    lights: tuple[LightView, ...]
    heads: tuple[Choice, ...]
    balance: BalanceView
    checking_ambient: bool
    says: str
    purposes: tuple[Choice, ...]
    because: str
    save_key: str
    watches: bool
    on_set: bool
    cautions: tuple[str, ...]
    caution_words: str
    summary_figure: str
    summary_tone: str
    summary_action: str
    ambient: AmbientLine
    closed: str = ""
    trouble: str = ""


@dataclass(frozen=True, slots=True)
class ShotHeader:
    """The head of a shot's page."""

    id: str
    title: str
    session_id: str
    session_name: str
    number: int
    against: str
    on_set: bool
    closed: bool


def _against(assessment: Assessment) -> str:
    if assessment.reference_number is not None:
        return f"against frame {assessment.reference_number}"
    return f"against {against_words(assessment.stand_in)}" if assessment.stand_in else "no reference frame yet"


def shot_header(state: StandingState, session_name: str) -> ShotHeader:
    return ShotHeader(
        id=state.shot.id,
        title=state.shot.title,
        session_id=state.shot.session_id,
        session_name=session_name,
        number=state.shot.number,
        against=_against(state.assessment),
        on_set=state.shot.on_set,
        closed=state.shot.closed_at is not None,
    )


def desk_view(
    state: StandingState,
    choices: Choices,
    *,
    save_key: str,
    watches: bool,
    problems: Mapping[str, Problem] | None = None,
    trouble: str = "",
) -> DeskView:
    """The desk as it stands; `problems` are by field path, and keep what was typed."""
    set_up, versions = state.set_up, state.versions
    said = problems or {}
    maker = _DialMaker(state, said)
    lights = tuple(_light_view(light, state, maker, choices) for light in set_up.lights)
    balance = with_evidence(balance_view(state.assessment, set_up, state.lengths, standing=True), state.evidence)
    figure, figure_tone, action = _summary(state.assessment, state.lengths)
    more = maker.of_camera("further")
    filters_changed = maker.changed_filters_on_lens()
    return DeskView(
        shot_id=state.shot.id,
        as_of=state.as_of,
        next_number=state.next_number,
        dials=maker.of_camera("large"),
        more_dials=more,
        more_summary=_more_summary(set_up, state.lengths),
        more_changed=any(dial.changed or dial.problem for dial in more) or filters_changed,
        cameras=_choices(choices.cameras, set_up.camera.id, set_up.camera.name),
        camera_version=versions.get("camera", 0),
        lenses=_choices(choices.lenses, set_up.lens.id, set_up.lens.name),
        lens_version=versions.get("lens", 0),
        lens_filters=_fitted(set_up.lens_filters),
        lens_filters_version=versions.get("lens_filters", 0),
        filters_for_lens=_choices(choices.lens_filters),
        filters_for_light=_choices(choices.light_filters),
        lights=lights,
        heads=_choices(choices.heads),
        balance=balance,
        checking_ambient=state.checking_ambient,
        says=says_words(state.says, state.lengths),
        purposes=tuple(Choice(each, each, each == state.purpose) for each in PURPOSES),
        because=state.because,
        save_key=save_key,
        watches=watches,
        on_set=state.shot.on_set,
        cautions=tuple(say(each) for each in cautions(set_up)),
        caution_words=NO_CLEARANCE,
        summary_figure=figure,
        summary_tone=figure_tone,
        summary_action=action,
        ambient=ambient_line(state.evidence.proof),
        closed=closed_words(state.shot),
        trouble=trouble or _first_stray(said, maker.seen),
    )


def closed_words(shot: Shot) -> str:
    """Since when a shot is closed; empty for an open one."""
    if shot.closed_at is None:
        return ""
    return f"Closed on {shot.closed_at:%d %B %Y, %H:%M} UTC: the set is struck, and the folder's files go elsewhere."


def _first_stray(said: Mapping[str, Problem], shown: set[str]) -> str:
    """A problem whose field has no place of its own on the desk is said above it."""
    return next((problem.message for name, problem in said.items() if name not in shown), "")


class _DialMaker:
    """Makes the dials of one state: what each reads, what it was in the frame before, what it brings with it."""

    def __init__(self, state: StandingState, problems: Mapping[str, Problem]) -> None:
        self._state = state
        self._set_up = state.set_up
        self._was = state.previous.set_up if state.previous else None
        self._number = state.previous.number if state.previous else None
        self._since = state.assessment.since_previous
        self._problems = problems
        self.lengths = state.lengths
        self.seen: set[str] = set()

    def of_camera(self, where: DialPlace) -> tuple[DialView, ...]:
        """The dials of the camera's fields that stand there, in their order."""
        consequences = {
            "f_number": self._of_aperture(),
            "shutter": self._of_shutter(),
            "magnification": magnification_words(self._set_up, self.lengths),
        }
        return tuple(
            self._dial(field, field.name, consequence=consequences.get(field.name, ""))
            for field in fields.dials(fields.CAMERA, where)
        )

    def of_light(self, light: Light, where: DialPlace) -> tuple[DialView, ...]:
        """The same of a light."""
        return tuple(
            self._dial(
                field,
                f"lights.{light.letter}.{field.name}",
                acts_on=light.letter,
                consequence=power_words(light) if field.name == "power" else "",
            )
            for field in fields.dials(fields.LIGHT, where)
        )

    def _of_aperture(self) -> str:
        words = (f_number_words(self._set_up), stack_words(self._set_up, self._state.shot.wanted_depth_mm))
        return ". ".join(each for each in words if each)

    def _of_shutter(self) -> str:
        sync = self._set_up.camera.sync_mark
        moves = f"sync {sync}; moves ambient only" if sync else "moves ambient only"
        return moves + ambient_words(self._state.evidence.proof)

    def changed_filters_on_lens(self) -> bool:
        return self._was is not None and self._was.lens_filters != self._set_up.lens_filters

    def light_before(self, letter: str) -> Light | None:
        return self._was.light(letter) if self._was else None

    def _dial(self, field: Field, path: str, *, acts_on: str | None = None, consequence: str = "") -> DialView:
        self.seen.add(path)
        problem = self._problems.get(path)
        now = fields.shown(self._set_up, path, self.lengths)
        was = self._before(path, acts_on)
        changed = quiet = ""
        if self._number is not None:
            if was is not None and now != was:
                # Of the camera's dials the shutter alone is watched on the ambient light.
                moved = self._stops(field.cause, AMBIENT if field.cause is Cause.SHUTTER else acts_on)
                changed = f"was {was}" + (f" · {signed(moved)} stops" if moved is not None else "")
            else:
                quiet = f"as frame {self._number}"
        return DialView(
            field=path,
            label=field.label,
            value=problem.typed if problem else now,
            version=self._state.versions.get(path, 0),
            changed=changed,
            quiet=quiet,
            consequence=consequence,
            problem=problem.message if problem else "",
            steps=field.grammar.has_steps and now != UNKNOWN,
            less=field.less,
            more=field.more,
            hint=field.hint,
        )

    def _before(self, path: str, letter: str | None) -> str | None:
        """What a field was in the frame before; None where there was none, or its light was not in it."""
        if self._was is None or (letter is not None and self._was.light(letter) is None):
            return None
        return fields.shown(self._was, path, self.lengths) or None

    def _stops(self, cause: Cause | None, acts_on: str | None) -> float | None:
        if cause is None or self._since is None:
            return None
        found = [entry for entry in self._since.entries if entry.cause is cause and acts_on in (None, entry.acts_on)]
        return found[0].stops if found else None


def _light_view(light: Light, state: StandingState, maker: _DialMaker, choices: Choices) -> LightView:
    versions, prefix = state.versions, f"lights.{light.letter}."
    was = maker.light_before(light.letter)
    line = state.assessment.of(light.letter)
    assert line is not None
    (power,) = maker.of_light(light, "large")
    lit_changed = modelling_changed = ""
    if was is not None and was.lit != light.lit:
        lit_changed = f"was {'lit' if was.lit else 'off'}"
    if was is not None and was.modelling_lamp != light.modelling_lamp:
        modelling_changed = f"was {'on' if was.modelling_lamp else 'off'}"
    return LightView(
        letter=light.letter,
        name=light.name,
        lit=light.lit,
        head_name=light.head.name,
        facts=_light_facts(light, state.lengths),
        figure=signed(line.stops) if light.lit else "–",
        tone=tone(line.stops, light.intended_stops) if light.lit else "unknown",
        against=against_words(line.against),
        power=power,
        further=maker.of_light(light, "further"),
        lit_version=versions.get(prefix + "lit", 0),
        lit_changed=lit_changed,
        modelling_lamp=light.modelling_lamp,
        modelling_version=versions.get(prefix + "modelling_lamp", 0),
        modelling_changed=modelling_changed,
        modifiers=(
            Choice("bare", "bare", light.modifier is None),
            *_choices(
                choices.modifiers,
                light.modifier.id if light.modifier else "",
                light.modifier.name if light.modifier else "",
            ),
        ),
        modifier_version=versions.get(prefix + "modifier", 0),
        heads=_choices(choices.heads, light.head.id, light.head.name),
        head_version=versions.get(prefix + "head", 0),
        filters=_fitted(light.filters),
        filters_version=versions.get(prefix + "filters", 0),
    )


def _light_facts(light: Light, lengths: Lengths) -> str:
    facts = [
        "distance unknown" if light.distance_mm is None else lengths.text(light.distance_mm),
        light.modifier.name if light.modifier else "bare",
        *counted([each.name for each in light.filters]),
    ]
    if light.modelling_lamp:
        facts.append("modelling lamp on")
    if light.intended_stops:
        facts.append(f"{signed(light.intended_stops)} meant")
    return ", ".join(facts)


def _fitted(filters: tuple[FilterFigures, ...]) -> tuple[FittedFilter, ...]:
    return tuple(
        FittedFilter(
            each.id, each.name, "loss unknown" if each.loss_stops is None else f"{each.loss_stops:.1f} stops"
        )
        for each in filters
    )


def _choices(known: tuple[tuple[str, str], ...], chosen: str = "", chosen_name: str = "") -> tuple[Choice, ...]:
    """The kit in use, and the one that stands chosen, even where it has been retired since."""
    listed = tuple(Choice(item_id, name, item_id == chosen) for item_id, name in known)
    if chosen and not any(choice.chosen for choice in listed):
        return (Choice(chosen, f"{chosen_name} (retired)", True), *listed)
    return listed


def _more_summary(set_up: SetUp, lengths: Lengths) -> str:
    filters = ", ".join(counted([each.name for each in set_up.lens_filters])) or "no filter"
    focal = (
        f" at {set_up.focal_length_mm:g} mm"
        if set_up.focal_length_mm and set_up.lens.shortest_focal_mm != set_up.lens.longest_focal_mm
        else ""
    )
    pops = plural(set_up.pops, "pop")
    distance = (
        "subject distance unknown"
        if set_up.subject_distance_mm is None
        else f"subject at {lengths.text(set_up.subject_distance_mm)}"
    )
    return f"{set_up.camera.name} · {set_up.lens.name}{focal} · {filters} · {distance} · {pops}"


def _summary(assessment: Assessment, lengths: Lengths) -> tuple[str, str, str]:
    """For the bar at the bottom of a phone: the balance that is furthest off, and what to turn."""
    lit = [line for line in assessment.lit if line.off_by is not None]
    if not lit:
        return "", "unknown", ""
    furthest = max(lit, key=lambda line: abs(line.off_by or 0.0))
    moves = (each.move for each in assessment.corrections if each.acts_on in (furthest.acts_on, ALL_LIGHTS))
    action = next((action_of(move, lengths) for move in moves), "")
    return f"{furthest.acts_on} {signed(furthest.stops)}", tone(furthest.stops, furthest.target_stops), action
