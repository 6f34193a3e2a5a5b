"""What a heading of a house's own table means: the column it stands for, its unit, and how its cells are read.

A person says it once (`Fass Nr.=ref`, `Litres=quantity l`, `Filled=filled day-first`); it is suggested from words
of the trade, and a unit in the heading is understood.

>>> str(suggested("ABV (%)", ("ref", "strength"))), str(suggested("Bulk Litres", ("ref", "quantity")))
('strength % vol', 'quantity l')
>>> read_meaning("quantity imp gal decimal-comma")
Meaning(column='quantity', unit='imp gal', readings=('decimal-comma',))
"""

import re
from collections.abc import Collection, Iterator
from difflib import get_close_matches
from functools import lru_cache
from typing import NamedTuple

from pourbook.errors import Malformed, PourbookError
from pourbook.exchange.tables.table_sources import column_name
from pourbook.quantities import unit_named

__all__ = [
    "DATE_READINGS", "LEAVE_OUT", "READINGS", "SUB_HEADINGS", "Meaning", "checked_meaning", "near", "read_meaning",
    "suggested",
]  # fmt: skip

LEAVE_OUT = "leave-out"
"""Instead of a column: nothing of it is taken in."""

SUB_HEADINGS = "(sub-headings)"
"""Stands for rows with a single cell, among the headings that have a meaning."""

DATE_READINGS = (
    "day-first", "month-first", "short-years", "first-of-month", "first-of-year", "day-numbers", "day-numbers-1904",
)  # fmt: skip
READINGS = (*DATE_READINGS, "decimal-comma", "decimal-point")
"""How cells are read that can be read in more than one way."""

_WORDS = {
    "ref item": "cask, cask no, cask nr, cask number, cask id, barrel, barrel no, barrel number, no, nr, number, id,"
    " fass, fass nr, fassnr, fass nummer, fassnummer, fût, n° fût",
    "quantity amount": "bulk, volume, vol, contents, quantity, amount, fill volume, filled volume,"
    " net volume, net weight, weight, net, menge, inhalt, füllmenge, volumen, gewicht",
    "strength": "abv, alc, alcohol, strength, fill strength, filling strength, proof, stärke, alkohol, alkoholgehalt",
    "filled happened made": "filled, filled on, fill date, date filled, filling date, entry date, gefüllt, gefüllt am,"
    " befüllt, befüllt am, fülldatum, einlagerung",
    "happened filled made": "date, day, when, measured, date measured, regauged, regauge date, datum, am, tag",
    "distilled": "distilled, date distilled, distillation date, distillation, gebrannt, destilliert, brenndatum",
    "wood": "wood, oak, cask type, barrel type, type, holz, fassart, fasstyp",
    "capacity_l": "capacity, size, cask size, cask capacity, fassgröße, fassgrösse, fassvolumen",
    "place": "place, location, warehouse, store, rack, row, position, bay, lager, lagerort, ort, platz",
    "temperature_c": "temp, temperature, t, temperatur",
    "spirit": "spirit, make, spirit type, kind of spirit, new make, destillat, brand",
    "note reason": "note, notes, remark, remarks, comment, comments, bemerkung, bemerkungen, anmerkung, notiz",
    "reason note": "reason, grund",
    "owner": "owner, proprietor, eigentümer, besitzer",
    "previous": "previous, previous contents, previous use, last contents, ex, vorbelegung",
    "by": "by, filled by, gauged by, measured by, who, person, operator, initials, von wem, wer, kürzel",
    "cost": "cost, price, value, kosten, preis, wert",
    "unit": "unit, units, einheit",
    "lpa": "lpa, rla, la, ola, litres of alcohol, litres of pure alcohol, pure alcohol, liter reiner alkohol,"
    " reinalkohol",
    "tare_kg": "tare, tare weight, tara, leergewicht",
    "duty_status": "duty, duty status, bond, status",
    "document": "document, certificate, delivery note, lieferschein, beleg",
    "distiller": "distiller, distillery, producer, brenner, brennerei",
    "instrument": "instrument, instruments, device, gerät",
    "kind": "kind, item type, art",
    "source": "from, source, out of, von, aus",
    "target": "to, into, target, nach, in",
    "customer": "customer, consignee, kunde",
    "name": "name, nickname",
    "cooper": "cooper, cooperage, küfer, küferei, böttcher",
    "toast": "toast, toasting, toastung",
    "char": "char, charring",
    "seasoning": "seasoning, seasoned",
    "earlier_fills": "earlier fills, fills, fill number, fill no, refill",
}
"""Words of the trade in English and German (common practice, no source), by the columns they may stand for."""

_STRENGTHS = {
    **dict.fromkeys(("%", "%vol", "vol%", "%abv", "abv%", "%alc", "alc%"), "% vol"),
    **dict.fromkeys(("proof", "usproof"), "proof"),
}
_TEMPERATURES = {**dict.fromkeys(("°c", "c", "celsius"), "C"), **dict.fromkeys(("°f", "f", "fahrenheit"), "F")}
_UNITS_OF = {
    "quantity": ("volume", "mass", "mass_air", "count"),
    "amount": ("volume", "mass", "mass_air"),
    "capacity_l": ("volume",),
    "tare_kg": ("mass",),
    "strength": ("strength",),
    "temperature_c": ("temperature",),
}
"""The dimensions of a unit that may stand in the heading of a column."""

