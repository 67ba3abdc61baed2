"""a place that was measured is taped

Why: a place stayed "measured" after a drag, and in the next client's session. It is now taped, planned, carried over,
estimated or unknown, and what was called measured is called taped.

Stored data: the places of set-ups that stand, of those that frames froze, of revisions, moves and the frames that reshoots
are made from are rewritten. A set-up keeps the digest that it is known by. Published recipes are left as they are: their
"measured" is read as taped.
"""

import zlib
from collections.abc import Callable

import sqlalchemy as sa
from alembic import op

revision = "0111"
down_revision = "0110"
branch_labels = None
depends_on = None

_OPEN = (("standing", "set_up"), ("standing", "moves"), ("reshoots", "target"))
_PACKED = (("set_ups", "document"), ("frame_revisions", "document"))
_LEVEL = 6
_AT_ONCE = 500


def upgrade() -> None:
    _rewrite({"measured": "taped"})


def downgrade() -> None:
    _rewrite({"taped": "measured", "planned": "estimated", "carried over": "estimated"})


def _rewrite(names: dict[str, str]) -> None:
    pairs = [(f'"known":"{old}"', f'"known":"{new}"') for old, new in names.items()]
    for table, column in _OPEN:
        for old, new in pairs:
            op.execute(
                sa.text(f"UPDATE {table} SET {column} = replace({column}, :old, :new)").bindparams(old=old, new=new)
            )

    def renamed(document: bytes) -> bytes:
        for old, new in pairs:
            document = document.replace(old.encode(), new.encode())
        return document

    for table, column in _PACKED:
        _repack(table, column, renamed)


def _repack(table: str, column: str, change: Callable[[bytes], bytes]) -> None:
    """Change the packed documents of a table, a few hundred at a time: a studio has years of them."""
    db, last = op.get_bind(), 0
    while True:
        rows = db.exec_driver_sql(
            f"SELECT rowid, {column} FROM {table} WHERE rowid > ? ORDER BY rowid LIMIT {_AT_ONCE}", (last,)
        ).all()
        if not rows:
            return
        last = rows[-1][0]
        for rowid, packed in rows:
            document = zlib.decompress(packed) if packed else b""
            changed = change(document)
            if changed != document:
                db.exec_driver_sql(
                    f"UPDATE {table} SET {column} = ? WHERE rowid = ?", (zlib.compress(changed, _LEVEL), rowid)
                )
