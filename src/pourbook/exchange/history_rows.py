"""One row of a history checked: its cells become what is put aside, or faults.

What `pourbook.exchange.history` promises of the columns is kept here, cell by cell; what needs
other rows or the book (does the name stand for something, is there so much) is found later.
"""

import json
from collections.abc import Callable, Collection
from typing import Any, NamedTuple

from pourbook.book.entries import SOURCES, TARGETS
from pourbook.errors import Ambiguous, Malformed, PourbookError
from pourbook.exchange.columns import Cells, Readers
from pourbook.exchange.tables import Columns
from pourbook.identifiers import KINDS, refuse_as_ref
from pourbook.quantities import Amount
from pourbook.times import is_date_only

__all__ = [
    "ALL",
    "GAUGE",
    "ITEM_COLUMNS",
    "POUR_COLUMNS",
    "WORDS",
    "End",
    "amount_of",
    "checked_item",
    "checked_pour",
    "item_facts",
    "needed_moment",
    "origin_facts",
    "ref_of",
]

ALL = "all"
"""The quantity that leaves exactly nothing."""

GAUGE = "gauge"
"""The target of a row that measures: the item named as source holds so much."""

WORDS = (*SOURCES, *TARGETS, GAUGE)
"""Words that no item may be called."""

_ITEM_TEXTS = ("name", "wood", "spirit", "place", "note", "previous", "owner")
_ITEM_NUMBERS = ("capacity_l", "tare_kg")
ITEM_COLUMNS = Columns(("ref", "kind"), ("made", *_ITEM_TEXTS, *_ITEM_NUMBERS))

_POUR_TEXTS = ("spirit", "distiller", "disposition", "document", "customer")
POUR_COLUMNS = Columns(
    ("source", "target", "quantity", "unit", "happened", "by"),
    (
        *("strength", "temperature_c", "reason", *_POUR_TEXTS, "distilled", "wood_days", "cost"),
        *("received", "ethanol_mg", "extract_mg"),
    ),
)


class End(NamedTuple):
    """What a name in a row of pours stands for.

    Attributes:
        number: that stands for it.
        word: for outside; empty for an item.
    """

    number: int
    word: str


_Resolve = Callable[[Cells, str], End | None]


# -- items ------------------------------------------------------------------------------


def checked_item(cells: Cells, readers: Readers) -> tuple[str, str, int | None, str, str]:
    """A row of items: ref, kind, when it was made (microseconds), spirit, and all facts as JSON."""
    facts = {"ref": ref_of(cells)} | item_facts(cells, readers)
    kind = cells.needed("kind").lower()
    if kind and kind not in KINDS:
        cells.fault("kind", f"'{kind}' is not a kind of item", f"write one of: {', '.join(KINDS)}")
    made_us = cells.read("made", readers.moment)
    return facts["ref"], kind, made_us, facts.get("spirit", ""), json.dumps(facts, ensure_ascii=False)


def ref_of(cells: Cells) -> str:
    """The house's own name of an item."""
    ref = cells.needed("ref")
    if ref.lower() in WORDS:
        cells.fault("ref", f"'{ref}' is a word for outside, not a name", "give the item another name")
    try:
        refuse_as_ref(ref)
    except Malformed as refusal:
        cells.refused("ref", refusal)
    return ref


def item_facts(cells: Cells, readers: Readers) -> dict[str, str]:
    """What is true of an item, its ref left out."""
    facts = {name: text for name in _ITEM_TEXTS if (text := cells.text(name))}
    for name in _ITEM_NUMBERS:
        number = cells.read(name, readers.number)
        if number is not None:
            facts[name] = number
    return facts


# -- pours ------------------------------------------------------------------------------


def checked_pour(
    row: int, cells: Cells, readers: Readers, resolve: _Resolve, columns: Collection[str]
) -> tuple[Any, ...] | None:
    """A row of pours as `Staging.add_pour` takes it; None where it has faults.

    Args:
        row: its number.
        cells: of the row.
        readers: of the house.
        resolve: what the name in a column stands for; lists a fault where it is unknown.
        columns: those that the table has.
    """
    source, target = resolve(cells, "source"), resolve(cells, "target")
    if source is None or target is None:
        source, target = source or End(0, ""), target or End(0, "")
    else:
        _check_ends(cells, source, target)
    _check_amount(cells, readers, source.word, target.word)
    _check_strength(cells, readers, source.word)
    cells.read("temperature_c", readers.temperature_c)
    happened_us = needed_moment(cells, readers, "happened")
    who = cells.needed("by")
    if who:
        who = cells.read("by", readers.person) or ""
    facts = origin_facts(cells, readers, columns, is_origin=source.word == "origin")
    if not cells.sound:
        return None
    ethanol, extract = (cells.read(name, readers.whole) for name in ("ethanol_mg", "extract_mg"))
    text = cells.text
    return (
        *(row, happened_us, is_date_only(text("happened")), source.number, target.number),
        *(text("quantity"), text("unit"), text("strength"), text("temperature_c"), who, text("reason")),
        *(text("received"), ethanol, extract, json.dumps(facts, ensure_ascii=False) if facts else ""),
    )


