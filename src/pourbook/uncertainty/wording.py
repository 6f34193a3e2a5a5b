"""An instrument as a person types it: a class, or what its own certificate says.

A class: `pipette A 10 ml`, `graduated pipette A 10 ml`, `burette A/0.05 25 ml`, `cylinder A 100 ml`,
`piston pipette 1000 ul`, `hydrometer II`, `proof hydrometer`, `thermometer 0.5 C` (its division).
Its own: `limit 0.05 ml`, `limit 0.5 %`, `division 0.1`, `spread 0.02`, `certificate 0.04 k 2`,
`holds 10 ml`, `balance II 0.1 g`; several with commas between. After a class, they replace
its shared error (limit, certificate) or that of a reading (division, spread).

>>> read_instrument("graduated pipette A 10 ml", "volume").reading(7.0, "pour").shown()
'7.00 ± 0.10 (k = 2)'
>>> read_instrument("limit 0.1, division 0.1", "strength").reading(46.0, "gauge").shown()
'46.00 ± 0.13 (k = 2)'
>>> read_instrument("thermometer 1 F", "temperature").systematic == (5 / 9) / 3**0.5
True
"""

import re
from math import hypot
from typing import Any, Literal

from pourbook.errors import Malformed
from pourbook.numerals import number_and_rest, read_decimal
from pourbook.quantities import UNITS, unit_named
from pourbook.uncertainty.classes import HYDROMETERS, SERIES, balance_limit, class_instrument
from pourbook.uncertainty.instrument_errors import InstrumentErrors, instrument_errors

__all__ = ["Measured", "read_instrument"]

Measured = Literal["volume", "mass", "strength", "temperature", "density"]
"""What an instrument reads; its figures are in mL, mg, % vol, °C and kg/m3."""

_BARE = {"volume": "ml", "mass": "g", "strength": "% vol", "temperature": "c", "density": "kg/m3"}
_FACTORS: dict[Measured, dict[str, float]] = {
    "strength": {"%": 1.0, "% vol": 1.0, "vol": 1.0, "% vol 60f": 1.0, "proof": 0.5},
    "temperature": {"c": 1.0, "°c": 1.0, "k": 1.0, "f": 5 / 9, "°f": 5 / 9},
    "density": {"kg/m3": 1.0, "kg/m³": 1.0, "g/l": 1.0, "g/cm3": 1000.0, "g/cm³": 1000.0, "g/ml": 1000.0},
}
_OWN = re.compile(r"(limit|division|spread|certificate|holds) +(.+)", re.IGNORECASE)
_CERTIFICATE = re.compile(r"(.+?)(?: +k *([0-9.]+))?", re.IGNORECASE)


def read_instrument(text: str, measures: Measured, reading: float = 0.0, name: str = "") -> InstrumentErrors:
    """The instrument that a text describes.

    `reading` is about what it reads, for the class of a balance; `name` is of its shared error, by default the text.

    Raises:
        Malformed: nothing known here.
        OutOfRange: a class without that size; a negative error.
    """
    name = name or " ".join(text.split())
    first, *more = (part.strip() for part in text.split(","))
    found = _of_class(first, measures, reading)
    if found is None:
        found, more = InstrumentErrors(name), [first, *more]
    said = [_own(part, measures) for part in more]
    words = {word for word, _ in said}
    if words & {"limit", "certificate"}:
        found = found._replace(limit=0.0, certified=0.0, proportional=0.0)
    if words & {"division", "spread"}:
        found = found._replace(rounding=0.0, spread=0.0)
    for word, text_of_error in said:
        found = _with_own(found, word, text_of_error, measures)
    return found._replace(name=name)


def _of_class(text: str, measures: Measured, reading: float) -> InstrumentErrors | None:
    """An instrument of a class; None where the text names none."""
    words = " ".join(text.split()).lower()
    if measures == "strength":
        for kind, of_kind in HYDROMETERS.items():
            if words == kind.lower():
                return instrument_errors(kind, limit=of_kind.limit, division=of_kind.division)
    if measures == "volume":
        for kind in sorted(SERIES, key=len, reverse=True):
            if words.startswith(f"{kind.lower()} "):
                return class_instrument(kind, round(_number(words[len(kind) :], measures), 9))
    if measures == "temperature" and words.startswith("thermometer "):
        # not in error by more than one subdivision: 27 CFR 19.277(b) of 1999
        division = _number(words.removeprefix("thermometer "), measures)
        return instrument_errors(text, limit=division, division=division)
    if measures == "mass" and words.startswith("balance "):
        return _balance(text, words, reading)
    return None


def _balance(text: str, words: str, reading_mg: float) -> InstrumentErrors:
    accuracy_class, _, rest = words.removeprefix("balance ").partition(" ")
    interval = _number(rest, "mass")
    return instrument_errors(text, limit=balance_limit(accuracy_class.upper(), interval, reading_mg), division=interval)


def _own(text: str, measures: Measured) -> tuple[str, str]:
    match = _OWN.fullmatch(text)
    if match is None:
        raise Malformed(
            f"'{text}' does not describe an instrument of {measures}",
            "write a class, such as 'graduated pipette A 10 ml', or 'limit 0.05', 'division 0.1'",
        )
    return match[1].lower(), match[2]


def _with_own(known: InstrumentErrors, word: str, said: str, measures: Measured) -> InstrumentErrors:
    """An instrument with one more error, in squares beside what it has."""
    error: dict[str, Any] = {}
    if word == "certificate":
        match = _CERTIFICATE.fullmatch(said)
        assert match is not None
        error = {word: (_number(match[1], measures), float(read_decimal(match[2] or "2")))}
    elif word == "limit" and measures in ("volume", "mass") and said.rstrip().endswith("%"):
        error = {"limit_part": float(number_and_rest(said)[0]) / 100.0}
    more = instrument_errors(known.name, **(error or {word: _number(said, measures)}))
    return known._replace(
        limit=hypot(known.limit, more.limit),
        certified=hypot(known.certified, more.certified),
        proportional=hypot(known.proportional, more.proportional),
        rounding=hypot(known.rounding, more.rounding),
        spread=hypot(known.spread, more.spread),
        holds=more.holds or known.holds,
    )


def _number(text: str, measures: Measured) -> float:
    """An error in the unit of the readings: mL, mg, % vol, °C or kg/m3."""
    number, rest = number_and_rest(text)
    unit = rest or _BARE[measures]
    if measures in ("volume", "mass"):
        factor = float(unit_named(unit).factor) if unit_named(unit).dimension.startswith(measures) else None
        known = [name for name, of_unit in UNITS.items() if of_unit.dimension == measures]
    else:
        factor, known = _FACTORS[measures].get(unit), list(_FACTORS[measures])
    if factor is None:
        raise Malformed(f"'{text.strip()}' is not a figure of {measures}", f"write it in one of: {', '.join(known)}")
    return float(number) * factor
