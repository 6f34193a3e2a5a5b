"""The rows of a dossier about events, people and means.

Remarks, corrections, people, despatches; instruments, allergens and previous contents, heads of the
journal. Each function makes its rows from a `History`, in printing order.
"""

from collections.abc import Iterator, Mapping
from itertools import zip_longest
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.contents import LINES
from pourbook.book.items import facts
from pourbook.book.trade_numbers import on_pallets, units_of
from pourbook.codes.gs1 import sscc_ranges
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.numerals import counted, read_decimal
from pourbook.papers.dossier.dossier_rows import (
    Allergen,
    ApprovalLine,
    Correction,
    Despatch,
    DryGood,
    InstrumentLine,
    LabelStatement,
    Person,
    Remark,
)
from pourbook.papers.endpoints import Named
from pourbook.paperwork.dossier_liquid_of import gauges
from pourbook.paperwork.lot_history import DRY_GOODS, History
from pourbook.queries.approvals.approved import Approved, approved
from pourbook.queries.journal.against import checkpoints
from pourbook.queries.labels.statements_of import statements_of
from pourbook.times import minute, moment_of
from pourbook.words.statement_words import points_words, rule_words, statement_words

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = [
    "allergens", "approvals", "corrections", "despatches", "dry_goods", "heads", "instruments", "label_statements",
    "people", "remarks",
]  # fmt: skip


def remarks(history: History) -> list[Remark]:
    """Holds, releases and notes on any upstream item."""
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


def approvals(history: History, book: "BookCore") -> list[ApprovalLine]:
    """Who approved or rejected the lot, or a batch on the way; of that which counts for the lot, how it stands."""
    counting = approved(book, history.lot.id)
    return [
        ApprovalLine(
            entry["number"],
            minute(moment_of(entry["happened"]), history.zone),
            "approved" if entry["body"]["approved"] else "rejected",
            history.named(entry["body"]["item"]),
            "; ".join(filter(None, (str(entry.get("reason", "")), _how_it_stands(counting, entry["number"])))),
            history.who(entry["who"]),
        )
        for entry in history.approvals
    ]


def _how_it_stands(counting: Approved, number: int) -> str:
    covering = counting.covering
    if covering.entry is None or covering.entry.number != number:
        return ""
    if covering.lapsed_by:
        return f"ended by entry {covering.lapsed_by}, which poured into it"
    return "on other figures than the book has now" if counting.changed else "counts for this lot"


def label_statements(history: History, book: "BookCore") -> list[LabelStatement]:
    """What the label is to say, and whether it may by the house's rules."""
    told, mark = statements_of(book, history.lot.id), book.settings["decimal_mark"]
    return [
        LabelStatement(
            statement_words(one, mark),
            one.stands,
            "; ".join(points_words(one.against or one.rests_on, told.called, mark)),
            rule_words(one.rule),
        )
        for one in told.claimed
    ]


