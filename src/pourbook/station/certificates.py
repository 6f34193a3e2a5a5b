"""A house's own certificates, so that tablets speak to the station through TLS: a local root, and a leaf signed by it.

The root is made once and trusted by hand on each tablet; the leaf names the station, and is made anew when it runs
out or the names change. Keys are for their owner's eyes only, and no request leaves the house.
"""

import os
import socket
from collections.abc import Collection
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path
from typing import NamedTuple

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from pourbook.errors import StoreError

__all__ = ["Certificates", "certificates_for", "local_addresses"]

_ROOT_DAYS, _LEAF_DAYS, _RENEWED_DAYS = 3650, 397, 30
"""A leaf lives no longer than browsers accept (398 days; from memory: the rules of the CA/Browser Forum)."""

_Key = ec.EllipticCurvePrivateKey


class Certificates(NamedTuple):
    """What a station serves TLS with.

    Attributes:
        root: path of the root, as a tablet takes it in.
        leaf: path of the station's certificate.
        key: path of its key.
        fingerprint: of the root, SHA-256 in pairs, to be compared on the tablet.
        days_left: until the leaf runs out.
    """

    root: Path
    leaf: Path
    key: Path
    fingerprint: str
    days_left: int


def certificates_for(folder: Path, house: str, names: Collection[str], now: datetime) -> Certificates:
    """The certificates in that folder, made or renewed where needed, for a station of these names and addresses.

    Raises:
        StoreError: the folder cannot be written, or what lies in it cannot be read.
    """
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        root_key, root = _root(folder, house, now)
        leaf = _leaf(folder, root_key, root, sorted(set(names)), now)
    except (OSError, ValueError) as error:
        told = f"the certificates in '{folder.name}' cannot be made or read: {error}"
        raise StoreError(told, "check the folder beside the book, or move it away: new ones are made") from error
    pairs = root.fingerprint(hashes.SHA256()).hex(":").upper()
    left = (leaf.not_valid_after_utc - now).days
    return Certificates(folder / "root.pem", folder / "leaf.pem", folder / "leaf.key", pairs, left)


def local_addresses() -> tuple[str, ...]:
    """Addresses of this machine that others may reach it by, found without asking anybody."""
    found = {"127.0.0.1"}
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(
                ("192.0.2.1", 9)
            )  # an address for documents (RFC 5737): nothing is sent, only a way is chosen
            found.add(probe.getsockname()[0])
        except OSError:
            pass
    return tuple(sorted(found))


# -- the two certificates ----------------------------------------------------------------


def _root(folder: Path, house: str, now: datetime) -> tuple[_Key, x509.Certificate]:
    certificate, key = folder / "root.pem", folder / "root.key"
    if certificate.exists() and key.exists():
        return _key_in(key), x509.load_pem_x509_certificate(certificate.read_bytes())
    made = ec.generate_private_key(ec.SECP256R1())
    name = _named(f"{house[:40]}: station's root")
    builder = _begun(name, name, made.public_key(), now, _ROOT_DAYS)
    builder = builder.add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
    builder = builder.add_extension(_usage(signs_certificates=True), critical=True)
    signed = builder.sign(made, hashes.SHA256())
    _write_key(key, made)
    certificate.write_bytes(signed.public_bytes(serialization.Encoding.PEM))
    return made, signed


def _leaf(folder: Path, root_key: _Key, root: x509.Certificate, names: list[str], now: datetime) -> x509.Certificate:
    certificate, key = folder / "leaf.pem", folder / "leaf.key"
    alternatives = x509.SubjectAlternativeName([_alternative(name) for name in names])
    if certificate.exists() and key.exists():
        known = x509.load_pem_x509_certificate(certificate.read_bytes())
        kept = known.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
        fresh = known.not_valid_after_utc - now > timedelta(days=_RENEWED_DAYS)
        if fresh and kept == alternatives and known.issuer == root.subject:
            return known
    made = ec.generate_private_key(ec.SECP256R1())
    builder = _begun(_named(names[0]), root.subject, made.public_key(), now, _LEAF_DAYS)
    builder = builder.add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
    builder = builder.add_extension(_usage(signs_certificates=False), critical=True)
    builder = builder.add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
    builder = builder.add_extension(alternatives, critical=False)
    builder = builder.add_extension(
        x509.AuthorityKeyIdentifier.from_issuer_public_key(root_key.public_key()), critical=False
    )
    signed = builder.sign(root_key, hashes.SHA256())
    _write_key(key, made)
    certificate.write_bytes(signed.public_bytes(serialization.Encoding.PEM))
    return signed


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePublicKey, now: datetime, days: int
) -> x509.CertificateBuilder:
    begin = now.astimezone(UTC).replace(microsecond=0) - timedelta(hours=1)  # a tablet's clock may be slow
    builder = x509.CertificateBuilder().subject_name(subject).issuer_name(issuer).public_key(key)
    builder = builder.serial_number(x509.random_serial_number()).not_valid_before(begin)
    builder = builder.not_valid_after(begin + timedelta(days=days))
    return builder.add_extension(x509.SubjectKeyIdentifier.from_public_key(key), critical=False)


def _usage(*, signs_certificates: bool) -> x509.KeyUsage:
    return x509.KeyUsage(
        digital_signature=not signs_certificates, key_cert_sign=signs_certificates, crl_sign=signs_certificates,
        content_commitment=False, key_encipherment=False, data_encipherment=False, key_agreement=False,
        encipher_only=False, decipher_only=False,
    )  # fmt: skip


def _named(text: str) -> x509.Name:
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text[:64])])


def _alternative(name: str) -> x509.GeneralName:
    try:
        return x509.IPAddress(ip_address(name))
    except ValueError:
        return x509.DNSName(name)


def _write_key(path: Path, key: _Key) -> None:
    """For its owner's eyes only from the first moment on."""
    text = key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )
    path.unlink(missing_ok=True)
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(text)


def _key_in(path: Path) -> _Key:
    found = serialization.load_pem_private_key(path.read_bytes(), None)
    if not isinstance(found, ec.EllipticCurvePrivateKey):
        raise ValueError("root.key is not a key of ours")
    return found
