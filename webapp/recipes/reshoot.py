"""Make a recipe again: a shot whose set-up now is filled in from it, the list by which its set is rebuilt, and the
recipe's frame as what the shot is balanced against until it has a reference frame of its own."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from enum import StrEnum

from pydantic import ValidationError
from sqlmodel import Session as Database

from webapp.errors import Conflict, InvalidValue, NotFound, SeveralInvalid
from webapp.facts import Fact, fact, facts_json, read_facts
from webapp.ledger.assessment import Baselines, assess
from webapp.ledger.reshoot_target import ReshootTarget
from webapp.ledger.set_up import Light
from webapp.quantities.refused import invalid_fields
from webapp.recipes.adapt.adapting import OtherKit
from webapp.recipes.checklist import DraftedLine, drafted_checklist
from webapp.recipes.document import Recipe, read_recipe
from webapp.recipes.kit_match import ChosenKit, ChosenLight, OwnPieces, kit_in_use, own_kit, own_pieces
from webapp.recipes.reasons import Reason
from webapp.recipes.rebuilding import Rebuilt, is_as_written, lettered, rebuilt, target_of_recipe
from webapp.records import kit as kit_records
from webapp.records import recipes as recipe_records
from webapp.records import reshoots as reshoot_records
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.idempotency import answer_before, body_digest, keep_answer
from webapp.records.tables import (
    Camera,
    ChecklistLine,
    Kit,
    Lens,
    LightHead,
    Modifier,
    Patch,
    RecipeVersion,
    Reshoot,
    Session,
    Shot,
    Standing,
    now,
)
from webapp.shoots.readings import MOST_PATCHES
from webapp.shoots.sessions import SessionForm, ShotForm, put_on_set_in
from webapp.shoots.set_up_reasons import Reason as SetUpReason


class Way(StrEnum):
    """How the figures are filled in: as written, solved for the kit that was chosen, or the one of the two that fits."""

    FITTING = "fitting"
    WRITTEN = "written"
    SOLVED = "solved"


@dataclass(frozen=True, slots=True)
class Wishes:
    """What a reshoot is to be: with which kit, its figures filled in how, and in which session: "" is a new one."""

    kit: ChosenKit
    title: str
    session_name: str
    session_id: str = ""
    how: Way = Way.FITTING


@dataclass(frozen=True, slots=True)
class Prepared:
    """What a reshoot starts from: the version, what of its kit is here, and the wishes that follow from it."""

    version: RecipeVersion
    recipe: Recipe
    own: OwnPieces
    wishes: Wishes


@dataclass(frozen=True, slots=True)
class Begun:
    """A reshoot that was begun, or, with the same save key, the one that was begun before."""

    shot_id: str
    is_new: bool


@dataclass(frozen=True, slots=True)
class TickLine:
    """One line of a checklist."""

    id: str
    heading: str
    fact: Fact
    ticked_at: dt.datetime | None


@dataclass(frozen=True, slots=True)
class Checklist:
    """The checklist of a shot, with the recipe that it rebuilds. `left_open` could not be filled in."""

    shot_id: str
    session_id: str
    zone: str
    shot_title: str
    recipe_id: str
    number: int
    title: str
    lines: tuple[TickLine, ...]
    left_open: tuple[Fact, ...]

    @property
    def done(self) -> int:
        return sum(line.ticked_at is not None for line in self.lines)


def prepared(records: Records, recipe_id: str, number: int | None = None) -> Prepared:
    """What a reshoot of a version (or of the newest) would start from."""
    with records.reading() as db:
        recipe_records.recipe_of(db, recipe_id)
        version = recipe_records.version_of(db, recipe_id, number)
        recipe = lettered(read_recipe(version.document))
        frame = shot_records.frame_of(db, version.frame_id) if version.frame_id else None
        own = own_pieces(recipe, kit_in_use(db), frame.set_up if frame else None)
    kit = ChosenKit(
        camera_id=own.camera.id if own.camera else "",
        lens_id=own.lens.id if own.lens else "",
        lights=_own_lights(recipe, own, lit=True),
    )
    wishes = Wishes(kit, title=recipe.title[:160], session_name=f"Reshoot: {recipe.title}"[:160])
    return Prepared(version, recipe, own, wishes)


def _own_lights(recipe: Recipe, own: OwnPieces, *, lit: bool) -> dict[str, ChosenLight]:
    """The recipe's own lights that are here, of those that it lights or of those that are off."""
    modifiers = own.modifiers
    return {
        letter: ChosenLight(own.heads[letter].id, modifiers[letter].id if letter in modifiers else None)
        for letter in (light.letter for light in recipe.lights if light.lit == lit)
        if letter in own.heads
    }


