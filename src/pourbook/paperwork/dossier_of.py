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

from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.paperwork import dossier_liquid_of as dossier_liquid
from pourbook.paperwork import dossier_record_of as dossier_record
from pourbook.paperwork.flow_of import flow_of
from pourbook.paperwork.imprint import imprint_of_state
from pourbook.paperwork.lot_history import history_of
from pourbook.paperwork.lot_statement_of import bottled_liquid, cautions, customers, followed, statement
from pourbook.paperwork.mass_balance import balances, losses
from pourbook.paperwork.naming import PeopleBy

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["dossier_of"]


def dossier_of(book: "BookCore", lot: str, people: PeopleBy = "codes") -> Dossier:
    """The dossier of a lot, persons by name or by codes that only the house can resolve.

    From the same state of the book it is always the same.

    Raises:
        Unknown: there is no such lot.
        Refused: it is not a lot, or nothing was ever poured into it.
    """
    identifier = book.find(lot)
    if not identifier.startswith("L"):
        raise Refused(f"{hyphened(identifier)} is not a bottle lot", "trace it instead: pourbook trace ITEM --pours")
    history = history_of(book, identifier, people)
    named = {key_of(name): history.named(name) for name in history.views}
    bottled, held = bottled_liquid(history), history.trace.held
    despatched = dossier_record.despatches(history)
    # The picture is of all that was bottled, though some may have left since.
    more = bottled.ethanol_mg / held.ethanol_mg if held.ethanol_mg else bottled.mass_mg / held.mass_mg
    return Dossier(
        imprint_of_state(book),
        hyphened(identifier),
        identifier,
        **(said := statement(history, book.store)),
        warnings=tuple(
            f"the strength in entry {origin.entry} ({hyphened(origin.into)}) is still pending"
            for origin in history.trace.origins
            if origin.pending
        ),
        cautions=tuple(cautions(history, book.store)),
        follows=tuple(followed(history, book.store)),
        customers=tuple(customers(history, book.store, despatched)),
        origins=tuple(dossier_liquid.origins(history, said["lpa_l"])),
        upstream=tuple(dossier_liquid.upstream_items(history)),
        pours=tuple(dossier_liquid.pours(history)),
        gauges=tuple(dossier_liquid.gauges(history)),
        instruments=tuple(dossier_record.instruments(history, book.store)),
        additions=tuple(dossier_liquid.additions(history)),
        allergens=tuple(dossier_record.allergens(history)),
        dry_goods=tuple(dossier_record.dry_goods(history)),
        ages=tuple(dossier_liquid.age_lines(history)),
        balances=tuple(balances(history.moved, history.held, named)),
        losses=tuple(losses(history.moved, history.journal)),
        remarks=tuple(dossier_record.remarks(history)),
        corrections=tuple(dossier_record.corrections(history)),
        people=tuple(dossier_record.people(history)),
        people_by=people,
        despatches=tuple(despatched),
        flow=flow_of(history.trace, history.zone).times(more),
        heads=tuple(dossier_record.heads(history, book.store)),
    )
