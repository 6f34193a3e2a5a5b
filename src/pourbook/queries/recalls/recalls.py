"""Recalls: what one finds, what it puts on hold, and which holds end with it.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(fill, 0, "M. Aldane"))
>>> found = finding(book.store, (Suspect("item", cask),))
>>> found.figures["on_hand_mg"], found.figures["unexplained_mg"]
(1000, 0)
"""

from collections.abc import Iterable, Mapping, Sequence
from contextlib import suppress
from decimal import Decimal
from typing import Any, Literal, NamedTuple

from pourbook.book.contents import EVER
from pourbook.book.holds import held_by
from pourbook.book.items import views
from pourbook.book.journal import Logged
from pourbook.book.recall_scope import Suspect
from pourbook.book.search import in_force, mentioning, stated
from pourbook.book.settings import settings
from pourbook.book.site_numbers import group_number, of_site
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of, read
from pourbook.errors import OutOfRange, PourbookError, Refused, Unknown
from pourbook.numerals import read_decimal
from pourbook.queries.recalls.affected import Affected, affected
from pourbook.queries.recalls.customers import CameBack, Customer, came_back, customers
from pourbook.queries.recalls.recall_balance import Balance, balances, total
from pourbook.queries.recalls.suspects import identified
from pourbook.times import moment_of

__all__ = [
    "Compared", "Finding", "Kept", "Recalled", "Times", "ended", "finding", "names_of", "read_threshold",
    "read_within", "recall_compared", "recall_numbered", "recalls", "times_of",
]  # fmt: skip


class Finding(NamedTuple):
    """What a recall finds: affected items, the balances of each by its key, the balance of all.

    `names` are those of suspects that have an identifier; `house` its settings house, address, licence and contact.
    """

    affected: Affected
    balances: dict[int, Balance]
    balance: Balance
    names: Mapping[str, str] = {}
    house: Mapping[str, str] = {}

    @property
    def customers(self) -> tuple[Customer, ...]:
        """Whom affected liquid was sent to, and what is still there."""
        return customers(self.affected.departures)

    @property
    def came_back(self) -> tuple[CameBack, ...]:
        """What customers sent back."""
        return came_back(self.affected.departures)

    @property
    def figures(self) -> dict[str, int]:
        """Counts and whole mg, as the entry of a recall keeps them."""
        with_customers = [one for customer in self.customers for one in customer.items]
        items, departures = self.affected.items, self.affected.departures
        counts = {
            "items": len(items),
            "items_on_hand": len(self.affected.on_hand),
            "lots": sum(one.item.kind == "lot" for one in items),
            "units": sum(len(one.units) for one in items),
            "despatches": sum(one.what == "despatch" for one in departures),
            "returns": sum(one.what == "return" for one in departures),
            "customers": len(self.customers),
            "bottles_sent": sum(one.bottles_sent or 0 for one in with_customers),
            "bottles_returned": sum(one.bottles_returned or 0 for one in with_customers),
            "bottles_outstanding": sum(one.bottles or 0 for one in with_customers),
            "suspect_on_hand_mg": sum(one.suspect_mg for one in items),
        }
        sides = {**self.balance._asdict(), "unexplained": self.balance.unexplained}
        masses = {f"{side}_mg": liquid.mass_mg for side, liquid in sides.items()}
        return counts | masses | {f"{side}_ethanol_mg": liquid.ethanol_mg for side, liquid in sides.items()}


def read_threshold(text: str, mark: str = ".") -> float:
    """A threshold as typed: a part of one.

    Raises:
        Malformed: not a number.
        OutOfRange: below 0 or above 1.
    """
    share = float(read_decimal(text, mark))
    if not 0 <= share <= 1:
        raise OutOfRange(f"a threshold of {text} is not between 0 and 1", "write 0.001 for 0.1 %")
    return share


def read_within(text: str, mark: str = ".") -> str:
    """Hours that a recall is to take, as its entry keeps them: `4`, `4 h`.

    >>> read_within("4 h"), read_within("1.5")
    ('4', '1.5')

    Raises:
        Malformed: not a number.
        OutOfRange: not above zero.
    """
    hours = read_decimal(text.strip().removesuffix("h").strip(), mark)
    if hours <= 0:
        raise OutOfRange(f"nothing is done within {text}", "give hours: --within 4")
    return f"{hours:f}"


def finding(
    store: Store,
    suspects: Sequence[Suspect],
    until_us: int | None = None,
    threshold: float = 0.0,
    *,
    since_check: bool = False,
) -> Finding:
    """What a recall of these suspects finds, up to a moment.

    Items with smaller shares by every basis than the threshold are left out; 0 names any positive amount. `since_check`
    is of instruments: only what was gauged since their last check.

    Raises:
        PourbookError: a suspect is unknown, or touched no liquid.
        Refused: no item reaches the threshold.
    """
    until = EVER if until_us is None else until_us
    with store.snapshot():
        named = identified(store, suspects, until, since_check=since_check)
        found = affected(store, named, until, threshold)
        if not found.items:
            raise Refused(f"no item reaches the threshold of {threshold:g}", "give a lower --threshold")
        of_items = balances(store, found, until)
        known = settings(store)
        house = {name: known[name] for name in ("house", "address", "licence", "contact")}
        return Finding(found, of_items, total(of_items.values()), names_of(store, named), house)


def names_of(store: Store, suspects: Iterable[Suspect]) -> dict[str, str]:
    """What the suspects that have an identifier are called, by identifier."""
    keys = {}
    for suspect in suspects:
        with suppress(PourbookError):
            if identifier := read(suspect.name):
                keys[key_of(identifier)] = identifier
    known = views(store, keys)
    return {identifier: known[key].ref or known[key].facts.get("name", "") for key, identifier in keys.items()}


