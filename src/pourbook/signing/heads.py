"""A signed head: where the journal of a house, or of one of its sites, stood, said by the holder of a key.

What is signed is one line that names its purpose, a line feed, and canonical JSON (sorted keys, no spaces, UTF-8), so
that a signature made for one purpose says nothing for another. Whoever counter-signs signs the statement together with
its first signature. A statement that is altered anywhere no longer has its signature.

>>> from pourbook.signing.ed25519 import made_pem, signer_of
>>> site, other = signer_of(made_pem()), signer_of(made_pem())
>>> signed = sign_head(Standing("Quillmere", "A", 1284, "9f" * 32), site, 0)
>>> flaw(signed), flaw(signed, site.public), flaw(signed, other.public)
('', '', 'other key')
>>> flaw(signed._replace(signed_us=1))
'altered'
>>> from_json(as_json(countersigned(signed, other, 60_000_000))).counter[0].public == other.public
True
>>> from_texts(f"read in a photo: {as_text(signed)}") == (signed,)
True
"""

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any, Literal, NamedTuple

from pourbook.errors import Malformed, Refused
from pourbook.signing.ed25519 import Signer, is_signed
from pourbook.signing.fingerprints import fingerprint
from pourbook.times import moment_of, written

__all__ = [
    "CounterSignature", "Flaw", "SignedHead", "Standing", "as_json", "as_text", "countersigned", "flaw", "from_json",
    "from_texts", "message", "sign_head", "unsigned_text",
]  # fmt: skip

_HEAD = "pourbook signed head 1"
_COUNTER = "pourbook counter-signature 1"
_DIGITS = {"head": 64, "public": 64, "signature": 128, "fingerprint": 64}
"""Hexadecimal digits of what is written so."""
_MOST_COUNTERS = 100
_MOST_SITES = 1_000
_MOST_IN_A_SYMBOL = 12
"""Heads of sites: with more a symbol on paper becomes too fine to be scanned."""

Flaw = Literal["", "altered", "counter altered", "other key"]
"""What is wrong with a signed head: nothing; it, or a counter-signature, is not what was signed; another key signed."""


class Standing(NamedTuple):
    """Where a journal stood.

    Attributes:
        house: its name.
        site: the site of the house; may be empty.
        number: of the last entry then.
        head: hash of that entry, as hexadecimal text.
    """

    house: str
    site: str
    number: int
    head: str


class CounterSignature(NamedTuple):
    """A second signature below a signed head.

    Attributes:
        signed_us: when it was signed, by the clock of whoever signed.
        public: the key that signed.
        signature: by that key.
    """

    signed_us: int
    public: str
    signature: str


class SignedHead(NamedTuple):
    """A statement of where a journal stood, with the signature below it.

    Attributes:
        standing: what it states.
        signed_us: when it was signed, by the clock of whoever signed.
        public: the key that signed it.
        signature: by that key.
        counter: signatures of others below it.
        made_of: the heads that the head of a group is made of, as hexadecimal text. They are not signed: no others
            make that head.
    """

    standing: Standing
    signed_us: int
    public: str
    signature: str
    counter: tuple[CounterSignature, ...] = ()
    made_of: tuple[str, ...] = ()


def message(purpose: str, told: Mapping[str, str | int]) -> bytes:
    """The bytes that are signed: the purpose, a line feed, and canonical JSON.

    >>> message("pourbook example 1", {"number": 3, "house": "Quillmere"})
    b'pourbook example 1\\n{"house":"Quillmere","number":3}'
    """
    return f"{purpose}\n{json.dumps(told, ensure_ascii=False, sort_keys=True, separators=(',', ':'))}".encode()


def sign_head(standing: Standing, signer: Signer, signed_us: int) -> SignedHead:
    """State where the journal stood, at a moment."""
    bare = SignedHead(standing, signed_us, signer.public, "")
    return bare._replace(signature=signer.sign(_head_message(bare)))


def countersigned(signed: SignedHead, signer: Signer, signed_us: int) -> SignedHead:
    """The same statement, with one signature more below it.

    Raises:
        Refused: the statement is not what was signed, or this key signed it already.
    """
    if flaw(signed):
        raise Refused("the signed head is not what was signed", "ask for it again")
    if signer.public in (signed.public, *(one.public for one in signed.counter)):
        raise Refused("this key signed it already", "a counter-signature is by the key of somebody else")
    bare = CounterSignature(signed_us, signer.public, "")
    return signed._replace(
        counter=(*signed.counter, bare._replace(signature=signer.sign(_counter_message(signed, bare))))
    )


def flaw(signed: SignedHead, public: str = "") -> Flaw:
    """What is wrong with a signed head, given the public key of whoever should have signed it, if that is known.

    Without the key the statement is only known to agree with itself: anybody may have signed it.
    """
    if not is_signed(signed.public, _head_message(signed), signed.signature):
        return "altered"
    if public and signed.public != public:
        return "other key"
    keys = [signed.public, *(one.public for one in signed.counter)]
    if len(set(keys)) < len(keys):  # one key below its own signature is no second one
        return "counter altered"
    if all(is_signed(one.public, _counter_message(signed, one), one.signature) for one in signed.counter):
        return ""
    return "counter altered"


def _head_message(signed: SignedHead) -> bytes:
    return message(_HEAD, signed.standing._asdict() | {"signed": written(signed.signed_us), "public": signed.public})


def _counter_message(signed: SignedHead, counter: CounterSignature) -> bytes:
    below = signed.standing._asdict() | {"of": signed.signature, "of_public": signed.public}
    return message(_COUNTER, below | {"signed": written(counter.signed_us), "public": counter.public})


