"""The journal's bytes and their chain.

An entry is canonical JSON: UTF-8, sorted keys, no spaces, integers and strings only. Its hash is
SHA-256 of the hash before it and its bytes, so that a changed, dropped, swapped or inserted entry
changes every hash after it. The chain follows the order of recording. What it proves: that
today's journal still begins with the history whose head was written down elsewhere. What it does
not: that what was recorded was true, or that nobody rewrote journal and chain together before
the head left the house.

>>> first = canonical({"number": 1, "kind": "house"})
>>> first
b'{"kind":"house","number":1}'
>>> chain(GENESIS, first).hex()[:16]
'64e5de1cfa10eecd'
"""

import json
from typing import Any

__all__ = ["GENESIS", "canonical", "chain", "parsed"]

GENESIS = bytes(32)
"""What the first entry's hash is chained to."""

_encode = json.JSONEncoder(ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode


def canonical(entry: dict[str, Any]) -> bytes:
    """The bytes of an entry.

    Raises:
        TypeError: it holds something else than whole numbers, text, lists and mappings.
    """
    _only_integers_and_text(entry)
    return _encode(entry).encode()


def _only_integers_and_text(value: object) -> None:
    kind = type(value)
    if kind is dict:
        for key, inner in value.items():  # type: ignore[attr-defined]
            if type(key) is not str:
                raise TypeError(f"key {key!r} is not text")
            if type(inner) is not str and type(inner) is not int:
                _only_integers_and_text(inner)
    elif kind is list:
        for inner in value:  # type: ignore[attr-defined]
            _only_integers_and_text(inner)
    elif kind is not str and kind is not int:
        raise TypeError(f"{value!r} is neither a whole number nor text")


def parsed(entry_bytes: bytes | str) -> dict[str, Any]:
    """The entry that `canonical` wrote."""
    entry: dict[str, Any] = json.loads(entry_bytes)
    return entry


def chain(previous: bytes, entry_bytes: bytes) -> bytes:
    """The hash of an entry, given the hash of the one before it."""
    from hashlib import sha256  # reading verbs do without it

    return sha256(previous + entry_bytes).digest()
