"""Items shown: what an item is, what it holds, its gauge, blend and history; the stock.

Documents carry identifiers without hyphens, amounts in mg, times in UTC, and numbers never rounded for looks.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import inf
from typing import TYPE_CHECKING, Any

from pourbook.book.items import NUMBER_FACTS
from pourbook.codes.identifiers import hyphened, plain, readable
from pourbook.consignments import sender
from pourbook.documents.shown import Listing, Shown, fields, listed
from pourbook.errors import PourbookError
from pourbook.numerals import counted, shown, with_mark
from pourbook.queries.items.called import at_sight
from pourbook.times import DAY_US, written
from pourbook.words.figure_words import (
    PENDING,
    disagreement_words,
    in_litres,
    named,
    percent,
    strength_shown,
    strength_words,
)

if TYPE_CHECKING:
    from pourbook.bench.bounds import PartShare
    from pourbook.bench.house_rules import Broken
    from pourbook.book.bottles import BottleCount
    from pourbook.book.items import ItemView, LedgerRow
    from pourbook.house_style import HouseStyle
    from pourbook.queries.items.item_card import Held, ItemCard
    from pourbook.queries.items.outside_sample import OutsideSample
    from pourbook.queries.traces.heel_age import HeelAge
    from pourbook.queries.traces.trace_answer import Trace

__all__ = [
    "blend_document", "blend_words", "bottles_document", "bounds_document", "facts_document", "heel_words",
    "item_shown", "liquid_document", "name_beside", "named_document", "out_of_bounds", "rules_document",
    "rules_words", "stock_shown", "view_document", "view_words",
]  # fmt: skip


_A_GLASS_ML = 5000
"""Up to this, a table of pours is in millilitres."""


def item_shown(card: "ItemCard", style: "HouseStyle") -> Shown:
    """An item, with its history where that was asked for."""
    view, gauge, mark = card.view, card.gauge, style.mark
    document = _with_bottles(view, card.pending, card.bottles)
    said = list(view_words(view, style, card.pending, card.bottles, card.called))
    if card.emptied:
        from pourbook.book.glasses import emptied_words  # most items that are asked about hold something

        document["emptied"] = fields(card.emptied, "id")
        said[-1] = f"  {emptied_words(card.emptied, style.zone)}"
    if card.outside:
        document["outside_sample"] = fields(card.outside)
        said[1:1] = [f"  {_outside_words(card.outside, style)}"]
    if gauge:
        sure: dict[str, Any] = {}
        if gauge.uncertainty:
            # only here: few items were gauged by known instruments
            from pourbook.documents.uncertainty import recorded_document, uncertainty_words

            sure = recorded_document(gauge.uncertainty)
            said.append(f"  gauged {style.time_shown(gauge.happened_us)}: {uncertainty_words(gauge.uncertainty, mark)}")
        happened = written(gauge.happened_us)
        document["last_gauge"] = {"entry": gauge.entry, "happened": happened, "uncertainty": sure}
    if card.blend:
        document |= blend_document(card.blend, style)
        said.append(f"  {blend_words(card.blend, style)}")
        said += [f"  {line}" for line in heel_words(card.heels)]
        if view.kind in ("trial", "batch"):
            made_of = _made_of(card.blend)
            document["made_of"] = made_of
            said += _made_of_words(made_of, style)
    document |= {"bounds": bounds_document(card.bounds)} if card.bounds else {}
    document |= {"heels": heels_document(card.heels)} if card.heels else {}
    document |= {"house_rules": rules_document(card.broken)} if card.broken else {}
    stands, lines = _how_it_stands(card, style)
    document |= stands
    said += [f"  {line}" for line in lines]
    if card.notes:
        document["notes"] = [fields(one, *([] if one.subject else ["subject"])) for one in card.notes]
        said += [
            f"  {one.subject or 'note'} {style.time_shown(one.happened_us)}, {one.who}: {one.text}"
            for one in card.notes
        ]
    if card.tastings:
        from pourbook.documents.tastings import found_document, tasted_lines  # most items were not tasted

        document["tastings"] = [found_document(one) for one in card.tastings]
        said += [f"  {line}" for line in tasted_lines(view.id, card.tastings, style)]
    if card.history is not None:
        document["history"] = [
            {"happened": written(row.happened_us), "entry": row.entry, **liquid_document(row)} for row in card.history
        ]
    if card.history:
        said += ["", *_history(card.history, style)]
    return Shown(document, tuple(said), tuple(_warnings(card, document, style)))


def _warnings(card: "ItemCard", document: dict[str, Any], style: "HouseStyle") -> list[str]:
    """What a person must see of an item; what programs are to know of it goes into the document."""
    mark = style.mark
    warnings = [f"warning: {disagreement_words(card.apart, mark)}"] if card.apart else []
    warnings += (*out_of_bounds(card.bounds, mark), *rules_words(card.broken, style))
    if card.missing:
        document["missing"] = {"stocktake": card.missing.stocktake, "entry": card.missing.entry}
        ended = style.time_shown(card.missing.ended_us)
        warnings.append(f"warning: missing since the stocktake {card.missing.stocktake}, ended {ended}")
    if card.label_outdated:
        document["label_outdated"] = [one.name for one in card.label_outdated]
        names = ", ".join(one.name.replace("_", " ") for one in card.label_outdated)
        warnings.append(f"warning: its label was printed before this changed: {names}; print it again: pourbook label")
    return warnings


def _how_it_stands(card: "ItemCard", style: "HouseStyle") -> tuple[dict[str, Any], list[str]]:
    """A reduction in steps, and an approval."""
    document: dict[str, Any] = {}
    said: list[str] = []
    if card.reducing:
        from pourbook.documents.reducing import reducing_document, reducing_words  # few items are reduced in steps

        document["reduction"] = reducing_document(card.reducing)
        said += reducing_words(card.reducing, style)
    if card.approved:
        from pourbook.documents.approvals import approved_document, approved_lines  # few items are approved

        document["approval"] = approved_document(card.approved)
        said += approved_lines(card.approved, card.view.id, style)
    return document, said


def bounds_document(parts: "Sequence[PartShare]") -> list[dict[str, Any]]:
    """Parts with bounds, in or out of them."""
    return [{**part._asdict(), "stands": part.stands} for part in parts]


def out_of_bounds(
    parts: "Sequence[PartShare]", mark: str, called: "Mapping[str, str] | None" = None, of: str = ""
) -> tuple[str, ...]:
    """A warning for each part out of its bounds; `of` names the blend where there are several.

    >>> from pourbook.bench.bounds import PartShare
    >>> out_of_bounds([PartShare("V000001R", 0.32, 0.2, 0.3)], ".", {"V000001R": "S 26-01"})
    ('warning: V-000001-R S 26-01 is 32.00 %, above its bounds of 20.00 to 30.00 %',)
    """
    said = []
    for part in parts:
        if part.stands != "within":
            share, low, high = (percent(value, mark) for value in (part.fraction, part.low, part.high))
            name = f"{of}{named(part.component)} {(called or {}).get(part.component, '')}".rstrip()
            said.append(f"warning: {name} is {share} %, {part.stands} its bounds of {low} to {high} %")
    return tuple(said)


def rules_document(found: "Sequence[Broken]") -> list[dict[str, Any]]:
    """Rules of the house that a blend breaks; null where there is no limit, or nothing brings it within."""
    return [
        {name: None if value == inf else value for name, value in {**one._asdict(), "more_ml": one.more_ml}.items()}
        for one in found
    ]


def rules_words(found: "Sequence[Broken]", style: "HouseStyle") -> tuple[str, ...]:
    """A warning for each, with what mends it."""
    return tuple(f"warning: {one.said(style.mark)}{_mended(one, style.mark)}" for one in found)


def _mended(one: "Broken", mark: str) -> str:
    if one.rule == "least_components" or one.more_ml == inf:
        return ""
    return f"; {in_litres(one.more_ml, mark)} more of {'the others' if one.is_above else 'it'} brings it within"


def _outside_words(sample: "OutsideSample", style: "HouseStyle") -> str:
    """Where a sample from outside came from, and when."""
    told = sample.facts
    names = (("their ", "supplier_ref"), ("", "document"), ("distilled by ", "distiller"))
    said = ", ".join(filter(None, (sender(told), *(f"{before}{told[name]}" for before, name in names if name in told))))
    days = told.get("wood_days")
    stated = "" if days is None else f", stated {told.get('in_wood') or counted(int(days), 'day')} in wood"
    return f"outside sample{f' from {said}' if said else ''}, received {style.time_shown(sample.happened_us)}{stated}"


def _made_of(blend: "Trace") -> list[dict[str, Any]]:
    """What was poured into it, by volume as poured."""
    poured, refs = blend.poured_ml, {one.item.id: one.item.ref for one in blend.items}
    whole_ml = sum(poured.values())
    return [
        {"component": one, "ref": refs.get(one) or None, "volume_ml_20c": ml, "fraction": ml / whole_ml}
        for one, ml in poured.items()
    ]


def _made_of_words(made_of: list[dict[str, Any]], style: "HouseStyle") -> tuple[str, ...]:
    in_glasses = sum(one["volume_ml_20c"] for one in made_of) < _A_GLASS_ML
    head, per_ml, decimals = (" ml at 20 °C", 1, 2) if in_glasses else (" l at 20 °C", 1000, 3)
    rows = listed(
        made_of,
        ("poured", lambda one: named(one["component"])),
        ("ref", lambda one: one["ref"] or ""),
        (head, lambda one: style.shown(one["volume_ml_20c"] / per_ml, decimals)),
        (" %", lambda one: percent(one["fraction"], style.mark)),
    )
    return tuple(f"  {row}" for row in rows)


def _history(rows: "Sequence[LedgerRow]", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        rows,
        ("when", lambda row: style.time_shown(row.happened_us)),
        (" entry", lambda row: row.entry),
        (" kg", lambda row: style.shown(row.holding.mass_mg / 1e6, 3)),
        (" l at 20 °C", lambda row: style.shown(row.volume_ml_20c / 1000, 3)),
        (" % vol", lambda row: strength_shown(row.strength_20c, style.mark)),
    )


def stock_shown(stock: "Iterable[Held]", style: "HouseStyle", *, of_group: bool = False) -> Listing:
    """Everything on hand, an item a line; out of a group's book with its site."""
    site = ("site", lambda one: one.view.facts.get("site", ""))
    columns = (
        ("item", lambda one: at_sight(one.view.id, one.called)),
        ("name", lambda one: name_beside(one.view, one.called)),
        *((site,) if of_group else ()),
        ("place", lambda one: _where(one, style)),
        (" l at 20 °C", lambda one: style.shown(one.view.volume_ml_20c / 1000, 3)),
        (" % vol", lambda one: strength_shown(one.view.strength_20c, style.mark)),
        (" LPA", lambda one: style.shown(one.view.pure_alcohol_ml / 1000, 3)),
        ("", lambda one: PENDING if one.pending else _bottles_words(one.bottles)),
    )
    return Listing("items", stock, lambda one: _with_bottles(one.view, one.pending, one.bottles), columns)


