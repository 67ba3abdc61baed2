"""The plan as a template may print it: the drawing, a form for each thing, and what follows, figure by figure."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from markupsafe import Markup

from webapp.ledger.geometry import (
    Follows,
    ShareLine,
    WorthMeasuring,
    follows,
    named_places,
    plan_of,
    worth_measuring,
)
from webapp.ledger.placing import position_text
from webapp.ledger.proofs import PatchTotal
from webapp.ledger.set_up import SetUp
from webapp.optics import exposure
from webapp.optics.working import Step
from webapp.pages.figures import signed
from webapp.plan import drawing
from webapp.plan.lighting import Shadow
from webapp.plan.positions import KNOWN, Position, bearing_text, differences, length_text


@dataclass(frozen=True, slots=True)
class PlaceForm:
    """One light or thing with its place, as it can be typed."""

    field: str
    name: str
    words: str
    distance: str
    bearing: str
    height: str
    known: str
    aim: tuple[tuple[str, str, str], ...]
    version: int
    sizes: tuple[tuple[str, str], ...] = ()
    turned: str | None = None
    removable: bool = False
    problem: str = ""


@dataclass(frozen=True, slots=True)
class Line:
    """A figure that follows, with its working."""

    name: str
    figure: str
    words: str = ""
    steps: tuple[Step, ...] = ()


@dataclass(frozen=True, slots=True)
class Undo:
    """The way back from the last move."""

    field: str
    words: str
    value: str


@dataclass(frozen=True, slots=True)
class Mirror:
    """The two sides on which a taped triangle closes; one has to be chosen."""

    field: str
    sides: tuple[tuple[str, str], ...]
    said: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class PlanView:
    """The plan of the standing set-up, or of a frame."""

    id: str
    action: str
    card: str
    movable: bool
    drawing: Markup
    title: str
    words: tuple[str, ...]
    forms: tuple[PlaceForm, ...]
    unit: str
    known: tuple[str, ...]
    lines: tuple[Line, ...]
    map: Markup | None
    map_words: str
    cautions: tuple[str, ...]
    differences: tuple[str, ...]
    against: str
    ask: tuple[WorthMeasuring, ...]
    undo: Undo | None = None
    mirror: Mirror | None = None
    trouble: str = ""


def plan_view(
    set_up: SetUp,
    *,
    view_id: str,
    action: str,
    card: str,
    title: str,
    movable: bool,
    versions: Mapping[str, int] | None = None,
    inches: bool = False,
    measured: PatchTotal | None = None,
    shares: Mapping[str, float] | None = None,
    before: tuple[str, SetUp] | None = None,
    problem: tuple[str, str, Mapping[str, Any]] | None = None,
    undo: Undo | None = None,
    mirror: Mirror | None = None,
) -> PlanView:
    """`before` is another plan to lay under this one, with its name; `problem` a field that could not be kept: its
    path, the sentence and what was typed."""
    found = follows(set_up, shares, measured.name if measured else "")
    plan = plan_of(set_up)
    earlier = plan_of(before[1]) if before else None
    light_map = found.evenness
    return PlanView(
        id=view_id,
        action=action,
        # Without a placed light there is nothing to cast, and a black card would look like a dark set.
        card=card if any(light.lit and light.position is not None for light in set_up.lights) else "",
        movable=movable,
        drawing=Markup(drawing.draw(plan, title, before=earlier, inches=inches, movable=movable)),
        title=title,
        words=tuple(drawing.light_words(light, inches) for light in plan.lights),
        forms=_forms(set_up, versions or {}, inches, problem) if movable else (),
        unit="in" if inches else "cm",
        known=KNOWN,
        lines=_lines(found, inches),
        map=Markup(drawing.draw_map(light_map, "Light over the subject, in stops against its middle"))
        if light_map
        else None,
        map_words="" if light_map is None else f"Even within {light_map.range_stops:.2f} stop over the subject.",
        cautions=_cautions(plan.camera_is_assumed, plan.thing("subject") is None, found),
        differences=differences(named_places(before[1]), named_places(set_up), inches) if before else (),
        against=before[0] if before else "",
        ask=worth_measuring(set_up) if movable else (),
        undo=undo,
        mirror=mirror,
        trouble=problem[1] if problem else "",
    )


def _forms(
    set_up: SetUp,
    versions: Mapping[str, int],
    inches: bool,
    problem: tuple[str, str, Mapping[str, Any]] | None,
) -> tuple[PlaceForm, ...]:
    made = [
        _form(f"lights.{light.letter}", light.name, light.position, versions, inches, problem, light.distance_mm)
        for light in set_up.lights
    ]
    for thing in set_up.things:
        sizes = [("width", thing.width_mm), ("height", thing.height_mm)]
        if thing.kind in ("subject", "table"):
            sizes.append(("depth", thing.depth_mm))
        made.append(
            _form(
                f"things.{thing.id}",
                thing.name,
                thing.position,
                versions,
                inches,
                problem,
                thing.position.at.distance_mm,
                sizes=tuple((name, length_text(size, inches)) for name, size in sizes),
                turned=bearing_text(thing.turned_deg) if thing.kind == "subject" else None,
                removable=True,
            )
        )
    return tuple(made)


def _form(
    field: str,
    name: str,
    position: Position | None,
    versions: Mapping[str, int],
    inches: bool,
    problem: tuple[str, str, Mapping[str, Any]] | None,
    distance_mm: float | None,
    *,
    sizes: tuple[tuple[str, str], ...] = (),
    turned: str | None = None,
    removable: bool = False,
) -> PlaceForm:
    typed = problem[2] if problem and problem[0] == field else {}
    at, aim = (position.at, position.aim) if position else (None, None)
    aims = (("aim_x", "right"), ("aim_y", "away from the camera"), ("aim_z", "up"))
    lengths = (aim.x_mm, aim.y_mm, aim.z_mm) if aim else (0.0, 0.0, 0.0)
    return PlaceForm(
        field=field,
        name=name,
        words=position_text(position),
        distance=str(typed.get("distance") or ("" if distance_mm is None else length_text(distance_mm, inches))),
        bearing=str(typed.get("bearing") or (bearing_text(at.bearing_deg) if at else "")),
        height=str(typed.get("height") or (length_text(at.z_mm, inches) if at else "")),
        known=str(typed.get("known") or (position.known if position else "estimated")),
        aim=tuple(
            (each, words, str(typed.get(each) or length_text(length, inches)))
            for (each, words), length in zip(aims, lengths, strict=True)
        ),
        version=versions.get(f"{field}.position", 0),
        sizes=tuple((each, str(typed.get(f"size_{each}") or size)) for each, size in sizes),
        turned=turned,
        removable=removable,
        problem=problem[1] if problem and problem[0] == field else "",
    )


def _lines(found: Follows, inches: bool) -> tuple[Line, ...]:
    lines = [_share(each) for each in found.shares]
    if found.ratio is not None:
        stops = found.ratio.stops
        told = f"key : fill {exposure.key_to_fill(stops):.1f} : 1"
        if exposure.key_to_fill(stops) > 0:
            told += f", (key + fill) : fill {exposure.sum_to_fill(stops):.1f} : 1"
        lines.append(
            Line(
                f"key {found.ratio.key} less fill {found.ratio.fill}",
                f"{signed(stops)} stops",
                told,
                (found.ratio.step,),
            )
        )
    if found.background is not None:
        stops, step = found.background
        lines.append(
            Line("background against the subject", f"{signed(stops)} stops", "in the light on them", (step,))
        )
    for soft in found.softness:
        figure = f"{soft.across_deg:.0f}°"
        if abs(soft.across_deg - soft.up_deg) >= 0.5:
            figure += f" × {soft.up_deg:.0f}°"
        lines.append(Line(f"{soft.letter} looks", figure, "from the subject: the larger, the softer", (soft.step,)))
    lines.extend(_shadow(each, inches) for each in found.shadows)
    for mirror in found.mirrored:
        where = ""
        if mirror.from_deg is not None and mirror.to_deg is not None:
            where = f"at its distance a flat subject mirrors {_bearings(mirror.from_deg, mirror.to_deg)}"
        figure = "does not show" if mirror.fraction == 0.0 else f"on {mirror.fraction:.0%} of it"
        lines.append(Line(f"{mirror.name} in a flat gloss", figure, where))
    if found.card is not None:
        width, height, step = found.card
        lines.append(
            Line(
                "card that fills the view behind",
                f"{length_text(width, inches)} × {length_text(height, inches)}",
                "at the background's place, with 1 cm on every side",
                (step,),
            )
        )
    for letter, distance_mm, step in found.rings:
        lines.append(Line(f"{letter} fills in its middle", f"from {length_text(distance_mm, inches)}", "", (step,)))
    return tuple(lines)


def _bearings(low: float, high: float) -> str:
    return f"{bearing_text(low)} to {bearing_text(high)}"


def _share(line: ShareLine) -> Line:
    name = f"share of {line.letter}"
    if line.modelled is None:
        return Line(name, "unknown", line.why, line.steps)
    words = line.why
    if line.measured is not None:
        words = f"measured {line.measured:.0%} at {line.measured_at}"
        if line.off_stops is not None:
            words += f", modelled {signed(line.off_stops)} stops against it"
    return Line(name, f"{line.modelled:.0%}", words or "modelled from its meter reading", line.steps)


def _shadow(each: Shadow, inches: bool) -> Line:
    hard = "hard" if each.penumbra_mm < 1.0 else f"{length_text(each.penumbra_mm, inches)} soft"
    words = ""
    if each.halo_mm is not None:
        words = f"a halo, {length_text(each.halo_mm[1], inches)} around the outline"
    elif each.shift_mm is not None:
        words = f"falls {length_text(each.shift_mm, inches)} beside the subject as the lens sees it"
    return Line(f"shadow of {each.letter} on the {each.on}", hard, words, each.steps)


def _cautions(camera_assumed: bool, subject_assumed: bool, found: Follows) -> tuple[str, ...]:
    told = [each.text for each in found.cautions]
    if camera_assumed:
        told.append("The camera's place is assumed: 1 m in front, level with the subject.")
    if subject_assumed:
        told.append("The subject's size is assumed: 10 × 10 cm, flat, square to the lens.")
    return tuple(told)