_OF_ITSELF = {"capacity_l": "l", "tare_kg": "kg", "temperature_c": "C"}
"""Units that a column has anyway."""

_EITHER = (("day-first", "month-first"), ("day-numbers", "day-numbers-1904"), ("decimal-comma", "decimal-point"))
_MOST_SAID = 120


class Meaning(NamedTuple):
    """What is said of a heading.

    Attributes:
        column: the column it stands for, or `LEAVE_OUT`; empty where only its reading is said.
        unit: of numbers without one; empty if nothing is said.
        readings: some of `READINGS`.
    """

    column: str = ""
    unit: str = ""
    readings: tuple[str, ...] = ()

    def __str__(self) -> str:
        return " ".join(part for part in (self.column, self.unit, *self.readings) if part)

    @property
    def reading(self) -> str:
        """Unit and readings in one text."""
        return str(self._replace(column=""))


def read_meaning(text: str) -> Meaning:
    """A meaning as a person writes it: the column, then its unit and readings, if any.

    Raises:
        Malformed: nothing, or two orders of day and month, or both decimal marks.
    """
    words = text.split()
    if not words or len(text) > _MOST_SAID:
        raise Malformed(f"'{text}' does not say what a heading means", 'write a column: "Litres=quantity l"')
    column = "" if words[0] in READINGS else words.pop(0)
    readings = tuple(word for word in words if word in READINGS)
    unit = " ".join(word for word in words if word not in READINGS)
    for either in _EITHER:
        if set(either) <= set(readings):
            raise Malformed(f"'{text}' says both {' and '.join(either)}", "say one of them")
    return Meaning(LEAVE_OUT if column == LEAVE_OUT else column_name(column), unit, readings)


def checked_meaning(meaning: Meaning, columns: Collection[str]) -> Meaning:
    """The meaning with its unit as units are written, if it can be one in a table of these columns.

    Raises:
        Malformed: no such column, or a unit that it cannot have.
    """
    if meaning.column not in (*columns, LEAVE_OUT):
        raise Malformed(f"'{meaning.column}' is not a column known here", f"columns are: {', '.join(columns)}")
    if not meaning.unit:
        return meaning
    unit = _unit_of(meaning.column, meaning.unit.casefold())
    if unit is None:
        raise Malformed(f"'{meaning.unit}' cannot be the unit of {meaning.column}", "write it like 'quantity l'")
    return meaning._replace(unit=unit)


def suggested(heading: str, columns: Collection[str]) -> Meaning | None:
    """What a heading means by the words of the trade; None for words that are none."""
    plain = _plain(heading)
    if column_name(heading) in columns:
        return Meaning(column_name(heading))
    for words, unit in _partings(plain):
        for column in _columns_of(words) if words else _columns_of_unit(unit):
            written = _unit_of(column, unit) if unit else ""
            if column in columns and written is not None:
                return Meaning(column, written)
    return None


def near(heading: str, columns: Collection[str]) -> Meaning | None:
    """What a heading may mean whose words resemble some of the trade; a guess."""
    for like in get_close_matches(_plain(heading), _known_words(), n=3, cutoff=0.75):
        if found := suggested(like, columns):
            return found
    return None


def _plain(heading: str) -> str:
    """Small letters and single spaces, without full stops and brackets."""
    return " ".join(re.sub(r"[][().:#_/-]+", " ", heading.lstrip("\ufeff").casefold()).split())


def _partings(plain: str) -> Iterator[tuple[str, str]]:
    """Words and unit: all words, all unit, then a unit of two words and of one at the end."""
    yield plain, ""
    yield "", plain
    words = plain.split()
    for size in (2, 1):
        if len(words) > size:
            yield " ".join(words[:-size]), " ".join(words[-size:])


@lru_cache(1)
def _by_word() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for columns, words in _WORDS.items():
        for word in words.split(", "):
            found.setdefault(_plain(word), []).extend(columns.split())
    return found


def _known_words() -> list[str]:
    return list(_by_word())


def _columns_of(words: str) -> list[str]:
    return _by_word().get(words, [])


def _columns_of_unit(unit: str) -> list[str]:
    kinds = ("strength", "temperature_c", "quantity", "amount")
    return [column for column in kinds if len(unit) > 1 and _unit_of(column, unit) is not None]


def _unit_of(column: str, unit: str) -> str | None:
    """The unit as it is written, empty where the column has it anyway; None where it cannot have it."""
    dimensions = _UNITS_OF.get(column, ())
    if "strength" in dimensions or "temperature" in dimensions:
        found = (_STRENGTHS if "strength" in dimensions else _TEMPERATURES).get(unit.replace(" ", ""))
        return "" if found and found == _OF_ITSELF.get(column) else found
    try:
        known = unit_named(unit)
    except PourbookError:
        return None
    if known.dimension not in dimensions:
        return None
    return "" if known.name == _OF_ITSELF.get(column) else known.name
