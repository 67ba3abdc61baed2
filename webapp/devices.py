"""The browsers that the house lets in: a phone by a pairing, a laptop by the passphrase, each by its name.

A pairing is an address that is good once and for two minutes; it is kept in memory alone. What a browser holds
afterwards is 256 bits from the system's random source, of which the records have the SHA-256. A browser stays signed
in until it is signed out, was not used for a fortnight, or for ninety days.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import hashlib
import secrets
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from webapp.errors import InvalidValue, NotFound
from webapp.records import devices as device_records
from webapp.records.engine import Records
from webapp.records.tables import Device, Passphrase, now
from webapp.security import passphrase
from webapp.security.guard import Streams
from webapp.security.identity import Identity, Role
from webapp.security.slowing import Slowing

PAIRING_LASTS: Final = dt.timedelta(minutes=2)
UNUSED_FOR: Final = dt.timedelta(days=14)
AT_MOST: Final = dt.timedelta(days=90)
ROLES: Final = (Role.OWNER, Role.ASSISTANT, Role.VIEWER)
LONGEST_NAME: Final = 60
_SEEN_ANEW_AFTER: Final = dt.timedelta(minutes=5)
_TOKEN_BYTES: Final = 32
_MOST_PAIRINGS: Final = 20
_FREE_TRIES: Final = 5
_VIEWER_HOURS: Final = 24


@dataclass(frozen=True, slots=True)
class Pairing:
    """What one browser may be let in by: as whom, until when. A viewer follows one session."""

    code: str
    role: Role
    sees_private: bool
    session_id: str
    until: dt.datetime


class Devices:
    """All of them, kept at hand so that no request reads the records for it; may be shared by threads."""

    def __init__(self, records: Records, streams: Streams) -> None:
        self._records, self._streams = records, streams
        self._lock = threading.Lock()
        self._pairings: dict[str, Pairing] = {}
        self._let_in: dict[str, Device] = {}
        self._slowing = Slowing(_FREE_TRIES)
        self._load()

    def _load(self) -> None:
        with self._records.reading() as db:
            self._let_in = {each.token_digest: each for each in device_records.signed_in(db)}

    def who_holds(self, token: str) -> Identity | None:
        """Who comes with a cookie; None where it is nobody's, or not any more."""
        device = self._let_in.get(_digest(token))
        if device is None or _has_ended(device):
            return None
        if now() - device.last_seen_at > _SEEN_ANEW_AFTER:
            device.last_seen_at = now()
            # Not while a request waits for it.
            threading.Thread(target=self._note_seen, args=(device.id,), daemon=True).start()
        return _identity(device)

    def _note_seen(self, device_id: str) -> None:
        with self._records.writing() as db:
            row = db.get(Device, device_id)
            if row is not None:
                row.last_seen_at = now()

    def all(self) -> Sequence[Device]:
        """Those that are signed in, the newest first."""
        with self._records.reading() as db:
            return [each for each in device_records.signed_in(db) if not _has_ended(each)]

    def pair(self, role: Role, *, sees_private: bool = True, session_id: str = "") -> Pairing:
        """Make an address by which one browser is let in. Raises InvalidValue for a viewer without a session."""
        if role not in ROLES:
            raise InvalidValue("role", f"A browser is let in as one of: {', '.join(ROLES)}.")
        if role is Role.VIEWER and not session_id:
            raise InvalidValue("session", "Say which session the viewer is to follow.")
        sees_private = sees_private or role is Role.OWNER
        pairing = Pairing(secrets.token_urlsafe(_TOKEN_BYTES), role, sees_private, session_id, now() + PAIRING_LASTS)
        with self._lock:
            self._pairings = {code: each for code, each in self._pairings.items() if each.until > now()}
            while len(self._pairings) >= _MOST_PAIRINGS:
                self._pairings.pop(next(iter(self._pairings)))
            self._pairings[pairing.code] = pairing
        return pairing

    def pairing(self, code: str) -> Pairing:
        """The pairing that an address stands for. Raises NotFound where it was used, is over, or never was."""
        found = self._pairings.get(code)
        if found is None or found.until <= now():
            raise NotFound(
                "This code was used, or its two minutes are over. Ask for a new one at the studio's computer."
            )
        return found

    def let_in(self, code: str, name: str) -> tuple[Device, str]:
        """Let a browser in by its pairing, once; also what its cookie is to hold. Raises NotFound and InvalidValue."""
        self.pairing(code)
        named = _name(name)
        with self._lock:
            pairing = self._pairings.pop(code, None)
        if pairing is None:
            raise NotFound("This code was used. Ask for a new one at the studio's computer.")
        page = ""
        if pairing.role is Role.VIEWER:
            # Recipes and all that they rest on: the front page is served without them.
            from webapp.recipes.share import live_page

            page = live_page.open_up(
                self._records,
                pairing.session_id,
                title=f"For {named}",
                hours=_VIEWER_HOURS,
                let_out=live_page.LetOut(rejected=False),
            )
        return self._add(
            Device(name=named, role=pairing.role, sees_private=pairing.sees_private, live_page=page, token_digest="")
        )

    def sign_in(self, said: str, name: str, who: str) -> tuple[Device, str]:
        """Let the owner in by the passphrase, from the address `who`. Raises InvalidValue."""
        wait = self._slowing.wait_s(who)
        if wait:
            raise InvalidValue("passphrase", f"That was wrong too often. Wait {wait} s before the next try.")
        with self._records.reading() as db:
            kept = db.get(Passphrase, 1)
        if kept is None:
            raise InvalidValue(
                "passphrase", "This house has no passphrase. Pair this browser at the studio's computer."
            )
        if not passphrase.is_it(said, kept.hash):
            self._slowing.was_wrong(who, said)
            raise InvalidValue("passphrase", "That is not the passphrase.")
        self._slowing.was_right(who)
        return self._add(Device(name=_name(name), role=Role.OWNER, token_digest=""))

    def _add(self, device: Device) -> tuple[Device, str]:
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        device.token_digest = _digest(token)
        with self._records.writing() as db:
            db.add(device)
        with self._lock:
            self._let_in[device.token_digest] = device
        return device, token

    def sign_out(self, device_id: str) -> None:
        """End it at once, with what is being sent to it, and the live page that a viewer was let in for. Raises
        NotFound."""
        with self._records.writing() as db:
            row = db.get(Device, device_id)
            if row is None or row.signed_out_at is not None:
                raise NotFound("There is no such browser signed in.")
            row.signed_out_at = now()
            digest, page = row.token_digest, row.live_page
        with self._lock:
            self._let_in.pop(digest, None)
        self._streams.end(device_id)
        if page:
            from webapp.recipes.share import live_page

            # It may have ended by its own time.
            with contextlib.suppress(NotFound):
                live_page.withdraw(self._records, page)

    def set_passphrase(self, said: str, but: str = "") -> None:
        """Keep another passphrase; every browser that stands for the owner is signed out, `but` the one that did it.
        Raises InvalidValue."""
        keep_passphrase(self._records, said)
        for each in self.all():
            if each.role == Role.OWNER and each.id != but:
                self.sign_out(each.id)

    def has_passphrase(self) -> bool:
        with self._records.reading() as db:
            return db.get(Passphrase, 1) is not None


def keep_passphrase(records: Records, said: str) -> None:
    """Keep another passphrase in the records. Raises InvalidValue."""
    hashed = passphrase.hash_of(said)
    with records.writing() as db:
        db.merge(Passphrase(hash=hashed))


def _identity(device: Device) -> Identity:
    page = f"/open/{device.live_page}" if device.live_page else ""
    return Identity(Role(device.role), device.name, device.id, device.sees_private, page)


def _has_ended(device: Device) -> bool:
    at = now()
    lasts = dt.timedelta(hours=_VIEWER_HOURS) if device.role == Role.VIEWER else AT_MOST
    return device.signed_out_at is not None or at - device.last_seen_at > UNUSED_FOR or at - device.let_in_at > lasts


def _digest(token: str) -> str:
    return hashlib.sha256(token.encode()).hexdigest()


def _name(said: str) -> str:
    name = " ".join(said.split())
    if not name or len(name) > LONGEST_NAME:
        raise InvalidValue(
            "name", f"Give this browser a name of 1 to {LONGEST_NAME} characters, such as “phone at the set”."
        )
    return name
