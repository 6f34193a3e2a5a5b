"""One row of a history checked: its cells become what is put aside, or faults.

What `pourbook.exchange.intake.history` promises of the columns is kept here, cell by cell; what needs
other rows or the book (does the name stand for something, is there so much) is found later.
"""

import json
from collections.abc import Callable, Collection
from functools import lru_cache
from typing import NamedTuple

from pourbook.book.entries import SOURCES, TARGETS
from pourbook.book.fold import PPB
from pourbook.codes.identifiers import KINDS, refuse_as_ref
from pourbook.errors import Ambiguous, Malformed, PourbookError
from pourbook.exchange.intake.staging import Terms
from pourbook.exchange.tables.columns import Cells, Faults, Readers
from pourbook.exchange.tables.table_files import Columns
from pourbook.quantities import Amount

__all__ = [
    "ALL",
    "GAUGE",
    "ITEM_COLUMNS",
    "POUR_COLUMNS",
    "WORDS",
    "End",
    "PourChecks",
    "amount_of",
    "checked_item",
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

_COMPOSITION = ("ethanol_mg", "extract_mg")
_FRACTIONS = ("ethanol_ppb", "extract_ppb")
_POUR_TEXTS = ("spirit", "distiller", "disposition", "document", "customer")
POUR_COLUMNS = Columns(
    ("source", "target", "quantity", "unit", "happened", "by"),
    (
        *("strength", "temperature_c", "reason", *_POUR_TEXTS, "distilled", "wood_days", "cost"),
        *("received", *_COMPOSITION, *_FRACTIONS),
    ),
)
_SINGULAR = ("source", "target", "happened", "reason")
_LENGTH_OF_DATE = 10


class End(NamedTuple):
    """What a name in a row of pours stands for.

    Attributes:
        number: that stands for it.
        word: for outside; empty for an item.
    """

    number: int
    word: str


_NOWHERE = End(0, "")
_as_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":")).encode


# -- items ------------------------------------------------------------------------------


def checked_item(cells: Cells, readers: Readers) -> tuple[str, str, int | None, str, str]:
    """A row of items: ref, kind, when it was made (microseconds), spirit, and all facts as JSON."""
    facts = {"ref": ref_of(cells)} | item_facts(cells, readers)
    kind = cells.needed("kind").lower()
    if kind and kind not in KINDS:
        cells.fault("kind", f"'{kind}' is not a kind of item", f"write one of: {', '.join(KINDS)}")
    made_us = cells.read("made", readers.moment)
    return facts["ref"], kind, made_us, facts.get("spirit", ""), _as_json(facts)


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


class PourChecks:
    """Checks of rows of pours. What was found sound once is not checked again: cells repeat."""

    def __init__(self, readers: Readers, columns: Collection[str], keep: Callable[[Terms], int]) -> None:
        """Begin.

        Args:
            readers: of the house.
            columns: those that the table has.
            keep: puts terms aside and gives their number.
        """
        self._readers = readers
        self._columns = columns
        self._keep = keep
        self._repeating = tuple(name for name in columns if name not in _SINGULAR)
        self._remembered = lru_cache(1 << 14)(self._kept_if_sound)

    def checked(
        self, row: int, cells: Cells, source: End | None, target: End | None
    ) -> tuple[int, int, int, int, int, int, str] | None:
        """A row as `Staging.add_pour` takes it; None where it has faults, which are listed.

        Args:
            row: its number.
            cells: of the row.
            source: what its source stands for; None where that is a fault.
            target: what its target stands for, likewise.
        """
        if source and target:
            _check_ends(cells, source, target)
        source, target = source or _NOWHERE, target or _NOWHERE
        happened_us = needed_moment(cells, self._readers, "happened")
        get = cells.values.get
        terms = self._remembered(tuple(map(get, self._repeating)), source.word, target.word)
        if terms is None:
            self._check(cells, source.word, target.word)
        if terms is None or happened_us is None or not cells.sound:
            return None
        dated = int(len(cells.values["happened"]) == _LENGTH_OF_DATE)
        return row, happened_us, dated, source.number, target.number, terms, get("reason", "")

    def _kept_if_sound(self, texts: tuple[str | None, ...], source: str, target: str) -> int | None:
        """The number of the terms in these cells; None where one of them has a fault."""
        values = {name: text for name, text in zip(self._repeating, texts, strict=True) if text}
        cells = Cells("", 0, values, Faults())
        facts = self._check(cells, source, target)
        if not cells.sound:
            return None
        who = self._readers.person(cells.text("by"))
        get, whole = values.get, self._readers.whole
        measured = get("quantity"), get("unit"), get("strength"), get("temperature_c"), get("received")
        composition = cells.read("ethanol_mg", whole), cells.read("extract_mg", whole)
        fractions = cells.read("ethanol_ppb", whole), cells.read("extract_ppb", whole)
        return self._keep(Terms(who, *measured, *composition, *fractions, _as_json(facts) if facts else None))

    def _check(self, cells: Cells, source: str, target: str) -> dict[str, str | int]:
        """All but names and times; the facts of the pour."""
        _check_amount(cells, self._readers, source, target)
        _check_strength(cells, self._readers, source)
        cells.read("temperature_c", self._readers.temperature_c)
        if cells.needed("by"):
            cells.read("by", self._readers.person)
        return origin_facts(cells, self._readers, self._columns, is_origin=source == "origin")


