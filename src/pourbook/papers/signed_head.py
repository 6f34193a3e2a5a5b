"""A signed head on paper: whose key it was, the signature, and all of it as a symbol.

>>> from pourbook.papers.page import Imprint
>>> signature_facts(Imprint("Quillmere Distillery", "2026-03-14 10:32 GMT", 1284, "9f3c" * 16))
()
"""

from typing import TYPE_CHECKING

from pourbook.papers.blocks import Facts, Place, Symbol
from pourbook.papers.cells import SMALL_IDENTIFIER, Piece

if TYPE_CHECKING:
    from pourbook.papers.page import Imprint

__all__ = ["head_block", "signature_facts"]

_A_LINE = 64


def signature_facts(imprint: "Imprint") -> tuple[tuple[str, Place], ...]:
    """The fingerprint of the key and the signature; nothing where nobody signed."""
    if not imprint.signed:
        return ()
    from pourbook.signing.fingerprints import fingerprint
    from pourbook.signing.heads import from_texts

    (signed,) = from_texts(imprint.signed)
    halves = (signed.signature[:_A_LINE], signed.signature[_A_LINE:])
    return (
        ("Signed by the key with the fingerprint", Piece(fingerprint(signed.public), SMALL_IDENTIFIER)),
        ("Signature (Ed25519)", tuple(Piece(half, SMALL_IDENTIFIER) for half in halves)),
    )


def head_block(imprint: "Imprint", *heads: tuple[str, Place]) -> Facts | Symbol:
    """Where the journal stood, as these facts say; signed, with the signature, and all of it as a symbol."""
    signed = signature_facts(imprint)
    return Symbol(imprint.signed, (*heads, *signed)) if signed else Facts(heads, across=1)
