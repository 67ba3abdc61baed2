"""Who asks, and what they may do: the roles, the rights, and the right that each address asks for.

A route says at its function what it asks for, with `asks_for`; one that says nothing asks for SEE where it only reads
and for LOG where it changes something. What is for the owner alone, and what is open to people outside, has to be said.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextvars import ContextVar
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Any, Final, TypeVar

SAFE_METHODS: Final = frozenset({"GET", "HEAD", "OPTIONS"})


class Role(StrEnum):
    """Whom a browser stands for."""

    OWNER = "owner"
    ASSISTANT = "assistant"
    """Logs what is shot."""
    VIEWER = "viewer"
    """Looks over the photographer's shoulder, as a client does: follows one live page."""
    STRANGER = "stranger"
    """Nobody that the house knows. What they hold is in the address: one link, one live page, one pairing."""


class Right(StrEnum):
    """What an address asks of whoever comes."""

    LINK = "one link"
    LIVE_PAGE = "one live page"
    SIGN_IN = "sign in"
    SEE = "see the records"
    LOG = "log"
    OWN = "own the house"


_OUTSIDE = frozenset({Right.LINK, Right.LIVE_PAGE, Right.SIGN_IN})
RIGHTS: Final[Mapping[Role, frozenset[Right]]] = MappingProxyType(
    {
        Role.OWNER: frozenset(Right),
        Role.ASSISTANT: _OUTSIDE | {Right.SEE, Right.LOG},
        Role.VIEWER: _OUTSIDE,
        Role.STRANGER: _OUTSIDE,
    }
)


@dataclass(frozen=True, slots=True)
class Identity:
    """Who asks. `device` is the id of the browser that was let in, empty for the machine of the server itself;
    `sees_private` whether the client's name and the notes of a session are shown; `belongs_at` the one address that a
    viewer was let in for."""

    role: Role
    name: str = ""
    device: str = ""
    sees_private: bool = True
    belongs_at: str = ""

    def may(self, right: Right) -> bool:
        return right in RIGHTS[self.role]

    @property
    def is_known(self) -> bool:
        """Whether the house let them in."""
        return self.role is not Role.STRANGER


OWNER_HERE: Final = Identity(Role.OWNER)
"""At the machine of the server itself: nothing was asked."""
STRANGER: Final = Identity(Role.STRANGER, sees_private=False)

ASKING: Final[ContextVar[Identity]] = ContextVar("asking", default=OWNER_HERE)
"""Who asks for what is being done just now; what the server does by itself, it does for the owner."""

_Route = TypeVar("_Route", bound=Callable[..., Any])
_MARK: Final = "right_asked_for"


def asks_for(right: Right) -> Callable[[_Route], _Route]:
    """Mark the function of a route with the right that it asks for."""

    def mark(route: _Route) -> _Route:
        setattr(route, _MARK, right)
        return route

    return mark


owner_only = asks_for(Right.OWN)


def right_asked(endpoint: Callable[..., Any], method: str) -> Right:
    """The right that a route asks for."""
    said: Right | None = getattr(endpoint, _MARK, None)
    if said is not None:
        return said
    return Right.SEE if method in SAFE_METHODS else Right.LOG