def needed_moment(cells: Cells, readers: Readers, column: str) -> int | None:
    """A time that must be there, in microseconds; None where it is a fault."""
    return cells.read(column, readers.moment) if cells.needed(column) else None


def origin_facts(cells: Cells, readers: Readers, columns: Collection[str], *, is_origin: bool) -> dict[str, str | int]:
    """What was written of a pour beside its amount; of an origin also the time in wood it brought."""
    facts: dict[str, str | int] = {name: text for name in _POUR_TEXTS if (text := cells.text(name))}
    for name, reader in (("distilled", readers.day), ("cost", readers.number)):
        value = cells.read(name, reader)
        if value is not None:
            facts[name] = value
    wood_days = cells.read("wood_days", readers.whole)
    if not is_origin:
        if cells.text("wood_days"):
            cells.fault("wood_days", "only an origin brings time in wood", "leave it blank")
    elif "wood_days" not in columns:
        facts["wood_days"] = 0
    elif wood_days is not None:
        facts["wood_days"] = wood_days
    return facts


def _check_ends(cells: Cells, source: End, target: End) -> None:
    if source.number == target.number:
        cells.fault("target", "is the source itself", "check which two were meant")
    elif source.word and target.word:
        cells.fault("target", f"{source.word} cannot go straight to {target.word}", "name the item in between")


def amount_of(cells: Cells, readers: Readers, *, allow_zero: bool = False) -> Amount | None:
    """The amount in `quantity` and `unit`; None where it is a fault."""
    quantity, unit = cells.needed("quantity"), cells.text("unit")
    if not quantity or (unit and cells.read("unit", readers.unit) is None):
        return None
    try:
        return readers.amount(quantity, unit, allow_zero)
    except PourbookError as refusal:
        cells.refused("unit" if not unit and isinstance(refusal, Ambiguous) else "quantity", refusal)
        return None


def _check_amount(cells: Cells, readers: Readers, source: str, target: str) -> None:
    amount = None
    if cells.text("quantity").lower() == ALL:
        if source or target == GAUGE:
            cells.fault("quantity", f"'all' of {source or 'a gauge'} is no amount", "write how much, and its unit")
    elif target != GAUGE or cells.text("quantity"):
        amount = amount_of(cells, readers, allow_zero=target == GAUGE)
    elif not cells.text("strength"):
        cells.fault("quantity", "nothing was read", "give the amount, the strength, or both")
    if source == "additive" and amount and amount.dimension == "volume":
        cells.fault("unit", "an additive counts by mass, not by volume", "weigh it: g, kg or lb")
    _check_received(cells, readers, target)
    _check_composition(cells, readers, amount, target)


def _check_received(cells: Cells, readers: Readers, target: str) -> None:
    received, unit = cells.text("received"), cells.text("unit")
    if not received:
        return
    if target:
        cells.fault("received", f"nothing is received by {target}", "leave it blank")
    else:
        cells.read("received", lambda text: readers.amount(text, unit))


def _check_composition(cells: Cells, readers: Readers, amount: Amount | None, target: str) -> None:
    ethanol, extract = (cells.read(name, readers.whole) for name in ("ethanol_mg", "extract_mg"))
    if ethanol is None:
        if cells.text("extract_mg"):
            cells.fault("ethanol_mg", "is blank beside extract_mg", "give both; 0 where there is none")
    elif cells.text("strength") or target == GAUGE:
        cells.fault("ethanol_mg", "stands beside a strength or a gauge", "give the one or the other")
    elif cells.sound and (amount is None or amount.dimension != "mass"):
        cells.fault("ethanol_mg", "is given for an amount that is no mass", "give the amount in mg, g or kg")
    elif amount and ethanol + (extract or 0) > amount.mass_mg:
        cells.fault("ethanol_mg", "is, with the extract, more than the amount", "check quantity and unit")


def _check_strength(cells: Cells, readers: Readers, source: str) -> None:
    given = cells.text("strength")
    if source in ("water", "additive"):
        if given:
            cells.fault("strength", f"{source} has none", "leave it blank")
    elif given:
        cells.read("strength", readers.strength)
    elif source and not cells.text("ethanol_mg"):
        cells.fault("strength", f"is needed for what comes from {source}", "write it in % vol, such as 63.5")
