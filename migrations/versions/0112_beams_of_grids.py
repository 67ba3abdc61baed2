"""beams of grids

Why: a grid or a snoot falls off from its axis, and the plan took it for a lamp that is alike over its whole front. A
modifier may say at which angle it cuts off.

Stored data: nothing; what nobody said stays unsaid.
"""

import sqlalchemy as sa
from alembic import op

revision = "0112"
down_revision = "0111"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("modifiers", sa.Column("cutoff_deg", sa.Float(), nullable=True))


def downgrade() -> None:
    op.drop_column("modifiers", "cutoff_deg")
