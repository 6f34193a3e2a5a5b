"""Keys that heads are signed with, as the journal knows them: from which entry on, whose, and until which.

Private keys are never here. A key is one more entry of the chain, so whoever trusts a head knows the keys before it.

>>> in_words({"fingerprint": "21fe31dfa154a261" + "0" * 48, "public": "d7" * 32, "holder": "site A"}, ".")
'key of site A: 21fe 31df a154 a261'
"""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.journal import parsed
from pourbook.book.key_entries import ENDS, Key
from pourbook.book.store import Store
from pourbook.codes.identifiers import readable
from pourbook.errors import Ambiguous, Malformed, Refused, Unknown
from pourbook.signing.fingerprints import fingerprint, in_groups, typed
from pourbook.times import moment_of

if TYPE_CHECKING:
    from pourbook.book.rules import Case

__all__ = ["OF_KEYS", "KnownKey", "in_words", "key_called", "keys_in", "known_keys"]

_SHORT = 16


class KnownKey(NamedTuple):
    """A key as a journal knows it.

    Attributes:
        public: the key, as hexadecimal text.
        holder: who has the private key.
        entry: number of the entry from which on it is known.
        since_us: when it began, as that entry says.
        ended: a word of `ENDS`; empty while it holds.
        ended_entry: number of the entry that ended it; 0 while it holds.
        ended_us: when it ended, as that entry says; None while it holds.
    """

    public: str
    holder: str
    entry: int
    since_us: int
    ended: str = ""
    ended_entry: int = 0
    ended_us: int | None = None

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the public key."""
        return fingerprint(self.public)

    def is_over(self, number: int, moment_us: int) -> bool:
        """Whether it had ended when the journal stood at an entry, or by a moment."""
        return self.ended_us is not None and (self.ended_entry <= number or self.ended_us <= moment_us)


def known_keys(store: Store) -> tuple[KnownKey, ...]:
    """Every key of the journal, in the order they were added."""
    return keys_in(
        store.query(
            "SELECT number, bytes FROM entry WHERE kind = 'key' AND kind NOT IN ('pour', 'gauge', 'item')"
            " ORDER BY number"
        )
    )


def keys_in(rows: Iterable[tuple[int, str]]) -> tuple[KnownKey, ...]:
    """Every key of entries about keys, given by number and text, in the order they were added."""
    found: dict[str, KnownKey] = {}
    for number, text in rows:
        entry = parsed(text)
        body, happened_us = entry["body"], moment_of(entry["happened"])
        which = body["fingerprint"]
        if "ended" not in body:
            found[which] = KnownKey(body["public"], body["holder"], number, happened_us)
        elif which in found:
            found[which] = found[which]._replace(ended=body["ended"], ended_entry=number, ended_us=happened_us)
    return tuple(found.values())


def key_called(store: Store, text: str) -> KnownKey:
    """The key whose fingerprint begins as typed.

    Raises:
        Malformed: it is no fingerprint.
        Unknown: no key of the journal begins so.
        Ambiguous: several do.
    """
    begins = typed(text)
    found = [one for one in known_keys(store) if one.fingerprint.startswith(begins)]
    if not found:
        raise Unknown(f"the journal knows no key {in_groups(begins)}", "see which it knows: pourbook key list")
    if len(found) > 1:
        raise Ambiguous(f"several keys begin with {in_groups(begins)}", "give more of its digits")
    return found[0]


def in_words(body: Mapping[str, Any], _mark: str) -> str:
    """What an entry says of a key, in one line."""
    which = in_groups(body["fingerprint"][:_SHORT])
    return f"key {which} ended: {body['ended']}" if "ended" in body else f"key of {readable(body['holder'])}: {which}"


def new_key_is_whole(case: "Case") -> None:
    """A key is added once, with somebody who has it; an ended key stays ended."""
    entry: Key = case.entry
    if entry.ended:
        return
    if not entry.holder.strip():
        raise Malformed("nobody is said to have the key", "give --of NAME: a person, or the site")
    known = {one.public: one for one in known_keys(case.known.store)}.get(entry.public)
    if known and known.ended:
        raise Refused(f"this key was ended ({known.ended}) by entry {known.ended_entry}", "make a new one")
    if known:
        raise Refused(f"this key is known since entry {known.entry}, as that of {known.holder}", "end it first")


def ending_is_of_a_key(case: "Case") -> None:
    """What ends is a key that holds, for a reason."""
    entry: Key = case.entry
    if not entry.ended:
        return
    known = key_called(case.known.store, entry.fingerprint)
    if known.ended:
        raise Refused(f"this key was ended ({known.ended}) by entry {known.ended_entry}", "nothing is left to do")
    if entry.ended not in ENDS:
        raise Malformed(f"a key cannot end as '{entry.ended}'", f"choose from: {', '.join(ENDS)}")
    if not case.draft.reason.strip():
        raise Malformed("nobody says why the key ends", "give --reason")


OF_KEYS = (new_key_is_whole, ending_is_of_a_key)
