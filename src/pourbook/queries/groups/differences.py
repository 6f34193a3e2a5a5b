"""What the sites of a group do not agree on, ages included.

>>> from pourbook import Book
>>> with Book.create(":memory:", house="Quillmere") as book:
...     differences(book)
()
"""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from pourbook.book.consignments import Consignment
from pourbook.book.groups import sites
from pourbook.book.site_differences import Difference
from pourbook.book.site_differences import differences as found
from pourbook.errors import PourbookError
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["differences"]

_MORE, _LESS = 1, 366
"""Days that a receipt may state more than the book has; and less, as documents state full years."""


def differences(book: "BookCore") -> tuple[Difference, ...]:
    """All that the sites do not agree on; none in any other book."""
    with book.store.snapshot():
        known, consignments = found(book.store)
        return (*known, *_of_ages(book, consignments))


def _of_ages(book: "BookCore", consignments: Iterable[Consignment]) -> Iterator[Difference]:
    """Receipts that state another time in wood than the casks behind them tell."""
    names = {one.code: one.name for one in sites(book.store)}
    stated = [(one, leg) for one in consignments for leg in one.receipts if leg.wood_days is not None]
    if stated:
        from pourbook.queries.traces.trace import trace_back  # seldom needed
    for one, leg in stated:
        last = max(before.happened_us for before in one.despatches)
        try:
            youngest = trace_back(book, one.id, at_us=last).age.youngest_us
        except PourbookError:
            continue  # nothing of it is known
        if youngest is None or leg.wood_days is None:
            continue
        days = int(youngest // DAY_US)
        if leg.wood_days - days > _MORE or days - leg.wood_days > _LESS:
            entries = (*(before.entry for before in one.despatches), leg.entry)
            ends = names[leg.site], names[leg.other]
            yield Difference("wood age", leg.item, *ends, entries, leg.document, days=(leg.wood_days, days))
