"""the tape of the house: whether lengths are read in inches

Why: a photographer whose tape is marked in inches wants every page to speak of inches, on every device alike.

Stored data: untouched; lengths stay in millimetres, and without a row they are told in centimetres.
"""

import sqlalchemy as sa
from alembic import op

revision = "0013"
down_revision = "0012"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "tape",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("inches", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id"),
    )


def downgrade() -> None:
    op.drop_table("tape")
