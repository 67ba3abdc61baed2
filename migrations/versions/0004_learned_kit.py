"""what readings teach about the kit

Why: the spread of a head, what a step of its dial really gives, and what a crossed pair of polarisers takes are read
off many frames, and are needed at every tap.

Stored data: untouched; the table fills as pictures are measured.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "learned",
        sa.Column("subject", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("document", sqlmodel.sql.sqltypes.AutoString(), nullable=False),
        sa.Column("learned_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=False),
        sa.PrimaryKeyConstraint("subject"),
    )


def downgrade() -> None:
    op.drop_table("learned")
