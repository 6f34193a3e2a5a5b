"""The rows of a dossier about what was said and done: remarks, corrections, people, despatches.

Each function makes out its rows from a `History`, in the order in which they are printed.
"""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Any

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.holding import LINES
from pourbook.codes.identifiers import key_of
from pourbook.numerals import read_decimal
from pourbook.papers.dossier.dossier_rows import Correction, Despatch, Person, Remark
from pourbook.paperwork.lot_history import History
from pourbook.queries.journal.movements import Moved
from pourbook.times import minute, moment_of

__all__ = ["corrections", "despatches", "people", "remarks"]


def remarks(history: History) -> list[Remark]:
    """Holds, their lifting, and notes, on any item on the way."""
    ordered = sorted(history.remarks, key=lambda entry: (moment_of(entry["happened"]), entry["number"]))
    return [
        Remark(
            entry["number"],
            minute(moment_of(entry["happened"]), history.zone),
            _remark(entry),
            history.named(entry["body"]["item"]),
            str(entry["body"].get("text") or entry.get("reason", "")),
            history.who(entry["who"]),
        )
        for entry in ordered
    ]


def _remark(entry: Mapping[str, Any]) -> str:
    if entry["kind"] == "note":
        return "note"
    return "hold" if entry["body"]["held"] else "release"


def corrections(history: History) -> list[Correction]:
    """Entries on any item on the way that were voided or replaced, and why."""
    return [
        Correction(
            one.by["number"],
            minute(moment_of(one.by["recorded"]), history.zone),
            one.entry["number"],
            "voided" if one.by["kind"] == "void" else "replaced",
            history.named(one.items[0]),
            str(one.by.get("reason", "")),
            history.who(one.by["who"]),
        )
        for one in history.corrected
    ]


def people(history: History) -> list[Person]:
    """Who had a part in the lot, and how often they did what, in the order they first did."""
    parts: dict[str, dict[str, set[int]]] = {}
    for who, word, number in _deeds(history):
        parts.setdefault(who, {}).setdefault(word, set()).add(number)
    return [
        replace(history.persons[who], part=", ".join(f"{word} {len(numbers)}" for word, numbers in deeds.items()))
        for who, deeds in parts.items()
    ]


def _deeds(history: History) -> Iterator[tuple[str, str, int]]:
    """Who, what, and the entry."""
    for pour in history.trace.pours:
        yield pour.who, pour.verb, pour.entry
    for number, entry in sorted(history.journal.items()):
        yield entry["who"], entry["body"].get("verb", entry["kind"]), number
    for entry in history.remarks:
        yield entry["who"], _remark(entry), entry["number"]
    for one in history.corrected:
        yield one.by["who"], "correct", one.by["number"]


def despatches(history: History) -> list[Despatch]:
    """Bottles of the lot that left the house, or came back."""
    lot = key_of(history.lot.id)
    sent = [one for one in history.moved if one.item == lot and one.how in ("despatch", "return")]
    return [_despatch(history, one) for one in sent]


def _despatch(history: History, one: Moved) -> Despatch:
    entry = history.journal[one.entry]
    line = entry["body"]["lines"][one.line % LINES]
    told = line.get("facts", {})
    bottles = int(told["bottles"]) if "bottles" in told else _bottles(history, one)
    return Despatch(
        one.entry,
        minute(one.happened_us, history.zone),
        str(told.get("customer", "")),
        str(told.get("document", "")),
        -bottles if one.how == "return" else bottles,
        history.who(entry["who"]),
    )


def _bottles(history: History, one: Moved) -> int:
    """Bottles in what was despatched by amount."""
    size = history.lot.facts.get("size_ml", "")
    return round(volume_ml(one.liquid) / float(read_decimal(size))) if size else 0
