"""A certificate authority of this machine's own, so that phones on the local network can trust its pages.

It can vouch for private addresses and names that end in ``.local`` only, and says so in its certificate: were its key
stolen, it would be good for nothing else. Keys are files that only their owner can read.
"""

from __future__ import annotations

import ipaddress
import os
import socket
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from outpace.errors import OutpaceError
from outpace.language import say

AUTHORITY_D = 5 * 365
SERVER_D = 397
"""Phones refuse certificates of a server that hold longer."""
RENEW_BEFORE_D = 30

PRIVATE = (
    "10.0.0.0/8",
    "172.16.0.0/12",
    "192.168.0.0/16",
    "127.0.0.0/8",
    "169.254.0.0/16",
    "fc00::/7",
    "::1/128",
)
SILENT = "192.0.2.1"
"""An address that belongs to nobody: a socket pointed there sends nothing, and learns by which way it would."""


@dataclass(frozen=True, slots=True)
class Papers:
    """Where certificate and key of the server lie, and what the authority is known by."""

    authority: Path
    certificate: Path
    key: Path
    fingerprint: str


def is_private(address: str) -> bool:
    """Return whether an address lies in a network that the authority may vouch for.

    Examples
    --------
    >>> is_private("192.168.1.20"), is_private("8.8.8.8"), is_private("127.0.0.1")
    (True, False, True)
    """
    there = ipaddress.ip_address(address)
    return any(
        there in network for network in map(ipaddress.ip_network, PRIVATE) if network.version == there.version
    )


def own_addresses() -> list[str]:
    """Return the private addresses of this machine, without those of loopback; nothing is sent to find them."""
    found: dict[str, None] = {}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect((SILENT, 9))
            found[probe.getsockname()[0]] = None
        except OSError:
            pass
    try:
        for entry in socket.getaddrinfo(socket.gethostname(), None, family=socket.AF_INET):
            found[str(entry[4][0])] = None
    except OSError:
        pass
    return [each for each in found if is_private(each) and not ipaddress.ip_address(each).is_loopback]


def papers(folder: Path, addresses: Iterable[str], now: datetime | None = None) -> Papers:
    """Return certificates for some addresses, made where there are none that hold.

    Parameters
    ----------
    folder : Path
        Where keys and certificates are kept; made readable by its owner only.
    addresses : iterable of str
        Private addresses the pages are served on.
    now : datetime, optional
        The clock.
    """
    moment = now or datetime.now(UTC)
    folder.mkdir(parents=True, exist_ok=True)
    folder.chmod(0o700)
    told = sorted({*addresses})
    if foreign := [each for each in told if not is_private(each)]:
        raise OutpaceError(
            say("{address} is not an address of a local network", address=foreign[0]),
            where="`--host`",
            allowed=say("private addresses, such as 192.168.1.20"),
            hint=say("pages are never served to the open internet"),
        )
    key, certificate = _authority(folder, moment)
    _server(folder, told, key, certificate, moment)
    print_of = certificate.fingerprint(hashes.SHA256()).hex().upper()
    return Papers(
        authority=folder / "authority.crt",
        certificate=folder / "server.pem",
        key=folder / "server.key",
        fingerprint=" ".join(print_of[n : n + 4] for n in range(0, len(print_of), 4)),
    )


def _authority(folder: Path, now: datetime) -> tuple[ec.EllipticCurvePrivateKey, x509.Certificate]:
    key_file, file = folder / "authority.key", folder / "authority.crt"
    if key_file.exists() and file.exists():
        key = serialization.load_pem_private_key(key_file.read_bytes(), None)
        certificate = x509.load_der_x509_certificate(file.read_bytes())
        if isinstance(key, ec.EllipticCurvePrivateKey) and _holds(certificate, now):
            return key, certificate
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"outpace on {socket.gethostname()}"[:64])])
    networks = [x509.IPAddress(ipaddress.ip_network(each)) for each in PRIVATE]
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
    certificate = (
        _begun(name, name, key.public_key(), now, AUTHORITY_D)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(usage, critical=True)
        .add_extension(x509.NameConstraints([*networks, x509.DNSName("local")], None), critical=True)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
        .sign(key, hashes.SHA256())
    )
    _keep_key(key_file, key)
    file.write_bytes(certificate.public_bytes(serialization.Encoding.DER))
    (folder / "server.pem").unlink(missing_ok=True)
    return key, certificate


def _server(
    folder: Path,
    addresses: list[str],
    authority_key: ec.EllipticCurvePrivateKey,
    authority: x509.Certificate,
    now: datetime,
) -> None:
    file = folder / "server.pem"
    if file.exists() and (folder / "server.key").exists():
        kept = x509.load_pem_x509_certificate(file.read_bytes())
        names = kept.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        known = {str(each) for each in names.get_values_for_type(x509.IPAddress)}
        if known == set(addresses) and _holds(kept, now) and kept.issuer == authority.subject:
            return
    key = ec.generate_private_key(ec.SECP256R1())
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "outpace")])
    names = x509.SubjectAlternativeName([x509.IPAddress(ipaddress.ip_address(each)) for each in addresses])
    certificate = (
        _begun(subject, authority.subject, key.public_key(), now, SERVER_D)
        .add_extension(names, critical=False)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(
            x509.AuthorityKeyIdentifier.from_issuer_public_key(authority_key.public_key()), critical=False
        )
        .sign(authority_key, hashes.SHA256())
    )
    _keep_key(folder / "server.key", key)
    file.write_bytes(certificate.public_bytes(serialization.Encoding.PEM))


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    # A phone's clock may run behind: the certificate holds since yesterday.
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key)
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=1))
        .not_valid_after(now + timedelta(days=days - 1))
    )


def _holds(certificate: x509.Certificate, now: datetime) -> bool:
    return certificate.not_valid_after_utc - now > timedelta(days=RENEW_BEFORE_D)


def _keep_key(path: Path, key: ec.EllipticCurvePrivateKey) -> None:
    content = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    path.unlink(missing_ok=True)
    # Made with its rights, so that at no moment anybody else can read it.
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(content)
