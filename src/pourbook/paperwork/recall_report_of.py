"""The report of a recall, made out from its entry and what was found."""

from typing import TYPE_CHECKING

from pourbook.book.logged import Logged
from pourbook.papers import recall_values as paper
from pourbook.papers.dossier.dossier_rows import Named
from pourbook.paperwork.imprint import imprint_of
from pourbook.paperwork.naming import named_endpoint, person
from pourbook.queries.recalls.affected import AffectedItem, Departure
from pourbook.queries.recalls.recall_balance import CAME, WENT
from pourbook.queries.recalls.recalls import Finding
from pourbook.times import minute, moment_of
from pourbook.words.scope_words import SIDES, in_words, taken

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from pourbook.book.core import BookCore

__all__ = ["report_values"]


def report_values(book: "BookCore", recall: Logged, found: Finding) -> paper.RecallReport:
    """What the paper says.

    Args:
        book: whose recall it is.
        recall: its entry.
        found: what it found.
    """
    zone, body = book.zone, recall.entry["body"]
    begun, ended = moment_of(body["begun"]), moment_of(body["ended"])
    on_hand, held = found.affected.on_hand, set(body["held"])
    names = {one.item.id: one.item.facts for one in found.affected.items}
    who = person(book.store, recall.entry["who"])
    holding = {one.item.id for one in on_hand}
    others = (one for one in found.affected.items if one.item.id not in holding)
    share = body.get("threshold")
    return paper.RecallReport(
        imprint_of(book),
        recall.number,
        bool(body["mock"]),
        recall.entry.get("reason", ""),
        f"{who.id} {who.name}".strip(),
        tuple(in_words(book.store, suspect, zone) for suspect in found.affected.suspects),
        f"a share of {share} or more" if share else "any positive amount, any contact",
        minute(begun, zone),
        minute(ended, zone),
        taken(ended - begun),
        body["head"],
        len(found.affected.items),
        len(held),
        _balance(found),
        found.balance.unexplained.mass_mg,
        found.balance.unexplained.ethanol_mg,
        tuple(_item(one, held) for one in on_hand),
        tuple(_lot(one) for one in found.affected.items if one.bottles is not None),
        tuple(_departure(one, named_endpoint(one.item, names), zone) for one in found.affected.departures),
        tuple(_named(one) for one in others),
    )


def _balance(found: Finding) -> tuple[paper.BalanceLine, ...]:
    signs = dict.fromkeys(CAME, "+") | dict.fromkeys(WENT, "−")
    return tuple(
        paper.BalanceLine(sign, SIDES[side], *getattr(found.balance, side)[:2]) for side, sign in signs.items()
    )


def _named(one: AffectedItem) -> Named:
    return named_endpoint(one.item.id, {one.item.id: one.item.facts})


def _item(one: AffectedItem, held: set[str]) -> paper.RecallItem:
    hold = "put on hold" if one.item.id in held else "on hold" if "held" in one.item.facts else ""
    place = one.item.facts.get("place", "")
    return paper.RecallItem(_named(one), place, *one.now, one.item.volume_ml_20c / 1000, one.suspect_mg, hold)


def _lot(one: AffectedItem) -> paper.RecallLot:
    assert one.bottles is not None
    units = tuple(f"{unit.unit} {unit.sscc}" for unit in one.units)
    return paper.RecallLot(_named(one), one.item.facts.get("lot_mark", ""), *one.bottles, units)


def _departure(one: Departure, item: Named, zone: "ZoneInfo") -> paper.RecallDeparture:
    customer, paper_of_it, bottles = (str(one.facts.get(name, "")) for name in ("customer", "document", "bottles"))
    when = minute(one.happened_us, zone)
    return paper.RecallDeparture(
        when, one.entry, one.what, item, customer, paper_of_it, bottles, one.liquid.mass_mg, one.part
    )
