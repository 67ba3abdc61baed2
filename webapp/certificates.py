"""A local authority and a certificate for the studio's network, so that a phone speaks to the house over TLS.

The authority is made once and lasts ten years; it may sign for this machine's names and for addresses of private
networks alone (its name constraints say so, RFC 5280, 4.2.1.10), so that a phone that trusts it trusts it for nothing
else. The certificate lasts 397 days, less than the longest that browsers take, and is made anew when fewer than thirty
are left or the machine has another address.
"""

from __future__ import annotations

import datetime as dt
import ipaddress
import os
import socket
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from cryptography import x509
    from cryptography.hazmat.primitives.asymmetric import ec

AUTHORITY_LASTS: Final = dt.timedelta(days=3650)
CERTIFICATE_LASTS: Final = dt.timedelta(days=397)
RENEWED_BEFORE: Final = dt.timedelta(days=30)
_PRIVATE_NETWORKS: Final = ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8")


@dataclass(frozen=True, slots=True)
class Certificate:
    """The files: the authority that a phone installs, and what the server answers with."""

    authority: Path
    chain: Path
    key: Path


def of(folder: Path) -> Certificate | None:
    """The certificate that was made; None for none."""
    made = _in(folder)
    return made if made.chain.exists() and made.key.exists() else None


def _in(folder: Path) -> Certificate:
    return Certificate(folder / "authority.crt", folder / "server.crt", folder / "server.key")


def expires_at(certificate: Certificate) -> dt.datetime:
    from cryptography import x509

    return x509.load_pem_x509_certificate(certificate.chain.read_bytes()).not_valid_after_utc


def make(folder: Path, addresses: tuple[str, ...], at: dt.datetime | None = None) -> tuple[Certificate, bool]:
    """The certificate for this machine's names and `addresses`; also whether it had to be made."""
    at = at or dt.datetime.now(dt.UTC)
    folder.mkdir(mode=0o700, parents=True, exist_ok=True)
    names = tuple(dict.fromkeys((*host_names(), *addresses, "127.0.0.1")))
    made = _in(folder)
    if of(folder) is not None and _still_good(made, names, at):
        return made, False
    authority, its_key = _authority(folder, addresses, at)
    _write_certificate(made, names, authority, its_key, at)
    return made, True


def host_names() -> tuple[str, ...]:
    """The names of this machine on its network."""
    name = socket.gethostname().partition(".")[0].lower() or "stopledger"
    return name, f"{name}.local", "localhost"


def _still_good(made: Certificate, names: tuple[str, ...], at: dt.datetime) -> bool:
    from cryptography import x509

    certificate = x509.load_pem_x509_certificate(made.chain.read_bytes())
    alternative = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    held = {
        *alternative.get_values_for_type(x509.DNSName),
        *map(str, alternative.get_values_for_type(x509.IPAddress)),
    }
    return set(names) <= held and certificate.not_valid_after_utc - at > RENEWED_BEFORE


def _authority(
    folder: Path, addresses: tuple[str, ...], at: dt.datetime
) -> tuple[x509.Certificate, ec.EllipticCurvePrivateKey]:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec

    certificate_path, key_path = folder / "authority.crt", folder / "authority.key"
    if certificate_path.exists() and key_path.exists():
        certificate = x509.load_pem_x509_certificate(certificate_path.read_bytes())
        key = serialization.load_pem_private_key(key_path.read_bytes(), None)
        lasts = certificate.not_valid_after_utc - at > CERTIFICATE_LASTS
        if lasts and _may_sign_for(certificate, addresses) and isinstance(key, ec.EllipticCurvePrivateKey):
            return certificate, key
    key = ec.generate_private_key(ec.SECP256R1())
    name = _named(f"Stopledger on {host_names()[0]}")
    usage = x509.KeyUsage(
        digital_signature=False,
        content_commitment=False,
        key_encipherment=False,
        data_encipherment=False,
        key_agreement=False,
        key_cert_sign=True,
        crl_sign=True,
        encipher_only=False,
        decipher_only=False,
    )
    allowed: list[x509.GeneralName] = [x509.DNSName(each) for each in host_names()]
    allowed += [x509.IPAddress(ipaddress.ip_network(each)) for each in (*_PRIVATE_NETWORKS, *addresses)]
    certificate = (
        _begun(name, name, key.public_key(), at, AUTHORITY_LASTS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints(permitted_subtrees=allowed, excluded_subtrees=None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _write(key_path, _key_bytes(key))
    _write(certificate_path, certificate.public_bytes(serialization.Encoding.PEM))
    return certificate, key


def _may_sign_for(authority: x509.Certificate, addresses: tuple[str, ...]) -> bool:
    from cryptography import x509

    allowed = authority.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees or ()
    names = {each.value for each in allowed if isinstance(each, x509.DNSName)}
    networks = [ipaddress.ip_network(str(each.value)) for each in allowed if isinstance(each, x509.IPAddress)]
    return names >= set(host_names()) and all(
        any(ipaddress.ip_address(address) in network for network in networks) for address in addresses
    )


def _write_certificate(
    made: Certificate,
    names: tuple[str, ...],
    authority: x509.Certificate,
    its_key: ec.EllipticCurvePrivateKey,
    at: dt.datetime,
) -> None:
    from cryptography import x509
    from cryptography.hazmat.primitives import hashes, serialization
    from cryptography.hazmat.primitives.asymmetric import ec
    from cryptography.x509.oid import ExtendedKeyUsageOID

    key = ec.generate_private_key(ec.SECP256R1())
    certificate = (
        _begun(_named("Stopledger"), authority.subject, key.public_key(), at, CERTIFICATE_LASTS)
        .add_extension(x509.SubjectAlternativeName([_general_name(each) for each in names]), critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.AuthorityKeyIdentifier.from_issuer_public_key(its_key.public_key()), critical=False)
        .sign(its_key, hashes.SHA256())
    )
    pem = serialization.Encoding.PEM
    # The key first: a certificate without its key is taken for none.
    _write(made.key, _key_bytes(key))
    _write(made.chain, certificate.public_bytes(pem) + authority.public_bytes(pem))


def _general_name(name: str) -> x509.GeneralName:
    from cryptography import x509

    try:
        return x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _begun(
    name: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, at: dt.datetime, lasts: dt.timedelta
) -> x509.CertificateBuilder:
    from cryptography import x509

    return (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        # Clocks differ by minutes between a computer and a phone.
        .not_valid_before(at - dt.timedelta(hours=1))
        .not_valid_after(at - dt.timedelta(hours=1) + lasts)
    )


def _named(name: str) -> x509.Name:
    from cryptography import x509
    from cryptography.x509.oid import NameOID

    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, name)])


def _key_bytes(key: ec.EllipticCurvePrivateKey) -> bytes:
    from cryptography.hazmat.primitives import serialization

    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _write(path: Path, content: bytes) -> None:
    """Whole or not at all, and readable by its owner alone."""
    half = path.with_suffix(f"{path.suffix}.part")
    with open(os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    half.replace(path)
