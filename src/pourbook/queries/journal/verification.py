"""The whole book checked, and compared with a history kept elsewhere.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     checked(lambda: book).verified.entries
1
"""

from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.addresses import is_address, located
from pourbook.book.backup import opened_copy
from pourbook.book.verifying import Verified, file_fault
from pourbook.errors import Damaged, Malformed
from pourbook.queries.journal.against import Against, Head, against_book, against_heads, names_a_head, read_heads
from pourbook.queries.journal.placed import of_signed, of_text
from pourbook.queries.journal.signed_heads import SignatureChecked, checked_signature, read_signed

if TYPE_CHECKING:
    from pourbook.book.backup import Progress
    from pourbook.book.core import BookCore
    from pourbook.signing.heads import SignedHead

__all__ = ["Checked", "Evidence", "checked", "copy_on_a_server", "heads_in"]

_SQLITE = b"SQLite format 3\0"


class Evidence(NamedTuple):
    """Text with one head or more, signed or not, or a copy of the book.

    Attributes:
        content: its bytes; of a copy in a file at least how it begins, of one on a server nothing.
        path: of the file, or the address of a copy on a server; None where it was typed or scanned.
        public: the key that should have signed it, as hexadecimal text; empty where nobody gave one.
    """

    content: bytes
    path: Path | str | None = None
    public: str = ""

    @property
    def copy(self) -> Path | str | None:
        """Where it lies, if it is a copy of the book."""
        return self.path if isinstance(self.path, str) or self.content.startswith(_SQLITE) else None


class Checked(NamedTuple):
    """What verification found.

    Attributes:
        verified: of the book.
        against: of its history beside the evidence; None where that could not be compared.
        signatures: of the signatures in the evidence.
    """

    verified: Verified
    against: Against | None
    signatures: tuple[SignatureChecked, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether everything agrees."""
        is_signed = not any(one.wrong for one in self.signatures)
        return not self.verified.faults and (self.against is None or self.against.agrees) and is_signed


def checked(
    opened: "Callable[[], BookCore]", evidence: Evidence | None = None, progress: "Progress | None" = None
) -> Checked:  # fmt: skip
    """Check every hash and every table, and compare the history with the evidence; `progress` hears how far it is.

    `opened` gives the book, since a file too damaged to be opened is a finding, too.

    Raises:
        Malformed: the evidence holds no head, or no signed one where a key was given, or is a damaged copy.
    """
    try:
        verified = opened().verify(progress)
    except Damaged as damage:
        verified = Verified(0, "", (file_fault(damage.message),))
    if not evidence or not verified.entries:
        return Checked(verified, None)
    return Checked(verified, *_held_against(opened(), evidence))


def _held_against(book: "BookCore", evidence: Evidence) -> tuple[Against, tuple[SignatureChecked, ...]]:
    copy = evidence.copy
    text = "" if copy else evidence.content.decode("utf-8", "replace")
    signed = read_signed(text)
    heads = () if copy else _heads(text, signed)
    if evidence.public and not signed:
        remedy = "name what pourbook sign wrote, or leave --public out"
        raise Malformed("nothing there is signed, so its key cannot be checked", remedy)
    if copy:
        with opened_copy(copy) as other, book.store.snapshot():
            return against_book(book.store, other), ()
    with book.store.snapshot():
        found = tuple(checked_signature(book.store, one, evidence.public) for one in signed)
        return against_heads(book.store, heads, (*of_signed(signed), *of_text(text))), found


def copy_on_a_server(given: str) -> str:
    """The address that was given, or that stands in a file of that name and nothing else; empty where there is none.

    >>> copy_on_a_server("postgresql://quill@cellar.example/books")
    'postgresql://quill@cellar.example/books'
    >>> copy_on_a_server("https://cellar.example/heads 12:" + "9f" * 32)
    ''
    """
    place = str(located(given))
    return place if is_address(place) and not names_a_head(place) else ""


def heads_in(text: str) -> tuple[Head, ...]:
    """Every head in a text, signed or not. Raises as `read_heads` and `read_signed`."""
    return _heads(text, read_signed(text))


def _heads(text: str, signed: "Iterable[SignedHead]") -> tuple[Head, ...]:
    return read_heads(text, [Head(one.standing.number, one.standing.head) for one in signed])
