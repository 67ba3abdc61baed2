"""A dial as a template may print it: its value between two keys, the darker one at the left, and what it was before."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from webapp.ledger import field_values, fields
from webapp.ledger.entries import Cause
from webapp.ledger.exposures import AMBIENT
from webapp.ledger.fields import DialPlace, Field
from webapp.ledger.grammars import Keypad
from webapp.ledger.set_up import Light
from webapp.quantities.reading import UNKNOWN
from webapp.shoots.set_up_now import StandingState
from webapp.web.pages.figures import MINUS, signed
from webapp.web.words.dials import (
    ambient_words,
    f_number_words,
    magnification_words,
    power_words,
    stack_frames,
    sync_words,
)
from webapp.web.words.set_up import set_key
from webapp.web.words.workings import fence_post_words


@dataclass(frozen=True, slots=True)
class Problem:
    """A field that was refused: what was typed, the sentence that says why, and the nearest that the kit can do ("" where
    that is not why)."""

    typed: str
    message: str
    nearest: str = ""


@dataclass(frozen=True, slots=True)
class FieldKey:
    """A key that sets a field to a text, as if it were typed; `action` is what it says."""

    field: str
    version: int
    value: str
    action: str


def nearest_key(state: StandingState, path: str, problem: Problem | None) -> FieldKey | None:
    """The key that sets a refused field to the nearest that the kit can do; None where it stands so."""
    if problem is None or not problem.nearest:
        return None
    if problem.nearest == field_values.text_of(state.set_up, path, state.lengths):
        return None
    return FieldKey(path, state.versions.get(path, 0), problem.nearest, set_key(path, problem.nearest))


@dataclass(frozen=True, slots=True)
class StepKey:
    """A key beside a dial: so many clicks, the sign on it, what it does to the light, and all of it in words."""

    clicks: int
    sign: str
    light: str
    words: str


@dataclass(frozen=True, slots=True)
class DialView:
    """A value with its two keys, what it was, and what it brings with it. `whole` clicks are a stop."""

    field: str
    label: str
    value: str
    version: int
    keypad: Keypad
    changed: str = ""
    quiet: str = ""
    consequence: str = ""
    problem: str = ""
    nearest: FieldKey | None = None
    left: StepKey | None = None
    right: StepKey | None = None
    whole: int = 1
    hint: str = ""


class DialMaker:
    """Makes the dials of one state. What was refused is told, and the dial shows what stands."""

    def __init__(self, state: StandingState, problems: Mapping[str, Problem] | None = None) -> None:
        self._state = state
        self._set_up = state.set_up
        self._was = state.previous.set_up if state.previous else None
        self._number = state.previous.number if state.previous else None
        self._since = state.assessment.since_previous
        self._problems = problems or {}

    def of_camera(self, where: DialPlace) -> tuple[DialView, ...]:
        """The dials of the camera's fields that stand there, in their order."""
        consequences = {
            "f_number": self._of_aperture(),
            "shutter": sync_words(self._set_up) + ambient_words(self._state.evidence.proof),
            "magnification": magnification_words(self._set_up, self._state.lengths),
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
                light=light,
                consequence=power_words(light) if field.name == "power" else "",
            )
            for field in fields.dials(fields.LIGHT, where)
        )

    def light_before(self, letter: str) -> Light | None:
        """A light in the frame before; None where it was not in it."""
        return self._was.light(letter) if self._was else None

    def _of_aperture(self) -> str:
        """Marks and gaps counted out where the aperture was moved, else what the opening brings with it."""
        entries = (entry for line in self._state.assessment.lights for entry in line.entries)
        counted = next((words for entry in entries if (words := fence_post_words(entry))), "")
        return counted or f_number_words(
            self._set_up, stack=stack_frames(self._set_up, self._state.shot.wanted_depth_mm)
        )

    def _dial(self, field: Field, path: str, *, light: Light | None = None, consequence: str = "") -> DialView:
        letter = light.letter if light else None
        problem = self._problems.get(path)
        now = field_values.shown(self._set_up, path, self._state.lengths)
        was = self._before(path, letter)
        changed = quiet = ""
        if self._number is not None:
            if was is not None and now != was:
                # Of the camera's dials the shutter alone is watched on the ambient light.
                moved = self._stops(field.cause, AMBIENT if field.cause is Cause.SHUTTER else letter)
                changed = f"was {was}" + (f" · {signed(moved)}" if moved is not None else "")
            else:
                quiet = f"as frame {self._number}"
        label = f"{field.label} of {letter}" if letter else field.label
        whole = field_values.clicks_a_stop(self._set_up, path)
        name = f"{light.name}, {label}" if light else label
        left, right = _keys(field, name, whole) if field.grammar.has_steps and now != UNKNOWN else (None, None)
        return DialView(
            field=path,
            label=label,
            value=now,
            version=self._state.versions.get(path, 0),
            keypad=field_values.keypad(self._set_up, path, self._state.lengths),
            changed=changed,
            quiet=quiet,
            consequence=consequence,
            problem=problem.message if problem else "",
            nearest=nearest_key(self._state, path, problem),
            left=left,
            right=right,
            whole=whole,
            hint=field.hint,
        )

    def _before(self, path: str, letter: str | None) -> str | None:
        """What a field was in the frame before; None where there was none, or its light was not in it."""
        if self._was is None or (letter is not None and self._was.light(letter) is None):
            return None
        return field_values.shown(self._was, path, self._state.lengths) or None

    def _stops(self, cause: Cause | None, acts_on: str | None) -> float | None:
        if cause is None or self._since is None:
            return None
        found = [entry for entry in self._since.entries if entry.cause is cause and acts_on in (None, entry.acts_on)]
        return found[0].stops if found else None


_CLICKS: Final = {2: ", half a stop", 3: ", one third", 10: ", one tenth"}


def _keys(field: Field, label: str, whole: int) -> tuple[StepKey, StepKey]:
    """The darker key at the left and the lighter one at the right; where a dial moves no light, less and more."""
    less = StepKey(-1, MINUS, _light(field, "less"), _words(field, label, "less", whole))
    more = StepKey(1, "+", _light(field, "more"), _words(field, label, "more", whole))
    return (more, less) if field.lighter == "less" else (less, more)


def _light(field: Field, which: str) -> str:
    if not field.lighter:
        return ""
    return "lighter" if field.lighter == which else "darker"


def _words(field: Field, label: str, which: str, whole: int) -> str:
    """
    >>> _words(fields.CAMERA["f_number"], "f-number", "more", 3)
    'f-number: smaller, darker, one third'
    """
    said = field.less if which == "less" else field.more
    light = _light(field, which)
    return f"{label}: {said}, {light}{_CLICKS.get(whole, '')}" if light else f"{label}: {said}"
