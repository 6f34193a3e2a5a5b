"""One row of a history checked: its cells become what is put aside, or faults.

What `pourbook.exchange.intake.history` promises of the columns is kept here, cell by cell; what needs
other rows or the book (does the name stand for something, is there so much) is found later.
"""

import json
from collections.abc import Callable, Collection
from functools import lru_cache
from typing import NamedTuple

from pourbook.book.entries import SOURCES, SUBJECTS, TARGETS, Gauge, Move
from pourbook.book.fold import PPB
from pourbook.codes.identifiers import KINDS, refuse_as_ref
from pourbook.errors import Ambiguous, Malformed, PourbookError
from pourbook.exchange.tables.columns import Cells, Faults, Readers
from pourbook.exchange.tables.table_files import Columns
from pourbook.liquid import Liquid
from pourbook.quantities import Amount, Strength

__all__ = [
    "ALL", "DUTY_COLUMN", "GAUGE", "ITEM_COLUMNS", "ITEM_COUNTS", "ITEM_NUMBERS", "ITEM_TEXTS", "NOTE_COLUMNS",
    "POUR_COLUMNS", "POUR_TEXTS", "WORDS", "YES", "End", "Noted", "PourChecks", "Terms", "amount_of", "checked_item",
    "checked_note", "is_yes", "item_facts", "needed_moment", "origin_facts", "ref_of",
]  # fmt: skip

ALL = "all"
"""The quantity that leaves exactly nothing."""

GAUGE = "gauge"
"""The target of a row that measures: the item named as source holds so much."""

WORDS = (*SOURCES, *TARGETS, GAUGE)
"""Words that no item may be called."""

YES = "yes"
"""What stands in the column `confirmed`: what the book asks of the row was asked, and answered."""

DUTY_COLUMN = "duty_status"
"""The column of the fact `duty`."""

ITEM_TEXTS = ("name", "wood", "cooper", "toast", "char", "seasoning", "spirit", "place", "note", "previous", "owner")
ITEM_NUMBERS = ("capacity_l", "tare_kg")
ITEM_COUNTS = ("earlier_fills",)
ITEM_COLUMNS = Columns(
    ("ref", "kind"), ("made", *ITEM_TEXTS, DUTY_COLUMN, *ITEM_NUMBERS, *ITEM_COUNTS),
    dates=("made",), numbers=ITEM_NUMBERS,
)  # fmt: skip

_COMPOSITION = ("ethanol_mg", "extract_mg")
_FRACTIONS = ("ethanol_ppb", "extract_ppb")
POUR_TEXTS = (
    *("spirit", "distiller", "supplier", "supplier_ref", "carrier", "disposition", "document", "witness"),
    *("customer", "site", "from_site"),
)
POUR_COLUMNS = Columns(
    ("source", "target", "quantity", "unit", "happened", "by"),
    (
        *("strength", "temperature_c", "reason", *POUR_TEXTS, "distilled", "in_wood", "cost"),
        *("received", *_COMPOSITION, *_FRACTIONS, "confirmed"),
    ),
    dates=("happened", "distilled"),
    numbers=("quantity", "strength", "temperature_c", "cost", "received"),
)
NOTE_COLUMNS = Columns(("ref", "text", "happened", "by"), ("subject", "reason"), dates=("happened",))
_SINGULAR = ("source", "target", "happened", "reason")
_LENGTH_OF_DATE = 10


class End(NamedTuple):
    """What a name in a row of pours stands for: its staged number; the word, empty for an item."""

    number: int
    word: str


class Terms(NamedTuple):
    """What a row of pours says beside ends, time and reason; rows with the same cells share it.

    `who` and `quantity` are as written; `confirmed` answers what the book asks of the row. `move`, without ends, is
    None for a gauge; `gauge`, without its item, is None where nothing was read (of a loss, it is the strength read
    just before).
    """

    who: str
    quantity: str
    move: Move | None
    gauge: Gauge | None
    confirmed: bool


class Noted(NamedTuple):
    """What a row of notes says beside item and time: `who` as written, `reason`, `subject` and `text` as in `Note`."""

    who: str
    reason: str
    subject: str
    text: str


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
    """The house's own name of an item, checked."""
    ref = cells.needed("ref")
    if ref.lower() in WORDS:
        cells.fault("ref", f"'{ref}' is a reserved word, not a name", "give the item another name")
    try:
        refuse_as_ref(ref)
    except Malformed as refusal:
        cells.refused("ref", refusal)
    return ref


