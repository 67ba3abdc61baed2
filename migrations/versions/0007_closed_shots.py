"""closed shots

Why: once the set of a shot is struck, nothing more can be measured on it and no file of the folder belongs to it; the
shot says since when.

Stored data: no shot of those there are is closed.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0007"
down_revision = "0006"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Plainly added: to make the table anew would cut the references to its rows.
    op.add_column("shots", sa.Column("closed_at", sqlmodel.sql.sqltypes.UTCDateTime(), nullable=True))


def downgrade() -> None:
    op.drop_column("shots", "closed_at")
