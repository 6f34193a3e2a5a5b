"""Keys of people and sites: the journal learns of them, and of their end. The private half never comes here."""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.key_entries import End, Key
from pourbook.book.keys import KnownKey, key_called
from pourbook.signing.fingerprints import fingerprint

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["KeyChanged", "add_key", "end_key"]


class KeyChanged(NamedTuple):
    """A key as it is `known` now, and what was `recorded`."""

    known: KnownKey
    recorded: "Recorded"


def add_key(book: "BookCore", how: "Happening", public: str, holder: str) -> KeyChanged:
    """From now on the journal knows this public key (32 bytes as hexadecimal text) as that of a person or site.

    Raises:
        Malformed: nobody is said to have it.
        Refused: it is known already, or was ended.
    """
    return _recorded(book, how, Key(fingerprint(public), public, holder))


def end_key(book: "BookCore", how: "Happening", which: str, ended: End = "revoked") -> KeyChanged:
    """End a key, named by its fingerprint or how that begins; heads signed with it before stay good.

    Raises:
        Malformed: no reason was given, or it is no fingerprint.
        Unknown: the journal knows no such key.
        Refused: it was ended already.
    """
    return _recorded(book, how, Key(key_called(book.store, which).fingerprint, ended=ended))


def _recorded(book: "BookCore", how: "Happening", entry: Key) -> KeyChanged:
    with how.transaction(book):
        recorded = how.record(book, entry)
        return KeyChanged(key_called(book.store, entry.fingerprint), recorded)
