"""The private key of whoever signs: a file named on the line or by POURBOOK_KEY, and its passphrase."""

import os
import sys
from collections.abc import Callable
from functools import cache, partial
from typing import TYPE_CHECKING

import click

from pourbook.errors import Malformed, Refused

if TYPE_CHECKING:
    from pourbook.signing.ed25519 import Signer

__all__ = ["named_key", "passphrase_of_environment", "signer_in", "signer_of_environment"]


_LOCKED_BY = "POURBOOK_KEY_PASSPHRASE"


def named_key() -> str:
    """The file that POURBOOK_KEY names; empty where it names none."""
    return os.environ.get("POURBOOK_KEY", "")


def passphrase_of_environment(which: str = _LOCKED_BY) -> str:
    """A passphrase that the environment holds; empty where it holds none."""
    return os.environ.get(which, "")


def signer_of_environment() -> "Callable[[], Signer] | None":
    """Gives the holder of the key that POURBOOK_KEY names, whose passphrase is asked for once; None where none is.

    What it gives raises as `signer_in`.
    """
    path = named_key()
    return partial(cache(signer_in), path) if path else None


def signer_in(path: str | None, passphrase_in: str = _LOCKED_BY) -> "Signer":
    """The holder of the private key in a file; a passphrase is asked for on a terminal.

    Raises:
        Malformed: no file was named, or it holds no private key.
        Refused: it is locked, and the passphrase is missing or wrong.
    """
    from pathlib import Path  # few verbs sign

    from pourbook.signing.key_files import read_signer

    if not path:
        raise Malformed("no key was named", "give --key FILE, or set POURBOOK_KEY")
    given = passphrase_of_environment(passphrase_in)
    try:
        return read_signer(Path(path), given)
    except Refused as locked:
        if given or not sys.stdin.isatty():
            raise Refused(locked.message, f"set {passphrase_in}, or sign on a terminal") from locked
        return read_signer(Path(path), click.prompt(f"passphrase of {path}", hide_input=True, err=True))
