"""What a book knows of its items: names, facts, contents, history.

They change nothing. One row of the ledger tells what an item held; nothing is summed up from the beginning.
"""

from collections.abc import Collection, Iterable, Iterator
from itertools import islice
from typing import NamedTuple

from pourbook.alcoholometry.volumes import pure_alcohol_ml, strength_20c, volume_ml
from pourbook.book.contents import EVER, LINES, NOTHING, Holding
from pourbook.book.store import Store, chunks
from pourbook.codes.identifiers import KINDS, LIQUID_KINDS, key_of, kind_of, of_key

__all__ = [
    "NUMBER_FACTS", "ItemView", "LedgerRow", "around", "by_kind", "entered_in", "facts", "first_facts", "first_stated",
    "held", "keys_of_kind", "latest_keys", "ledger", "listed_text", "next_keys", "of_plans", "on_hand", "opened",
    "placed", "planned_since", "text_listed", "totals_and_recipes", "view", "views",
]  # fmt: skip


NUMBER_FACTS = frozenset((
    "capacity_l", "cost", "labelled_strength", "meter_factor", "resolution", "size_ml", "strength", "tare_kg",
))  # fmt: skip
"""Facts that are a number, kept with a point."""


_PLANNED = ("blending", "chosen", "follows", "plan", "rest_days", "revised_from", "target_strength", "total")
_OF_PLANS = f" AND fact.name IN ({', '.join(map(repr, _PLANNED))})"


def of_plans(*names: str) -> str:
    """Said of facts of plans, by name, so that the index of these few is used; empty for any other.

    >>> of_plans("place"), of_plans("plan", "total")[:14]
    ('', ' AND fact.name')
    """
    return _OF_PLANS if set(names) <= set(_PLANNED) else ""


def planned_since(store: Store, since_us: int) -> list[int]:
    """Items whose total was stated from a moment on, such as trials and batches that follow a recipe, by key."""
    asked = f"SELECT DISTINCT item FROM fact WHERE name = 'total'{_OF_PLANS} AND happened >= ? ORDER BY item"
    return [key for (key,) in store.query(asked, (since_us,))]


def totals_and_recipes(store: Store, keys: Collection[int]) -> dict[int, tuple[str, str]]:
    """The total, as typed, and the recipe of items whose total was stated, by key; empty text where there is none."""
    known = _facts_of_many(store, keys, None)
    return {key: (of.get("total", ""), of.get("follows", "")) for key, of in known.items()}


def text_listed(text: str) -> tuple[str, ...]:
    """The parts of a fact that lists several, such as previous contents, as they were typed.

    >>> text_listed("red wine, 2009-2014; fortified wine")
    ('red wine, 2009-2014', 'fortified wine')
    """
    return tuple(part.strip() for part in text.split(";") if part.strip())


def listed_text(parts: Iterable[str]) -> str:
    """The same as one fact."""
    return "; ".join(parts)


_PORTION = 500


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


def by_kind(key: int) -> tuple[int, int]:
    """Sorts items as people list them: casks, vials, trials, batches, lots; by number within each."""
    return key % len(KINDS), key


def opened(store: Store) -> Iterator[tuple[str, int]]:
    """Every item in the order of opening, with the moment since when it is there. Memory stays flat."""
    rows = store.stream(
        "SELECT item.key, entry.happened FROM item JOIN entry ON entry.number = item.entry ORDER BY entry.number"
    )
    return ((of_key(key), happened_us) for key, happened_us in rows)


# -- contents --------------------------------------------------------------------------

_HELD = (
    "SELECT mass, ethanol, extract, state, sealed FROM ledger WHERE item = ? AND happened <= ?"
    " ORDER BY happened DESC, place DESC LIMIT 1"
)


def held(store: Store, key: int, at_us: int | None = None) -> Holding:
    """What an item holds, now or at a moment (what happened at that very moment included)."""
    rows = store.query(_HELD, (key, EVER if at_us is None else at_us))
    return Holding(*rows[0]) if rows else NOTHING


def entered_in(store: Store, key: int) -> int:
    """Number of the entry that took an item into the book."""
    return int(store.query("SELECT entry FROM item WHERE key = ?", (key,))[0][0])


def facts(store: Store, key: int, at_us: int | None = None) -> dict[str, str]:
    """What is true of an item, now or at a moment."""
    rows = store.query(
        "SELECT name, value FROM fact WHERE item = ? AND happened <= ? ORDER BY happened, place, name",
        (key, EVER if at_us is None else at_us),
    )
    known: dict[str, str] = dict(rows)
    return {name: value for name, value in known.items() if value}


def first_facts(store: Store, key: int) -> dict[str, str]:
    """The first value that each fact of an item ever had."""
    rows = store.query(
        "SELECT name, value FROM fact WHERE item = ? AND value <> '' ORDER BY happened DESC, place DESC, name", (key,)
    )
    return dict(rows)


def first_stated(store: Store, key: int, name: str) -> int | None:
    """Since when a fact is known of an item; None where it never was."""
    rows = store.query("SELECT min(happened) FROM fact WHERE item = ? AND name = ? AND value <> ''", (key, name))
    return None if rows[0][0] is None else int(rows[0][0])


