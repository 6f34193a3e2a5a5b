"""What a book knows of its items: names, facts, contents, history.

They change nothing. One row of the ledger tells what an item held; nothing is summed up from the beginning.
"""

from collections.abc import Collection, Iterator, Mapping
from itertools import islice
from typing import NamedTuple

from pourbook.alcoholometry.volumes import pure_alcohol_ml, strength_20c, volume_ml
from pourbook.book.holding import LINES, NOTHING, Holding
from pourbook.book.settings import DEFAULTS
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, hyphened, is_issued, key_of, kind_of, of_key, read, write
from pourbook.errors import Ambiguous, Unknown
from pourbook.times import house_zone, shown

__all__ = [
    "ItemView",
    "LedgerRow",
    "beginning_with",
    "by_kind",
    "chunks",
    "entered_in",
    "ever_with",
    "facts",
    "find",
    "has_refs",
    "held",
    "house_time",
    "instrument_names",
    "is_reserved",
    "ledger",
    "named",
    "next_id",
    "on_hand",
    "opened",
    "settings",
    "view",
    "views",
    "with_fact",
]


class ItemView(NamedTuple):
    """An item as a person sees it.

    Attributes:
        id: its identifier, without hyphens.
        kind: cask, vial, trial, batch, lot …
        facts: name to value, those true at the time.
        holding: what it holds.
    """

    id: str
    kind: str
    facts: dict[str, str]
    holding: Holding

    @property
    def ref(self) -> str:
        """The outside name; empty when it has none."""
        return self.facts.get("ref", "")

    @property
    def volume_ml_20c(self) -> float:
        """Volume at 20 °C."""
        return volume_ml(self.holding.liquid)

    @property
    def strength_20c(self) -> float | None:
        """True strength, % vol at 20 °C; None when it is empty."""
        return strength_20c(self.holding.liquid)

    @property
    def pure_alcohol_ml(self) -> float:
        """Volume of the pure alcohol in it, at 20 °C."""
        return pure_alcohol_ml(self.holding.liquid)


class LedgerRow(NamedTuple):
    """An item after a line that touched it.

    Attributes:
        happened_us: when.
        line: number of the line.
        holding: what it held then.
        place: of the line among those of one moment; over `LINES`, that of its entry.
    """

    happened_us: int
    line: int
    holding: Holding
    place: int

    @property
    def entry(self) -> int:
        """Number of the entry."""
        return self.line // LINES

    @property
    def volume_ml_20c(self) -> float:
        """Volume at 20 °C."""
        return volume_ml(self.holding.liquid)

    @property
    def strength_20c(self) -> float | None:
        """True strength, % vol at 20 °C; None when it is empty."""
        return strength_20c(self.holding.liquid)


def settings(store: Store) -> dict[str, str]:
    """The house's settings, defaults included."""
    return DEFAULTS | dict(store.query("SELECT name, value FROM setting"))


def house_time(store: Store, moment_us: int) -> str:
    """A moment as the house reads it on a clock, with the zone's abbreviation."""
    return shown(moment_us, house_zone(settings(store)["zone"]))


# -- names -----------------------------------------------------------------------------


def named(store: Store, ref: str, kind: str) -> str:
    """The item of a kind that has this outside name now, or empty."""
    found = [one for one in with_fact(store, "ref", ref) if kind_of(one) == kind]
    return found[0] if len(found) == 1 else ""


def by_kind(key: int) -> tuple[int, int]:
    """Sorts items as people list them: casks, vials, trials, batches, lots; by number within each."""
    return key % len(KINDS), key


def find(store: Store, text: str) -> str:
    """The identifier of what was typed or scanned: an identifier, an outside name, or the lot mark on a bottle.

    Raises:
        Mistyped: an identifier whose check character does not agree.
        Unknown: nothing goes by that name.
        Ambiguous: several items go by that name.
    """
    text = text.strip()
    identifier = read(text)
    if identifier is not None:
        if store.query("SELECT 1 FROM item WHERE key = ?", (key_of(identifier),)):
            return identifier
        if is_reserved(store, key_of(identifier)):
            raise Unknown(
                f"{hyphened(identifier)} is a label printed ahead and not yet in use",
                "assign it to what it labels",
            )
        raise Unknown(f"{hyphened(identifier)} is not in the book", "check the label, or enter it first")
    found = with_fact(store, "ref", text) or with_fact(store, "lot_mark", text)
    if len(found) == 1:
        return found[0]
    if found:
        names = ", ".join(map(hyphened, sorted(found, key=key_of)))
        raise Ambiguous(f"'{text}' names {len(found)} items: {names}", "give the identifier instead")
    raise Unknown(f"nothing in the book is called '{text}'", "check the name: pourbook stock lists all items")


def next_id(store: Store, kind: str, after: int = 0) -> str:
    """The next identifier of a kind that may be issued."""
    rows = store.query("SELECT next FROM counter WHERE kind = ?", (kind,))
    number = max(rows[0][0] if rows else 1, after)
    while not is_issued(kind, number):
        number += 1
    return write(kind, number)


def is_reserved(store: Store, key: int) -> bool:
    """Whether a number was printed ahead and is not yet assigned."""
    return bool(store.query("SELECT 1 FROM reserved WHERE key = ?", (key,)))


def with_fact(store: Store, name: str, value: str) -> list[str]:
    """Items of which this is true now."""
    rows = store.query("SELECT DISTINCT item FROM fact WHERE name = ? AND value = ?", (name, value))
    return sorted(of_key(key) for (key,) in rows if facts(store, key).get(name) == value)


