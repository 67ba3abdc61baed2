"""Loads what a frame's picture says and makes it ready to be drawn: for the frame's page, and for pages that are told."""

from __future__ import annotations

from webapp.kit import units
from webapp.records.engine import Records
from webapp.shoots import explain, readings, set_up_now
from webapp.shoots.frames import LoggedFrame
from webapp.web.pages.easel_view import Easel, easel
from webapp.web.pages.evidence_view import EvidenceView, evidence_view


def evidence_of(records: Records, frame: LoggedFrame) -> tuple[EvidenceView, Easel | None]:
    """The evidence of a frame, and its picture with the patches over it."""
    shot_id, frame_id = frame.row.shot_id, frame.row.id
    patches = readings.readings_of_frame(records, frame_id)
    explained = explain.explain(records, frame_id)
    view = evidence_view(
        frame,
        patches,
        explained,
        set_up_now.state(records, shot_id).evidence,
        still_to_measure=readings.count_to_examine(records, shot_id),
        lengths=units.lengths(records),
    )
    return view, easel(frame, patches, explained.left_over)
