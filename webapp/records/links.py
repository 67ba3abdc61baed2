"""What is shared with readers outside of the house: every query on live pages, and the kit that sentences may name."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sqlalchemy import update
from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.errors import NotFound
from webapp.ledger.set_up import SetUp
from webapp.records.tables import Frame, FrameRevision, Link, LivePage, now


def has_ended(handed_out: Link | LivePage) -> bool:
    """Whether an address was withdrawn, or its time is over."""
    expires_at = handed_out.expires_at
    return handed_out.withdrawn_at is not None or (expires_at is not None and expires_at <= now())


def live_page_with(db: Database, token: str) -> LivePage:
    """A live page that may be read now. One that is expired, withdrawn or never was looks the same: not found."""
    found = db.get(LivePage, token)
    if found is None or has_ended(found):
        raise NotFound("There is nothing at this address.")
    return found


def live_pages_of(db: Database, session_id: str) -> Sequence[LivePage]:
    """The live pages of a session, the newest first."""
    return db.exec(
        select(LivePage).where(LivePage.session_id == session_id).order_by(col(LivePage.made_at).desc())
    ).all()


def count_views(db: Database, views: Mapping[str, int]) -> None:
    """Add to the counts of live pages, by token."""
    for token, count in views.items():
        db.execute(update(LivePage).where(col(LivePage.token) == token).values(views=LivePage.views + count))


def set_ups_told(db: Database, shot_id: str) -> list[SetUp]:
    """Every set-up that a frame of the shot has or had: what sentences about its frames may have named."""
    had = (
        select(FrameRevision)
        .join(Frame, col(Frame.id) == col(FrameRevision.frame_id))
        .where(Frame.shot_id == shot_id)
    )
    frames = db.exec(select(Frame).where(Frame.shot_id == shot_id))
    return [*(frame.set_up for frame in frames), *(each.document.set_up for each in db.exec(had))]
