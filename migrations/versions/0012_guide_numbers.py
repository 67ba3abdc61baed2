"""the guide number of a light, and the reflector for which it is stated

Why: a flash that was never metered has one figure that says what it gives, and only with the reflector of that figure.

Stored data: untouched; no light has a guide number until one is typed.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0012"
down_revision = "0011"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column("lights", sa.Column("guide_number_m", sa.Float(), nullable=True))
    op.add_column(
        "lights",
        sa.Column("guide_reflector", sqlmodel.sql.sqltypes.AutoString(), nullable=False, server_default=""),
    )


def downgrade() -> None:
    op.drop_column("lights", "guide_reflector")
    op.drop_column("lights", "guide_number_m")
