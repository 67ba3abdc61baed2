"""The in-tray: camera files of the watched folder that are no frames, why, and what is done with them."""

from __future__ import annotations

import datetime as dt
from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from webapp.services import InServices
from webapp.shoots import in_tray
from webapp.shoots.in_tray import TrayLine
from webapp.web.api.facts import FactAnswer
from webapp.web.api.requests import Body, ItemId, JsonRoute
from webapp.web.words.say import say

router = APIRouter(tags=["in-tray"], route_class=JsonRoute)


class InTrayLine(BaseModel):
    """One exposure. A raw file and the JPEG beside it are one line; `id` stands for both."""

    id: str
    files: list[str]
    state: str = Field(description="waiting or refused")
    why: list[str]
    why_facts: list[FactAnswer]
    seen_at: dt.datetime

    @classmethod
    def of(cls, line: TrayLine) -> InTrayLine:
        first = line.arrivals[0]
        return cls(
            id=line.id,
            files=[each.path for each in line.arrivals],
            state=first.state,
            why=[say(each) for each in line.why],
            why_facts=FactAnswer.all_of(line.why),
            seen_at=first.seen_at,
        )


class Filing(Body):
    """The shot that a line is filed to."""

    shot_id: Annotated[str, Field(max_length=60)]


class Filed(BaseModel):
    """The frame of each file."""

    frame_ids: list[str]


@router.get("/in-tray")
def list_in_tray(services: InServices) -> list[InTrayLine]:
    """What waits or was refused, oldest first; 500 files at most."""
    return [InTrayLine.of(each) for each in in_tray.lines(services.records)]


@router.post("/in-tray/{line_id}/file")
def file_line(services: InServices, line_id: ItemId, body: Filing) -> Filed:
    """File a line to a shot: its files become a frame with the settings that they tell, and the set-up stays as it
    is."""
    done = services.intake.file(in_tray.files_of(services.records, [line_id]), body.shot_id)
    return Filed(frame_ids=[each.frame_id for each in done])


@router.post("/in-tray/{line_id}/dismiss", status_code=204)
def dismiss_line(services: InServices, line_id: ItemId) -> None:
    """Leave a line out of the log. Its files stay in the folder."""
    in_tray.dismiss(services.records, in_tray.files_of(services.records, [line_id]))
