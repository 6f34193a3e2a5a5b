"""The rows of a dossier about means: instruments, allergens and previous contents, heads of the journal.

Each function makes out its rows from a `History` and what else the book knows.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from pourbook.book.items import facts
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.papers.dossier.dossier_rows import Allergen, InstrumentLine, Named
from pourbook.paperwork.dossier_liquid_of import gauges
from pourbook.paperwork.lot_history import History
from pourbook.queries.journal.against import checkpoints
from pourbook.times import moment_of

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["allergens", "heads", "instruments"]


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
    items = (
        Allergen(history.named(name), view.facts.get("previous", ""), view.facts.get("allergens", ""))
        for name, view in history.views.items()
    )
    return [row for row in (*items, *_of_additives(history)) if row.previous or row.allergens]


def _of_additives(history: History) -> Iterator[Allergen]:
    said: dict[str, str] = {}
    for pour in history.trace.pours:
        if not pour.source[:1].isupper() and pour.facts.get("allergens"):
            said[_called(pour.source, pour.facts)] = str(pour.facts["allergens"])
    for name, text in said.items():
        yield Allergen(Named("", name), "", text)


def _called(source: str, said: Mapping[str, object]) -> str:
    return str(said.get("about") or said.get("spirit") or source)


def heads(history: History, store: "Store") -> list[str]:
    """Heads for the paper to carry, as NUMBER:HASH."""
    return [f"{head.number}:{head.hash}" for head in checkpoints(store, set(_lineage(history)))]


def _lineage(history: History) -> Iterable[int]:
    yield from (pour.entry for pour in history.trace.pours)
    yield from history.journal
    yield from (one.by["number"] for one in history.corrected)
