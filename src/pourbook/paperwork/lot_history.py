"""All that the book knows of the way of a lot, read once, in few questions.

The rows of a dossier are made from this value alone.
"""

from collections.abc import Mapping, Sequence
from itertools import pairwise
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.contents import LINES
from pourbook.book.items import ItemView
from pourbook.book.journal import entries_of
from pourbook.book.lineages import upstream
from pourbook.book.search import Stated, mentioning, no_longer_counting, stated
from pourbook.codes.identifiers import key_of
from pourbook.lineage.ages import WoodTime
from pourbook.lineage.graph import CARRY, UNEXPLAINED, Inflow, Lineage
from pourbook.liquid import Liquid
from pourbook.papers.dossier.dossier_rows import Person
from pourbook.papers.endpoints import Named, named_endpoint
from pourbook.paperwork.naming import PeopleBy, coded, person
from pourbook.queries.journal.movements import Moved, movements
from pourbook.queries.traces.trace import trace_back, wood_of
from pourbook.queries.traces.trace_answer import Trace
from pourbook.times import house_zone

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["DRY_GOODS", "Corrected", "History", "history_of"]

DRY_GOODS = {
    "bottle_lot": "bottles", "glass": "bottles", "closure": "closures", "capsule": "capsules", "label": "labels",
    "carton": "cartons", "filter": "filters",
}  # fmt: skip
"""Facts of a lot about what it was filled into and packed with, and what each is about."""


class Corrected(NamedTuple):
    """An entry that no longer counts, the entry it was voided or replaced by, and the items of the lineage it named.

    Of a lot mark that was changed, the entries that stated the old and the new one, with both as `change`.
    """

    entry: Mapping[str, Any]
    by: Mapping[str, Any]
    items: tuple[str, ...]
    change: str = ""


class History(NamedTuple):
    """What the book knows of a lot: its trace back by pure alcohol, and its lineage.

    `views` has every item as it is now by identifier, the lot last; `moved` every line that changed what one of them
    holds; `held` what each holds now, by key; `wood` the time in wood of every origin, by line. `journal` has pours and
    gauges on the way, losses, despatches and returns by number; `remarks` holds and notes, `corrected` what no longer
    counts, in order; `approvals` are of the lot and of batches on the way, in order of time; `dry_goods` are values of
    facts of the lot about them, by name, in order of time; `persons` is who, as entries have it, to the person. Times
    are shown in the zone of the house, an IANA name.
    """

    trace: Trace
    lineage: Lineage
    views: Mapping[str, ItemView]
    moved: Sequence[Moved]
    held: Mapping[int, Liquid]
    wood: Mapping[int, WoodTime | None]
    journal: Mapping[int, Mapping[str, Any]]
    remarks: Sequence[Mapping[str, Any]]
    approvals: Sequence[Mapping[str, Any]]
    corrected: Sequence[Corrected]
    dry_goods: Mapping[str, Sequence[Stated]]
    persons: Mapping[str, Person]
    zone: "tzinfo"
    zone_name: str

    @property
    def lot(self) -> ItemView:
        """The lot as it is now."""
        return self.trace.item

    def named(self, endpoint: str) -> Named:
        """An item, or a word for outside, as papers name it."""
        view = self.views.get(endpoint)
        return named_endpoint(endpoint, {endpoint: view.facts} if view else {})

    def who(self, text: str) -> str:
        """The name of a person, or the code that stands for it."""
        found = self.persons[text]
        return found.name or found.id

    @property
    def inflows(self) -> "list[Inflow]":
        """All inflows of the lineage."""
        return [flow for state in self.lineage.order for flow in self.lineage.inflows[state]]


def history_of(book: "BookCore", lot: str, people: PeopleBy = "names") -> History:
    """Read all of it, persons by name or by codes that only the house can resolve.

    Raises:
        Unknown: there is no such lot.
        Refused: nothing was ever poured into it.
    """
    store, trace = book.store, trace_back(book, lot)
    views = {item.id: item for item in (*(other.item for other in trace.items), trace.item)}
    keys = [key_of(identifier) for identifier in views]
    lineage = upstream(store, trace.item.holding.state).lineage
    moved = movements(store, keys)
    flows = (flow for state in lineage.order for flow in lineage.inflows[state])
    measured = {flow.line // LINES for flow in flows if flow.how in (CARRY, UNEXPLAINED)}  # by gauges and pours
    left = {one.entry for one in moved if one.what == "lost" or one.how in ("despatch", "return")}
    journal = entries_of(store, measured | left | {pour.entry for pour in trace.pours})
    held = {one.number: one.entry for of_item in mentioning(store, keys, "hold", "note").values() for one in of_item}
    remarks = [held[number] for number in sorted(held)]
    said = {one.number: one.entry for of_item in mentioning(store, keys, "approval").values() for one in of_item}
    approvals = [said[number] for number in sorted(said)]
    gone = sorted((*_corrected(store, views), *_other_marks(store, trace.item.id)), key=lambda one: one.by["number"])
    told = (*journal.values(), *remarks, *approvals, *(one.by for one in gone))
    deeds = [(pour.entry, pour.who) for pour in trace.pours] + [(entry["number"], entry["who"]) for entry in told]
    first = {who: number for number, who in sorted(deeds, reverse=True)}  # the earliest stays
    persons = {who: person(store, who) for who in first}
    return History(
        trace,
        lineage,
        views,
        moved,
        {key_of(view.id): view.holding.liquid for view in views.values()},
        wood_of(trace, lineage, trace.item.holding.state, book.clock()),
        journal,
        remarks,
        approvals,
        gone,
        _dry_goods(store, trace.item.id),
        persons if people == "names" else {who: coded(one, first[who]) for who, one in persons.items()},
        house_zone(book.settings["zone"]),
        book.settings["zone"],
    )


def _dry_goods(store: "Store", lot: str) -> dict[str, list[Stated]]:
    found: dict[str, list[Stated]] = {}
    for one in stated(store, tuple(DRY_GOODS), [key_of(lot)]):
        found.setdefault(one.name, []).append(one)
    return found


def _corrected(store: "Store", views: Mapping[str, ItemView]) -> list[Corrected]:
    gone = []
    for one in no_longer_counting(store):
        items = tuple(name for name in dict.fromkeys(_endpoints(one.entry["body"])) if name in views)
        if items:
            gone.append((one.gone, one.entry, items))
    later = entries_of(store, {by for by, _, _ in gone})
    # As of a moment, what happened after it is not there to replace anything.
    return [Corrected(entry, later[by], items) for by, entry, items in gone if by in later]


def _other_marks(store: "Store", lot: str) -> list[Corrected]:
    """Changes of the mark of a lot."""
    marks = stated(store, ("lot_mark",), [key_of(lot)])
    entries = entries_of(store, {one.place for one in marks})
    return [
        Corrected(entries[old.place], entries[new.place], (lot,), f"lot mark {old.value} → {new.value or 'none'}")
        for old, new in pairwise(marks)
        if old.value not in ("", new.value)
    ]


def _endpoints(body: Mapping[str, Any]) -> list[str]:
    """What an entry names, the target of each pour before its source."""
    if "lines" in body:
        return [line[end] for end in ("to", "from") for line in body["lines"]]
    return [body["item"]] if "item" in body else []
