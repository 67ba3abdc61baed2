"""what a session is for

Why: the brief was one text, in which use, size, crop, deadline and what the pictures have to match were looked for again
on the day. Each has its own field now.

Stored data: nothing; what the briefs say stays in them, and what nobody said stays unsaid.
"""

import sqlalchemy as sa
from alembic import op

revision = "0113"
down_revision = "0112"
branch_labels = None
depends_on = None

_TEXTS = ("used_for", "size", "crop", "must_match")


def upgrade() -> None:
    for name in _TEXTS:
        op.add_column("sessions", sa.Column(name, sa.String(), nullable=False, server_default=""))
    op.add_column("sessions", sa.Column("deadline", sa.Date(), nullable=True))


def downgrade() -> None:
    for name in ("deadline", *_TEXTS):
        op.drop_column("sessions", name)
