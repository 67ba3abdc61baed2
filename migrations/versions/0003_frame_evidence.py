"""evidence of a frame

Why: what a frame's picture says against the ledger's prediction stands on its line of the log, and is worked out
with the save that it depends on, as its ledger is.

Stored data: frames start without evidence; it comes with their readings.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    # Plainly added: to make the table anew would cut the references to its rows. The default serves the rows there are.
    text = sqlmodel.sql.sqltypes.AutoString()
    op.add_column("frames", sa.Column("evidence", text, nullable=False, server_default="{}"))
    # Few frames of a long shot were read, and every tap asks for them.
    op.create_index("read_frames", "frames", ["shot_id", "lit", "number"], sqlite_where=sa.text("evidence <> '{}'"))


def downgrade() -> None:
    op.drop_index("read_frames", "frames")
    op.drop_column("frames", "evidence")
