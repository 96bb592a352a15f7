"""The shop's own certificate: a root that phones install once, and the server's own, made anew when it is needed.

A browser keeps a page's files offline only behind a certificate that it trusts; so clicking a warning away is not
enough. The root may vouch for private addresses and local names only: should its key be stolen, it opens no bank.

References
----------
RFC 5280, Internet X.509 Certificate Profile, sections 4.2.1.9 and 4.2.1.10, https://www.rfc-editor.org/rfc/rfc5280
RFC 1918, RFC 4193, RFC 3927, RFC 4291 (private and link-local addresses); RFC 6762 (.local)
"""

from __future__ import annotations

import ipaddress
import os
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from tundish.store.errors import StoreError, clear_errors

FOLDER, ROOT, SERVER = "certificate", "root", "server"
# Days; our choice. 397 is the most that browsers take of a server (CA/Browser Forum, from memory). An early start
# forgives clocks; a month before its end the server's own is made anew.
ROOT_DAYS, SERVER_DAYS, EARLY, ENDING = 3650, 397, 2, 30
PRIVATE = (
    "10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16", "169.254.0.0/16", "127.0.0.0/8", "fc00::/7", "fe80::/10", "::1/128",
)  # fmt: skip
LOCAL = ("local", "localhost", "home.arpa", "lan", "internal")


@dataclass(frozen=True)
class Papers:
    """What the server shows. chain, key : files for it. root : the certificate to install, DER. print : its SHA-256."""

    chain: Path
    key: Path
    root: bytes
    print: str


def papers_for(data: Path, names: Sequence[str], now: datetime) -> Papers:
    """The certificate for these names and addresses; made when it is missing, about to end, or for other names.

    StoreError for a public address or name, for which the shop's root does not vouch.
    """
    refuse_public(names)
    folder = data / FOLDER
    with clear_errors(folder):
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        root, root_key = _read(folder, ROOT) or _kept(folder, ROOT, _root(now))
        if not _good(root, now):
            root, root_key = _kept(folder, ROOT, _root(now))
        server = _read(folder, SERVER)
        if server is None or not _fits(server[0], root, names, now):
            _kept(folder, SERVER, _server(root, root_key, names, now), above=root)
    der = root.public_bytes(serialization.Encoding.DER)
    seen = root.fingerprint(hashes.SHA256()).hex(":").upper()
    return Papers(folder / f"{SERVER}.pem", folder / f"{SERVER}.key", der, seen)


def refuse_public(names: Sequence[str]) -> None:
    """StoreError for a name or address that is not a private one."""
    for name in names:
        address = _address(name)
        good = (
            any(address in ipaddress.ip_network(net) for net in PRIVATE)
            if address
            else name.rpartition(".")[2] in LOCAL or name.endswith(".home.arpa") or "." not in name
        )
        if not good:
            raise StoreError(
                seen=f"{name} for the shop network",
                allowed=f"private addresses, or names ending in {', '.join(LOCAL)}",
                do="name one with --address; do not put the bench on the open net",
            )


Made = tuple[x509.Certificate, ec.EllipticCurvePrivateKey]


def _root(now: datetime) -> Made:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Tundish, this shop's own")])
    networks = [x509.IPAddress(ipaddress.ip_network(net)) for net in PRIVATE]
    # Critical: who does not understand it must refuse the certificate
    bounds = x509.NameConstraints([*networks, *(x509.DNSName(name) for name in LOCAL)], None)
    built = (
        _begun(name, name, key, now, ROOT_DAYS)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(_usage(signs=True), critical=True)
        .add_extension(bounds, critical=True)
    )
    return built.sign(key, hashes.SHA256()), key


def _server(
    root: x509.Certificate, root_key: ec.EllipticCurvePrivateKey, names: Sequence[str], now: datetime
) -> Made:
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "Tundish bench")])
    issuer = x509.AuthorityKeyIdentifier.from_issuer_public_key(root_key.public_key())
    built = (
        _begun(name, root.subject, key, now, SERVER_DAYS)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(_usage(signs=False), critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName([_named(name) for name in names]), critical=False)
        .add_extension(issuer, critical=False)
    )
    return built.sign(root_key, hashes.SHA256()), key


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(now - timedelta(days=EARLY))
        .not_valid_after(now + timedelta(days=days - EARLY))
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _usage(*, signs: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs, key_cert_sign=signs, crl_sign=signs, content_commitment=False,
        key_encipherment=False, data_encipherment=False, key_agreement=False, encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _named(name: str) -> x509.GeneralName:
    address = _address(name)
    return x509.IPAddress(address) if address else x509.DNSName(name)


def _address(name: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        return ipaddress.ip_address(name)
    except ValueError:
        return None


def _good(one: x509.Certificate, now: datetime) -> bool:
    return one.not_valid_before_utc <= now <= one.not_valid_after_utc - timedelta(days=ENDING)


def _fits(one: x509.Certificate, root: x509.Certificate, names: Sequence[str], now: datetime) -> bool:
    # Made for other names, by an older root, or ending soon
    held = one.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    try:
        one.verify_directly_issued_by(root)
    # Whatever is wrong with it, another is made
    except Exception:  # noqa: BLE001
        return False
    return _good(one, now) and set(held) == {_named(name) for name in names}


def _read(folder: Path, what: str) -> Made | None:
    paths = folder / f"{what}.pem", folder / f"{what}.key"
    if not all(path.exists() for path in paths):
        return None
    try:
        held = x509.load_pem_x509_certificate(paths[0].read_bytes())
        key = serialization.load_pem_private_key(paths[1].read_bytes(), None)
    except ValueError:
        return None
    return (held, key) if isinstance(key, ec.EllipticCurvePrivateKey) else None


def _kept(folder: Path, what: str, made: Made, above: x509.Certificate | None = None) -> Made:
    pem = serialization.Encoding.PEM
    hidden = made[1].private_bytes(pem, serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    # The root goes along, so that a browser finds the way to what it installed
    chain = b"".join(one.public_bytes(pem) for one in (made[0], above) if one is not None)
    for end, content in (("key", hidden), ("pem", chain)):
        draft = folder / f".{what}.{end}"
        draft.unlink(missing_ok=True)
        # No rights for others before the key is in it
        with os.fdopen(os.open(draft, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600), "wb") as out:
            out.write(content)
        os.replace(draft, folder / f"{what}.{end}")
    return made


def in_utc(seconds: float) -> datetime:
    """A moment of the clock, [s] since 1970, for a certificate."""
    return datetime.fromtimestamp(seconds, UTC).replace(microsecond=0)