# -- recalls of the journal ------------------------------------------------------------------


class Recalled(NamedTuple):
    """A recall of the journal: its entry, the one that released it (0 for none), and the names of its suspects."""

    entry: Logged
    released: int
    names: Mapping[str, str] = {}

    @property
    def body(self) -> dict[str, Any]:
        """What the entry says."""
        body: dict[str, Any] = self.entry.entry["body"]
        return body

    @property
    def suspects(self) -> tuple[Suspect, ...]:
        """What it began with; an entry that it names by number, in a group as the group numbers it."""
        typed = map(Suspect.of_body, self.body["scope"])
        if "site_number" not in self.entry.entry:
            return tuple(typed)
        code, _ = of_site(self.entry.number)
        return tuple(
            one._replace(name=str(group_number(int(one.name), code))) if one.is_entry else one for one in typed
        )


def recalls(store: Store) -> list[Recalled]:
    """The recalls of the journal, in the order they were recorded."""
    released = {one.entry["body"]["recall"]: one.number for one in in_force(store, "release")}
    found = [Recalled(one, released.get(one.number, 0), {}) for one in in_force(store, "recall")]
    return [one._replace(names=names_of(store, one.suspects)) for one in found]


def recall_numbered(store: Store, number: int) -> Recalled:
    """One recall.

    Raises:
        Unknown: the entry is not a recall.
    """
    for recall in recalls(store):
        if recall.entry.number == number:
            return recall
    raise Unknown(f"entry {number} is not a recall", "find its number: pourbook recall --list")


class Times(NamedTuple):
    """When a recall was done.

    Attributes:
        suspected_us: the first suspicion; None where nobody said.
        begun_us: when it was begun.
        found_us: when all was found.
        held_us: when all was on hold: when its entry was recorded; None where it held nothing.
        within_h: hours that it was to take, as typed; empty for no target.
    """

    suspected_us: int | None
    begun_us: int
    found_us: int
    held_us: int | None
    within_h: str = ""

    @property
    def start_us(self) -> int:
        """What its time is taken from: the first suspicion, or its beginning where nobody said."""
        return self.begun_us if self.suspected_us is None else self.suspected_us

    @property
    def to_found_us(self) -> int:
        """From there until all was found."""
        return self.found_us - self.start_us

    @property
    def to_held_us(self) -> int | None:
        """From there until all was on hold; None where nothing was held."""
        return None if self.held_us is None else self.held_us - self.start_us

    @property
    def is_within(self) -> bool | None:
        """Whether all was found, and held where it was to be, within the hours of its target; None without one."""
        if not self.within_h:
            return None
        return max(self.to_found_us, self.to_held_us or 0) <= Decimal(self.within_h) * _HOUR_US


_HOUR_US = 3_600_000_000


def times_of(recall: Logged) -> Times:
    """When the recall of an entry was done."""
    body = recall.entry["body"]
    return Times(
        moment_of(body["suspected"]) if "suspected" in body else None,
        moment_of(body["begun"]),
        moment_of(body["ended"]),
        moment_of(recall.entry["recorded"]) if body["held"] else None,
        body.get("within_h", ""),
    )


class Compared(NamedTuple):
    """A recall as it was found, what is found of it now, and the refusal where what was suspect is found no more."""

    recall: Recalled
    found: Finding | None
    refusal: str

    @property
    def now(self) -> dict[str, int]:
        """Its figures now; none where nothing is found."""
        return {} if self.found is None else self.found.figures


def recall_compared(store: Store, number: int) -> Compared:
    """A recall as it was found, and its figures now.

    Raises:
        Unknown: the entry is not a recall.
    """
    with store.snapshot():
        recall = recall_numbered(store, number)
        try:
            found = finding(store, recall.suspects, threshold=float(recall.body["threshold"] or 0))
        except PourbookError as refusal:  # what was suspect may have been voided since
            return Compared(recall, None, refusal.message)
    return Compared(recall, found, "")


class Kept(NamedTuple):
    """An item (`id`) that a recall held and its end does not release.

    `why`: another "recall", a hold by "hand", or "free" where it is no longer held; `entry` is that recall or hold, or
    what let it go (0 where nobody can say).
    """

    id: str
    why: Literal["recall", "hand", "free"]
    entry: int


def ended(store: Store, number: int) -> tuple[tuple[str, ...], tuple[Kept, ...]]:
    """The items that this recall holds and nothing else does, to be released with it; and the others, each with why.

    Raises:
        Unknown: the entry is not a recall.
    """
    held = held_by(store, recall_numbered(store, number).entry)
    others = {
        item: other.entry.number
        for other in recalls(store)
        if other.entry.number != number and not other.released
        for item in held_by(store, other.entry)
    }
    keys = {item: key_of(item) for item in held}
    on_hold = {fact.item: fact.value for fact in stated(store, ("held",), sorted(keys.values()))}
    by_hand = mentioning(store, sorted(keys.values()), "hold")

    def kept(item: str) -> Kept | None:
        last = next((one for one in reversed(by_hand.get(keys[item], [])) if "recall" not in one.entry["body"]), None)
        if item in others:
            return Kept(item, "recall", others[item])
        if not on_hold.get(keys[item]):
            return Kept(item, "free", last.number if last else 0)
        return Kept(item, "hand", last.number) if last and last.entry["body"]["held"] else None

    found = {item: kept(item) for item in held}
    return tuple(item for item, why in found.items() if not why), tuple(filter(None, found.values()))