# -- as text, for a symbol on paper ------------------------------------------------------


def as_text(signed: SignedHead) -> str:
    """A signed head in one line, as a symbol on paper holds it; it begins as an unsigned one does.

    Counter-signatures are left out: what is signed below a paper is signed by hand, or beside it as a file. So is what
    a head is made of, where that is more than a symbol can hold.
    """
    standing = signed.standing
    names = (standing.house.encode().hex(), standing.site.encode().hex())
    made_of = ["+".join(signed.made_of)] if 0 < len(signed.made_of) <= _MOST_IN_A_SYMBOL else []
    parts = (written(signed.signed_us), signed.public, signed.signature, *names, *made_of)
    return f"pourbook:head:{standing.number}:{standing.head}:signed/{'/'.join(parts)}/"


def unsigned_text(number: int, head: str, made_of: Sequence[str] = ()) -> str:
    """Where a journal stood, in one line, with what the head of a group is made of: so it is checked site by site.

    >>> unsigned_text(3, "9f" * 32, ["ab" * 32]).endswith(":of/" + "ab" * 32 + "/")
    True
    """
    of = f":of/{'+'.join(made_of)}/" if 0 < len(made_of) <= _MOST_IN_A_SYMBOL else ""
    return f"pourbook:head:{number}:{head}{of}"


_TEXT = re.compile(
    r"pourbook:head:([0-9]{1,15}):([0-9a-f]{64}):signed/([0-9TZ:.-]{20,30})/([0-9a-f]{64})/([0-9a-f]{128})"
    r"/((?:[0-9a-f]{2})*)/((?:[0-9a-f]{2})*)/(?:([0-9a-f]{64}(?:\+[0-9a-f]{64})*)/)?"
)


def from_texts(text: str) -> tuple[SignedHead, ...]:
    """Every signed head that `as_text` wrote into a text. Raises as `from_json`."""
    return tuple(
        from_json(
            {
                "house": _unhexed(house), "site": _unhexed(site), "number": int(number), "head": head, "signed": moment,
                "public": public, "signature": signature, "made_of": made_of.split("+") if made_of else [],
            }
        )
        for number, head, moment, public, signature, house, site, made_of in _TEXT.findall(text)
    )  # fmt: skip


def _unhexed(digits: str) -> str:
    return bytes.fromhex(digits).decode("utf-8", "replace")


# -- as JSON -----------------------------------------------------------------------------


def as_json(signed: SignedHead) -> dict[str, Any]:
    """The document of a signed head, which `from_json` reads."""
    return {
        **signed.standing._asdict(),
        **_signature_json(signed),
        "counter": [_signature_json(one) for one in signed.counter],
        **({"made_of": list(signed.made_of)} if signed.made_of else {}),
    }


def _signature_json(signed: SignedHead | CounterSignature) -> dict[str, str]:
    return {
        "signed": written(signed.signed_us),
        "public": signed.public,
        "fingerprint": fingerprint(signed.public),
        "signature": signed.signature,
    }


def from_json(told: Mapping[str, Any]) -> SignedHead:
    """The signed head of a document; whether its signatures are good is for `flaw` to say.

    Raises:
        Malformed: it is none, or more than one would stand for.
    """
    if not isinstance(told, Mapping) or not isinstance(told.get("counter", []), list):
        raise _malformed("it is no JSON document of one")
    counters = told.get("counter", [])
    if len(counters) > _MOST_COUNTERS:
        raise _malformed(f"it has more than {_MOST_COUNTERS} counter-signatures")
    number = told.get("number")
    if type(number) is not int or not 0 < number < 10**15:
        raise _malformed("it has no number of an entry")
    standing = Standing(_text(told, "house"), _text(told, "site"), number, _text(told, "head"))
    below = tuple(CounterSignature(*_signature(one)) for one in counters)
    return SignedHead(standing, *_signature(told), below, _made_of(told))


def _made_of(told: Mapping[str, Any]) -> tuple[str, ...]:
    heads = told.get("made_of", [])
    if not isinstance(heads, list) or len(heads) > _MOST_SITES:
        raise _malformed(f"its 'made_of' is not a list of {_MOST_SITES} heads at most")
    return tuple(_text({"head": one}, "head") for one in heads)


def _signature(told: object) -> tuple[int, str, str]:
    if not isinstance(told, Mapping):
        raise _malformed("a counter-signature is not a document")
    public, signature = _text(told, "public"), _text(told, "signature")
    if "fingerprint" in told and _text(told, "fingerprint") != fingerprint(public):
        raise _malformed("its fingerprint is not that of its public key")
    try:
        signed_us = moment_of(_text(told, "signed"))
        if written(signed_us) != told["signed"]:
            raise ValueError
    except (ValueError, TypeError, OverflowError) as error:
        raise _malformed("its time is not as it is written in UTC") from error
    return signed_us, public, signature


def _text(told: Mapping[str, Any], name: str) -> str:
    text = told.get(name)
    if not isinstance(text, str):
        raise _malformed(f"it lacks '{name}'")
    if name in _DIGITS and not re.fullmatch(rf"[0-9a-f]{{{_DIGITS[name]}}}", text):
        raise _malformed(f"its '{name}' is not {_DIGITS[name]} hexadecimal digits")
    return text


def _malformed(problem: str) -> Malformed:
    return Malformed(f"this is not a signed head: {problem}", "name what 'pourbook sign --json' wrote")
