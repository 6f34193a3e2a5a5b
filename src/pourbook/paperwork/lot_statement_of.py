"""What the first page of a dossier says of a lot: names, bottles, strength, age; cautions, customers, the trial.

Each function makes its part from a `History`.
"""

from collections.abc import Iterable, Iterator
from functools import reduce
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import lpa_l, strength_20c, volume_ml
from pourbook.book.bottles import bottle_count, cases_out, same_name
from pourbook.book.holds import holders
from pourbook.book.items import facts
from pourbook.book.journal import is_group
from pourbook.book.settings import settings
from pourbook.codes.gs1 import sscc_ranges
from pourbook.codes.identifiers import hyphened, key_of, read_or_none
from pourbook.lineage.ages import age_of, years_before
from pourbook.liquid import EMPTY, Liquid
from pourbook.numerals import read_decimal
from pourbook.papers.dossier.dossier_rows import Customer, Despatch, Followed
from pourbook.papers.endpoints import Named, named_endpoint
from pourbook.paperwork.lot_history import History
from pourbook.queries.items.labelled_strength import disagreement, stated_strength
from pourbook.times import minute

if TYPE_CHECKING:
    from pourbook.book.store import Store

__all__ = ["between_sites", "bottled_liquid", "cautions", "customers", "followed", "statement"]


def bottled_liquid(history: History) -> Liquid:
    """What was bottled, at its present strength; a gauge of the lot does not say how many bottles were filled."""
    lot = key_of(history.lot.id)
    filled = [one.liquid for one in history.moved if one.item == lot and one.what == "in" and one.how != "return"]
    whole = reduce(Liquid.__add__, filled, EMPTY)
    is_gauged = any(one.item == lot and one.what == "gauge" for one in history.moved)
    return history.trace.held.scaled(whole.mass_mg) if is_gauged and whole.mass_mg else whole


def statement(history: History, store: "Store") -> dict[str, Any]:
    """Fields of a dossier: what the lot is called, how it was bottled, its strength and its age."""
    known, whole = history.lot.facts, bottled_liquid(history)
    bottling = next((pour for pour in history.trace.pours if pour.target == history.lot.id), None)
    in_wood, mean_us = history.trace.age
    count = bottle_count(store, history.lot.id)
    declared = known.get("labelled_strength", "")
    return {
        "name": known.get("name") or known.get("ref") or hyphened(history.lot.id),
        "ref": known.get("ref", ""),
        "lot_mark": known.get("lot_mark", ""),
        "bottles": _bottles(history),
        "bottle_ml": read_decimal(known["size_ml"]) if known.get("size_ml") else None,
        "lost_bottles": count.lost if count else 0,
        "gtin": known.get("gtin", ""),
        "case_gtin": known.get("case_gtin", ""),
        "labelled_strength_vol": read_decimal(declared) if stated_strength(known) is not None else None,
        "strength_vol": strength_20c(whole),
        "owner": known.get("owner", ""),
        "duty": known.get("duty", ""),
        "zone": history.zone_name,
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


def cautions(history: History, store: "Store") -> list[str]:
    """What else a reader must know first: a label that the book no longer agrees with, items on hold."""
    found = []
    apart = disagreement(history.lot.facts, strength_20c(bottled_liquid(history)))
    if apart:
        found.append(
            f"the label declares {apart.stated:g} % vol, the book has {apart.by_book:.2f}:"
            f" more than {apart.tolerance:g} % vol apart"
        )
    held = [name for name in history.views if any(holders(store, key_of(name)))]
    if held:
        found.append(f"on hold: {', '.join(hyphened(name) for name in held)}")
    return found


def between_sites(history: History, store: "Store") -> Iterator[str]:
    """What sites of a group do not agree on of the liquid behind the lot."""
    if not is_group(store):
        return
    from pourbook.book.site_differences import differences  # a house has none
    from pourbook.words.group_words import difference_words

    for one in differences(store)[0]:
        if one.item in history.views and one.what != "shared":
            said = difference_words(one, settings(store)["decimal_mark"])
            yield f"site {one.site}, {hyphened(one.item)}: {said}"


def followed(history: History, store: "Store") -> list[Followed]:
    """What batches on the way were made after: a trial, a batch, a recipe."""
    return [
        Followed(_blend(blend, store), history.named(name))
        for name, view in history.views.items()
        if view.kind == "batch" and (blend := view.facts.get("follows"))
    ]


def _blend(text: str, store: "Store") -> Named:
    identifier = read_or_none(text)
    return Named("", text) if identifier is None else named_endpoint(text, {text: facts(store, key_of(identifier))})


def customers(history: History, store: "Store", despatched: Iterable[Despatch]) -> list[Customer]:
    """Who was sent bottles of the lot, whoever first was first; a name in another case or spacing is the same."""
    out = cases_out(store, history.lot.id)
    found: dict[str, list[Despatch]] = {}
    for row in despatched:
        found.setdefault(same_name(row.customer), []).append(row)
    return [
        Customer(
            rows[0].customer,
            _latest(row.address for row in rows),
            sum(row.bottles for row in rows if row.bottles > 0),
            -sum(row.bottles for row in rows if row.bottles < 0),
            sum(row.bottles for row in rows),
            tuple(dict.fromkeys(row.document for row in rows if row.document)),
            tuple(sscc_ranges(sscc for sscc, customer in out.items() if same_name(customer) == name)),
            _latest(row.contact for row in rows),
        )
        for name, rows in found.items()
    ]


def _latest(texts: Iterable[str]) -> str:
    return next((text for text in reversed([*texts]) if text), "")
