"""What the check of a data directory may find: a closed list, each with its numbers."""

from __future__ import annotations

from enum import StrEnum


class Reason(StrEnum):
    # damage
    DATABASE_DAMAGED = "database damaged"
    # about a table; rows
    REFERENCES_BROKEN = "references broken"
    # revision, newest
    OTHER_REVISION = "database of another revision"
    # about a digest; name (as its file came, or "")
    PICTURE_MISSING = "picture missing from the store"
    PICTURE_CHANGED = "picture changed in the store"
    # about a shot; frames (numbers)
    LEDGER_DIFFERS = "ledger differs when worked out anew"
    EVIDENCE_DIFFERS = "evidence differs when worked out anew"
    SEARCH_DIFFERS = "index of the search differs"
    # count
    PREVIEWS_MISSING = "previews missing"
    PICTURES_UNNAMED = "pictures that nothing names"


REMARKS = frozenset({Reason.PREVIEWS_MISSING, Reason.PICTURES_UNNAMED})
"""Found in ordinary use, too: previews are made again by the next start, and a picture that no record names was refused,
or is of a session that was deleted. The records are sound with either."""
