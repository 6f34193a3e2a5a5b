"""Keys and signed heads, shown."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import readable
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.signing.fingerprints import fingerprint, in_groups
from pourbook.times import written

if TYPE_CHECKING:
    from pathlib import Path

    from pourbook.actions.keys import KeyChanged
    from pourbook.book.keys import KnownKey
    from pourbook.house_style import HouseStyle
    from pourbook.queries.journal.against import Against
    from pourbook.queries.journal.signed_heads import SignatureChecked
    from pourbook.signing.heads import SignedHead

__all__ = [
    "key_changed_shown", "key_made_shown", "keys_shown", "signature_document", "signature_words", "signed_shown",
]  # fmt: skip

_SHORT = 16
"""Digits of a fingerprint in a sentence or a list; the document has all."""


def key_made_shown(path: "Path", public_path: "Path", public: str, *, locked: bool) -> Shown:
    """A key that was made: where its two files are."""
    which = fingerprint(public)
    document = {
        "file": str(path), "public_file": str(public_path), "public": public, "fingerprint": which, "locked": locked,
    }  # fmt: skip
    said = (
        f"private key in {path}: keep it to yourself, outside the book and its back-ups",
        f"public key in {public_path}: give it to whoever checks what you sign",
        f"fingerprint {in_groups(which)}",
    )
    return Shown(document, said)


def key_changed_shown(answer: "KeyChanged", style: "HouseStyle") -> Shown:
    """A key that the journal learnt of, or that ended."""
    known = answer.known
    which = in_groups(known.fingerprint[:_SHORT])
    holder = readable(known.holder)
    said = f"key {which} of {holder} ended: {known.ended}" if known.ended else f"key of {holder}: {which}"
    return recorded_shown(answer.recorded, _document(known), (said,), style)


def keys_shown(keys: Sequence["KnownKey"], style: "HouseStyle") -> Shown:
    """The keys that the journal knows."""
    said = listed(
        keys,
        ("key", lambda one: in_groups(one.fingerprint[:_SHORT])),
        ("of", lambda one: readable(one.holder)),
        ("since", lambda one: style.time_shown(one.since_us)),
        ("ended", lambda one: "" if one.ended_us is None else f"{one.ended}, {style.time_shown(one.ended_us)}"),
    )
    return Shown({"keys": [_document(one) for one in keys]}, said if keys else ("the journal knows no key",))


def _document(known: "KnownKey") -> dict[str, Any]:
    return {
        "fingerprint": known.fingerprint, "public": known.public, "holder": known.holder,
        "since": written(known.since_us), "entry": known.entry, "ended": known.ended,
        "ended_entry": known.ended_entry, "ended_at": None if known.ended_us is None else written(known.ended_us),
    }  # fmt: skip


def signed_shown(document: Mapping[str, Any], signed: "SignedHead", style: "HouseStyle") -> Shown:
    """A signed head, as `document` has it, or that it stands in a file."""
    house, site, number, head = signed.standing
    by = f"signed by key {in_groups(fingerprint(signed.public)[:_SHORT])}"
    counters = [
        f"counter-signed by key {in_groups(fingerprint(one.public)[:_SHORT])}, {style.time_shown(one.signed_us)}"
        for one in signed.counter
    ]
    where = f"{house}, site {site}" if site else house
    said = (f"{where}: entry {number}, hash {head}", f"{by}, {style.time_shown(signed.signed_us)}", *counters)
    return Shown(document, (*said, f"signature {signed.signature}"))


# -- what came of checking one -------------------------------------------------------------


def signature_document(found: "SignatureChecked", against: "Against | None") -> dict[str, Any]:
    """What was found of a signed head, as JSON."""
    signed = found.signed
    return {
        "number": signed.standing.number, "head": signed.standing.head, "signed": written(signed.signed_us),
        "fingerprint": fingerprint(signed.public), "good": not found.wrong, "wrong": found.wrong,
        "by": "the public key given" if found.public else "the keys of the journal",
        "holder": found.known.holder if found.known else "", "counter": list(found.counters),
        "text": signature_words(found, against),
    }  # fmt: skip


def signature_words(found: "SignatureChecked", against: "Against | None") -> str:
    """What was found of a signed head, in one sentence."""
    signed, known = found.signed, found.known
    which = f"key {in_groups(fingerprint(signed.public)[:_SHORT])}" + (f" of {readable(known.holder)}" if known else "")
    if found.wrong:
        return _wrong_words(found, which)
    said = [f"entry {signed.standing.number} was signed by the {which}, and the signature is good"]
    for one, by in zip(signed.counter, found.counters, strict=True):
        who = readable(by) or "a key that the journal does not know"
        said.append(f"counter-signed by {who}" + (", with the key given" if one.public == found.public else ""))
    if against and not against.agrees and not against.is_elsewhere:
        said.append("so this journal is not the one that was signed")
    if known and known.ended in ("lost", "revoked"):
        said.append(f"that key has ended since ({known.ended}, entry {known.ended_entry})")
    if not found.public:
        said.append("checked by the keys of the journal itself, which is weaker than --public FILE")
    return "; ".join(said)


def _wrong_words(found: "SignatureChecked", which: str) -> str:
    if found.wrong == "other key":
        return f"signed by another key than the one given: by the {which}"
    if found.wrong == "unknown key":
        return f"signed by the {which}, which the journal does not know: give its public key with --public FILE"
    if found.wrong == "ended key" and found.known:
        known = found.known
        return f"signed by the {which} after that had ended ({known.ended}, entry {known.ended_entry})"
    if found.wrong == "counter ended":
        return "a counter-signature was made with a key that had ended"
    if found.wrong == "counter altered":
        return "a counter-signature is not of this signed head"
    return "what was signed was altered since: the signature is not of this number, hash, house, time and key"