def corrections(history: History) -> list[Correction]:
    """Entries on any item on the way that were voided or replaced, changes of the lot mark, and why."""
    return [
        Correction(
            one.by["number"],
            minute(moment_of(one.by["recorded"]), history.zone),
            one.entry["number"],
            one.change or ("voided" if one.by["kind"] == "void" else "replaced"),
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
        history.persons[who]._replace(part=", ".join(f"{word} {len(numbers)}" for word, numbers in deeds.items()))
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
    for entry in history.approvals:
        yield entry["who"], "approve" if entry["body"]["approved"] else "reject", entry["number"]
    for one in history.corrected:
        yield one.by["who"], "correct", one.by["number"]


def despatches(history: History) -> list[Despatch]:
    """Bottles of the lot that left the house, or came back; by their size where an amount was despatched."""
    lot, size = key_of(history.lot.id), history.lot.facts.get("size_ml", "")
    found = []
    for one in history.moved:
        if one.item != lot or one.how not in ("despatch", "return"):
            continue
        entry = history.journal[one.entry]
        told = entry["body"]["lines"][one.line % LINES].get("facts", {})
        counted = round(volume_ml(one.liquid) / float(read_decimal(size))) if size else 0
        bottles = int(told.get("bottles", counted))
        found.append(
            Despatch(
                one.entry,
                minute(one.happened_us, history.zone),
                str(told.get("customer", "")),
                str(told.get("document", "")),
                -bottles if one.how == "return" else bottles,
                history.who(entry["who"]),
                tuple(sscc_ranges(str(told.get("units", "")).split())),
                str(told.get("carrier", "")),
                str(told.get("address", "")),
                str(told.get("contact", "")),
            )
        )
    return found


def instruments(history: History, store: "Store") -> list[InstrumentLine]:
    """What the gauges on the way were read on, each with its certificate and check as they stood at the reading."""
    found: dict[tuple[Named, str, str, str], list[bool]] = {}
    for gauge in gauges(history):
        entry = history.journal[gauge.entry]
        for one in entry["body"].get("instruments", ()):
            said = _instrument(one, store, moment_of(entry["happened"]))
            found.setdefault(said, []).append("overdue_since" in one)
    return [InstrumentLine(*said, len(late), sum(late)) for said, late in found.items()]


def _instrument(one: Mapping[str, str], store: "Store", moment_us: int) -> tuple[Named, str, str, str]:
    identifier = one.get("id")
    if identifier is None:
        return Named("", one["name"]), "", "", ""
    known = facts(store, key_of(identifier), moment_us)
    kind, certificate, due = (known.get(name, "") for name in ("instrument", "certificate", "due"))
    return Named(hyphened(identifier), known.get("ref") or known.get("name", "")), kind, certificate, due


def allergens(history: History) -> list[Allergen]:
    """Items that are known to bring something, or whose wood held something; and such additives."""
    rows = [
        Allergen(history.named(name), view.facts.get("previous", ""), view.facts.get("allergens", ""))
        for name, view in history.views.items()
    ]
    said: dict[str, str] = {}
    for pour in history.trace.pours:
        if not pour.source[:1].isupper() and pour.facts.get("allergens"):
            said[str(pour.facts.get("about") or pour.facts.get("spirit") or pour.source)] = str(pour.facts["allergens"])
    rows += [Allergen(Named("", name), "", text) for name, text in said.items()]
    return [row for row in rows if row.previous or row.allergens]


def dry_goods(history: History, store: "Store") -> list[DryGood]:
    """Bottles, closures, labels and cartons of the lot, each value that was ever stated; then cases and pallets."""
    return [*_stated_goods(history), *_numbered(history, store), *_on_pallets(history, store)]


def _numbered(history: History, store: "Store") -> list[DryGood]:
    """Cases and pallets by how many bottles each holds, with their serial numbers."""
    found: dict[tuple[str, int], list[str]] = {}
    for unit in units_of(store, history.lot.id):
        found.setdefault((unit.unit, unit.bottles), []).append(unit.sscc)
    return [
        DryGood(f"{unit}s (SSCC)", f"{len(ssccs)} of {counted(bottles, 'bottle')}: {', '.join(sscc_ranges(ssccs))}")
        for (unit, bottles), ssccs in found.items()
    ]


def _on_pallets(history: History, store: "Store") -> list[DryGood]:
    """Which cases stand on which pallet, as far as that was recorded."""
    found: dict[str, list[str]] = {}
    for case, pallet in on_pallets(store, history.lot.id).items():
        found.setdefault(pallet, []).append(case)
    return [DryGood(f"on pallet {pallet}", ", ".join(sscc_ranges(sorted(cases)))) for pallet, cases in found.items()]


def _stated_goods(history: History) -> list[DryGood]:
    """Each value with the moment until which it stood."""
    rows = []
    for fact, kind in DRY_GOODS.items():
        values = history.dry_goods.get(fact, ())
        for one, following in zip_longest(values, values[1:]):
            until = f" (until {minute(following.happened_us, history.zone)})" if following else ""
            if one.value and (following is None or following.value != one.value):
                rows.append(DryGood(kind, one.value + until))
    return rows


def heads(history: History, store: "Store", last: int | None = None) -> list[str]:
    """Heads for the paper to carry, as NUMBER:HASH; up to an entry, if one is given."""
    entries = {
        *(pour.entry for pour in history.trace.pours),
        *history.journal,
        *(one.by["number"] for one in history.corrected),
    }
    return [f"{head.number}:{head.hash}" for head in checkpoints(store, entries, last)]
