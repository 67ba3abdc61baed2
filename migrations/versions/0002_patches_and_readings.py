"""patches and readings

Why: pictures are measured now. A patch is a named place in the pictures of a shot; a reading is what was measured
there in one picture (at its middle where no patch is drawn).

Stored data: untouched. Pictures without readings are measured after the next start.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    text, moment = sqlmodel.sql.sqltypes.AutoString, sqlmodel.sql.sqltypes.UTCDateTime
    op.create_table(
        "patches",
        sa.Column("id", text(), nullable=False),
        sa.Column("shot_id", text(), nullable=False),
        sa.Column("name", text(), nullable=False),
        sa.Column("x", sa.Float(), nullable=False),
        sa.Column("y", sa.Float(), nullable=False),
        sa.Column("width", sa.Float(), nullable=False),
        sa.Column("height", sa.Float(), nullable=False),
        sa.Column("wanted_stops", sa.Float(), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("retired", sa.Boolean(), nullable=False),
        sa.Column("created_at", moment(), nullable=False),
        sa.ForeignKeyConstraint(["shot_id"], ["shots.id"]),
        sa.PrimaryKeyConstraint("id"),
    )
    op.create_index("ix_patches_shot_id", "patches", ["shot_id"])
    op.create_table(
        "readings",
        sa.Column("id", text(), nullable=False),
        sa.Column("picture_id", text(), nullable=False),
        sa.Column("patch_id", text(), nullable=True),
        sa.Column("document", text(), nullable=False),
        sa.Column("trouble", text(), nullable=False),
        sa.Column("measured_at", moment(), nullable=False),
        sa.ForeignKeyConstraint(["picture_id"], ["pictures.id"]),
        sa.ForeignKeyConstraint(["patch_id"], ["patches.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("picture_id", "patch_id"),
    )
    op.create_index("ix_readings_picture_id", "readings", ["picture_id"])
    op.create_index("ix_readings_patch_id", "readings", ["patch_id"])


def downgrade() -> None:
    op.drop_table("readings")
    op.drop_table("patches")
