"""${message}

Why: (say it here)

Rules: one change a file; no import from webapp (a migration is frozen, the code is not); rows are taken by key;
a step down exists and is tested; say what happens to stored data.
"""

import sqlalchemy as sa
import sqlmodel
from alembic import op
${imports if imports else ""}
revision = ${repr(up_revision)}
down_revision = ${repr(down_revision)}
branch_labels = None
depends_on = None


def upgrade() -> None:
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    ${downgrades if downgrades else "pass"}
