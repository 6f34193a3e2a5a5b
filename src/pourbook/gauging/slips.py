"""Unlikely amounts and strengths: what was typed beside what the book expects.

A slip in a unit, a decimal mark or a scale makes a figure that reads well and is wrong by a factor.
Limits are wide, so that an honest surprise is seldom queried (common practice, no source):

- more than a cask's capacity and a seventh: coopered casks differ from their nominal size by less;
- more than the book holds and a quarter: a gain without a pour is a misreading;
- less than two thirds of it, and of what a loss of ten per cent a year would have left: faster than
  spirit evaporates anywhere;
- a strength ten per cent by volume from the book's: more than twenty years in wood change it.

>>> asked = question("12 l", 12_000.0, Expected(held_ml=12.0))
>>> asked.said, asked.remedy
("'12 l' is 12.00 l, where the book has 12.0 ml", "was it '12 ml'?")
>>> question("196 l", 196_000.0, Expected(held_ml=200_000.0, capacity_l=225.0))
"""

from math import log
from typing import NamedTuple

from pourbook.errors import Malformed, Question
from pourbook.numerals import number_and_rest, read_decimal, shown
from pourbook.quantities import UNITS, Amount, Strength, unit_named

__all__ = ["Expected", "bare_question", "capacity_of", "fill_question", "question", "strength_question"]

_OVERFULL = 8 / 7
_MORE = 1.25
_LESS = 1 / 1.5
_LEFT_IN_A_YEAR = 0.9
_STRENGTH_AWAY = 10.0
_DROP_ML = 10.0
"""Smaller differences, such as a residue in a vial, are not queried."""

_OTHERS = ("l", "ml", "gal", "kg", "lb")
_VAT_ML = 5000.0
_SPIRIT_KG_L = 0.92  # within a tenth of any spirit: enough to tell a unit from another


class Expected(NamedTuple):
    """What the book expects of an item.

    Attributes:
        held_ml: what it holds; 0 where the book knows of nothing.
        capacity_l: how much it can hold; None where that is not known.
        years: since the book last heard of its contents.
        is_told: a person says where the missing liquid went.
    """

    held_ml: float
    capacity_l: float | None = None
    years: float = 0.0
    is_told: bool = False


def capacity_of(text: str | None) -> float | None:
    """The capacity on record in litres; None where it is missing, or not in figures."""
    try:
        return float(read_decimal((text or "").replace(",", ".")))
    except Malformed:
        return None


def question(typed: str, measured_ml: float, expected: Expected, mark: str = ".") -> Question | None:
    """What to ask about a measured amount, as typed and in mL (0 is empty); None where it is likely."""
    held = expected.held_ml
    if not measured_ml:
        return None
    if _is_overfull(measured_ml, expected.capacity_l):
        assert expected.capacity_l is not None
        return _overfull(typed, measured_ml, "", expected.capacity_l, held or expected.capacity_l * 1000, mark)
    if not held or abs(measured_ml - held) < _DROP_ML:
        return None
    least = 0.0 if expected.is_told else held * _LESS * _LEFT_IN_A_YEAR**expected.years
    if least <= measured_ml <= held * _MORE:
        return None
    said = f"'{typed}' is {_litres(measured_ml, mark)}, where the book has {_litres(held, mark)}"
    other = "is a pour missing from the book, or is it another item?"
    figures = {"measured_ul": round(measured_ml * 1000), "held_ul": round(held * 1000)}
    return Question("unlikely-amount", said, _likely(typed, measured_ml, held, mark) or other, figures)


def fill_question(typed: str, filled_ml: float, expected: Expected, mark: str = ".") -> Question | None:
    """What to ask about an amount filled on top of what is held; None where it fits.

    >>> fill_question("400 l", 400_000.0, Expected(0.0, capacity_l=200.0)).said
    "'400 l' is 400.00 l, and the capacity is 200.00 l"
    """
    held, room = expected.held_ml, expected.capacity_l
    if room is None or not _is_overfull(held + filled_ml, room):
        return None
    beside = f" on top of {_litres(held, mark)}" if held else ""
    return _overfull(typed, held + filled_ml, beside, room, room * 1000 - held, mark)


