"""Casks chosen by their history: what they held, their wood, which fill it is, how old the spirit in them is.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Move("origin", cask, read_amount("200 l"), read_strength("63.5"), facts={"spirit": "malt spirit"})
>>> entries = Item(cask, {"previous": "red wine, 2001-2006; Fortified wine"}), Pour("fill", (fill,))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(one.view.id, one.fill, one.spirit) for one in casks(book, Wanted(previous="fortified wine", most_fills=1))]
[('C000001H', 1, 'malt spirit')]
>>> list(casks(book, Wanted(previous="rum")))
[]
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.items import ItemView, LedgerRow, facts, ledger, on_hand, text_listed
from pourbook.book.journal import entry_of, line_of
from pourbook.book.lineages import casks_in, pending_states, upstream
from pourbook.book.recall_scope import says
from pourbook.codes.identifiers import key_of
from pourbook.lineage.ages import WoodAge, WoodTime, age_of, wood_ages
from pourbook.lineage.shares import by_alcohol, origin_shares
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = [
    "ChosenCask", "LatestFill", "SpiritIn", "Wanted", "casks", "held_before", "latest_fill", "spirit_in", "spirit_of",
    "youngest_in",
]  # fmt: skip


class Wanted(NamedTuple):
    """What is asked of a cask that holds spirit; whole words in any case, and what is left out does not narrow it.

    Attributes:
        previous: what it held before, in this book or before it.
        wood: words of the wood.
        toast: words of how it was toasted.
        char: words of how it was charred.
        cooper: words of who made it.
        spirit: words of the spirit in it.
        place: where it lies, as the house writes it.
        least_fills: the lowest number that its present fill may have.
        most_fills: the highest.
        least_years: completed years in wood of its youngest spirit, at least; unknown is not enough.
        most_years: at most.
    """

    previous: str = ""
    wood: str = ""
    toast: str = ""
    char: str = ""
    cooper: str = ""
    spirit: str = ""
    place: str | None = None
    least_fills: int = 0
    most_fills: int | None = None
    least_years: int | None = None
    most_years: int | None = None


class ChosenCask(NamedTuple):
    """A cask that answers.

    Attributes:
        view: the cask and what it holds.
        fill: how many times it had been filled, the present fill counted.
        filled_us: when the present fill began.
        spirit: what it holds, as far as it is known.
        held_before: what it held before the present fill: previous contents, then earlier fills of this book.
        youngest: time in wood of the youngest spirit in it; None where it is unknown.
        pending: entries whose strengths the laboratory has still to read.
    """

    view: ItemView
    fill: int
    filled_us: int
    spirit: str
    held_before: tuple[str, ...]
    youngest: WoodTime | None
    pending: tuple[int, ...]


_OF_FACTS = ("wood", "toast", "char", "cooper")


def casks(book: "BookCore", wanted: Wanted, at_us: int | None = None, after: str = "") -> Iterator[ChosenCask]:
    """Casks with spirit in them that answer, now or at a moment, by number, those after one; memory stays flat."""
    store, now_us = book.store, book.clock() if at_us is None else at_us
    pending = pending_states(store)
    for view in on_hand(store, at_us, "cask"):
        if after and key_of(view.id) <= key_of(after):
            continue
        if wanted.place is not None and view.facts.get("place") != wanted.place:
            continue
        if all(
            not getattr(wanted, name) or says(view.facts.get(name, ""), getattr(wanted, name)) for name in _OF_FACTS
        ):
            found = _answering(store, view, wanted, at_us)
            if found is not None:
                youngest = youngest_in(store, view, now_us)
                if _is_old_enough(wanted, youngest, book):
                    yield found._replace(youngest=youngest, pending=pending.get(view.holding.state, ()))


def _answering(store: "Store", view: ItemView, wanted: Wanted, at_us: int | None) -> ChosenCask | None:
    """A cask whose fills answer; without its age."""
    begins = _begins(store, view, at_us)
    fill = int(view.facts.get("earlier_fills", "0")) + len(begins)
    if fill < wanted.least_fills or (wanted.most_fills is not None and fill > wanted.most_fills):
        return None
    spirit, before = _spirit(store, view, begins[-1]), _held_before(store, view, begins[:-1])
    if wanted.previous and not any(says(text, wanted.previous) for text in before):
        return None
    if wanted.spirit and not says(spirit, wanted.spirit):
        return None
    return ChosenCask(view, fill, begins[-1].happened_us, spirit, before, None, ())


def held_before(store: "Store", view: ItemView) -> tuple[str, ...]:
    """What a cask held before what it holds now, the oldest first: previous contents, then earlier fills of this book.

    Of an empty cask, all its fills are earlier.
    """
    begins = _begins(store, view, None)
    return _held_before(store, view, begins[:-1] if view.holding.mass_mg else begins)


class LatestFill(NamedTuple):
    """A cask's latest fill: its `spirit` (empty: unknown), what the cask held `before`, and when it was `begun_us`."""

    spirit: str
    before: tuple[str, ...]
    begun_us: int


