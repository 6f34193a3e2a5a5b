"""The journal's bytes and their chain.

An entry is canonical JSON: UTF-8, sorted keys, no spaces, integers and strings only. Its hash is
SHA-256 of the hash before it and its bytes, so that a changed, dropped, swapped or inserted entry
changes every hash after it. The chain proves that today's journal still begins with the history whose
head was written down elsewhere; not that the record was true, nor that nobody rewrote journal and chain
together before the head left the house.

>>> first = canonical({"number": 1, "kind": "house"})
>>> first
b'{"kind":"house","number":1}'
>>> chain(GENESIS, first).hex()[:16]
'64e5de1cfa10eecd'
"""

import json
from functools import lru_cache
from json.encoder import encode_basestring
from operator import itemgetter
from typing import Any

__all__ = ["GENESIS", "VERSION", "canonical", "chain", "parsed"]

VERSION = 200
"""Of a book, kept in its file: the format of the journal (2) times a hundred, and the revision of its tables."""

GENESIS = bytes(32)
"""What the first entry's hash is chained to."""
_FIRST = itemgetter(0)


def canonical(entry: dict[str, Any]) -> bytes:
    """The bytes of an entry: `json.dumps` with sorted keys, no spaces and only necessary escapes.

    Raises:
        TypeError: it holds anything but whole numbers, text, lists and mappings.
    """
    return _text(entry).encode()


def _text(value: object) -> str:
    # By exact type: a truth value or a subclass would be written as something that reads back differently.
    kind = type(value)
    if kind is str:
        return encode_basestring(value)  # type: ignore[arg-type]
    if kind is int:
        return str(value)
    if kind is dict:
        members = [
            _key(key)
            + (encode_basestring(inner) if type(inner) is str else str(inner) if type(inner) is int else _text(inner))
            for key, inner in sorted(value.items(), key=_FIRST)  # type: ignore[attr-defined]
        ]
        return "{" + ",".join(members) + "}"
    if kind is list:
        return "[" + ",".join([_text(inner) for inner in value]) + "]"  # type: ignore[attr-defined]
    raise TypeError(f"{value!r} is neither a whole number nor text")


@lru_cache(maxsize=1024)
def _key(key: object) -> str:
    if type(key) is not str:
        raise TypeError(f"key {key!r} is not text")
    return encode_basestring(key) + ":"


def parsed(entry_bytes: bytes | str) -> dict[str, Any]:
    """The entry that `canonical` wrote."""
    entry: dict[str, Any] = json.loads(entry_bytes)
    return entry


def chain(previous: bytes, entry_bytes: bytes) -> bytes:
    """The hash of an entry, given the hash of the one before it."""
    from hashlib import sha256  # reading verbs do without it

    return sha256(previous + entry_bytes).digest()
