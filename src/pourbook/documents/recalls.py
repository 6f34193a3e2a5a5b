"""What a suspicion reaches, and what a recall found, then and now."""

from collections.abc import Collection, Iterator, Mapping, Sequence
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from pourbook.codes.gs1 import sscc_ranges
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.consignments import recipient
from pourbook.documents.items import bottles_document, view_document
from pourbook.documents.shown import Shown, fields, listed, recorded_shown, site_column, table
from pourbook.numerals import counted
from pourbook.queries.recalls.recall_balance import CAME, WENT, Balance
from pourbook.queries.recalls.recalls import times_of
from pourbook.times import written
from pourbook.words.figure_words import percent, strength_shown
from pourbook.words.scope_words import NO_CONTACT, SIDES, in_words, target_words, time_words, units_words

if TYPE_CHECKING:
    from pathlib import Path

    from pourbook.actions.recall import Recalled, Released
    from pourbook.house_style import HouseStyle
    from pourbook.liquid import Liquid
    from pourbook.paperwork.recall_report_of import PrintedFinding
    from pourbook.queries.recalls import recalls as journal
    from pourbook.queries.recalls.affected import AffectedItem
    from pourbook.queries.recalls.customers import Customer, WithCustomer
    from pourbook.queries.recalls.recalls import Finding, Times

__all__ = [
    "affected_printed_shown",
    "affected_shown",
    "compared_shown",
    "recalled_shown",
    "recalls_shown",
    "released_shown",
]


def affected_shown(found: "Finding", style: "HouseStyle", held: Collection[str] = ()) -> Shown:
    """All that was found: items, lots, what is with whom, and the balance; `held` are items it puts on hold."""
    suspects = (f"suspect: {in_words(one, found.names, style.zone)}" for one in found.affected.suspects)
    parts = (
        _items(found, style, held), _lots(found), _customers(found, style), _came_back(found, style, held),
        _departures(found, style), _balance(found.balance, style),
    )  # fmt: skip
    said = [*suspects, *(line for part in map(tuple, parts) if part for line in ("", *part))]
    return Shown(_found(found), tuple(said))


def affected_printed_shown(printed: "PrintedFinding", path: "Path", style: "HouseStyle") -> Shown:
    """All that was found, and the paper that says it."""
    shown = affected_shown(printed.found, style)
    warnings = tuple(f"warning: {one}" for one in printed.remarks)
    return Shown({**shown.document, "file": str(path)}, (*shown.said, "", str(path)), warnings=warnings)


def recalled_shown(recalled: "Recalled", style: "HouseStyle") -> Shown:
    """A recall that was recorded."""
    found = affected_shown(recalled.found, style, recalled.held)
    held = counted(len(recalled.held), "item") + " put on hold"
    end = held if recalled.is_holding else "nothing was put on hold (--hold does)"
    affected = counted(len(recalled.found.affected.items), "item")
    files = tuple(map(str, recalled.printed.files)) if recalled.printed else ()
    said = f"{_kind(recalled.mock)} {recalled.number}: {affected} affected; {end}"
    document: dict[str, Any] = {"recall": recalled.number, "held": list(recalled.held), **found.document}
    document |= {"times": _times(recalled.times)} | ({"file": files[0]} if files else {})
    times = _times_said(recalled.times, style)
    return recorded_shown(recalled.recorded, document, (*found.said, "", said, *times, *files), style)


_KEPT = {"recall": "held by recall {}", "hand": "held by entry {}", "free": "no longer held"}


def released_shown(released: "Released", style: "HouseStyle") -> Shown:
    """A recall that was released."""
    said = [f"recall {released.number} ended: {counted(len(released.released), 'item')} released"]
    said += [f"not released: {hyphened(one.id)}, {_KEPT[one.why].format(one.entry)}" for one in released.kept]
    document: dict[str, Any] = {
        "recall": released.number,
        "released": list(released.released),
        "kept": [one.id for one in released.kept],
        "why_kept": [one._asdict() for one in released.kept],
    }
    return recorded_shown(released.recorded, document, tuple(said), style)


