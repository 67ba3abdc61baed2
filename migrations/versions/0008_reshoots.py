"""reshoots: the target that a shot is balanced against, and the checklist of its set

Why: a shot that is made again from a recipe is held against the recipe's own frame until it has a reference frame, and
its set is rebuilt by a list that is ticked on any open page.

Stored data: untouched; no shot was a reshoot before. The target is kept as JSON text, as set-ups are.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0008"
down_revision = "0007"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_TIME = sqlmodel.sql.sqltypes.UTCDateTime


def upgrade() -> None:
    op.create_table(
        "reshoots",
        sa.Column("shot_id", _TEXT(), sa.ForeignKey("shots.id"), nullable=False),
        sa.Column("version_id", _TEXT(), sa.ForeignKey("recipe_versions.id"), nullable=False),
        sa.Column("target", _TEXT(), nullable=False),
        sa.Column("left_open", _TEXT(), nullable=False),
        sa.Column("begun_at", _TIME(), nullable=False),
        sa.PrimaryKeyConstraint("shot_id"),
    )
    op.create_index("ix_reshoots_version_id", "reshoots", ["version_id"])
    op.create_table(
        "checklist_lines",
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), sa.ForeignKey("reshoots.shot_id"), nullable=False),
        sa.Column("place", sa.Integer(), nullable=False),
        sa.Column("heading", _TEXT(), nullable=False),
        sa.Column("words", _TEXT(), nullable=False),
        sa.Column("ticked_at", _TIME(), nullable=True),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("shot_id", "place"),
    )
    op.create_index("ix_checklist_lines_shot_id", "checklist_lines", ["shot_id"])


def downgrade() -> None:
    op.drop_table("checklist_lines")
    op.drop_table("reshoots")