def item_facts(cells: Cells, readers: Readers) -> dict[str, str]:
    """All facts of an item but its ref."""
    facts = {name: text for name in ITEM_TEXTS if (text := cells.text(name))}
    if duty := cells.text(DUTY_COLUMN):
        facts["duty"] = duty
    for name in ITEM_NUMBERS:
        number = cells.read(name, readers.number)
        if number is not None:
            facts[name] = number
    for name in ITEM_COUNTS:
        count = cells.read(name, readers.whole)
        if count is not None:
            facts[name] = str(count)
    return facts


def checked_note(cells: Cells, readers: Readers) -> tuple[int | None, Noted]:
    """A row of notes but for its item: when (microseconds; None for a fault), and what it says."""
    happened_us = needed_moment(cells, readers, "happened")
    noted = Noted(cells.needed("by"), cells.text("reason"), cells.text("subject").lower(), cells.needed("text"))
    if noted.subject and noted.subject not in SUBJECTS:
        remedy = f"choose from: {', '.join(SUBJECTS)}; or leave it blank"
        cells.fault("subject", f"'{noted.subject}' is not a subject of a note", remedy)
    return happened_us, noted


# -- pours ------------------------------------------------------------------------------


class PourChecks:
    """Checks rows of pours; `keep` stages terms and gives their number. Sound cells that repeat are checked once."""

    def __init__(self, readers: Readers, columns: Collection[str], keep: Callable[[Terms], int]) -> None:
        self._readers = readers
        self._columns = columns
        self._keep = keep
        self._repeating = tuple(name for name in columns if name not in _SINGULAR)
        self._remembered = lru_cache(1 << 14)(self._kept_if_sound)

    def checked(
        self, row: int, cells: Cells, source: End | None, target: End | None
    ) -> tuple[int, int, int, int, int, int, str] | None:
        """A row as `Staging.add_pour` takes it; None where it has faults. An end is None where it has one already."""
        if source and target and source.number == target.number:
            cells.fault("target", "is also the source", "check which two were meant")
        elif source and target and source.word and target.word:
            cells.fault("target", f"{source.word} cannot go straight to {target.word}", "name the item in between")
        source, target = source or _NOWHERE, target or _NOWHERE
        happened_us = needed_moment(cells, self._readers, "happened")
        get = cells.values.get
        terms = self._remembered(tuple(map(get, self._repeating)), source.word, target.word)
        if terms is None:
            self._terms(cells, source.word, target.word)  # for its faults
        if terms is None or happened_us is None or not cells.sound:
            return None
        dated = int(len(cells.values["happened"]) == _LENGTH_OF_DATE)
        return row, happened_us, dated, source.number, target.number, terms, get("reason", "")

    def _kept_if_sound(self, texts: tuple[str | None, ...], source: str, target: str) -> int | None:
        """The number of the terms in these cells; None where one of them has a fault."""
        values = {name: text for name, text in zip(self._repeating, texts, strict=True) if text}
        cells = Cells("", 0, values, Faults())
        terms = self._terms(cells, source, target)
        return self._keep(terms) if cells.sound else None

    def _terms(self, cells: Cells, source: str, target: str) -> Terms:
        """All but names, times and reasons."""
        readers = self._readers
        amount = _amount(cells, readers, source, target)
        received = _received(cells, readers, target)
        composition = _composition(cells, readers, amount, target)
        fraction, solids = (_fraction(cells, readers, name, target) for name in _FRACTIONS)
        strength = _strength(cells, readers, source, amount)
        temperature_c = cells.read("temperature_c", readers.temperature_c)
        at_c = 20.0 if temperature_c is None else temperature_c
        who = (cells.needed("by") and cells.read("by", readers.person)) or ""
        facts = origin_facts(cells, readers, self._columns, is_origin=source == "origin")
        is_confirmed = is_yes(cells, "confirmed", "what the book asks of this row is right")
        if target == GAUGE:
            read = Gauge("", amount, strength, at_c, facts, fraction, solids)
            return Terms(who, cells.text("quantity"), None, read, is_confirmed)
        gauge = Gauge("", None, strength) if strength and target == "loss" else None
        move = Move(
            "", "", amount, None if gauge else strength, at_c, received=received, composition=composition, facts=facts
        )
        return Terms(who, cells.text("quantity"), move, gauge, is_confirmed)


def needed_moment(cells: Cells, readers: Readers, column: str) -> int | None:
    """A required time, in microseconds; None for a fault."""
    return cells.read(column, readers.moment) if cells.needed(column) else None


