"""live pages and saved mixes by their names

Why: the page says live page, saved mix and level; the tables said open page, mixture and weight.

Stored data: every row stays as it is, under the new names.
"""

from alembic import op

revision = "0115"
down_revision = "0114"
branch_labels = None
depends_on = None

_TABLES = (("open_pages", "live_pages", "session_id"), ("mixtures", "saved_mixes", "shot_id"))
_COLUMNS = (("weights", "levels"), ("kept_for", "saved_for"))


def upgrade() -> None:
    for before, now, indexed in _TABLES:
        _rename(before, now, indexed)
    for before, now in _COLUMNS:
        op.execute(f"ALTER TABLE saved_mixes RENAME COLUMN {before} TO {now}")


def downgrade() -> None:
    for before, now in _COLUMNS:
        op.execute(f"ALTER TABLE saved_mixes RENAME COLUMN {now} TO {before}")
    for before, now, indexed in _TABLES:
        _rename(now, before, indexed)


def _rename(name: str, to: str, indexed: str) -> None:
    """A table with its index, whose name holds the table's."""
    op.drop_index(f"ix_{name}_{indexed}", name)
    op.rename_table(name, to)
    op.create_index(f"ix_{to}_{indexed}", to, [indexed])
