"""several people in one house

Why: a phone on the set, an assistant's browser and a client's are let in by name, and what an assistant did is named
beside it in the record. A client beside the photographer does not see what was rejected. Where several edit the same
record, none wipes what another wrote: every record that is edited counts its revisions, as frames do.

Stored data: nothing is changed; what was logged before was logged by the owner, whose name is empty, and every record
stands at its first revision.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0101"
down_revision = "0100"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_TIME = sqlmodel.sql.sqltypes.UTCDateTime
_NAMED = (("frames", "logged_by"), ("frame_revisions", "made_by"))
_REVISED = ("sessions", "shots", "cameras", "lenses", "lights", "modifiers", "filters", "patches", "vocabulary")


def upgrade() -> None:
    op.create_table(
        "devices",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("role", _TEXT(), nullable=False),
        sa.Column("sees_private", sa.Boolean(), nullable=False),
        sa.Column("live_page", _TEXT(), nullable=False),
        sa.Column("token_digest", _TEXT(), nullable=False),
        sa.Column("let_in_at", _TIME(), nullable=False),
        sa.Column("last_seen_at", _TIME(), nullable=False),
        sa.Column("signed_out_at", _TIME(), nullable=True),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("token_digest"),
    )
    op.create_table(
        "passphrase",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("hash", _TEXT(), nullable=False),
        sa.Column("set_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )
    for table, column in _NAMED:
        op.add_column(table, sa.Column(column, _TEXT(), server_default="", nullable=False))
    for table in _REVISED:
        op.add_column(table, sa.Column("revision", sa.Integer(), server_default="1", nullable=False))
    op.add_column("open_pages", sa.Column("rejected", sa.Boolean(), server_default=sa.true(), nullable=False))


def downgrade() -> None:
    op.drop_column("open_pages", "rejected")
    for table in _REVISED:
        op.drop_column(table, "revision")
    for table, column in _NAMED:
        op.drop_column(table, column)
    op.drop_table("passphrase")
    op.drop_table("devices")
