"""What happened to liquid, in the form that documents for others are made from: what each entry did to each fill.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> filled = Move("origin", cask, 1000, composition=Liquid(1000, 500), facts={"spirit": "malt spirit"})
>>> _ = book.record(
...     Draft(Item(cask, {}), 0, "M. Aldane"), Draft(Item(vial, {}), 0, "M. Aldane"),
...     Draft(Pour("fill", (filled,)), 0, "M. Aldane"), Draft(Pour("draw", (Move(cask, vial, 100),)), 1, "M. Aldane"),
... )
>>> for one in told_of(book, [vial]):
...     print(one.what, [part.fill.name for part in one.taken], one.made and one.made.fill.name)
arrival [] origin-4
mixing ['origin-4'] C000001H-4
mixing ['C000001H-4'] V000001R-5
stock [] V000001R-5
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from operator import attrgetter
from typing import TYPE_CHECKING, Any, Literal, NamedTuple

from pourbook.book.contents import LINES, Holding
from pourbook.book.fold import Outcome, gauge, line_number, pour
from pourbook.book.items import opened
from pourbook.book.journal import Logged, entry_of, logged_of
from pourbook.book.search import ever_mentioning
from pourbook.book.store import Store
from pourbook.codes.identifiers import LIQUID_KINDS, key_of, kind_of
from pourbook.errors import NotThere
from pourbook.exchange.output.counted_lines import moved
from pourbook.exchange.output.fills import EVER, Fill, Histories, Row
from pourbook.lineage.graph import UNEXPLAINED
from pourbook.liquid import Liquid
from pourbook.queries.traces.trace import trace_back, trace_forward

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Happening", "Part", "told_of", "told_of_all"]

_What = Literal["arrival", "mixing", "gauge", "loss", "despatch", "return", "packing", "stock"]


class Part(NamedTuple):
    """Liquid (None: unknown) out of or into a fill; what was received of it, where that differs.

    Once `redistilled` on the way, its wood age ends.
    """

    fill: Fill
    liquid: Liquid | None
    redistilled: bool = False
    received: Liquid | None = None


class Happening(NamedTuple):
    """What one entry did to one fill.

    Attributes:
        what: arrival from outside, mixing, gauge, loss, despatch, return, packing; stock is what remains
            of the items asked for.
        happened_us: when.
        place: among what happened at that moment.
        entry: all that was written.
        gone: the entry that voided or replaced it; 0 while it counts.
        taken: out of which fills, and how much.
        made: into which fill, and how much; of a gauge, what was there then. None where it left.
        facts: what was recorded of the line (of a packing: its body).
        begins: whether the fill made begins here.
    """

    what: _What
    happened_us: int
    place: int
    entry: dict[str, Any]
    gone: int
    taken: tuple[Part, ...]
    made: Part | None
    facts: dict[str, Any]
    begins: bool = False

    @property
    def item(self) -> str:
        """The item whose liquid it is about, afterwards; empty where it left the house."""
        if self.what == "arrival":
            return str(self.entry["body"]["lines"][self.place % LINES]["to"]) if "lines" in self.entry["body"] else ""
        fill = self.made.fill if self.made else self.taken[0].fill
        return fill.where if fill.inside else ""

    @property
    def subject(self) -> Fill:
        """The fill it is about."""
        return (self.made or self.taken[0]).fill

    @property
    def number(self) -> int:
        """Number of the entry."""
        return int(self.entry["number"])

    @property
    def verb(self) -> str:
        """The trade's word for it."""
        return str(self.entry["body"].get("verb", self.what))

    @property
    def goal(self) -> Fill:
        """The fill that was made; of what left, one of its own."""
        return self.made.fill if self.made else Fill(self.what, self.number, self.place % LINES)

    @property
    def flows(self) -> tuple[Part, ...]:
        """What flowed from fill to fill, or left; gauges and stock move nothing."""
        moves = self.what in ("mixing", "loss", "despatch")
        return tuple(part for part in self.taken if moves and (part.liquid is None or part.liquid.mass_mg))


# -- which ------------------------------------------------------------------------------


