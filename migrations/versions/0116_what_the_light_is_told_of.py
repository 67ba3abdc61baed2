"""what the light is told of

Why: shares, the ratio and key to fill hold for one surface of the subject. Which one is chosen on the plan, and a shot
remembers it.

Stored data: nothing; a shot that says nothing has the face of its measured patch, or the face to the lens, as before.
"""

import sqlalchemy as sa
from alembic import op

revision = "0116"
down_revision = "0115"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("shots", sa.Column("figures_for", sa.String(), nullable=False, server_default=""))


def downgrade() -> None:
    op.drop_column("shots", "figures_for")