def begin_reshoot(records: Records, start: Prepared, wishes: Wishes, *, save_key: str | None = None) -> Begun:
    """Begin a reshoot and put it on the set.

    The same `save_key` with the same wishes gives the reshoot that it gave before; with others it raises KeyReused.
    Raises SeveralInvalid with every field that cannot be kept.
    """
    body = body_digest("reshoot", start.version.id, asdict(wishes))
    with records.reading() as db:
        if (answered := answer_before(db, save_key, body)) is not None:
            return Begun(answered, False)
    if problems := refused(records, start, wishes.kit):
        raise SeveralInvalid(problems)
    pieces = _pieces(records, start, wishes.kit)
    as_written = is_as_written(start.recipe, pieces, start.own)
    solve = wishes.how is Way.SOLVED or (wishes.how is Way.FITTING and not as_written)
    plan = _planned(start, pieces, solve=solve)
    form = _shot_form(start.recipe, wishes.title)
    with records.writing() as db:
        if (answered := answer_before(db, save_key, body)) is not None:
            return Begun(answered, False)
        shot = _keep_shot(db, _session_in(db, wishes.session_id, wishes.session_name), form, plan.found)
        _keep_reshoot(db, shot, start, plan)
        keep_answer(db, save_key, body, shot.id)
        put_on_set_in(db, shot)
        return Begun(shot.id, True)


@dataclass(frozen=True, slots=True)
class _Planned:
    """Everything that a reshoot begins with."""

    found: Rebuilt
    target: ReshootTarget
    lines: tuple[DraftedLine, ...]


def _planned(start: Prepared, pieces: OtherKit, *, solve: bool) -> _Planned:
    """Work it out and try it. A recipe from elsewhere may hold figures that no light has: they are met here, and not
    on the desk. Raises Conflict."""
    try:
        found = rebuilt(start.recipe, pieces, start.own, solve=solve, recipe_id=start.version.recipe_id)
        target = target_of_recipe(start.recipe, start.own, pieces)
        assess(found.set_up, Baselines(target=target))
        return _Planned(found, target, drafted_checklist(start.recipe, found.set_up, target))
    except ValueError as problem:
        raise Conflict(f"This recipe cannot be rebuilt: {problem}") from problem


def refused(records: Records, start: Prepared, kit: ChosenKit) -> list[InvalidValue]:
    """What cannot be of a chosen kit: the camera or the lens that was not chosen, and what is not there (any more)."""
    asked = (("camera", kit.camera_id, start.recipe.camera), ("lens", kit.lens_id, start.recipe.lens))
    problems = [_not_chosen(name, part.name if part else None) for name, item_id, part in asked if not item_id]
    with records.reading() as db:
        problems.extend(_not_in_kit(db, kit))
    return problems


def _not_chosen(name: str, was: str | None) -> InvalidValue:
    if was is None:
        return InvalidValue(name, f"The recipe names no {name}: choose a {name}.")
    return InvalidValue(name, f"The recipe's {was} is not in this studio: choose a {name}.")


def _not_in_kit(db: Database, kit: ChosenKit) -> Iterator[InvalidValue]:
    pieces: list[tuple[tuple[str, ...], type[Kit], str | None]] = [
        (("camera",), Camera, kit.camera_id),
        (("lens",), Lens, kit.lens_id),
    ]
    for letter, light in kit.lights.items():
        pieces += [
            (("lights", letter, "head"), LightHead, light.head_id),
            (("lights", letter, "modifier"), Modifier, light.modifier_id),
        ]
    for where, table, item_id in pieces:
        try:
            if item_id:
                kit_records.item_of(db, table, item_id)
        except NotFound as missing:
            yield InvalidValue(where, str(missing))


def _pieces(records: Records, start: Prepared, chosen: ChosenKit) -> OtherKit:
    """The kit that was chosen, and the recipe's own for the lights that are off. A head of the recipe's own counts as
    that whatever it is called now."""
    lights = {**chosen.lights, **_own_lights(start.recipe, start.own, lit=False)}
    pieces = own_kit(records, start.recipe, replace(chosen, lights=lights))
    own = frozenset(letter for letter, light in pieces.lights.items() if _is_own(start.own, light))
    return replace(pieces, own=own)