def recalls_shown(recalls: "Sequence[journal.Recalled]", style: "HouseStyle") -> Shown:
    """The recalls of the journal, one line each."""
    said = listed(
        recalls,
        (" entry", lambda one: one.entry.number),
        ("when", lambda one: style.time_shown(one.entry.happened_us)),
        ("", lambda one: "mock" if one.body["mock"] else "actual"),
        ("reason", lambda one: one.entry.entry.get("reason", "")),
        (" affected", lambda one: len(one.body["items"])),
        (" held", lambda one: len(one.body["held"])),
        (" released by", lambda one: one.released or ""),
    )
    return Shown({"recalls": list(map(_recall, recalls))}, said)


def compared_shown(compared: "journal.Compared", style: "HouseStyle") -> Shown:
    """A recall as it was found, and the same figures now."""
    recall, found, refusal = compared
    now = compared.now
    entry, body = recall.entry.entry, recall.body
    began = f"{_kind(body['mock'])} {recall.entry.number}, {style.time_shown(recall.entry.happened_us)}"
    held = "not released" if body["held"] else "held nothing"
    state = f"released by entry {recall.released}" if recall.released else held
    figures: Mapping[str, int] = {name: body["figures"][name] for name in now} or body["figures"]
    differs = {name: now[name] - then for name, then in body["figures"].items() if now.get(name, then) != then}
    said = (
        f"{began}, {entry['who']}: {entry['reason']}",
        *(f"suspect: {in_words(one, recall.names, style.zone)}" for one in recall.suspects),
        *_times_said(times_of(recall.entry), style),
        f"journal hash before it: {body['head']}",
        f"{len(body['held'])} of {counted(len(body['items']), 'affected item')} put on hold; {state}",
        "",
        *listed(
            figures,
            ("figure", _figure_words),
            (" as found", lambda name: _figure(name, figures[name], style)),
            (" now", lambda name: _figure(name, now[name], style) if name in now else ""),
            (" difference", lambda name: _figure(name, differs[name], style, "+") if name in differs else ""),
        ),
    )
    notes = (f"note: now {refusal}",) if refusal else ()
    document = {**_recall(recall), "figures_now": now, "differs": differs, "customers_now": []}
    if found is not None:
        document["customers_now"] = list(map(_customer, found.customers))
        parts = map(tuple, (_customers(found, style), _came_back(found, style)))
        said += tuple(line for part in parts if part for line in ("", *part))
    return Shown(document, said, notes)


def _figure_words(name: str) -> str:
    """What a figure of a recall is, in the words of its balance.

    >>> _figure_words("despatched_ethanol_mg"), _figure_words("items_on_hand")
    ('despatched, kg of ethanol', 'items on hand')
    """
    for end, unit in (("_ethanol_mg", ", kg of ethanol"), ("_mg", ", kg")):
        if name.endswith(end):
            return name.removesuffix(end).replace("_", " ") + unit
    return name.replace("_", " ")


def _figure(name: str, value: int, style: "HouseStyle", sign: str = "") -> str:
    """A count as it is; a mass in kilograms, to the milligram."""
    shown = style.shown(Decimal(value).scaleb(-6), 6) if name.endswith("_mg") else str(value)
    return f"{sign}{shown}" if sign and value > 0 else shown


def _times_said(times: "Times", style: "HouseStyle") -> Iterator[str]:
    yield f"time taken {time_words(times, style.zone)}"
    if times.within_h:
        yield f"target {target_words(times)}"


def _kind(mock: bool) -> str:
    return "mock recall" if mock else "recall"


# -- as JSON -------------------------------------------------------------------------------


def _found(found: "Finding") -> dict[str, Any]:
    return {
        "scope": [suspect.body for suspect in found.affected.suspects],
        "threshold": found.affected.threshold,
        "figures": found.figures,
        "items": [_item(one, found) for one in found.affected.items],
        "departures": [fields(one, "liquid") | one.liquid._asdict() for one in found.affected.departures],
        "house": dict(found.house),
        "customers": list(map(_customer, found.customers)),
        "came_back": [one._asdict() for one in found.came_back],
        "balance": _sides(found.balance),
    }


