"""The desk as a template may print it: the standing set-up with its dials, its balance and the log key. Every label,
figure and flag is decided here; templates print, they do not think."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from webapp.kit.inventory import Choices
from webapp.ledger.assessment import Assessment
from webapp.ledger.cautions import STANDING_WORDS, cautions
from webapp.ledger.consequences import ambient_words, f_number_words, magnification_words, power_words, stack_words
from webapp.ledger.entries import Cause, magnification_text, mark_text
from webapp.ledger.exposures import ALL_LIGHTS, AMBIENT, counted
from webapp.ledger.fields import ROLES
from webapp.ledger.set_up import FilterFigures, Light, SetUp
from webapp.quantities.lengths import Lengths
from webapp.records.tables import Shot
from webapp.shoots.log_frame import PURPOSES
from webapp.shoots.set_up_now import StandingState
from webapp.web.pages.balance_view import BalanceView, balance_view, with_evidence
from webapp.web.pages.evidence_view import AmbientLine, ambient_line
from webapp.web.pages.figures import plural, signed, tone


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
class Choice:
    """One thing to choose from a list."""

    value: str
    text: str
    chosen: bool = False


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
    distance: DialView
    intended: DialView
    role: DialView
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
    return f"against {assessment.stand_in}" if assessment.stand_in else "no reference frame yet"


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
    figure, figure_tone, action = _summary(state.assessment)
    more = (maker.subject_distance(), maker.focal_length(), maker.pops())
    filters_changed = maker.changed_filters_on_lens()
    return DeskView(
        shot_id=state.shot.id,
        as_of=state.as_of,
        next_number=state.next_number,
        dials=(maker.f_number(), maker.shutter(), maker.iso(), maker.magnification()),
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
        says=state.says,
        purposes=tuple(Choice(each, each, each == state.purpose) for each in PURPOSES),
        because=state.because,
        save_key=save_key,
        watches=watches,
        on_set=state.shot.on_set,
        cautions=cautions(set_up),
        caution_words=STANDING_WORDS,
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

    def f_number(self) -> DialView:
        now, was = self._set_up.f_number, self._was.f_number if self._was else None
        return self._dial(
            "f_number",
            "f-number",
            mark_text(Cause.APERTURE, now),
            mark_text(Cause.APERTURE, was),
            Cause.APERTURE,
            consequence=". ".join(
                words
                for words in (
                    f_number_words(self._set_up),
                    stack_words(self._set_up, self._state.shot.wanted_depth_mm),
                )
                if words
            ),
            less="wider",
            more="smaller",
        )

    def shutter(self) -> DialView:
        now, was = self._set_up.shutter, self._was.shutter if self._was else None
        sync = self._set_up.camera.sync_mark
        return self._dial(
            "shutter",
            "shutter",
            mark_text(Cause.SHUTTER, now),
            mark_text(Cause.SHUTTER, was),
            Cause.SHUTTER,
            acts_on=AMBIENT,
            consequence=(f"sync {sync}; moves ambient only" if sync else "moves ambient only")
            + ambient_words(self._state.evidence.proof),
            less="shorter",
            more="longer",
        )

    def iso(self) -> DialView:
        now, was = self._set_up.iso, self._was.iso if self._was else None
        text = now.text if now else "unknown"
        return self._dial("iso", "ISO", text, was.text if was else "unknown", Cause.ISO, less="lower", more="higher")

    def magnification(self) -> DialView:
        now, was = self._set_up.magnification, self._was.magnification if self._was else None
        return self._dial(
            "magnification",
            "magnification",
            magnification_text(now),
            magnification_text(was),
            Cause.CLOSE_UP,
            consequence=magnification_words(self._set_up, self.lengths),
            less="smaller",
            more="larger",
            hint="0.5, 1:2 or distant",
        )

    def subject_distance(self) -> DialView:
        now, was = self._set_up.subject_distance_mm, self._was.subject_distance_mm if self._was else None
        return self._dial(
            "subject_distance",
            "subject distance",
            self.lengths.text(now),
            self.lengths.text(was),
            None,
            hint="from the lens",
        )

    def focal_length(self) -> DialView:
        now = self._set_up.focal_length_mm
        was = self._was.focal_length_mm if self._was else None
        texts = [f"{value:g} mm" if value is not None else "unknown" for value in (now, was)]
        return self._dial("focal_length", "focal length", texts[0], texts[1], None, steps=False)

    def pops(self) -> DialView:
        was = self._was.pops if self._was else None
        return self._dial("pops", "pops", str(self._set_up.pops), str(was), Cause.POPS, less="fewer")

    def changed_filters_on_lens(self) -> bool:
        return self._was is not None and self._was.lens_filters != self._set_up.lens_filters

    def of_light(
        self,
        light: Light,
        name: str,
        label: str,
        now: str,
        was: str,
        cause: Cause | None,
        *,
        consequence: str = "",
        steps: bool = True,
        hint: str = "",
    ) -> DialView:
        return self._dial(
            f"lights.{light.letter}.{name}",
            label,
            now,
            was,
            cause,
            acts_on=light.letter,
            consequence=consequence,
            steps=steps,
            hint=hint,
        )

    def light_before(self, letter: str) -> Light | None:
        return self._was.light(letter) if self._was else None

    def _dial(
        self,
        name: str,
        label: str,
        now: str,
        was: str,
        cause: Cause | None,
        *,
        acts_on: str | None = None,
        consequence: str = "",
        steps: bool = True,
        less: str = "less",
        more: str = "more",
        hint: str = "",
    ) -> DialView:
        self.seen.add(name)
        problem = self._problems.get(name)
        changed = quiet = ""
        if self._number is not None:
            if now != was and was not in ("", "None"):
                stops = self._stops(cause, acts_on)
                changed = f"was {was}" + (f" · {signed(stops)} stops" if stops is not None else "")
            else:
                quiet = f"as frame {self._number}"
        return DialView(
            field=name,
            label=label,
            value=problem.typed if problem else now,
            version=self._state.versions.get(name, 0),
            changed=changed,
            quiet=quiet,
            consequence=consequence,
            problem=problem.message if problem else "",
            steps=steps and now != "unknown",
            less=less,
            more=more,
            hint=hint,
        )

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
        against=line.against,
        power=maker.of_light(
            light,
            "power",
            "power",
            light.power_mark(),
            was.power_mark() if was else "",
            Cause.ENERGY,
            consequence=power_words(light),
        ),
        distance=maker.of_light(
            light,
            "distance",
            "distance",
            maker.lengths.text(light.distance_mm),
            maker.lengths.text(was.distance_mm) if was else "",
            Cause.DISTANCE,
            hint="from the face of the light to the subject",
        ),
        intended=maker.of_light(
            light,
            "intended",
            "meant shift",
            signed(light.intended_stops, 2),
            signed(was.intended_stops, 2) if was else "",
            None,
            steps=False,
            hint="stops off the reference that you mean",
        ),
        role=maker.of_light(
            light, "role", "role", light.role, was.role if was else "", None, steps=False, hint=", ".join(ROLES)
        ),
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


def _summary(assessment: Assessment) -> tuple[str, str, str]:
    """For the bar at the bottom of a phone: the balance that is furthest off, and what to turn."""
    lit = [line for line in assessment.lit if line.off_by is not None]
    if not lit:
        return "", "unknown", ""
    furthest = max(lit, key=lambda line: abs(line.off_by or 0.0))
    action = next(
        (each.action for each in assessment.corrections if each.acts_on in (furthest.acts_on, ALL_LIGHTS)), ""
    )
    return f"{furthest.acts_on} {signed(furthest.stops)}", tone(furthest.stops, furthest.target_stops), action
