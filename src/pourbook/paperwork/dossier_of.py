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

from functools import reduce
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import lpa_l, strength_20c, volume_ml
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.lineage.ages import age_of, years_before
from pourbook.liquid import EMPTY, Liquid
from pourbook.numerals import read_decimal
from pourbook.papers.dossier.dossier_values import Dossier
from pourbook.paperwork import dossier_liquid_of as dossier_liquid
from pourbook.paperwork import dossier_record_of as dossier_record
from pourbook.paperwork.flow_of import flow_of
from pourbook.paperwork.imprint import imprint_of_state
from pourbook.paperwork.lot_history import History, history_of
from pourbook.paperwork.mass_balance import balances, losses
from pourbook.paperwork.naming import PeopleBy
from pourbook.times import minute

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["bottled_liquid", "dossier_of"]


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
    # The picture is of all that was bottled, though some may have left since.
    more = bottled.ethanol_mg / held.ethanol_mg if held.ethanol_mg else bottled.mass_mg / held.mass_mg
    return Dossier(
        imprint_of_state(book),
        hyphened(identifier),
        identifier,
        **_statement(history),
        warnings=tuple(
            f"the strength in entry {origin.entry} ({hyphened(origin.into)}) is still pending"
            for origin in history.trace.origins
            if origin.pending
        ),
        origins=tuple(dossier_liquid.origins(history)),
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
        despatches=tuple(dossier_record.despatches(history)),
        flow=flow_of(history.trace, history.zone).times(more),
        heads=tuple(dossier_record.heads(history, book.store)),
    )


def bottled_liquid(history: History) -> Liquid:
    """What was bottled, at its present strength; a gauge of the lot does not say how many bottles were filled."""
    lot = key_of(history.lot.id)
    filled = [one.liquid for one in history.moved if one.item == lot and one.what == "in" and one.how != "return"]
    whole = reduce(Liquid.__add__, filled, EMPTY)
    is_gauged = any(one.item == lot and one.what == "gauge" for one in history.moved)
    return history.trace.held.scaled(whole.mass_mg) if is_gauged and whole.mass_mg else whole


def _statement(history: History) -> dict[str, Any]:
    known, whole = history.lot.facts, bottled_liquid(history)
    bottling = next((pour for pour in history.trace.pours if pour.target == history.lot.id), None)
    in_wood, mean_us = history.trace.age
    return {
        "name": known.get("name") or known.get("ref") or hyphened(history.lot.id),
        "ref": known.get("ref", ""),
        "lot_mark": known.get("lot_mark", ""),
        "bottles": _bottles(history),
        "bottle_ml": read_decimal(known["size_ml"]) if known.get("size_ml") else None,
        "strength_vol": strength_20c(whole),
        "bottled": minute(bottling.happened_us, history.zone) if bottling else "",
        "bottled_by": history.who(bottling.who) if bottling else "",
        "volume_l": volume_ml(whole) / 1000,
        "lpa_l": lpa_l(whole.ethanol_mg),
        "youngest": age_of(in_wood, history.zone),
        **_qualifying(history),
        "mean_age_years": None
        if in_wood is None or mean_us is None
        else years_before(in_wood.until_us, mean_us, history.zone),
    }


def _qualifying(history: History) -> dict[str, Any]:
    """How much of the time in wood counts by the house's rule; nothing without one."""
    found = history.trace.qualifying
    if found is None:
        return {}
    return {"qualifying": age_of(found.youngest, history.zone), "age_rule": found.rule.name, "age_law": found.rule.law}


def _bottles(history: History) -> int | None:
    text = history.lot.facts.get("bottles", "")
    if text.isdecimal():
        return int(text)
    filled = [
        int(pour.facts["bottles"])
        for pour in history.trace.pours
        if pour.target == history.lot.id and "bottles" in pour.facts
    ]
    return sum(filled) if filled else None
