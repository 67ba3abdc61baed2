"""Every query on the browsers that the house let in."""

from __future__ import annotations

from collections.abc import Sequence

from sqlmodel import Session as Database
from sqlmodel import col, select

from webapp.records.tables import Device


def signed_in(db: Database) -> Sequence[Device]:
    """Those that were not signed out, the newest first."""
    return db.exec(
        select(Device).where(col(Device.signed_out_at).is_(None)).order_by(col(Device.let_in_at).desc())
    ).all()
