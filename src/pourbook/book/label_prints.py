"""What was printed, and what may be: labels of items and of single cases, numbers set aside, when an item began.

>>> from pourbook import Book, Draft, Paper, Reserve
>>> book = Book.create(":memory:", house="Quillmere")
>>> _ = book.record(
...     Draft(Reserve(("V000001R", "V000002P")), 0, "M. Aldane"),
...     Draft(Paper("label", ("V000001R",), {}), 0, "M. Aldane"),
... )
>>> dict(label_prints(book.store, ["V000001R", "V000002P"])), sorted(map(of_key, reserved_keys(book.store)))
({'V000001R': 1}, ['V000001R', 'V000002P'])
"""

from collections import Counter
from collections.abc import Iterable

from pourbook.book.contents import EVER
from pourbook.book.journal import parsed
from pourbook.book.store import Store, chunks
from pourbook.codes.identifiers import key_of, of_key

__all__ = [
    "LABEL", "UNIT_LABEL", "began", "filled_from", "is_printed_since", "label_prints", "reserved_keys",
    "stated_since_print", "unit_prints",
]  # fmt: skip

LABEL = "label"
"""What the journal calls a run of labels of items."""

UNIT_LABEL = "unit label"
"""What the journal calls a run of labels of cases or pallets; its fact `units` holds their SSCCs."""


_ON_LABELS = (
    "ref", "name", "spirit", "wood", "capacity_l", "lot_mark", "labelled_strength", "bottles", "size_ml", "gtin",
    "case_gtin", "due",
)  # fmt: skip
"""Facts that labels say; not where an item lies, which changes often."""


def reserved_keys(store: Store) -> set[int]:
    """Numbers set aside that label nothing yet."""
    return {key for (key,) in store.query("SELECT key FROM reserved")}


def label_prints(store: Store, identifiers: Iterable[str]) -> Counter[str]:
    """How many times a label of each item was printed; items never printed are left out."""
    runs: dict[int, set[str]] = {}
    for marks, chunk in chunks([key_of(identifier) for identifier in dict.fromkeys(identifiers)]):
        for item, number in store.query(
            "SELECT mention.item, entry.number FROM mention JOIN entry ON entry.number = mention.entry"
            f" WHERE entry.kind = 'paper' AND mention.item IN ({marks})",
            chunk,
        ):
            runs.setdefault(number, set()).add(of_key(item))
    found: Counter[str] = Counter()
    for number, items in runs.items():
        ((text,),) = store.query("SELECT bytes FROM entry WHERE number = ?", (number,))
        if parsed(text)["body"]["paper"] == LABEL:
            found.update(items)
    return found


def stated_since_print(store: Store, key: int) -> tuple[str, ...]:
    """Names of facts that a label of an item says, and that are others now than when one was last printed."""
    rows = store.query(
        "SELECT entry.number, entry.bytes FROM entry JOIN mention ON entry.number = mention.entry"
        " WHERE entry.kind = 'paper' AND entry.gone = 0 AND mention.item = ? ORDER BY entry.number DESC",
        (key,),
    )
    printed = next((number for number, text in rows if parsed(text)["body"]["paper"] == LABEL), None)
    if printed is None:
        return ()
    question = (
        f"SELECT name, value FROM fact WHERE item = ? AND place <= ? AND name IN ({','.join('?' * len(_ON_LABELS))})"
        " ORDER BY happened, place"
    )
    then: dict[str, str] = dict(store.query(question, (key, printed, *_ON_LABELS)))
    now: dict[str, str] = dict(store.query(question, (key, EVER, *_ON_LABELS)))
    return tuple(name for name in _ON_LABELS if then.get(name, "") != now.get(name, ""))


def is_printed_since(store: Store, key: int, entry: int) -> bool:
    """Whether labels of an item, or of cases and pallets of it, were printed after that entry."""
    rows = store.query(
        "SELECT entry.bytes FROM entry JOIN mention ON entry.number = mention.entry"
        " WHERE entry.kind = 'paper' AND mention.item = ? AND entry.number > ?",
        (key, entry),
    )
    return any(parsed(text)["body"]["paper"] in (LABEL, UNIT_LABEL) for (text,) in rows)


def unit_prints(store: Store, lots: Iterable[str]) -> Counter[str]:
    """How many times a label of each case or pallet of some lots was printed, by SSCC."""
    found: Counter[str] = Counter()
    for lot in set(lots):
        for (text,) in store.query(
            "SELECT entry.bytes FROM entry JOIN mention ON entry.number = mention.entry"
            " WHERE entry.kind = 'paper' AND mention.item = ?",
            (key_of(lot),),
        ):
            body = parsed(text)["body"]
            if body["paper"] == UNIT_LABEL:
                found.update(set(body["facts"]["units"].split()))
    return found


def began(store: Store) -> dict[int, int]:
    """When each item began, by key: when it was first filled, or entered if it never was."""
    return dict(
        store.query(
            "SELECT item.key, coalesce((SELECT min(ledger.happened) FROM ledger WHERE ledger.item = item.key),"
            " entry.happened) FROM item JOIN entry ON entry.number = item.entry"
        )
    )


def filled_from(store: Store, key: int) -> set[int]:
    """What was filled straight from an item."""
    rows = store.query(
        "SELECT DISTINCT after.item FROM state AS before JOIN flow ON flow.source = before.id"
        " JOIN state AS after ON after.id = flow.target WHERE before.item = ? AND after.item <> ? AND flow.carry = 0",
        (key, key),
    )
    return {item for (item,) in rows}