def _item(one: "AffectedItem", found: "Finding") -> dict[str, Any]:
    return view_document(one.item) | {
        "is_suspect": one.is_suspect,
        "share": one.ever._asdict(),
        "share_now": one.now._asdict() if one.item.holding.mass_mg else None,
        "suspect_mg": one.suspect_mg,
        "is_held": "held" in one.item.facts,
        "bottles": bottles_document(one.bottles),
        "units": [{"sscc": unit.sscc, "unit": unit.unit, "bottles": unit.bottles} for unit in one.units],
        "balance": _sides(found.balances.get(key_of(one.item.id), Balance())),
    }


def _customer(customer: "Customer") -> dict[str, Any]:
    def of_item(one: "WithCustomer") -> dict[str, Any]:
        return one._asdict() | {"bottles_outstanding": one.bottles, "outstanding_mg": one.outstanding_mg}

    return customer._asdict() | {"items": list(map(of_item, customer.items))}


def _times(times: "Times") -> dict[str, Any]:
    moments = {name: getattr(times, f"{name}_us") for name in ("suspected", "begun", "found", "held")}
    return {
        **{name: None if moment is None else written(moment) for name, moment in moments.items()},
        "seconds_to_found": times.to_found_us / 1e6,
        "seconds_to_held": None if times.to_held_us is None else times.to_held_us / 1e6,
        "within_h": float(times.within_h) if times.within_h else None,
        "is_within": times.is_within,
    }


def _sides(balance: Balance) -> dict[str, dict[str, int]]:
    sides = {**balance._asdict(), "unexplained": balance.unexplained}
    return {side: liquid._asdict() for side, liquid in sides.items()}


def _recall(recall: "journal.Recalled") -> dict[str, Any]:
    entry = recall.entry.entry
    return {
        "recall": recall.entry.number, "happened": entry["happened"], "recorded": entry["recorded"],
        "who": entry["who"], "reason": entry.get("reason"), "released_by": recall.released or None, **recall.body,
        "times": _times(times_of(recall.entry)),
    }  # fmt: skip


# -- in lines ------------------------------------------------------------------------------


def _items(found: "Finding", style: "HouseStyle", held: Collection[str]) -> Iterator[str]:
    on_hand = found.affected.on_hand
    yield "on hand (share of it that is suspect)"
    yield from listed(
        on_hand,
        ("item", lambda one: hyphened(one.item.id)),
        ("ref", lambda one: one.item.ref),
        *site_column(on_hand),
        ("place", lambda one: one.item.facts.get("place", "")),
        (" alcohol %", lambda one: percent(one.now.alcohol, style.mark)),
        (" mass %", lambda one: percent(one.now.mass, style.mark)),
        (" volume %", lambda one: percent(one.now.volume, style.mark)),
        (" l at 20 °C", lambda one: style.shown(one.item.volume_ml_20c / 1000, 3)),
        (" % vol", lambda one: strength_shown(one.item.strength_20c, style.mark)),
        ("", lambda one: "on hold" if one.item.id in held or "held" in one.item.facts else ""),
    )
    if gone := len(found.affected.items) - len(on_hand):
        yield f"and {counted(gone, 'item')} with nothing suspect left (--json lists all)"


def _lots(found: "Finding") -> list[str]:
    lots = [(one, one.bottles) for one in found.affected.items if one.bottles is not None]
    if not lots:
        return []
    heads = ("lot", "lot mark", " filled", " left", " despatched", " returned", " lost", " cases", " pallets")
    rows = []
    packed = []
    for one, bottles in lots:
        counts = (bottles.filled, bottles.left, bottles.despatched, bottles.returned, bottles.lost)
        units = (sum(unit.unit == kind for unit in one.units) for kind in ("case", "pallet"))
        rows.append((hyphened(one.item.id), one.item.facts.get("lot_mark", ""), *map(str, counts), *map(str, units)))
        if one.units:
            packed.append(f"{hyphened(one.item.id)}: {units_words(one.units)}")
    return ["bottles", *table(heads, rows), *packed]