def ever_with(store: Store, wanted: Mapping[str, str]) -> list[str]:
    """Items of which each of these facts was true at some time."""
    one = "SELECT item FROM fact WHERE name = ? AND value = ?"
    question = " INTERSECT ".join([one] * len(wanted)) + " ORDER BY item"
    return [of_key(key) for (key,) in store.query(question, [text for pair in wanted.items() for text in pair])]


def has_refs(store: Store) -> bool:
    """Whether any item ever had an outside name."""
    return bool(store.query("SELECT 1 FROM fact WHERE name = 'ref' LIMIT 1"))


def opened(store: Store) -> Iterator[tuple[str, int]]:
    """Every item in the order of opening, with the moment since when it is there. Memory stays flat."""
    rows = store.stream(
        "SELECT item.key, entry.happened FROM item JOIN entry ON entry.number = item.entry ORDER BY entry.number"
    )
    return ((of_key(key), happened_us) for key, happened_us in rows)


# -- contents --------------------------------------------------------------------------

_HELD = (
    "SELECT mass, ethanol, extract, state, sealed FROM ledger WHERE item = ?{}"
    " ORDER BY happened DESC, place DESC LIMIT 1"
)


def instrument_names(store: Store) -> list[str]:
    """What the instruments of the house are called."""
    keys = [key for (key,) in store.query("SELECT key FROM item WHERE kind = 'instrument'")]
    return [facts(store, key).get("ref") or hyphened(of_key(key)) for key in keys]


def held(store: Store, key: int, at_us: int | None = None) -> Holding:
    """What an item holds, now or at a moment (what happened at that very moment included)."""
    if at_us is None:
        rows = store.query(_HELD.format(""), (key,))
    else:
        rows = store.query(_HELD.format(" AND happened <= ?"), (key, at_us))
    return Holding(*rows[0]) if rows else NOTHING


def entered_in(store: Store, key: int) -> int:
    """Number of the entry that took an item into the book."""
    return int(store.query("SELECT entry FROM item WHERE key = ?", (key,))[0][0])


def facts(store: Store, key: int, at_us: int | None = None) -> dict[str, str]:
    """What is true of an item, now or at a moment."""
    rows = store.query(
        "SELECT name, value FROM fact WHERE item = ? AND happened <= ? ORDER BY happened, place",
        (key, 1 << 62 if at_us is None else at_us),
    )
    known: dict[str, str] = dict(rows)
    return {name: value for name, value in known.items() if value}


def view(store: Store, identifier: str, at_us: int | None = None) -> ItemView:
    """An item as a person sees it, now or at a moment."""
    key = key_of(identifier)
    return ItemView(identifier, kind_of(identifier), facts(store, key, at_us), held(store, key, at_us))


def views(store: Store, keys: Collection[int], at_us: int | None = None) -> dict[int, ItemView]:
    """Many items as a person sees them, by key, in few queries."""
    known: dict[int, dict[str, str]] = {key: {} for key in keys}
    until = 1 << 62 if at_us is None else at_us
    for marks, chunk in chunks(keys):
        for item, name, value in store.query(
            f"SELECT item, name, value FROM fact WHERE item IN ({marks}) AND happened <= ?"
            " ORDER BY item, happened, place",
            (*chunk, until),
        ):
            known[item][name] = value
    return {
        key: ItemView(
            identifier := of_key(key),
            kind_of(identifier),
            {name: value for name, value in facts_of.items() if value},
            held(store, key, at_us),
        )
        for key, facts_of in known.items()
    }


def chunks(values: Collection[int]) -> Iterator[tuple[str, tuple[int, ...]]]:
    """Values in portions that fit into a query, each with its question marks."""
    waiting = iter(values)
    while chunk := tuple(islice(waiting, 500)):
        yield ",".join("?" * len(chunk)), chunk


def on_hand(store: Store, at_us: int | None = None, kind: str | None = None) -> Iterator[ItemView]:
    """Every item (of a kind) that holds liquid, now or at a moment, by kind and number."""
    rows = store.query("SELECT key FROM item WHERE ?1 IS NULL OR kind = ?1", (kind,))
    for key in sorted((key for (key,) in rows), key=by_kind):
        holding = held(store, key, at_us)
        if holding.mass_mg:
            identifier = of_key(key)
            yield ItemView(identifier, kind_of(identifier), facts(store, key, at_us), holding)


def ledger(store: Store, key: int) -> list[LedgerRow]:
    """The history of an item's contents, in the order things happened."""
    return [
        LedgerRow(happened_us, line, Holding(*held), place)
        for happened_us, line, place, *held in store.query(
            "SELECT happened, line, place, mass, ethanol, extract, state, sealed FROM ledger WHERE item = ?"
            " ORDER BY happened, place",
            (key,),
        )
    ]


def beginning_with(store: Store, text: str) -> list[str]:
    """Identifiers and outside names that begin with this text, a few of each."""
    wanted = text.upper().replace("-", "")
    names = [
        row[0]
        for row in store.query(
            "SELECT DISTINCT value FROM fact WHERE name = 'ref' AND value >= ? AND value < ? LIMIT 20",
            (text, text + "\U0010ffff"),
        )
    ]
    letters = {letter: kind for kind, letter in KINDS.items()}
    kind = letters.get(wanted[:1])
    keys = store.query("SELECT key FROM item WHERE kind = ? ORDER BY key LIMIT 100000", (kind,)) if kind else []
    found = (of_key(key) for (key,) in keys)
    return names + [identifier for identifier in found if identifier.startswith(wanted)][:20]
