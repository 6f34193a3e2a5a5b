"""The entry by which a journal knows a public key; a page of the vocabulary in `entries.py`.

>>> Key("21fe31dfa154a261" + "0" * 48, ended="lost").ended
'lost'
"""

from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from pourbook.signing.ed25519 import Signer

__all__ = ["ENDS", "SECOND_SIGNATURE", "End", "Key", "Second"]

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


SECOND_SIGNATURE = "second_signature"
"""What the body of an entry calls the signature of its second person."""


class Second(NamedTuple):
    """A second person who agrees with an entry.

    Attributes:
        who: their name.
        signer: the key that they sign it with; None where their account at a station stands for it.
    """

    who: str
    signer: "Signer | None" = None
