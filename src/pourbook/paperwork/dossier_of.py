"""The dossier of a bottle lot: everything the book knows of it, as the paper says it.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, lot = book.next_id("cask"), book.next_id("lot")
>>> told = {"spirit": "malt spirit", "wood_days": 0}
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400), facts=told),))
>>> entries = (Item(cask, {}), Item(lot, {"name": "Ash"}), fill, Pour("bottle", (Move(cask, lot, None),)))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> values = dossier_of(book, lot)
>>> values.name, values.origins[0].spirit, values.origins[0].share, values.youngest
('Ash', 'malt spirit', 1.0, Age(years=0, days=0))
"""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from pourbook.book.as_it_stood import NOW, AsOf, seen
from pourbook.book.items import entered_in, ledger
from pourbook.book.lineages import nothing_poured
from pourbook.book.names import is_in_book
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.papers.dossier.dossier_rows import BottlingLine
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.paperwork import dossier_liquid_of as dossier_liquid
from pourbook.paperwork import dossier_record_of as dossier_record
from pourbook.paperwork.flow_of import flow_of
from pourbook.paperwork.imprint import imprint_of_state
from pourbook.paperwork.lot_history import History, history_of
from pourbook.paperwork.lot_statement_of import between_sites, bottled_liquid, cautions, customers, followed, statement
from pourbook.paperwork.mass_balance import balances, losses
from pourbook.paperwork.naming import PeopleBy
from pourbook.times import minute, shown, written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = ["dossier_of"]


def dossier_of(book: "BookCore", lot: str, people: PeopleBy = "codes", as_of: AsOf = NOW) -> Dossier:
    """The dossier of a lot, persons by name or by codes that only the house can resolve.

    From the same state of the book it is always the same. As of a moment, what happened later is not in it; as known
    after an entry, it says what it would have said then. Both cost as much as a verification.

    Raises:
        Unknown: there is no such lot, or no such entry.
        Refused: it is not a lot, or nothing was poured into it by then.
    """
    identifier = book.find(lot)
    if not identifier.startswith("L"):
        raise Refused(f"{hyphened(identifier)} is not a bottle lot", "trace it instead: pourbook trace ITEM --pours")
    with seen(book, as_of) as then:
        _check_it_was_there(book, then, identifier, as_of)
        history = history_of(then, identifier, people)
        return Dossier(
            imprint_of_state(book, as_of, then.settings),
            hyphened(identifier),
            identifier,
            **(said := statement(history, then.store)),
            **_rows(history, then.store, said["lpa_l"]),
            statements=tuple(dossier_record.label_statements(history, then)),
            approvals=tuple(dossier_record.approvals(history, then)),
            **_as_of(as_of, history),
            bottling=tuple(_bottling(then, history)),
            people_by=people,
            between_sites=tuple(between_sites(history, book.store)) if as_of.known is None else (),
            heads=tuple(dossier_record.heads(history, book.store, as_of.known)),
        )


def _check_it_was_there(book: "BookCore", then: "BookCore", lot: str, as_of: AsOf) -> None:
    key = key_of(lot)
    if not is_in_book(then.store, key):
        remedy = f"give an entry after {entered_in(book.store, key)}, which opened it"
        raise Refused(f"{hyphened(lot)} was not yet in the book at entry {as_of.known}", remedy)
    if as_of.at_us is not None and not ledger(then.store, key):
        raise nothing_poured(then.store, lot, as_of.at_us)


def _as_of(as_of: AsOf, history: History) -> dict[str, Any]:
    moment = as_of.at_us
    shown_at = {} if moment is None else {"at": shown(moment, history.zone), "at_utc": written(moment)}
    return {**shown_at, "known_at": as_of.known}


def _bottling(then: "BookCore", history: History) -> Iterator[BottlingLine]:
    """What is to be said of the run in which the lot was filled; nothing of one that was bottled at once."""
    if "run" not in history.lot.facts:
        return
    from pourbook.queries.bottling.run import bottling_run
    from pourbook.words.bottling_words import run_words

    lot = next(one for one in bottling_run(then, history.lot.id).lots if one.view.id == history.lot.id)
    said = run_words(lot, lambda us: minute(us, history.zone), then.settings["decimal_mark"])
    yield from (BottlingLine(about, text) for about, text in said)


def _rows(history: History, store: "Store", pure_l: float) -> dict[str, Any]:
    """The rows of every section, and the picture, of a lot with so many litres of pure alcohol."""
    named = {key_of(name): history.named(name) for name in history.views}
    bottled, held = bottled_liquid(history), history.trace.held
    despatched = dossier_record.despatches(history)
    # The picture is of all that was bottled, though some may have left since.
    more = bottled.ethanol_mg / held.ethanol_mg if held.ethanol_mg else bottled.mass_mg / held.mass_mg
    found: dict[str, Iterable[Any]] = {
        "warnings": (
            f"the strength in entry {origin.entry} ({hyphened(origin.into)}) is still pending"
            for origin in history.trace.origins
            if origin.pending
        ),
        "cautions": cautions(history, store),
        "follows": followed(history, store),
        "customers": customers(history, store, despatched),
        "origins": dossier_liquid.origins(history, pure_l),
        "upstream": dossier_liquid.upstream_items(history),
        "pours": dossier_liquid.pours(history),
        "gauges": dossier_liquid.gauges(history),
        "instruments": dossier_record.instruments(history, store),
        "additions": dossier_liquid.additions(history),
        "allergens": dossier_record.allergens(history),
        "dry_goods": dossier_record.dry_goods(history, store),
        "ages": dossier_liquid.age_lines(history),
        "balances": balances(history.moved, history.held, named),
        "losses": losses(history.moved, history.journal),
        "remarks": dossier_record.remarks(history),
        "corrections": dossier_record.corrections(history),
        "people": dossier_record.people(history),
        "despatches": despatched,
    }
    flow = flow_of(history.trace, history.zone).times(more)
    return {**{name: tuple(rows) for name, rows in found.items()}, "flow": flow}
