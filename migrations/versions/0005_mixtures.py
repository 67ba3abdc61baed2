"""mixtures of lights that were kept

Why: a mixture found after the set is gone is the target of a reshoot, or a lesson, and has to be found again.

Stored data: untouched; nothing was a mixture before.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "mixtures",
        sa.Column("id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("shot_id", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("name", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("kept_for", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("weights", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("frames", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("created_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.ForeignKeyConstraint(["shot_id"], ["shots.id"]),
        sa.PrimaryKeyConstraint("id"),
    )
    with op.batch_alter_table("mixtures") as batch:
        batch.create_index(batch.f("ix_mixtures_shot_id"), ["shot_id"])


def downgrade() -> None:
    op.drop_table("mixtures")