def _where(one: "Held", style: "HouseStyle") -> str:
    """Its place; of what travels between two sites, where it goes and since when."""
    if one.sent_us is None:
        return one.view.facts.get("place", "")
    return f"under way to {one.view.facts.get('to_site', '')} since {style.time_shown(one.sent_us)}"


# -- an item -----------------------------------------------------------------------------


def view_document(view: "ItemView", pending: Sequence[int] = ()) -> dict[str, Any]:
    """An item and what it holds; `pending` are entries whose strengths the laboratory has still to read."""
    return {
        **named_document(view),
        **liquid_document(view),
        "pure_alcohol_ml": view.pure_alcohol_ml,
        "pending": list(pending),
    }


def named_document(view: "ItemView") -> dict[str, Any]:
    """What an item is called, and what is known of it."""
    called = {"name": view.facts.get("name"), "place": view.facts.get("place")}
    return {"id": view.id, "ref": view.ref or None, "kind": view.kind, **called, "facts": facts_document(view.facts)}


def liquid_document(row: "ItemView | LedgerRow") -> dict[str, Any]:
    """What is or was held."""
    views = {"volume_ml_20c": row.volume_ml_20c, "strength_20c": row.strength_20c}
    return row.holding.liquid._asdict() | views


def facts_document(facts: Mapping[str, str]) -> dict[str, str]:
    """Facts; the identifiers among their values (what it follows, what it was revised from) without hyphens."""
    return {name: plain(value) for name, value in facts.items()}