def needed_moment(cells: Cells, readers: Readers, column: str) -> int | None:
    """A time that must be there, in microseconds; None where it is a fault."""
    moment_us = cells.read(column, readers.moment)
    if moment_us is None and not cells.text(column):
        cells.needed(column)
    return moment_us


def origin_facts(cells: Cells, readers: Readers, columns: Collection[str], *, is_origin: bool) -> dict[str, str | int]:
    """What was written of a pour beside its amount; of an origin also the time in wood it brought.

    Args:
        cells: of the row.
        readers: of the house.
        columns: those that the table has; without `wood_days` an origin is new spirit.
        is_origin: whether the row pours from an origin.
    """
    facts: dict[str, str | int] = {name: text for name in _POUR_TEXTS if (text := cells.text(name))}
    for name, reader in (("distilled", readers.day), ("cost", readers.number)):
        value = cells.read(name, reader)
        if value is not None:
            facts[name] = value
    wood_days = cells.read("wood_days", readers.whole)
    if not is_origin:
        if wood_days is not None:
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
    elif not cells.text("strength") and not cells.text("ethanol_ppb"):
        cells.fault("quantity", "nothing was read", "give the amount, the strength, or both")
    if source == "additive" and amount and amount.dimension == "volume":
        cells.fault("unit", "an additive counts by mass, not by volume", "weigh it: g, kg or lb")
    _check_received(cells, readers, target)
    _check_composition(cells, readers, amount, target)
    _check_fractions(cells, readers, target)


def _check_received(cells: Cells, readers: Readers, target: str) -> None:
    received, unit = cells.text("received"), cells.text("unit")
    if not received:
        return
    if target:
        cells.fault("received", f"nothing is received by {target}", "leave it blank")
    else:
        cells.read("received", lambda text: readers.amount(text, unit))


def _check_composition(cells: Cells, readers: Readers, amount: Amount | None, target: str) -> None:
    ethanol, extract = (cells.read(name, readers.whole) for name in _COMPOSITION)
    if ethanol is None:
        if cells.text("extract_mg"):
            cells.fault("ethanol_mg", "is blank beside extract_mg", "give both; 0 where there is none")
    elif cells.text("strength") or target == GAUGE:
        cells.fault("ethanol_mg", "stands beside a strength or a gauge", "give the one or the other")
    elif cells.sound and (amount is None or amount.dimension != "mass"):
        cells.fault("ethanol_mg", "is given for an amount that is no mass", "give the amount in mg, g or kg")
    elif amount and ethanol + (extract or 0) > amount.mass_mg:
        cells.fault("ethanol_mg", "is, with the extract, more than the amount", "check quantity and unit")


def _check_fractions(cells: Cells, readers: Readers, target: str) -> None:
    for name in _FRACTIONS:
        parts = cells.read(name, readers.whole)
        if parts is None:
            continue
        if target != GAUGE:
            cells.fault(name, "is what a gauge read, and this is none", "leave it blank")
        elif cells.text("strength"):
            cells.fault(name, "stands beside a strength", "give the one or the other")
        elif parts > PPB:
            cells.fault(name, "is more than the whole", "write parts in a thousand million")


def _check_strength(cells: Cells, readers: Readers, source: str) -> None:
    given = cells.text("strength")
    if source in ("water", "additive"):
        if given:
            cells.fault("strength", f"{source} has none", "leave it blank")
    elif given:
        cells.read("strength", readers.strength)
    elif source and not cells.text("ethanol_mg"):
        cells.fault("strength", f"is needed for what comes from {source}", "write it in % vol, such as 63.5")
