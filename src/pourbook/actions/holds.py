"""Items on hold: nothing may be poured from or into them until they are released."""

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.book.entries import Hold
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.recorded import Recorded

__all__ = ["Holds", "hold", "release"]


class Holds(NamedTuple):
    """Items that were put on hold, or released.

    Attributes:
        ids: their identifiers.
        held: whether they are on hold now.
        recorded: what the recording did.
    """

    ids: tuple[str, ...]
    held: bool
    recorded: "Recorded"


def hold(book: "BookCore", how: Happening, items: Sequence[str]) -> Holds:
    """Put items on hold.

    Raises:
        Malformed: no reason was given.
    """
    return _record(book, how, items, held=True)


def release(book: "BookCore", how: Happening, items: Sequence[str]) -> Holds:
    """Release items from hold, whoever put them there: by hand or with a recall.

    Raises:
        Malformed: no reason was given.
    """
    return _record(book, how, items, held=False)


def _record(book: "BookCore", how: Happening, items: Sequence[str], *, held: bool) -> Holds:
    if not how.reason:
        raise Malformed("a hold and its release need a reason", "give --reason")
    ids = tuple(map(book.find, items))
    return Holds(ids, held, how.record(book, *(Hold(identifier, held) for identifier in ids)))