def view_words(
    view: "ItemView", style: "HouseStyle", pending: Sequence[int] = (), bottles: "BottleCount | None" = None,
    called: str = "",
) -> list[str]:  # fmt: skip
    """An item in a few lines: what it is called, facts, contents."""
    mark, called = style.mark, called or view.ref
    said = [f"{at_sight(view.id, called)}  {view.kind}  {name_beside(view, called)}".rstrip()]
    for fact, value in view.facts.items():
        if fact == "bottles" and bottles:
            said.append(f"  {_bottles_words(bottles)}")
        elif line := _fact_words(view, fact, value, style):
            said.append(f"  {line}")
    if not view.holding.mass_mg:
        return [*said, "  empty"]
    strength = strength_words(view.strength_20c, mark, pending)
    volume, lpa = in_litres(view.volume_ml_20c, mark), shown(view.pure_alcohol_ml / 1000, 3, mark)
    return [*said, f"  holds {volume} at 20 °C, {strength}, {lpa} LPA, {shown(view.holding.mass_mg / 1e6, 3, mark)} kg"]


def name_beside(view: "ItemView", called: str) -> str:
    """The name of an item, where it is not called by it already."""
    name = view.facts.get("name", "")
    return "" if name in called.split(" · ") else name


_CALLED = {
    "capacity_l": ("capacity", " l"), "fills": ("to fill", ""), "labelled_strength": ("labelled strength", " % vol"),
    "plan_bound": ("least objective of any plan", ""), "plan_objective": ("objective of its plan", ""),
    "rest_days": ("days between steps", ""), "rests": ("reduced by way of", ""), "size_ml": ("size", " ml"),
    "strength": ("labelled strength", " % vol"), "tare_kg": ("tare", " kg"),
}  # fmt: skip
"""Facts whose name in the book is not what a person calls them, with the unit of their number."""