def _is_overfull(whole_ml: float, capacity_l: float | None) -> bool:
    return capacity_l is not None and whole_ml > capacity_l * 1000 * _OVERFULL


def _overfull(typed: str, whole_ml: float, beside: str, capacity_l: float, meant_ml: float, mark: str) -> Question:
    said = f"'{typed}'{beside} is {_litres(whole_ml, mark)}, and the capacity is {_litres(capacity_l * 1000, mark)}"
    other = "is it the unit (gallons, litres; lb, kg) or the cask?"
    figures = {"whole_ul": round(whole_ml * 1000), "capacity_ul": round(capacity_l * 1_000_000)}
    return Question("over-capacity", said, _likely(typed, whole_ml, meant_ml, mark) or other, figures)


def bare_question(amount: Amount, held_ml: float, mark: str = ".") -> Question | None:
    """What to ask about a bare number that is a thimbleful of a vat; None where it has a unit, or is more.

    >>> from pourbook.quantities import read_amount
    >>> bare_question(read_amount("1", "ml"), 40_000.0).said
    "'1' is 1 ml here, of 40.00 l"
    """
    is_bare = amount.typed[-1:].isdigit()
    if not is_bare or amount.dimension != "volume" or held_ml <= _VAT_ML or amount.volume_ml * 100 >= held_ml:
        return None
    said = f"'{amount.typed}' is {amount.typed} {amount.unit} here, of {_litres(held_ml, mark)}"
    return Question(
        "bare-number", said, f"write its unit: '{amount.typed} l'.", {"typed": amount.typed, "unit": amount.unit}
    )


def strength_question(read: Strength | None, percent: float, held: float | None, mark: str = ".") -> Question | None:
    """What to ask about a strength that was read; None where it is likely.

    `percent` is what it comes to and `held` what the book has, None where it holds nothing, both % vol at 20 °C;
    `read` is None where the strength follows from a density.
    """
    if held is None or abs(percent - held) <= _STRENGTH_AWAY:
        return None
    typed = f"'{read.typed}' is " if read else ""
    said = f"{typed}{shown(percent, 1, mark)} % vol, where the book has {shown(held, 1, mark)} % vol"
    number = None if read is None else float(read.value)
    remedy = "is it another item, or was water added and not recorded?"
    if number is not None and read is not None:
        written = f"{read.value:f}".replace(".", mark)
        if read.scale == "proof60f" and abs(number - held) < 5:
            remedy = f"was it '{written} % vol'?"
        elif read.scale != "proof60f" and abs(number / 2 - held) < 5:
            remedy = f"was it '{written} proof'?"
        elif any(abs(number * factor - held) < 5 for factor in (10, 0.1)):
            remedy = "was a decimal mark lost?"
    return Question("unlikely-strength", said, remedy, {"read": f"{percent:.2f}", "held": f"{held:.2f}"})


def _likely(typed: str, measured_ml: float, meant_ml: float, mark: str) -> str:
    """The unit or decimal mark that would bring a figure near what was meant; empty where none does."""
    try:
        number, rest = number_and_rest(typed, mark)
        unit = unit_named(rest).name if rest else ""
    except Malformed:  # a difference of two readings, or a depth
        return ""
    if number <= 0 or meant_ml <= 0:
        return ""
    written = f"{number:f}".replace(".", mark)
    kind = unit_named(unit).dimension == "volume" if unit else True
    found = [
        ((UNITS[name].dimension == "volume") is not kind, _ml(name) * float(number), f"was it '{written} {name}'?")
        for name in _OTHERS
        if name != unit
    ]
    found += [(True, measured_ml * factor, "was a decimal mark lost, or put in?") for factor in (10, 0.1, 100, 0.01)]
    near = [(far, abs(log(ml / meant_ml)), said) for far, ml, said in found]
    return min([one for one in near if one[1] < log(_MORE)], default=(False, 0.0, ""))[2]


def _ml(name: str) -> float:
    """Millilitres in a unit; of a mass, those of spirit."""
    unit = UNITS[name]
    return float(unit.factor) if unit.dimension == "volume" else float(unit.factor) / 1000 / _SPIRIT_KG_L


def _litres(ml: float, mark: str) -> str:
    return f"{shown(ml, 1, mark)} ml" if ml < 1000 else f"{shown(ml / 1000, 2, mark)} l"
