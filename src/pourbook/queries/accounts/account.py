"""The account of a period: opening, in, gains, out, losses, closing, by any grouping.

Opening + adjustments + in + gains = out + losses + closing, to the milligram, in every group: it is
checked wherever an account is made. A closed period is accounted for as it was known when it was
closed; what was corrected later shows as an adjustment of the period that was open then. The volume
that mixing takes, which no mass shows, is a line of its own.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 9)
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> leak = Pour("loss", (Move(cask, "loss", 250, facts={"disposition": "leak"}),))
>>> for number, entry in enumerate((Item(cask, {}), fill, leak)):
...     _ = book.record(Draft(entry, number, "M. Aldane"))
>>> for line in account_of(book, 2, 9).total.lines:
...     print(line.side, line.heading, line.quantity.mass_mg)
opening  1000
loss leak 250
closing  750
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from itertools import chain
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.as_known_then import NOW, Corrected, as_known, closed_by, corrected, is_corrected
from pourbook.book.flows import held_before, lines_before
from pourbook.book.search import in_force
from pourbook.errors import Damaged, OutOfRange
from pourbook.queries.accounts.account_rows import Rows, groups_of, rows_of
from pourbook.queries.accounts.grouping import Group, checked
from pourbook.queries.accounts.headings import Side, by_place
from pourbook.queries.accounts.posting import (
    Posting,
    Sum,
    adjustment_postings,
    every_posting,
    held_by_group,
    held_postings,
    postings,
)
from pourbook.queries.accounts.quantity import NONE, Quantity
from pourbook.queries.accounts.sample_movements import Sampled, sampled, with_refs
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.site_differences import Difference
    from pourbook.book.store import Store

__all__ = ["Account", "Corrected", "GroupAccount", "Line", "Period", "account_of"]

_Lines = dict[tuple[Side, str], Sum]
_Held = tuple[Group, str]

_SIGNS: dict[Side, int] = {"opening": 1, "adjustment": 1, "in": 1, "gain": 1, "out": -1, "loss": -1, "closing": -1}
"""All sides but the contraction add to nothing with these signs."""


class Period(NamedTuple):
    """The period and groupings of an account.

    Attributes:
        start_us: its first moment.
        end_us: the first moment after it.
        by: any of owner, duty, warehouse, kind, spirit; none for the house as a whole.
    """

    start_us: int
    end_us: int
    by: tuple[str, ...] = ()


class Line(NamedTuple):
    """A line of an account.

    Attributes:
        side: opening, adjustment, in, gain, out, loss, contraction or closing.
        heading: on that side; empty where it has only one.
        quantity: how much; above zero on every side but adjustment and contraction.
        postings: of how many movements, or items held.
    """

    side: Side
    heading: str
    quantity: Quantity
    postings: int


class GroupAccount(NamedTuple):
    """The account of one group (what its items are by each grouping; empty for the total), its lines in order."""

    group: Group
    lines: tuple[Line, ...]

    def side(self, side: Side) -> Quantity:
        """The sum of a side."""
        return sum((line.quantity for line in self.lines if line.side == side), NONE)


class Account(NamedTuple):
    """The account of a period, from start_us to just before end_us, by its groupings.

    Attributes:
        groups: the account of each group, by name.
        total: of all together; what went from one group to another does not show.
        closed_by: the entry that closed the period; None while it is open.
        adjusting: corrections of earlier, closed periods that take effect in this one.
        corrected_since: corrections recorded after this period was closed, which it does not show.
        pending: entries of the period whose strengths the laboratory has not read yet.
        samples: what was drawn, sent, used and destroyed, in order of time.
        listed: the movements and holdings behind its figures that were asked for, in order of time.
        differences: of a group, what its sites do not agree on of what travelled until its end.
    """

    start_us: int
    end_us: int
    by: tuple[str, ...]
    groups: tuple[GroupAccount, ...]
    total: GroupAccount
    closed_by: int | None
    adjusting: tuple[Corrected, ...]
    corrected_since: tuple[Corrected, ...]
    pending: tuple[int, ...]
    samples: tuple[Sampled, ...]
    listed: tuple[Posting, ...] = ()
    differences: "tuple[Difference, ...]" = ()


def account_of(
    book: "BookCore", start_us: int, end_us: int, by: Sequence[str] = (),
    is_listed: Callable[[Posting], bool] | None = None,
) -> Account:  # fmt: skip
    """The account of a period, from its first moment to the first after it; without groupings, of the house as a whole.

    What `is_listed` picks among its movements and holdings stands behind it one by one; without it, none does.

    Raises:
        OutOfRange: the period ends before it begins.
        Malformed: an unknown grouping.
        Damaged: the tables do not agree with each other.
    """
    by = checked(by)
    if end_us <= start_us:
        raise OutOfRange(f"the period ends at {written(end_us)}, before it begins", "give the earlier day first")
    with _steady(book, start_us, end_us):
        store = book.store
        closing_entry, opening_entry = closed_by(store, end_us), closed_by(store, start_us)
        with as_known(book, NOW if closing_entry is None else closing_entry, end_us):
            rows = rows_of(store, start_us, end_us, by)
            pours = in_force(store, "pour", start_us=start_us, end_us=end_us, containing='"pending":1')
            pending = tuple(pour.number for pour in pours)
            lines = [lines_before(store, moment) if is_listed else {} for moment in (start_us, end_us)]
        opening = held_by_group(rows, rows.opening, start_us)
        then, lines_then = rows, lines[0]
        if opening_entry is not None and opening_entry != closing_entry:
            with as_known(book, opening_entry, start_us):
                then = _standing(store, start_us, by)
                lines_then = lines_before(store, start_us) if is_listed else {}
        before = held_by_group(then, then.opening, start_us)
        stood = tuple(held_postings(then, then.opening, "opening", lines_then)) if is_listed else ()
        until = NOW if closing_entry is None else closing_entry
        return Account(
            start_us,
            end_us,
            by,
            groups := tuple(_accounts(rows, by, before, opening)),
            _total(groups),
            closing_entry,
            tuple(corrected(store, start_us, opening_entry, until)) if opening_entry is not None else (),
            tuple(corrected(store, end_us, closing_entry, NOW)) if closing_entry is not None else (),
            pending,
            with_refs(store, sampled(rows)),
            tuple(_listed(rows, stood, lines, is_listed)) if is_listed else (),
        )


def _listed(
    rows: Rows, stood: Sequence[Posting], lines: Sequence[Mapping[int, int]], is_listed: Callable[[Posting], bool]
) -> list[Posting]:
    """Of all that its figures are sums of, what is picked; `stood` is the opening as it was known then."""
    opening = tuple(held_postings(rows, rows.opening, "opening", lines[0]))
    closing = held_postings(rows, rows.closing, "closing", lines[1])
    every = chain(stood, adjustment_postings(stood, opening), every_posting(rows), closing)
    return sorted(filter(is_listed, every), key=lambda one: (one.happened_us, one.line))


@contextmanager
def _steady(book: "BookCore", start_us: int, end_us: int) -> Iterator[None]:
    """All questions answered from one state of the book; written in (and undone) only where it must be."""
    closings = ((moment, closed_by(book.store, moment)) for moment in (start_us, end_us))
    is_undone = any(number is not None and is_corrected(book.store, moment, number) for moment, number in closings)
    with book.undone() if is_undone else book.store.snapshot():
        yield


def _standing(store: "Store", moment_us: int, by: Sequence[str]) -> Rows:
    held = held_before(store, moment_us)
    return Rows(moment_us, moment_us, held, held, (), {}, {}, {}, groups_of(store, by))


# -- groups ------------------------------------------------------------------------------


def _accounts(
    rows: Rows, by: Sequence[str], before: Mapping[_Held, Sum], opening: Mapping[_Held, Sum]
) -> Iterator[GroupAccount]:
    closing = held_by_group(rows, rows.closing, rows.end_us)
    whole = () if by else ((),)
    of_group: dict[Group, _Lines] = {
        group: {} for group in (*whole, *(one for one, _ in (*before, *opening, *closing)))
    }
    for (group, line), posted in postings(rows).items():
        of_group.setdefault(group, {})[line] = posted
    for group, moved in sorted(of_group.items()):
        lines = moved | _ends(group, before, closing)
        adjusted = _held(group, opening) - _held(group, before)
        if any(adjusted):
            lines["adjustment", ""] = Sum(adjusted, 1)
        yield GroupAccount(group, _balanced(group, lines))


def _ends(group: Group, before: Mapping[_Held, Sum], closing: Mapping[_Held, Sum]) -> _Lines:
    """What a group opens and closes with; a line for what is in transit stands only where anything is."""
    none = Sum(NONE, 0)
    lines: _Lines = {("opening", ""): none, ("closing", ""): none}
    ends: tuple[tuple[Side, Mapping[_Held, Sum]], ...] = (("opening", before), ("closing", closing))
    for side, held in ends:
        lines |= {(side, heading): posted for (one, heading), posted in held.items() if one == group}
    return lines


def _held(group: Group, held: Mapping[_Held, Sum]) -> Quantity:
    return sum((posted.quantity for (one, _), posted in held.items() if one == group), NONE)


def _balanced(group: Group, lines: _Lines) -> tuple[Line, ...]:
    """The lines in their order, the contraction among them, once they are seen to balance."""
    left = NONE
    for (side, _), posted in lines.items():
        left = left + posted.quantity if _SIGNS[side] > 0 else left - posted.quantity
    if left[:3] != (0, 0, 0):
        raise Damaged(
            f"the account of {' · '.join(group) or 'the house'} does not balance: {left.mass_mg} mg are left, "
            f"{left.ethanol_mg} mg of them ethanol",
            "the tables of the book do not agree with each other: pourbook verify, then pourbook repair",
        )
    if left.volume_ul:
        lines["contraction", ""] = Sum(left, 1)
    return tuple(Line(side, heading, *lines[side, heading]) for side, heading in sorted(lines, key=by_place))


def _total(groups: Iterable[GroupAccount]) -> GroupAccount:
    """All groups together: what one gave to another has not left them."""
    none = Sum(NONE, 0)
    lines: _Lines = {("opening", ""): none, ("closing", ""): none}
    for account in groups:
        for side, heading, moved, number in account.lines:
            if side != "contraction" and heading not in ("transfer in", "transfer out"):
                before = lines.get((side, heading), none)
                lines[side, heading] = Sum(before.quantity + moved, before.postings + number)
    return GroupAccount((), _balanced((), lines))
