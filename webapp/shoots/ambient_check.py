"""The ambient check: a frame of the room alone is set up, and what it switched off comes back afterwards. A file that shows
otherwise is not taken for it."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from sqlmodel import Session as Database

from webapp.facts import Fact, fact
from webapp.ledger.file_values import hold_against
from webapp.ledger.set_up import SetUp
from webapp.optics.scales import Marked, Quantity, read_value
from webapp.pictures.metadata import PictureFacts
from webapp.records import shots as shot_records
from webapp.records.engine import Records
from webapp.records.tables import Standing
from webapp.shoots import aside
from webapp.shoots.set_up_now import StandingState, rewritten
from webapp.shoots.set_up_reasons import Reason

AMBIENT_CHECK: Final = shot_records.AMBIENT_CHECK
_SHUTTER_S: Final = 1.0
"""Long enough to see what the room adds."""


def begin_ambient_check(records: Records, shot_id: str, *, save_key: str | None = None) -> StandingState:
    """Set up a frame of the room alone: every flash off, one second, the rest as it stands. What was lit and the
    shutter are kept, and come back when the check is logged or left."""

    def rewrite(
        _db: Database, standing: Standing, set_up: SetUp, versions: dict[str, int]
    ) -> tuple[SetUp, tuple[Fact, ...]]:
        if standing.kept is not None and standing.kept.made_for == AMBIENT_CHECK:
            return set_up, standing.says
        set_up = aside.put_back(standing, set_up, versions)
        flashes = tuple(light.letter for light in set_up.lights if light.lit and light.head.kind == "flash")
        set_up = aside.put_aside(standing, set_up, versions, AMBIENT_CHECK, flashes)
        shutter = read_value(Quantity.SHUTTER, _SHUTTER_S, set_up.camera.shutter_dial)
        versions["shutter"] = versions.get("shutter", 0) + 1
        return replace(set_up, shutter=shutter), (fact(Reason.AMBIENT_CHECK_BEGUN),)

    return rewritten(records, shot_id, rewrite, save_key=save_key, asked=("ambient check",))


def not_the_check(check: SetUp, name: str, facts: PictureFacts, *, goes_on: bool) -> Fact | None:
    """What a file shows that the frame of an ambient check cannot: another shutter than was set for it, or a flash that
    fired. None where it may be that frame. How bright it is, is only known once it is measured (`ledger.ambient_proof`).
    """
    held = hold_against(check, facts)
    shutter = held.file_values["shutter"] if "shutter" in held.set_values else None
    if shutter is None and not facts.flash_fired:
        return None
    return fact(
        Reason.NOT_THE_CHECK,
        file=name,
        shutter=shutter.text if isinstance(shutter, Marked) else None,
        fired=facts.flash_fired is True,
        goes_on=goes_on,
    )
