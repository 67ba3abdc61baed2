"""`stopledger passphrase` and `certificate`: what the doors need besides the server."""

from __future__ import annotations

import argparse
import getpass
import sys
from collections.abc import Callable, Mapping
from typing import Final

from webapp import certificates
from webapp import settings as settings_of
from webapp.devices import keep_passphrase
from webapp.doors import own_address
from webapp.errors import InvalidValue
from webapp.records.engine import Records
from webapp.records.upgrade import upgrade
from webapp.settings import Settings


def run(asked: argparse.Namespace) -> int:
    """Run one of the commands; the answer is the exit status. Raises CannotStart and InvalidValue."""
    return COMMANDS[asked.command](settings_of.read(data=asked.data))


def _set_passphrase(settings: Settings) -> int:
    said = getpass.getpass("New passphrase: ") if sys.stdin.isatty() else sys.stdin.readline().rstrip("\n")
    if sys.stdin.isatty() and getpass.getpass("Once more: ") != said:
        raise InvalidValue("passphrase", "The two differ; nothing was changed.")
    settings.data.mkdir(mode=0o700, parents=True, exist_ok=True)
    records = Records(settings.data)
    try:
        upgrade(records)
        keep_passphrase(records, said)
    finally:
        records.close()
    print("The passphrase is set. Start the server anew: whoever came in by the one before has to sign in again.")
    return 0


def _certify(settings: Settings) -> int:
    address = own_address()
    made, anew = certificates.make(settings.certificates, (address,) if address else ())
    until = certificates.expires_at(made)
    print(f"The certificate is {'made' if anew else 'good as it is'}, until {until.day} {until:%B %Y}: {made.chain}")
    print(
        f"The authority that signed it: {made.authority}\n"
        "A phone that installs it trusts this machine's certificates for the names of this machine and for addresses of\n"
        "private networks, and for nothing else. Whoever has its key, beside it, could stand in for this machine there:\n"
        "keep the data directory to yourself, and remove the authority from a phone that you give away.\n"
        "`serve --lan` uses the certificate from its next start, and makes another before it runs out."
    )
    return 0


COMMANDS: Final[Mapping[str, Callable[[Settings], int]]] = {"passphrase": _set_passphrase, "certificate": _certify}
