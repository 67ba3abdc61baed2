"""photos of the set

Why: how a set stood is seen best on a photo of it, which nobody can take once it is struck. A photo is private; it goes
out with a recipe only where it was ticked for that recipe.

Stored data: nothing is changed.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0108"
down_revision = "0107"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString
_TIME = sqlmodel.sql.sqltypes.UTCDateTime


def upgrade() -> None:
    op.create_table(
        "set_photos",
        sa.Column("revision", sa.Integer(), server_default="1", nullable=False),
        sa.Column("id", _TEXT(), nullable=False),
        sa.Column("shot_id", _TEXT(), nullable=False),
        sa.Column("digest", _TEXT(), nullable=False),
        sa.Column("name", _TEXT(), nullable=False),
        sa.Column("size_bytes", sa.Integer(), nullable=False),
        sa.Column("caption", _TEXT(), nullable=False),
        sa.Column("x_mm", sa.Float(), nullable=True),
        sa.Column("y_mm", sa.Float(), nullable=True),
        sa.Column("looks_deg", sa.Float(), nullable=True),
        sa.Column("added_at", _TIME(), nullable=False),
        sa.Column("added_by", _TEXT(), nullable=False),
        sa.ForeignKeyConstraint(["shot_id"], ["shots.id"]),
        sa.PrimaryKeyConstraint("id"),
        sa.UniqueConstraint("shot_id", "digest"),
    )
    op.create_index(op.f("ix_set_photos_digest"), "set_photos", ["digest"], unique=False)
    op.create_table(
        "shared_photos",
        sa.Column("recipe_id", _TEXT(), nullable=False),
        sa.Column("photo_id", _TEXT(), nullable=False),
        sa.ForeignKeyConstraint(["photo_id"], ["set_photos.id"]),
        sa.ForeignKeyConstraint(["recipe_id"], ["recipes.id"]),
        sa.PrimaryKeyConstraint("recipe_id", "photo_id"),
    )
    op.create_index(op.f("ix_shared_photos_photo_id"), "shared_photos", ["photo_id"], unique=False)


def downgrade() -> None:
    op.drop_table("shared_photos")
    op.drop_table("set_photos")
