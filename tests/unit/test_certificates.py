"""The studio's authority and certificate, held against the system's own TLS: OpenSSL's verdict, through the standard
library, and not ours."""

from __future__ import annotations

import datetime as dt
import ssl
import stat
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from webapp import certificates
from webapp.certificates import CERTIFICATE_LASTS, make

AT = dt.datetime.now(dt.UTC)


def _shake_hands(made: certificates.Certificate, name: str) -> None:
    """A TLS handshake between a server that has the certificate and a client that trusts the authority."""
    server, client = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER), ssl.create_default_context(cafile=made.authority)
    server.load_cert_chain(made.chain, made.key)
    to_server, to_client = ssl.MemoryBIO(), ssl.MemoryBIO()
    client_side = client.wrap_bio(to_client, to_server, server_hostname=name)
    server_side = server.wrap_bio(to_server, to_client, server_side=True)
    for _ in range(4):
        for side in (client_side, server_side):
            try:
                side.do_handshake()
            except ssl.SSLWantReadError:
                continue
    client_side.getpeercert()
    assert client_side.version() == "TLSv1.3"


def test_a_client_that_trusts_the_authority_trusts_this_machine(tmp_path: Path) -> None:
    made, anew = make(tmp_path / "certificates", ("192.168.1.20",))

    assert anew
    for name in ("192.168.1.20", "127.0.0.1", *certificates.host_names()):
        _shake_hands(made, name)


def test_and_no_other_machine(tmp_path: Path) -> None:
    made, _ = make(tmp_path / "certificates", ("192.168.1.20",))

    for name in ("192.168.1.21", "bank.example"):
        with pytest.raises(ssl.SSLCertVerificationError):
            _shake_hands(made, name)


def test_the_authority_cannot_vouch_for_a_name_of_the_wide_world(tmp_path: Path) -> None:
    """Its name constraints (RFC 5280, 4.2.1.10): a certificate that it signs for a bank is refused by OpenSSL."""
    made, _ = make(tmp_path / "certificates", ("192.168.1.20",))
    authority, key = certificates._authority(tmp_path / "certificates", ("192.168.1.20",), AT)

    certificates._write_certificate(made, ("bank.example",), authority, key, AT)

    with pytest.raises(ssl.SSLCertVerificationError, match="permitted subtree"):
        _shake_hands(made, "bank.example")


def test_it_is_made_anew_when_it_runs_out_or_the_machine_has_another_address(tmp_path: Path) -> None:
    folder = tmp_path / "certificates"
    made, _ = make(folder, ("192.168.1.20",))
    authority = made.authority.read_bytes()

    assert make(folder, ("192.168.1.20",))[1] is False
    assert make(folder, ("10.0.0.7",))[1] is True
    assert make(folder, ("10.0.0.7",), AT + CERTIFICATE_LASTS - dt.timedelta(days=29))[1] is True
    assert made.authority.read_bytes() == authority, "a phone that trusts it need not be asked again"


def test_a_public_address_gets_an_authority_that_may_sign_for_it(tmp_path: Path) -> None:
    folder = tmp_path / "certificates"
    make(folder, ("192.168.1.20",))

    made, anew = make(folder, ("192.0.2.20",))

    assert anew
    _shake_hands(made, "192.0.2.20")


def test_keys_are_read_by_their_owner_alone(tmp_path: Path) -> None:
    folder = tmp_path / "certificates"
    make(folder, ())

    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    for key in folder.glob("*.key"):
        assert stat.S_IMODE(key.stat().st_mode) == 0o600


def test_browsers_take_a_certificate_of_at_most_398_days(tmp_path: Path) -> None:
    """CA/Browser Forum Baseline Requirements, 6.3.2 (from memory): no more than 398 days; SHA-256 or better."""
    made, _ = make(tmp_path / "certificates", ())
    certificate = x509.load_pem_x509_certificate(made.chain.read_bytes())

    assert certificate.not_valid_after_utc - certificate.not_valid_before_utc <= dt.timedelta(days=398)
    assert isinstance(certificate.signature_hash_algorithm, hashes.SHA256)
