"""Files of keys: FILE holds the private key, for its owner's eyes alone, and FILE.pub the public one.

>>> import tempfile
>>> folder = tempfile.TemporaryDirectory()
>>> path = Path(folder.name, "site-a.key")
>>> public = make(path)
>>> read_signer(path).public == read_public(Path(folder.name, "site-a.key.pub")) == public
True
>>> folder.cleanup()
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from pourbook.errors import PourbookError, StoreError
from pourbook.input_files import whole
from pourbook.one_file import check_target
from pourbook.signing.ed25519 import Signer, made_pem, public_of, public_pem, signer_of

__all__ = ["make", "public_path", "read_public", "read_signer"]

_MOST = 10_000
"""Bytes of a key's file; ours have less than 400."""


def public_path(path: Path) -> Path:
    """Where the public half of a key stands."""
    return path.with_name(path.name + ".pub")


def make(path: Path, passphrase: str = "") -> str:
    """Make a key and write both its files, which may not be there yet; the public key.

    Raises:
        StoreError: one of them is there, or cannot be written; then neither is.
    """
    secret = made_pem(passphrase)
    public = signer_of(secret, passphrase).public
    both = {path: (secret, 0o600), public_path(path): (public_pem(public), 0o644)}
    for one in both:
        check_target(one)
    made: list[Path] = []
    try:
        for one, (text, mode) in both.items():
            handle = os.open(one, os.O_WRONLY | os.O_CREAT | os.O_EXCL, mode)
            made.append(one)
            with os.fdopen(handle, "wb") as file:
                file.write(text)
                file.flush()
                os.fsync(file.fileno())
    except OSError as error:
        for one in made:
            with suppress(OSError):
                one.unlink()
        raise StoreError(f"'{path}' cannot be written: {error.strerror}", "name another file") from error
    return public


def read_signer(path: Path, passphrase: str = "") -> Signer:
    """The holder of the private key in a file.

    Raises:
        PourbookError: as `signer_of`; it cannot be read.
    """
    with _naming(path):
        return signer_of(whole(path, _MOST), passphrase)


def read_public(path: Path) -> str:
    """The public key in a file.

    Raises:
        PourbookError: as `public_of`; it cannot be read.
    """
    with _naming(path):
        return public_of(whole(path, _MOST))


@contextmanager
def _naming(path: Path) -> Iterator[None]:
    """A refusal of what is in the file names it."""
    try:
        yield
    except PourbookError as error:
        if not error.file and str(path) not in error.message:
            raise type(error)(f"'{path}': {error.message}", error.remedy, file=path.name) from error
        raise
