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
from collections.abc import Iterable, Mapping
from typing import NamedTuple

from pourbook.book.journal import Logged, entry_of, parsed
from pourbook.book.store import Store, chunks
from pourbook.codes.identifiers import key_of, of_key

__all__ = [
    "LABEL", "STRENGTHS", "UNIT_LABEL", "LastPrint", "Restated", "began", "filled_from", "is_printed_since",
    "label_prints", "last_print", "last_prints", "numbers_set_aside", "reserved_keys", "restated", "stopped_runs",
    "unit_prints",
]  # fmt: skip

LABEL = "label"
"""What the journal calls a run of labels of items."""

UNIT_LABEL = "unit label"
"""What the journal calls a run of labels of cases or pallets; its fact `units` holds their SSCCs."""

STRENGTHS = "strengths"
"""The fact of a run of labels that holds the strength on each, in the order of its items, with "; " between them."""

_ON_LABELS = (
    "ref", "name", "spirit", "wood", "previous", "capacity_l", "lot_mark", "labelled_strength", "bottles", "size_ml",
    "gtin", "case_gtin", "due",
)  # fmt: skip
"""Facts that labels say; not where an item lies, which changes often."""


def reserved_keys(store: Store) -> set[int]:
    """Numbers set aside that label nothing yet."""
    return {key for (key,) in store.query("SELECT key FROM reserved")}


def numbers_set_aside(store: Store) -> list[tuple[Logged, tuple[str, ...]]]:
    """The entries that set numbers aside of which some label nothing yet, each with these."""
    found: dict[int, list[str]] = {}
    for key, entry in store.query("SELECT key, entry FROM reserved ORDER BY entry, key"):
        found.setdefault(entry, []).append(of_key(key))
    return [(entry_of(store, entry), tuple(free)) for entry, free in found.items()]


def stopped_runs(store: Store, since_us: int) -> list[Logged]:
    """Runs of labels from a moment on that stopped half-way and whose items had no label since, the last first."""
    asked = "SELECT number, happened, gone, instr(bytes, '\"stopped\"') FROM entry WHERE kind = 'paper'"
    found = []
    for number, happened_us, gone, stopped in store.stream(f"{asked} ORDER BY number DESC"):
        if happened_us < since_us:
            break  # papers are recorded as they are printed
        if stopped and not gone:
            found.append(entry_of(store, number))
    last = ((one, key_of(one.entry["body"]["items"][-1])) for one in found if "stopped" in one.entry["body"]["facts"])
    return [one for one, key in last if not is_printed_since(store, key, one.number)]


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


class LastPrint(NamedTuple):
    """The label of an item that was printed last.

    Attributes:
        entry: its run.
        happened_us: when.
        template: of the label; empty where the journal does not say.
        strength: as it stands on it; None where the journal does not say.
    """

    entry: int
    happened_us: int
    template: str
    strength: str | None


class Restated(NamedTuple):
    """What a label says otherwise than the book: its name, as printed and as it is now; empty where nothing is."""

    name: str
    printed: str
    now: str


_RUNS = "SELECT entry.number, entry.happened, entry.bytes FROM entry"


def last_prints(store: Store) -> dict[int, LastPrint]:
    """The last label of every item that has one, by key; what it costs grows with the runs of labels alone."""
    found: dict[int, LastPrint] = {}
    for row in store.query(f"{_RUNS} WHERE kind = 'paper' AND gone = 0 ORDER BY number"):
        found.update(_printed(*row))
    return found


def last_print(store: Store, key: int) -> LastPrint | None:
    """The last label of an item; None where it has none."""
    question = (
        f"{_RUNS} JOIN mention ON entry.number = mention.entry"
        " WHERE entry.kind = 'paper' AND entry.gone = 0 AND mention.item = ? ORDER BY entry.number DESC"
    )
    return next((run[key] for row in store.query(question, (key,)) if key in (run := _printed(*row))), None)


def _printed(number: int, happened_us: int, text: str) -> dict[int, LastPrint]:
    body = parsed(text)["body"]
    if body["paper"] != LABEL:
        return {}
    strengths = str(body["facts"].get(STRENGTHS, "")).split("; ")
    known = dict(zip(body["items"], strengths, strict=True)) if len(strengths) == len(body["items"]) else {}
    template = str(body["facts"].get("template", ""))
    return {key_of(one): LastPrint(number, happened_us, template, known.get(one)) for one in body["items"]}


def restated(store: Store, printed: Mapping[int, int]) -> dict[int, tuple[Restated, ...]]:
    """Facts that labels of items say and that are others now; `printed` is the run of each, by key of the item.

    Items with nothing to tell are left out, and so are labels printed ahead: they say the identifier alone.
    """
    found: dict[int, dict[str, tuple[str, str]]] = {}
    names = ",".join("?" * len(_ON_LABELS))
    for marks, chunk in chunks(printed):
        for key, name, place, value in store.query(
            f"SELECT fact.item, name, place, value FROM fact JOIN item ON item.key = fact.item"
            f" WHERE fact.item IN ({marks}) AND name IN ({names}) ORDER BY fact.item, happened, place, name",
            (*chunk, *_ON_LABELS),
        ):
            of_item = found.setdefault(key, {})
            then, _ = of_item.get(name, ("", ""))
            of_item[name] = value if place <= printed[key] else then, value
    ahead = {
        key
        for marks, chunk in chunks(printed)
        for key, entry in store.query(f"SELECT key, entry FROM item WHERE key IN ({marks})", chunk)
        if printed[key] < entry
    }
    changed = {
        key: tuple(Restated(name, *found[key][name]) for name in _ON_LABELS if len(set(found[key].get(name, " "))) > 1)
        for key in found
        if key not in ahead
    }
    return {key: facts for key, facts in changed.items() if facts}


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
