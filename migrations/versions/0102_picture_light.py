"""the light of a whole picture by tiles

Why: a reading tells the light at a patch. A window mirrored beside all patches, a flag that was moved or a head that
was turned shows only where the whole picture is looked at.

Stored data: nothing is changed. The pictures that are there are read once more, off every request, after the start.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0102"
down_revision = "0101"
branch_labels = None
depends_on = None

_TEXT = sqlmodel.sql.sqltypes.AutoString


def upgrade() -> None:
    op.create_table(
        "picture_light",
        sa.Column("picture_id", _TEXT(), nullable=False),
        sa.Column("columns", sa.Integer(), nullable=False),
        sa.Column("rows", sa.Integer(), nullable=False),
        sa.Column("channels", sa.Text(), nullable=False),
        sa.Column("figures", sa.LargeBinary(), nullable=False),
        sa.ForeignKeyConstraint(["picture_id"], ["pictures.id"]),
        sa.PrimaryKeyConstraint("picture_id"),
    )


def downgrade() -> None:
    op.drop_table("picture_light")
