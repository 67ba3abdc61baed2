"""faces of patches

Why: what each light gives at a patch depends on where that face of the subject points. A patch may say it, as a bearing
and a height angle from the subject.

Stored data: nothing; a patch without a direction has none.
"""

import sqlalchemy as sa
from alembic import op

revision = "0114"
down_revision = "0113"
branch_labels = None
depends_on = None

_COLUMNS = ("bearing_deg", "elevation_deg")


def upgrade() -> None:
    for name in _COLUMNS:
        op.add_column("patches", sa.Column(name, sa.Float(), nullable=True))


def downgrade() -> None:
    for name in _COLUMNS:
        op.drop_column("patches", name)