def latest_fill(store: "Store", view: ItemView, at_us: int | None = None) -> LatestFill:
    """The latest fill of a cask, now or at a moment."""
    begins = _begins(store, view, at_us)
    spirit = _spirit(store, view, begins[-1]) if begins else ""
    return LatestFill(spirit, _held_before(store, view, begins[:-1]), begins[-1].happened_us if begins else 0)


def _held_before(store: "Store", view: ItemView, earlier: Sequence[LedgerRow]) -> tuple[str, ...]:
    spirits = (_spirit(store, view, row) for row in earlier)
    return (*text_listed(view.facts.get("previous", "")), *filter(None, spirits))


def _begins(store: "Store", view: ItemView, at_us: int | None) -> list[LedgerRow]:
    """The first line of each fill, now or until a moment."""
    found, held = [], 0
    for row in ledger(store, key_of(view.id)):
        if at_us is not None and row.happened_us > at_us:
            break
        if row.holding.mass_mg and not held:
            found.append(row)
        held = row.holding.mass_mg
    return found


def spirit_of(store: "Store", cask: ItemView, line: Mapping[str, Any], happened_us: int) -> str:
    """What spirit a line brought: as it was recorded, of what it was poured from, or of the cask; or empty."""
    if spirit := str(line.get("facts", {}).get("spirit", "")):
        return spirit
    source = str(line.get("from", "origin"))
    if source[:1].isupper():
        return facts(store, key_of(source), happened_us).get("spirit", "")
    return cask.facts.get("spirit", "") if source == "origin" else ""


def _spirit(store: "Store", view: ItemView, row: LedgerRow) -> str:
    """What spirit a fill began with."""
    return spirit_of(store, view, line_of(entry_of(store, row.entry).entry["body"], row.line), row.happened_us)


def youngest_in(store: "Store", view: ItemView, at_us: int) -> WoodTime | None:
    """Time in wood of the youngest spirit in an item; None where it is unknown."""
    return spirit_in(store, view, at_us).age.youngest


class SpiritIn(NamedTuple):
    """What lies in an item: its `age` in wood, and its `origins`, the part of each by pure alcohol with its facts."""

    age: WoodAge
    origins: tuple[tuple[float, Mapping[str, Any]], ...]


def spirit_in(store: "Store", view: ItemView, at_us: int) -> SpiritIn:
    """What lies in an item, by all that came into it from outside."""
    lineage, state = upstream(store, view.holding.state).lineage, view.holding.state
    lines = {flow.line for one in lineage.order for flow in lineage.inflows[one] if not flow.source}
    told = {line: line_of(entry_of(store, line // LINES).entry["body"], line).get("facts", {}) for line in lines}
    earned_us = {line: int(one["wood_days"]) * DAY_US for line, one in told.items() if "wood_days" in one}
    age = wood_ages(lineage, state, in_wood=casks_in(lineage), earned_us=earned_us, at_us=at_us)
    shares = origin_shares(lineage, state, by_alcohol)
    return SpiritIn(age, tuple((share, told[line]) for line, share in shares.items() if share))


def _is_old_enough(wanted: Wanted, youngest: WoodTime | None, book: "BookCore") -> bool:
    age = age_of(youngest, book.zone)
    if age is None:
        return wanted.least_years is None and wanted.most_years is None
    is_young = wanted.least_years is not None and age.years < wanted.least_years
    return not is_young and (wanted.most_years is None or age.years <= wanted.most_years)