def _customers(found: "Finding", style: "HouseStyle") -> Iterator[str]:
    """What is still with whom, and whom to call; nothing where nothing left."""
    rows = [(customer, one) for customer in found.customers for one in customer.items]
    if not rows:
        return
    refs = {one.item.id: one.item.ref for one in found.affected.items}
    yield "with customers: sent less returned"
    yield from listed(
        rows,
        ("customer", lambda row: row[0].name or "not stated"),
        ("item", lambda row: hyphened(row[1].item)),
        ("ref", lambda row: refs.get(row[1].item) or ""),
        (" bottles sent", lambda row: _count(row[1].bottles_sent)),
        (" returned", lambda row: _count(row[1].bottles_returned)),
        (" outstanding", lambda row: _count(row[1].bottles)),
        (" kg outstanding", lambda row: style.shown(row[1].outstanding_mg / 1e6, 3)),
        ("cases and pallets outstanding", lambda row: ", ".join(sscc_ranges(row[1].units))),
    )
    yield f"call at {found.house.get('house', '')}: {found.house.get('contact') or NO_CONTACT}"
    for customer in found.customers:
        told = ", ".join(part for part in (customer.contact or NO_CONTACT, customer.address) if part)
        yield f"call at {customer.name or 'customer not stated'}: {told}"


def _count(bottles: int | None) -> str:
    return "" if bottles is None else str(bottles)


def _came_back(found: "Finding", style: "HouseStyle", held: Collection[str] = ()) -> Iterator[str]:
    if not found.came_back:
        return
    of_item = {one.item.id: one.item for one in found.affected.items}

    def hold(item: str) -> str:
        known = of_item.get(item)
        return "on hold" if item in held or (known is not None and "held" in known.facts) else "not on hold"

    yield "returned, back in the house: keep it apart from what never left"
    yield from listed(
        found.came_back,
        ("item", lambda one: hyphened(one.item)),
        (" bottles", lambda one: one.bottles or ""),
        (" kg", lambda one: style.shown(one.mass_mg / 1e6, 3)),
        ("", lambda one: hold(one.item)),
        ("place", lambda one: ", ".join(one.places)),
        ("cases and pallets", lambda one: ", ".join(sscc_ranges(one.units))),
    )


def _departures(found: "Finding", style: "HouseStyle") -> list[str]:
    if not found.affected.departures:
        return []
    lines = listed(
        found.affected.departures,
        ("when", lambda one: style.time_shown(one.happened_us)),
        (" entry", lambda one: one.entry),
        ("", lambda one: one.what),
        ("item", lambda one: hyphened(one.item)),
        (" bottles", lambda one: one.facts.get("bottles", "")),
        (" kg", lambda one: style.shown(one.liquid.mass_mg / 1e6, 3)),
        (" mass %", lambda one: percent(one.part, style.mark)),
        ("customer", lambda one: recipient(one.facts)),
        ("document", lambda one: one.facts.get("document", "")),
        ("cases and pallets", lambda one: ", ".join(sscc_ranges(str(one.facts.get("units", "")).split()))),
    )
    return ["despatched and returned", *lines]


def _balance(balance: Balance, style: "HouseStyle") -> list[str]:
    sides = (("+" if side in CAME else "-", SIDES[side], getattr(balance, side)) for side in (*CAME, *WENT))
    rows = [(sign, words, *_kg(liquid, style)) for sign, words, liquid in sides]
    rows.append(("=", "unexplained", *_kg(balance.unexplained, style)))
    return ["balance of all affected liquid", *table(("", "", " kg", " kg of ethanol"), rows)]


def _kg(liquid: "Liquid", style: "HouseStyle") -> tuple[str, str]:
    """Mass and ethanol, to the milligram."""
    mass, ethanol, _ = (style.shown(Decimal(mg).scaleb(-6), 6) for mg in liquid)
    return mass, ethanol