def told_of(
    book: "BookCore", items: Sequence[str], *, forward: bool = False, at_us: int | None = None
) -> list[Happening]:
    """All that went into items, or with `forward` all that they went into, in order of time.

    Going back, only despatches of these items are told, no other customer's. Entries voided or replaced are told
    where all their items are in the lineage.

    Raises:
        PourbookError: an item is unknown, or nothing was ever poured into it.
    """
    with book.store.snapshot():
        found = [book.find(item) for item in items]
        traces = [(trace_forward if forward else trace_back)(book, item, at_us=at_us) for item in found]
        pours = [pour for trace in traces for pour in trace.pours]
        ends = {end for pour in pours for end in (pour.source, pour.target) if end[:1].isupper()}
        lines = {pour.line for pour in pours}
        told = _Told(book.store, ends.union(found), at_us)
        fills = {row.fill for item in ends for row in told.histories.of(item) if row.fill and row.line in lines}
        for item in found:
            fills.update(told.histories.fills_of(item) if forward else told.histories.fills_of(item)[-1:])
        fills |= told.histories.carried(fills, forward=forward)
        happened = told.of(lambda fill: fill in fills, despatched=ends if forward else found)
        return happened if forward else [*happened, *told.stock(found)]


def told_of_all(book: "BookCore", start_us: int | None = None, end_us: int | None = None) -> list[Happening]:
    """All that happened in a house, from one moment to another."""
    with book.store.snapshot():
        liquid = [item for item, _ in opened(book.store) if kind_of(item) in LIQUID_KINDS]
        told = _Told(book.store, liquid, end_us).of(lambda _: True, despatched=liquid)
    return [one for one in told if start_us is None or one.happened_us >= start_us]


# -- histories of items -------------------------------------------------------------------


class _Line(NamedTuple):
    """A line of an entry, or an entry of one line."""

    logged: Logged
    place: int
    body: dict[str, Any]

    @property
    def at(self) -> tuple[int, int]:
        return self.logged.happened_us, self.place

    def fill(self, where: str) -> Fill:
        """A fill that begins with this line."""
        return Fill(where, *divmod(self.place, LINES))

    def tell(self, what: _What, taken: tuple[Part, ...], made: Part | None, *, begins: bool = False) -> Happening:
        """What it did."""
        facts = {} if what == "mixing" else _facts(self.body)
        return Happening(what, *self.at, self.logged.entry, self.logged.gone, taken, made, facts, begins)

    def did(self, fold: Callable[..., Outcome], *held: Holding | None) -> Outcome | None:
        """What it did (or, voided, would have done) to what was held; None where nobody can say."""
        try:
            return fold(self.body, line_number(self.logged.number, self.place % LINES), *held)
        except NotThere:
            return None