def _is_own(own: OwnPieces, light: Light) -> bool:
    head, modifier = own.heads.get(light.letter), own.modifiers.get(light.letter)
    same_face = (light.modifier.id if light.modifier else None) == (modifier.id if modifier else None)
    return head is not None and head.id == light.head.id and same_face


def _shot_form(recipe: Recipe, title: str) -> ShotForm:
    said = {
        "title": title,
        "subject": recipe.subject[:400],
        "subject_types": _listed(recipe.subject_types, 200),
        "surface": _listed(recipe.surfaces, 120),
        "look": _listed(recipe.looks, 200),
        "wanted_depth_mm": recipe.settings.wanted_depth_mm,
    }
    try:
        return ShotForm.model_validate(said)
    except ValidationError as error:
        raise invalid_fields(error) from error


def _session_in(db: Database, session_id: str, name: str) -> Session:
    """The session that was chosen, or a new one of this name in the time zone of the newest."""
    if session_id:
        try:
            return shot_records.session_of(db, session_id)
        except NotFound as missing:
            raise InvalidValue("session", str(missing)) from missing
    try:
        zones = [session.zone for session in shot_records.sessions(db, 1)]
        form = SessionForm.model_validate({"name": name, "zone": (zones or ["UTC"])[0]})
    except ValidationError as error:
        raise InvalidValue("session_name", str(invalid_fields(error))) from error
    session = Session(**form.model_dump())
    db.add(session)
    db.flush()
    return session


def _listed(terms: tuple[str, ...], most: int) -> str:
    """As many of the terms as a field takes, whole."""
    text = ""
    for term in terms:
        longer = f"{text}; {term}" if text else term
        if len(longer) > most:
            break
        text = longer
    return text


def _keep_shot(db: Database, session: Session, form: ShotForm, found: Rebuilt) -> Shot:
    before = shot_records.last_shot_in(db, session.id)
    shot = Shot(session_id=session.id, number=(before.number if before else 0) + 1, **form.model_dump())
    db.add(shot)
    db.flush()
    db.add(Standing(shot_id=shot.id, set_up=found.set_up, says=(fact(SetUpReason.FILLED_IN_FROM_RECIPE),)))
    return shot


def _keep_reshoot(db: Database, shot: Shot, start: Prepared, plan: _Planned) -> None:
    patches = start.recipe.patches[:MOST_PATCHES]
    left_open = [*plan.found.left_open]
    if len(patches) < len(start.recipe.patches):
        left_open.append(fact(Reason.PATCHES_LEFT_OUT, most=MOST_PATCHES))
    for place, part in enumerate(patches, 1):
        said = part.model_dump(
            include={"name", "x", "y", "width", "height", "wanted_stops", "bearing_deg", "elevation_deg"}
        )
        db.add(Patch(shot_id=shot.id, place=place, **said))
    db.add(
        Reshoot(
            shot_id=shot.id,
            version_id=start.version.id,
            target=plan.target,
            left_open=facts_json(left_open),
        )
    )
    db.flush()
    db.add_all(
        ChecklistLine(shot_id=shot.id, place=place, heading=line.heading, words=facts_json([line.fact]))
        for place, line in enumerate(plan.lines, 1)
    )


def checklist(records: Records, shot_id: str) -> Checklist | None:
    """The checklist of a shot; None where it is no reshoot."""
    with records.reading() as db:
        return _checklist(db, shot_records.shot_of(db, shot_id))


def tick(records: Records, shot_id: str, line_id: str, *, ticked: bool = True) -> Checklist:
    """Tick a line, or take the tick off. A line that is ticked already keeps its time."""
    with records.writing() as db:
        shot = shot_records.shot_of(db, shot_id)
        line = reshoot_records.checklist_line(db, shot_id, line_id)
        if ticked != (line.ticked_at is not None):
            line.ticked_at = now() if ticked else None
            db.add(line)
            db.flush()
        found = _checklist(db, shot)
    assert found is not None
    return found


def _checklist(db: Database, shot: Shot) -> Checklist | None:
    found = reshoot_records.version_reshot(db, shot.id)
    if found is None:
        return None
    reshoot, version = found
    return Checklist(
        shot_id=shot.id,
        session_id=shot.session_id,
        zone=shot_records.session_of(db, shot.session_id).zone,
        shot_title=shot.title,
        recipe_id=version.recipe_id,
        number=version.number,
        title=read_recipe(version.document).title,
        lines=tuple(
            TickLine(row.id, row.heading, read_facts(row.words)[0], row.ticked_at)
            for row in reshoot_records.checklist_of(db, shot.id)
        ),
        left_open=read_facts(reshoot.left_open),
    )
