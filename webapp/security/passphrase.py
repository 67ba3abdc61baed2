"""The owner's passphrase, kept as an Argon2id hash.

Cost: 19 MiB, two passes, one lane: the second of the settings in the OWASP Password Storage Cheat Sheet (from memory),
so that a small computer can sign its owner in while it serves.
"""

from __future__ import annotations

import threading
from typing import TYPE_CHECKING, Final

from webapp.errors import InvalidValue

if TYPE_CHECKING:
    from argon2 import PasswordHasher

SHORTEST: Final = 12
LONGEST: Final = 200
# One at a time: guesses may not take the memory of the house.
_ONE_AT_A_TIME = threading.Lock()


def hash_of(passphrase: str) -> str:
    """The hash to be kept. Raises InvalidValue for a passphrase that is too short or too long."""
    if not SHORTEST <= len(passphrase) <= LONGEST:
        raise InvalidValue(
            "passphrase", f"A passphrase has {SHORTEST} to {LONGEST} characters: take four or more words."
        )
    with _ONE_AT_A_TIME:
        return _hasher().hash(passphrase)


def is_it(passphrase: str, kept: str) -> bool:
    """Whether a passphrase is the one that was kept."""
    from argon2.exceptions import VerifyMismatchError

    if len(passphrase) > LONGEST:
        return False
    with _ONE_AT_A_TIME:
        try:
            return _hasher().verify(kept, passphrase)
        except VerifyMismatchError:
            return False


def _hasher() -> PasswordHasher:
    # Nothing asks for one on the photographer's own machine.
    from argon2 import PasswordHasher

    return PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1)
