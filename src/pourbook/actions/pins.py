"""PINs as they are kept: argon2id (RFC 9106), at the least cost that the OWASP Password Storage Cheat Sheet gives.

That is 19 MiB, two passes and one lane. At most two are worked on at once, so that many attempts take no more memory.
"""

import unicodedata
from functools import cache
from threading import Semaphore
from typing import TYPE_CHECKING

from pourbook.book.account_rules import LONGEST_PIN
from pourbook.errors import Refused

if TYPE_CHECKING:
    from argon2 import PasswordHasher

__all__ = ["hashed", "is_pin"]

_AT_ONCE = Semaphore(2)


def hashed(pin: str) -> str:
    """The hash of a PIN, with its salt and cost, as it is kept.

    Raises:
        Refused: the part of pourbook that the station needs is not installed.
    """
    with _AT_ONCE:
        return _hasher().hash(_as_typed(pin))


def is_pin(pin: str, kept: str | None) -> bool:
    """Whether it is the PIN behind a hash; without one the answer is no, and takes as long.

    Raises:
        Refused: as `hashed`.
    """
    with _AT_ONCE:
        nobodys = _nobodys_hash()
        from argon2.exceptions import VerificationError

        try:
            return _hasher().verify(kept or nobodys, _as_typed(pin)) and kept is not None
        except VerificationError:
            return False


@cache
def _hasher() -> "PasswordHasher":
    try:
        from argon2 import PasswordHasher, Type
    except ModuleNotFoundError as error:
        raise Refused("accounts need the part for the station", "pip install 'pourbook[station]'") from error

    return PasswordHasher(time_cost=2, memory_cost=19 * 1024, parallelism=1, type=Type.ID)


@cache
def _nobodys_hash() -> str:
    return _hasher().hash("")


def _as_typed(pin: str) -> bytes:
    """The same bytes for the same characters, whichever keyboard made them: Unicode's NFKC, as NIST SP 800-63B asks.

    No PIN is longer than what is looked at, so that a long text costs nobody anything and is never the right one.
    """
    return unicodedata.normalize("NFKC", pin[: LONGEST_PIN + 1]).encode(errors="replace")
