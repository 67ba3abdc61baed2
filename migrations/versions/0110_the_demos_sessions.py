"""the demo's sessions told from one's own

Why: the demo can be put into a house and taken out of it again, and what is one's own stays where it is.

Stored data: nothing is changed. The demo of an earlier build counts as one's own, and is deleted session by session.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0110"
down_revision = "0109"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.add_column(
        "sessions",
        sa.Column("origin", sqlmodel.sql.sqltypes.AutoString(), server_default="own", nullable=False),
    )


def downgrade() -> None:
    op.drop_column("sessions", "origin")
