"""Keys and signatures by Ed25519 (RFC 8032), and keys as PEM: PKCS #8 and SubjectPublicKeyInfo (RFC 8410).

A public key is its 32 bytes as hexadecimal text, a signature its 64.

>>> secret = made_pem()
>>> signer = signer_of(secret)
>>> signature = signer.sign(b"where it stood")
>>> is_signed(signer.public, b"where it stood", signature), is_signed(signer.public, b"elsewhere", signature)
(True, False)
>>> public_of(public_pem(signer.public)) == signer.public
True
"""

from collections.abc import Callable
from typing import NamedTuple

from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import (
    BestAvailableEncryption,
    Encoding,
    NoEncryption,
    PrivateFormat,
    PublicFormat,
    load_pem_private_key,
    load_pem_public_key,
)

from pourbook.errors import Malformed, Refused

__all__ = ["Signer", "is_signed", "made_pem", "public_of", "public_pem", "signer_of"]


class Signer(NamedTuple):
    """Whoever holds a private key: its `public` half, and `sign`, which gives the signature of a message."""

    public: str
    sign: Callable[[bytes], str]


def made_pem(passphrase: str = "") -> bytes:
    """A new private key as PEM, locked by a passphrase unless that is empty."""
    lock = BestAvailableEncryption(passphrase.encode()) if passphrase else NoEncryption()
    return Ed25519PrivateKey.generate().private_bytes(Encoding.PEM, PrivateFormat.PKCS8, lock)


def signer_of(pem: bytes, passphrase: str = "") -> Signer:
    """The holder of a private key.

    Raises:
        Malformed: it is no private key, or of another kind than Ed25519.
        Refused: it is locked and the passphrase is missing or wrong.
    """
    try:
        key = load_pem_private_key(pem, passphrase.encode() if passphrase else None)
    except TypeError as error:
        if passphrase:  # that nothing asked for
            return signer_of(pem)
        raise Refused("the key is locked by a passphrase", "give the passphrase") from error
    except (ValueError, UnsupportedAlgorithm) as error:
        if passphrase and b"ENCRYPTED PRIVATE KEY" in pem:
            raise Refused("the passphrase does not open the key", "type it again") from error
        raise Malformed("this is no private key", "name the file that 'pourbook key make' wrote") from error
    if not isinstance(key, Ed25519PrivateKey):
        raise Malformed("the key is not of the kind Ed25519", "make one: pourbook key make FILE")
    return Signer(_raw(key.public_key()).hex(), lambda message: key.sign(message).hex())


def public_pem(public: str) -> bytes:
    """A public key as PEM."""
    key = Ed25519PublicKey.from_public_bytes(bytes.fromhex(public))
    return key.public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)


def public_of(pem: bytes) -> str:
    """The public key in a PEM.

    Raises:
        Malformed: there is none, it is a private key, or it is of another kind than Ed25519.
    """
    if b"PRIVATE KEY" in pem:
        raise Malformed("this is a private key, which nobody else may have", "name the public one: FILE.pub")
    try:
        key = load_pem_public_key(pem)
    except (ValueError, UnsupportedAlgorithm) as error:
        raise Malformed("this is no public key", "name the FILE.pub that 'pourbook key make' wrote") from error
    if not isinstance(key, Ed25519PublicKey):
        raise Malformed("the public key is not of the kind Ed25519", "name the FILE.pub that 'pourbook key make' wrote")
    return _raw(key).hex()


def is_signed(public: str, message: bytes, signature: str) -> bool:
    """Whether the holder of this key signed this message."""
    try:
        Ed25519PublicKey.from_public_bytes(bytes.fromhex(public)).verify(bytes.fromhex(signature), message)
    except (InvalidSignature, ValueError):
        return False
    return True


def _raw(key: Ed25519PublicKey) -> bytes:
    return key.public_bytes(Encoding.Raw, PublicFormat.Raw)
