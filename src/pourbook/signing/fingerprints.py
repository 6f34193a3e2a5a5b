"""The fingerprint of a public key, and one as somebody types it.

>>> fingerprint("d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a")[:16]
'21fe31dfa154a261'
>>> typed("21FE 31DF a154")
'21fe31dfa154'
"""

import re
from hashlib import sha256

from pourbook.errors import Malformed

__all__ = ["fingerprint", "in_groups", "typed"]

_LEAST = 8
"""Digits that somebody types at least; a house has few keys."""


def fingerprint(public: str) -> str:
    """SHA-256 of the key's 32 bytes, as hexadecimal text."""
    return sha256(bytes.fromhex(public)).hexdigest()


def typed(text: str) -> str:
    """A fingerprint, or how it begins, as the journal writes it; else `Malformed`."""
    digits = re.sub(r"[\s:]", "", text).lower()
    if re.fullmatch(rf"[0-9a-f]{{1,{_LEAST - 1}}}", digits):
        raise Malformed(
            f"'{text}' is too short for a fingerprint", f"give {_LEAST} of its digits at least: pourbook key list"
        )
    if not re.fullmatch(rf"[0-9a-f]{{{_LEAST},64}}", digits):
        raise Malformed(
            f"'{text}' is no fingerprint of a key", f"give {_LEAST} to 64 of its hexadecimal digits: pourbook key list"
        )
    return digits


def in_groups(text: str) -> str:
    """A fingerprint as it is read aloud: in groups of four.

    >>> in_groups("21fe31dfa154")
    '21fe 31df a154'
    """
    return " ".join(text[place : place + 4] for place in range(0, len(text), 4))
