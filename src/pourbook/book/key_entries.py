"""The entry by which a journal knows a public key; a page of the vocabulary in `entries.py`.

>>> Key("21fe31dfa154a261" + "0" * 48, ended="lost").ended
'lost'
"""

from typing import Literal, NamedTuple

__all__ = ["ENDS", "End", "Key"]

End = Literal["lost", "rotated", "revoked"]
ENDS: tuple[End, ...] = ("lost", "rotated", "revoked")
"""Why a key ends: nobody has it any more; another took its place; somebody else may have it."""


class Key(NamedTuple):
    """A key is known from now on; or, with `ended`, it ends.

    Attributes:
        fingerprint: SHA-256 of the public key, as hexadecimal text.
        public: the public key, 32 bytes as hexadecimal text; empty where it ends.
        holder: the person, site or house that has the private key; empty where it ends.
        ended: a word of `ENDS`; empty for a new key.
    """

    fingerprint: str
    public: str = ""
    holder: str = ""
    ended: str = ""
