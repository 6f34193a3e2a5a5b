"""Where the journal stands, signed; and a signed head that comes back, held against the keys that are known.

A signature is judged by the public key that the reader has. Where none is given, by the keys of the journal itself:
that is weaker, since whoever can write a whole journal anew can put a key of their own in it.

>>> read_signed("no head at all")
()
"""

import json
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from pourbook.book.groups import sites
from pourbook.book.keys import KnownKey, known_keys
from pourbook.errors import Refused
from pourbook.queries.journal.against import Head, holds

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store
    from pourbook.signing.ed25519 import Signer
    from pourbook.signing.heads import SignedHead

__all__ = ["FoundWrong", "SignatureChecked", "checked_signature", "countersigned_head", "read_signed", "signed_head"]

FoundWrong = Literal["", "altered", "counter altered", "other key", "unknown key", "ended key", "counter ended"]
"""What is wrong with a signature; nothing where it is good."""


class SignatureChecked(NamedTuple):
    """What was found of a signed head, the journal left aside.

    Attributes:
        signed: the head with its signatures.
        wrong: what is wrong with them.
        known: its key as the journal knows it; None where it does not.
        public: the key that the reader had, of the signer or of one who counter-signed; empty where the keys of the
            journal were believed.
        counters: who the journal says counter-signed, "" for a key that it does not know.
    """

    signed: "SignedHead"
    wrong: FoundWrong
    known: KnownKey | None
    public: str
    counters: tuple[str, ...] = ()


def signed_head(book: "BookCore", signer: "Signer", dated_us: int | None = None) -> "SignedHead":
    """Where the journal stands now, signed; dated by the book's clock unless a moment is given.

    Raises:
        Refused: the journal says that this key has ended.
    """
    from pourbook.signing.heads import Standing, sign_head

    settings, (number, head) = book.settings, book.head()
    moment_us = book.clock() if dated_us is None else dated_us
    _refuse_ended(book.store, signer, number, moment_us)
    signed = sign_head(Standing(settings["house"], settings.get("site", ""), number, head), signer, moment_us)
    return signed._replace(made_of=tuple(one.head.hex() for one in sites(book.store)))


def countersigned_head(book: "BookCore", signed: "SignedHead", signer: "Signer") -> "SignedHead":
    """A signed head with one signature more; one of this house and site must stand in this journal.

    Raises:
        Refused: this journal does not hold it, it was altered, or the key signed it already or has ended.
    """
    from pourbook.signing.heads import countersigned

    standing, settings, now_us = signed.standing, book.settings, book.clock()
    is_own = (standing.house, standing.site) == (settings["house"], settings.get("site", ""))
    if is_own and not holds(book.store, Head(standing.number, standing.head)):
        raise Refused("this journal does not hold that head", "see how they differ: pourbook verify --against SIGNED")
    _refuse_ended(book.store, signer, book.head_number(), now_us)
    return countersigned(signed, signer, now_us)


def _refuse_ended(store: "Store", signer: "Signer", number: int, moment_us: int) -> None:
    known = {one.public: one for one in known_keys(store)}.get(signer.public)
    if known and known.is_over(number, moment_us):
        raise Refused(f"this key was ended ({known.ended}) by entry {known.ended_entry}", "sign with the new one")


# -- one that comes back -----------------------------------------------------------------


def read_signed(text: str) -> "tuple[SignedHead, ...]":
    """Every signed head in a text: what the command wrote, a document or a list that carries one, a scanned symbol.

    Raises:
        Malformed: something is written as one and is none.
    """
    if '"signature"' not in text and ":signed/" not in text:
        return ()
    from pourbook.signing.heads import from_json, from_texts

    found = (from_json(one) for told in _documents(text) for one in _signed_in(told))
    return tuple(dict.fromkeys((*found, *from_texts(text))))


def _documents(text: str) -> Iterator[Any]:
    """The JSON document that a text is, or the last line of a list of them."""
    lines = text.strip().rsplit("\n", 1)
    for one in dict.fromkeys((text, lines[-1])):
        try:
            yield json.loads(one)
        except (ValueError, RecursionError):
            continue
        return


_DEEPEST = 50


def _signed_in(told: object, depth: int = 0) -> Iterator[Mapping[str, Any]]:
    """Every document of a signed head, however deep."""
    if depth > _DEEPEST:
        return
    if isinstance(told, dict):
        if {"head", "number", "signature"} <= told.keys():
            yield told
            return
        told = list(told.values())
    if isinstance(told, list):
        for one in told:
            yield from _signed_in(one, depth + 1)


def checked_signature(store: "Store", signed: "SignedHead", public: str = "") -> SignatureChecked:
    """What is right or wrong with the signatures of a head, by the public key or else by the keys of the journal.

    The public key may be that of whoever counter-signed: they state the same head, and the signature that it has.
    """
    from pourbook.signing.heads import flaw

    keys = {one.public: one for one in known_keys(store)}
    known = keys.get(signed.public)
    number, signs = signed.standing.number, next((one for one in signed.counter if one.public == public), signed)
    wrong: FoundWrong = flaw(signed, public if signs is signed else "")
    if not wrong and not known and not public:
        wrong = "unknown key"
    if not wrong and known and known.is_over(number, signed.signed_us):
        wrong = "ended key"
    if not wrong and signs.public in keys and keys[signs.public].is_over(number, signs.signed_us):
        wrong = "counter ended"
    counters = tuple(keys[one.public].holder if one.public in keys else "" for one in signed.counter)
    return SignatureChecked(signed, wrong, known, public, counters)
