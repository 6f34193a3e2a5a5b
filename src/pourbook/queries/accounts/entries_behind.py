"""The entries behind the figures of an account: what stands under a side and a heading, one by one.

Their sum is the figure, to the milligram and the microlitre.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 9)
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> leak = Pour("loss", (Move(cask, "loss", 250, facts={"disposition": "leak"}),))
>>> for number, entry in enumerate((Item(cask, {"ref": "Row 3/12"}), fill, leak)):
...     _ = book.record(Draft(entry, number, "M. Aldane"))
>>> [(one.entry, one.ref, one.what, one.moved.mass_mg) for one in
...     entries_behind(book, Period(0, 9), read_wanted("losses:leak")).rows]
[(4, 'Row 3/12', 'loss', 250)]
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.items import ItemView, views
from pourbook.book.journal import Logged, entry_of, line_of, logged_of
from pourbook.codes.identifiers import of_key
from pourbook.errors import Malformed, Unknown
from pourbook.queries.accounts.account import Account, Period, account_of
from pourbook.queries.accounts.grouping import Group
from pourbook.queries.accounts.headings import HEADINGS, Side, by_place
from pourbook.queries.accounts.posting import Posting, Sum
from pourbook.queries.accounts.quantity import NONE, Quantity

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["Behind", "EntriesBehind", "Wanted", "entries_behind", "read_wanted"]

_SIDES: dict[str, Side] = {"gains": "gain", "losses": "loss", "prior-period adjustment": "adjustment"}
_LISTED = tuple(side for side in HEADINGS if side != "contraction")


class Wanted(NamedTuple):
    """Which figures: a side (None for all), a heading on it and a group; empty for any."""

    side: Side | None = None
    heading: str = ""
    group: str = ""

    def is_of(self, side: Side, heading: str, group: Group) -> bool:
        """Whether a line of an account is meant."""
        names = ("", _plain(" · ".join(group)), *map(_plain, group))
        return self.side in (None, side) and self.heading in ("", heading) and _plain(self.group) in names


class Behind(NamedTuple):
    """A movement behind a figure, or what an item held.

    Attributes:
        group: by the groupings of the account; empty without any.
        side: of the account.
        heading: on it; empty where the side has only one.
        moved: how much; above zero on every side but adjustment.
        happened_us: when; of what was held, the moment at which it was.
        entry: number; of what was held, of the last entry that touched the item.
        item: identifier of what it left, came into or was held in.
        ref: what the house calls that item.
        what: the verb of a pour, else the kind of the entry.
        other: identifier of the item at the other end, or the word for outside; empty where there is none.
        document: named with it.
        who: recorded it.
        reason: as recorded.
    """

    group: Group
    side: Side
    heading: str
    moved: Quantity
    happened_us: int
    entry: int
    item: str
    ref: str
    what: str
    other: str
    document: str
    who: str
    reason: str


class EntriesBehind(NamedTuple):
    """The entries behind the wanted figures of an account of a period, by its groupings.

    `rows` are in order of time; `account` has the figures that they add up to.
    """

    account: Account
    wanted: Wanted
    rows: tuple[Behind, ...]

    @property
    def sums(self) -> dict[tuple[Group, Side, str], Sum]:
        """What they add up to under each group, side and heading, in the order of the account."""
        found: dict[tuple[Group, Side, str], Sum] = {}
        for one in self.rows:
            before = found.get((one.group, one.side, one.heading), Sum(NONE, 0))
            found[one.group, one.side, one.heading] = Sum(before.quantity + one.moved, before.postings + 1)
        return {key: found[key] for key in sorted(found, key=lambda key: (key[0], by_place((key[1], key[2]))))}


def read_wanted(text: str, group: str = "") -> Wanted:
    """Which figures somebody names: `losses:evaporation`, `in`, `all`.

    >>> read_wanted("Losses: evaporation"), read_wanted("all", "Harbour Row").side
    (Wanted(side='loss', heading='evaporation', group=''), None)

    Raises:
        Malformed: no side of an account.
    """
    word, _, heading = (part.strip() for part in text.lower().partition(":"))
    if word == "all" and not heading:
        return Wanted(None, "", group)
    side = _SIDES.get(word) or next((side for side in _LISTED if side == word), None)
    if side is None:
        words = ", ".join({"gain": "gains", "loss": "losses"}.get(side, side) for side in _LISTED)
        raise Malformed(f"'{text}' is not a side of an account with entries", f"write one of: {words}, or all")
    return Wanted(side, heading, group)


def entries_behind(book: "BookCore", period: Period, wanted: Wanted) -> EntriesBehind:
    """The entries behind the figures that are wanted of the account of a period.

    Raises:
        Unknown: the account has no such figure.
        PourbookError: as `account_of`.
    """
    account = account_of(book, *period, is_listed=lambda one: wanted.is_of(one.side, one.heading, one.group))
    lines = [(group.group, line) for group in account.groups for line in group.lines]
    if not any(wanted.is_of(line.side, line.heading, group) for group, line in lines):
        names = {
            f"{line.side}:{line.heading}" if line.heading else line.side
            for group, line in lines
            if Wanted(group=wanted.group).is_of(line.side, line.heading, group)
        }
        groups = sorted(" · ".join(group.group) for group in account.groups)
        known = f"figures are: {', '.join(sorted(names))}" if names else f"groups are: {', '.join(groups)}"
        raise Unknown("the account has no such figure", known)
    return EntriesBehind(account, wanted, tuple(_told(book.store, account.listed)))


def _told(store: "Store", listed: Iterable[Posting]) -> Iterator[Behind]:
    every = tuple(listed)
    entries = {logged.number: logged for logged in logged_of(store, {one.line // LINES for one in every})}
    items = views(store, sorted({one.item for one in every}))
    for one in every:
        logged = entries.get(one.line // LINES)
        if logged is not None and one.by_fact:
            logged = _standing(store, logged)
        yield _behind(one, items[one.item], logged)


def _standing(store: "Store", logged: Logged) -> Logged:
    """The entry that stands in the place of one that was replaced."""
    while logged.gone and (other := entry_of(store, logged.gone)).kind == logged.kind:
        logged = other
    return logged


def _behind(one: Posting, item: ItemView, logged: Logged | None) -> Behind:
    entry: Mapping[str, Any] = {} if logged is None else logged.entry
    body = entry.get("body", {})
    line: Mapping[str, Any] = line_of(body, one.line) if logged and not one.by_fact else {}
    told: Mapping[str, Any] = line.get("facts", {})
    ends = [end for end in (line.get("from", ""), line.get("to", "")) if end != of_key(one.item)]
    return Behind(
        one.group,
        one.side,
        one.heading,
        one.moved,
        one.happened_us,
        entry.get("number", 0),
        item.id,
        item.ref or "",
        str(body.get("verb", entry.get("kind", ""))),
        ends[0] if ends else "",
        str(told.get("document", "")),
        str(entry.get("who", "")),
        str(entry.get("reason", "")),
    )


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())
