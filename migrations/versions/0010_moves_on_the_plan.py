"""the last moves on the plan

Why: a light or a thing that was moved, turned or taken away can be put back, also after the page was loaded anew.

Stored data: the standing set-ups of before have no move to take back.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Plainly added: to make the table anew would cut the references to its rows. The default serves the rows there are.
    text = sqlmodel.sql.sqltypes.AutoString()
    op.add_column("standing", sa.Column("moves", text, nullable=False, server_default="[]"))


def downgrade() -> None:
    op.drop_column("standing", "moves")
