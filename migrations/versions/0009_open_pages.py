"""open pages, and whether a link tells kit by the names it has in the house

Why: a class follows the frames of one session at an address of its own while they are logged. And the name that a
piece of kit has in the house may hold a serial number, so that a link tells kit by its figures unless it is ticked.

Stored data: links that were handed out before tell kit by its figures from now on.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0009"
down_revision = "0008"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_TIME = sqlmodel.sql.sqltypes.UTCDateTime


def upgrade() -> None:
    op.add_column("links", sa.Column("kit_names", sa.Boolean(), nullable=False, server_default=sa.false()))
    op.create_table(
        "open_pages",
        sa.Column("token", _TEXT(), nullable=False),
        sa.Column("session_id", _TEXT(), sa.ForeignKey("sessions.id"), nullable=False),
        sa.Column("title", _TEXT(), nullable=False),
        sa.Column("because", sa.Boolean(), nullable=False),
        sa.Column("kit_names", sa.Boolean(), nullable=False),
        sa.Column("expires_at", _TIME(), nullable=True),
        sa.Column("withdrawn_at", _TIME(), nullable=True),
        sa.Column("views", sa.Integer(), nullable=False),
        sa.Column("made_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("token"),
    )
    op.create_index("ix_open_pages_session_id", "open_pages", ["session_id"])


def downgrade() -> None:
    op.drop_table("open_pages")
    op.drop_column("links", "kit_names")