def origin_facts(cells: Cells, readers: Readers, columns: Collection[str], *, is_origin: bool) -> dict[str, str | int]:
    """What a row says of a pour beside its amount; an origin is new spirit unless there is a column `in_wood`."""
    facts: dict[str, str | int] = {name: text for name in POUR_TEXTS if (text := cells.text(name))}
    for name, reader in (("distilled", readers.day), ("cost", readers.number)):
        value = cells.read(name, reader)
        if value is not None:
            facts[name] = value
    in_wood = cells.read("in_wood", readers.time_in_wood)
    if not is_origin:
        if in_wood is not None:
            cells.fault("in_wood", "only an origin brings time in wood", "leave it blank")
    elif "in_wood" not in columns:
        facts["wood_days"] = 0
    elif in_wood is not None:
        facts["in_wood"] = in_wood
    return facts


def amount_of(cells: Cells, readers: Readers, *, allow_zero: bool = False) -> Amount | None:
    """The amount in `quantity` and `unit`; None for a fault."""
    quantity, unit = cells.needed("quantity"), cells.text("unit")
    if not quantity or (unit and cells.read("unit", readers.unit) is None):
        return None
    try:
        return readers.amount(quantity, unit, allow_zero)
    except PourbookError as refusal:
        cells.refused("unit" if not unit and isinstance(refusal, Ambiguous) else "quantity", refusal)
        return None


def _amount(cells: Cells, readers: Readers, source: str, target: str) -> Amount | None:
    """How much; None for all of it, for what was not measured and for a fault."""
    amount = None
    if cells.text("quantity").lower() == ALL:
        if source or target == GAUGE:
            cells.fault("quantity", f"'all' of {source or 'a gauge'} is not an amount", "write the amount and its unit")
    elif target != GAUGE or cells.text("quantity"):
        amount = amount_of(cells, readers, allow_zero=target == GAUGE)
    elif not cells.text("strength") and not cells.text("ethanol_ppb"):
        cells.fault("quantity", "the gauge has no reading", "give the amount, the strength, or both")
    if source == "additive" and amount and amount.dimension == "volume":
        cells.fault("unit", "additives are recorded by mass, not by volume", "weigh it: g, kg or lb")
    return amount


def _received(cells: Cells, readers: Readers, target: str) -> Amount | None:
    if target and cells.text("received"):
        cells.fault("received", f"{target} receives nothing", "leave it blank")
        return None
    return cells.read("received", lambda text: readers.amount(text, cells.text("unit")))


def _composition(cells: Cells, readers: Readers, amount: Amount | None, target: str) -> Liquid | None:
    """The liquid, where the row states its composition."""
    ethanol, extract = (cells.read(name, readers.whole) for name in _COMPOSITION)
    if ethanol is None:
        if cells.text("extract_mg"):
            cells.fault("ethanol_mg", "is blank, but extract_mg is not", "give both; write 0 for none")
    elif cells.text("strength") or target == GAUGE:
        cells.fault("ethanol_mg", "cannot go with a strength or a gauge", "give one or the other")
    elif cells.sound and (amount is None or amount.dimension != "mass"):
        cells.fault("ethanol_mg", "needs an amount by mass", "give the amount in mg, g or kg")
    elif amount and ethanol + (extract or 0) > amount.mass_mg:
        cells.fault("ethanol_mg", "and the extract exceed the amount", "check quantity and unit")
    elif amount:
        return Liquid(round(amount.mass_mg), ethanol, extract or 0)
    return None


def _fraction(cells: Cells, readers: Readers, name: str, target: str) -> float | None:
    """What a gauge read, as a part of one."""
    parts = cells.read(name, readers.whole)
    if parts is None:
        return None
    if target != GAUGE:
        cells.fault(name, "is for gauges only", "leave it blank")
    elif cells.text("strength"):
        cells.fault(name, "cannot go with a strength", "give one or the other")
    elif parts > PPB:
        cells.fault(name, "exceeds the whole", "write parts per thousand million")
    return parts / PPB


def is_yes(cells: Cells, column: str, what: str) -> bool:
    """Whether a cell says yes to what it answers; anything but that or nothing is a fault."""
    said = cells.text(column).lower()
    if said and said != YES:
        cells.fault(column, "is not an answer", f"write {YES} if {what}, or leave it blank")
    return said == YES


def _strength(cells: Cells, readers: Readers, source: str, amount: Amount | None) -> Strength | None:
    given = cells.text("strength")
    if source in ("water", "additive"):
        if given:
            cells.fault("strength", f"{source} has no strength", "leave it blank")
    elif given:
        return cells.read("strength", readers.strength)
    elif source and not cells.text("ethanol_mg") and not (amount and amount.dimension == "count"):
        cells.fault("strength", f"is needed for liquid from {source}", "write it in % vol, such as 63.5")
    return None