class _Told:
    """Histories of items, and what their entries did."""

    def __init__(self, store: Store, items: Collection[str], at_us: int | None) -> None:
        self._store = store
        self._items = tuple(items)
        self._until_us = EVER if at_us is None else at_us
        self.histories = Histories(store, self._items, at_us)

    def of(self, wanted: Callable[[Fill], bool], despatched: Collection[str]) -> list[Happening]:
        """What the entries of these items did to the fills that are wanted."""
        items, rows = self._items, self.histories.of
        numbers = {row.line // LINES for item in items for row in rows(item) if row.fill and wanted(row.fill)}
        # Packings, and pours and gauges that no longer count.
        numbers |= ever_mentioning(self._store, [key_of(item) for item in items], ("pour", "gauge", "packed"))
        found: list[Happening] = []
        for logged in logged_of(self._store, numbers):
            if logged.happened_us <= self._until_us and not (logged.gone and not _within(logged.entry, items)):
                found += _chosen(self._of_entry(logged), wanted, despatched, logged.gone)
        return sorted(found, key=attrgetter("happened_us", "place"))

    def stock(self, items: Iterable[str]) -> Iterator[Happening]:
        """What the items hold, since the last entry that touched each."""
        for item in items:
            row = self.histories.last(item)
            if row.fill is not None and row.holding.mass_mg:
                line = _Line(entry_of(self._store, row.line // LINES), row.at[1], {})
                yield line.tell("stock", (), Part(row.fill, row.holding.liquid))

    # -- what an entry did -----------------------------------------------------------------

    def _of_entry(self, logged: Logged) -> list[Happening]:
        line = _Line(logged, logged.place * LINES, logged.entry["body"])
        if logged.kind == "packed":
            lot = self.histories.last(line.body["item"]).fill or line.fill(line.body["item"])
            return [line.tell("packing", (Part(lot, None),), None)]
        if logged.kind == "gauge":
            before = self.histories.before(line.body["item"], line.at)
            outcome = line.did(gauge, before.holding)
            now = None if outcome is None or outcome.source is None else outcome.source.liquid
            return list(_gauged(line, line.body["item"], before.fill, now))
        found: list[Happening] = []
        for index, body in enumerate(line.body["lines"]):
            for one in self._poured(line._replace(place=line.place + index, body=body)):
                _joined(found, one)
        return found

    def _poured(self, line: _Line) -> Iterator[Happening]:
        source, target = line.body["from"], line.body["to"]
        before, there = (self.histories.before(end, line.at) if end[0].isupper() else None for end in (source, target))
        if source == "return":
            liquid = Liquid(line.body["mass"], line.body["ethanol"], line.body.get("extract", 0))
            yield line.tell("return", (), Part((there and there.fill) or line.fill(target), liquid))
            return
        outcome = line.did(pour, before and before.holding, there and there.holding)
        left, received = (None, None) if outcome is None else moved(outcome)
        part = Part(
            line.fill(source), left, line.body.get("how") == "redistilled", None if received == left else received
        )
        if before is None:
            yield line.tell("arrival", (), part)
        else:
            if outcome and outcome.source and outcome.implied_gain_mg:
                yield from _gauged(line, source, before.fill, _sum(left, outcome.source.liquid))
            part = part._replace(fill=before.fill or part.fill)
        if there is None:
            yield line.tell(target, (part,), None)
        else:
            yield _mixed(line, part, there, received)


def _gauged(line: _Line, item: str, fill: Fill | None, now: Liquid | None) -> Iterator[Happening]:
    """What a gauge found; in an item never filled, liquid that nobody can explain."""
    if fill is not None:
        yield line.tell("gauge", (), Part(fill, now))
    elif now is None or now.mass_mg:
        part = Part(line.fill(UNEXPLAINED), now)
        yield line.tell("arrival", (), part)
        yield line.tell("mixing", (part,), Part(line.fill(item), now), begins=True)


def _mixed(line: _Line, part: Part, before: Row, received: Liquid | None) -> Happening:
    """Liquid into an item; what remained in it of an earlier fill is taken, too."""
    held, new = before.holding, line.fill(line.body["to"])
    if before.fill and held.state and not before.taken:
        return line.tell("mixing", (part,), Part(before.fill, received))
    # A lot goes by one name outside, so that what was left of it before matters even where it is nothing.
    if not before.fill or not (held.mass_mg or kind_of(new.where) == "lot"):
        return line.tell("mixing", (part,), Part(new, received), begins=True)
    return line.tell(
        "mixing", (Part(before.fill, held.liquid), part), Part(new, _sum(held.liquid, received)), begins=True
    )


def _joined(found: list[Happening], one: Happening) -> None:
    """Add one; lines of an entry into one fill are one mixing, in the place of the last of them."""
    if one.what == "mixing" and one.made is not None:
        for index, other in enumerate(found):
            if other.what == "mixing" and other.made is not None and other.made.fill == one.made.fill:
                made = Part(one.made.fill, _sum(other.made.liquid, one.made.liquid))
                del found[index]
                one = one._replace(taken=_gathered((*other.taken, *one.taken)), made=made, begins=other.begins)
                break
    found.append(one)


def _gathered(parts: Iterable[Part]) -> tuple[Part, ...]:
    """Each fill once."""
    found: dict[tuple[Fill, bool], Part] = {}
    for part in parts:
        key = part.fill, part.redistilled
        if (before := found.get(key)) is not None:
            arrived = _sum(before.received or before.liquid, part.received or part.liquid)
            whole = _sum(before.liquid, part.liquid)
            part = part._replace(liquid=whole, received=None if arrived == whole else arrived)  # noqa: PLW2901
        found[key] = part
    return tuple(found.values())


def _sum(one: Liquid | None, other: Liquid | None) -> Liquid | None:
    return None if one is None or other is None else one + other


# -- choosing ---------------------------------------------------------------------------


def _chosen(
    happenings: list[Happening], wanted: Callable[[Fill], bool], despatched: Collection[str], gone: int
) -> Iterator[Happening]:
    """What an entry did to the fills wanted; one that is gone was chosen by its items."""
    mixings = [one for one in happenings if one.what == "mixing" and (gone or wanted(one.subject))]
    arrived = {part.fill for one in mixings for part in one.taken}
    for one in happenings:
        if one.what == "arrival":
            if one.made is not None and one.made.fill in arrived:
                yield one
        elif one.what in ("despatch", "return", "packing"):
            if one.subject.where in despatched and (gone or wanted(one.subject)):
                yield one
        elif gone or wanted(one.subject):
            yield one


def _within(entry: dict[str, Any], items: Collection[str]) -> bool:
    body = entry["body"]
    ends = [line[end] for line in body["lines"] for end in ("from", "to")] if "lines" in body else [body["item"]]
    return all(end in items for end in ends if end[0].isupper())


def _facts(body: dict[str, Any]) -> dict[str, Any]:
    """What was recorded of a line besides its amount; of a packing, its body."""
    if "ssccs" in body:
        return {name: value for name, value in body.items() if name != "item"}
    return {**body.get("facts", {}), **({"pending": 1} if "pending" in body else {})}