def _fact_words(view: "ItemView", fact: str, value: str, style: "HouseStyle") -> str:
    """A fact as a person reads it; empty for what stands elsewhere, or tells a person nothing."""
    if fact in ("ref", "name", "plan", "plan_asked"):
        return ""
    if fact == "total" and "plan" in view.facts:
        return f"planned in all: {_in_litres_again(value, style.mark)}"
    called, unit = _CALLED.get(fact, (fact.replace("_", " "), ""))
    is_figure = fact in NUMBER_FACTS or fact in ("fills", "rests", "target_strength", "total")
    return f"{called}: {with_mark(value, style.mark) if is_figure else readable(value)}{unit}"


def _in_litres_again(text: str, mark: str) -> str:
    """A volume of the journal in litres; what somebody set by hand need be none, and stands as it is."""
    from pourbook.gauging.as_typed import amount_again  # few items have a plan

    try:
        return in_litres(float(amount_again(text).volume_ml), mark)
    except PourbookError:
        return text


def _bottles_words(count: "BottleCount | None") -> str:
    return f"{count.filled} bottled, {count.left} left" if count else ""


def _with_bottles(view: "ItemView", pending: Sequence[int], bottles: "BottleCount | None") -> dict[str, Any]:
    return view_document(view, pending) | ({"bottles": bottles_document(bottles)} if bottles else {})


def bottles_document(count: "BottleCount | None") -> dict[str, int] | None:
    """Bottles of a lot; None for anything else."""
    return count and {**count._asdict(), "left": count.left}


# -- a blend -----------------------------------------------------------------------------


def blend_words(blend: "Trace", style: "HouseStyle") -> str:
    """Cost per litre, and age of the youngest spirit."""
    from pourbook.words.figure_words import age_words  # most items are no blends

    cost, currency = blend.cost_per_litre, style.settings["currency"]
    paid = "cost unknown" if cost is None else f"{style.shown(cost, 2)} {currency} a litre before evaporation"
    age = age_words(style.zone, blend)
    return ", ".join((paid, f"youngest {age} in wood" if age else "wood age unknown"))


def heels_document(heels: "Iterable[HeelAge]") -> list[dict[str, Any]]:
    """Heels that make a batch younger; completed years and days of its youngest spirit, null where unknown."""
    ages = [(one.heel, one.with_it, one.without) for one in heels]
    return [
        {"id": heel, "with": with_it and with_it._asdict(), "without": without and without._asdict()}
        for heel, with_it, without in ages
    ]


def heel_words(heels: "Iterable[HeelAge]") -> Iterator[str]:
    """What heels do to the age of a batch, a sentence each."""
    from pourbook.words.figure_words import age_text

    for one in heels:
        name, without = hyphened(one.heel), age_text(one.without)
        if one.with_it is None:
            yield f"warning: the age of {name} is unknown, so that of the batch is; without it it is {without}"
        else:
            yield f"warning: with {name} the youngest is {age_text(one.with_it)} in wood, without it {without}"


def blend_document(blend: "Trace", style: "HouseStyle") -> dict[str, Any]:
    """The same for programs; what is not known is null."""
    youngest_us = blend.age.youngest_us
    return {
        "cost_per_litre": blend.cost_per_litre,
        "currency": style.settings["currency"],
        "youngest_days": None if youngest_us is None else youngest_us / DAY_US,
    }
