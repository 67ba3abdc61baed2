"""A frame that is made to be read and not for its picture: what it changes is put aside, and comes back once it is logged
or left. An ambient check is one (`ambient_check`); a frame lit by one light alone and one with a rule in it are others."""

from __future__ import annotations

from dataclasses import replace

from sqlmodel import Session as Database

from webapp.errors import InvalidValue
from webapp.facts import Fact, fact
from webapp.ledger.set_up import SetUp
from webapp.records.engine import Records
from webapp.records.shots import AMBIENT_CHECK, ONE_LIGHT_ALONE, RULE_IN_FRAME
from webapp.records.tables import PutAside, Standing
from webapp.shoots.set_up_now import StandingState, rewritten
from webapp.shoots.set_up_reasons import Reason


def set_up_one_light(records: Records, shot_id: str, letter: str, *, save_key: str | None = None) -> StandingState:
    """Set up a frame that one light alone lights, the rest as it stands. Raises InvalidValue for a light that is not
    lit."""

    def rewrite(
        _db: Database, standing: Standing, set_up: SetUp, versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        set_up = put_back(standing, set_up, versions)
        alone = set_up.light(letter)
        if alone is None or not alone.lit:
            raise InvalidValue("light", f"{letter[:10] or 'No light'} is not lit in this set-up: switch it on first.")
        others = tuple(light.letter for light in set_up.lights if light.lit and light.letter != letter)
        set_up = put_aside(standing, set_up, versions, ONE_LIGHT_ALONE, others)
        return set_up, (fact(Reason.ONE_LIGHT_SET_UP, letter),)

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=(ONE_LIGHT_ALONE, letter))


def set_up_rule(records: Records, shot_id: str, *, save_key: str | None = None) -> StandingState:
    """Have the next frame be one with a rule beside the subject; all stays as it stands."""

    def rewrite(
        _db: Database, standing: Standing, set_up: SetUp, versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        set_up = put_back(standing, set_up, versions)
        return put_aside(standing, set_up, versions, RULE_IN_FRAME, ()), (fact(Reason.RULE_SET_UP),)

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=(RULE_IN_FRAME,))


def leave(records: Records, shot_id: str, *, save_key: str | None = None) -> StandingState:
    """Leave such a frame without logging it."""

    def rewrite(
        _db: Database, standing: Standing, set_up: SetUp, versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        was_check = standing.kept is not None and standing.kept.made_for == AMBIENT_CHECK
        told = Reason.AMBIENT_CHECK_ENDED if was_check else Reason.LIGHTS_PUT_BACK
        return put_back(standing, set_up, versions), (fact(told),)

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=("put back",))


def put_aside(
    standing: Standing, set_up: SetUp, versions: dict[str, int], made_for: str, switched_off: tuple[str, ...]
) -> SetUp:
    """A set-up with lights switched off for a frame; what comes back is kept."""
    standing.kept = PutAside(shutter=set_up.shutter, lit=switched_off, purpose=standing.purpose, made_for=made_for)
    standing.purpose = made_for
    return _switched(set_up, switched_off, versions, lit=False)


def put_back(standing: Standing, set_up: SetUp, versions: dict[str, int]) -> SetUp:
    """Put back what was put aside; where nothing was, the set-up as it is."""
    kept = standing.kept
    if kept is None:
        return set_up
    standing.kept = None
    standing.purpose = kept.purpose
    if kept.with_shutter:
        versions["shutter"] = versions.get("shutter", 0) + 1
    return with_put_back(kept, _switched(set_up, kept.lit, versions, lit=True))


def with_put_back(kept: PutAside, set_up: SetUp) -> SetUp:
    """A set-up with what was put aside."""
    set_up = _switched(set_up, kept.lit, {}, lit=True)
    return replace(set_up, shutter=kept.shutter) if kept.with_shutter else set_up


def _switched(set_up: SetUp, letters: tuple[str, ...], versions: dict[str, int], *, lit: bool) -> SetUp:
    for letter in letters:
        light = set_up.light(letter)
        if light is not None:
            set_up = set_up.with_light(replace(light, lit=lit))
            field = f"lights.{letter}.lit"
            versions[field] = versions.get(field, 0) + 1
    return set_up