def view(store: Store, identifier: str, at_us: int | None = None) -> ItemView:
    """An item as a person sees it, now or at a moment."""
    key = key_of(identifier)
    return ItemView(identifier, kind_of(identifier), facts(store, key, at_us), held(store, key, at_us))


def views(store: Store, keys: Collection[int], at_us: int | None = None) -> dict[int, ItemView]:
    """Many items as a person sees them, by key, in few queries."""
    known = _facts_of_many(store, keys, at_us)
    return {key: _viewed(key, facts_of, held(store, key, at_us)) for key, facts_of in known.items()}


def _viewed(key: int, facts_of: dict[str, str], holding: Holding) -> ItemView:
    identifier = of_key(key)
    return ItemView(identifier, kind_of(identifier), facts_of, holding)


def _facts_of_many(store: Store, keys: Collection[int], at_us: int | None) -> dict[int, dict[str, str]]:
    known: dict[int, dict[str, str]] = {key: {} for key in keys}
    until = EVER if at_us is None else at_us
    for marks, chunk in chunks(keys):
        for item, name, value in store.query(
            f"SELECT item, name, value FROM fact WHERE item IN ({marks}) AND happened <= ?"
            " ORDER BY item, happened, place, name",
            (*chunk, until),
        ):
            known[item][name] = value
    return {key: {name: value for name, value in of.items() if value} for key, of in known.items()}


def keys_of_kind(store: Store, kind: str | None) -> list[int]:
    """Every item (of a kind), by kind and number, empty ones as well."""
    rows = store.query("SELECT key FROM item WHERE CAST(?1 AS TEXT) IS NULL OR kind = ?1", (kind,))
    return sorted((key for (key,) in rows), key=by_kind)


_IN_A_PLACE = "SELECT DISTINCT item AS key FROM fact WHERE name = 'place' AND value = ?"
_ALL_NOW = "SELECT item AS key FROM on_hand WHERE kind = ?"
_ALL_EVER = f"SELECT key FROM item WHERE key % {len(KINDS)} = ?"
_HOLDING = """
SELECT there.key, mass, ethanol, extract, state, sealed FROM ({there}) AS there CROSS JOIN ledger
WHERE ledger.item = there.key AND (ledger.happened, ledger.place) = (SELECT happened, place FROM ledger AS last
    WHERE last.item = there.key AND last.happened <= ? ORDER BY happened DESC, place DESC LIMIT 1)
AND mass > 0 ORDER BY there.key
"""


def latest_keys(store: Store, kind: str, below: int, count: int) -> list[int]:
    """Keys of items of a kind below a key, the highest first: no more than so many, whatever else is in the book."""
    rows = store.query(
        "SELECT key FROM item WHERE key < ? AND key % ? = ? ORDER BY key DESC LIMIT ?",
        (below, len(KINDS), list(KINDS).index(kind), count),
    )
    return [key for (key,) in rows]


def next_keys(store: Store, kind: str, above: int, below: int, count: int) -> list[int]:
    """Keys of items of a kind between two keys, the lowest first, no more than so many: as `latest_keys`."""
    rows = store.query(
        "SELECT key FROM item WHERE key > ? AND key < ? AND key % ? = ? ORDER BY key LIMIT ?",
        (above, below, len(KINDS), list(KINDS).index(kind), count),
    )
    return [key for (key,) in rows]


def on_hand(
    store: Store, at_us: int | None = None, kind: str | None = None, place: str | None = None
) -> Iterator[ItemView]:
    """Every item (of a kind, at a place) that holds liquid, now or at a moment, by kind and number; memory flat."""
    for number, name in enumerate(KINDS):
        if name not in ((kind,) if kind else LIQUID_KINDS):
            continue
        there, until = (_ALL_NOW if at_us is None else _ALL_EVER), EVER if at_us is None else at_us
        if place is not None:
            there = f"{_IN_A_PLACE} AND item % {len(KINDS)} = ?"
        values = (*(() if place is None else (place,)), number, until)
        rows = store.stream(_HOLDING.format(there=there), values)
        while portion := {key: Holding(*holding) for key, *holding in islice(rows, _PORTION)}:
            for key, facts_of in _facts_of_many(store, portion, at_us).items():
                if place is None or facts_of.get("place") == place:
                    yield _viewed(key, facts_of, portion[key])


def placed(store: Store, kind: str, at_us: int | None = None) -> dict[int, str]:
    """Every item of a kind that has a place, with or without liquid in it, by key: its place as written."""
    rows = store.query(
        "SELECT item, value FROM fact WHERE name = 'place' AND item % ? = ? AND happened <= ?"
        " ORDER BY item, happened, place, name",
        (len(KINDS), list(KINDS).index(kind), EVER if at_us is None else at_us),
    )
    latest: dict[int, str] = dict(rows)
    return {key: place for key, place in latest.items() if place}


def around(store: Store, key: int, entry: int) -> tuple[Holding, Holding]:
    """What an item held just before the first line of an entry that touched it, and what after the last."""
    before, inside = NOTHING, NOTHING
    is_inside = False
    for row in ledger(store, key):
        if row.entry == entry:
            inside, is_inside = row.holding, True
        elif is_inside:
            break
        else:
            before = row.holding
    return before, inside


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
