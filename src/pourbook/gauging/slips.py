"""Unlikely amounts and strengths: what was typed beside what the book expects.

A slip in a unit, a decimal mark or a scale makes a figure that reads well and is wrong by a factor.
Limits are wide, so that an honest surprise is seldom queried (common practice, no source):

- more than a cask's capacity and a seventh: coopered casks differ from their nominal size by less;
- less or more than the book holds by more than reading errs: twice the standard uncertainty of the
  instruments (0.5 % of the volume where they are not known), and one per cent for what wets walls and hoses;
- of a cask, less than that by more than air and wood may have taken since it was last measured;
- a strength ten per cent by volume from the book's: more than twenty years in wood change it;
- more in a vial or a glass than such things hold, where no capacity of their own is on record;
- a bare number of less than a litre into a vat or a cask;
- spirit from outside below the least strength of a spirit drink, or spirit that water brings below it: 15 % vol,
  Regulation (EU) 2019/787, article 2 (read in a copy);
- five times what a plan says: a slip in the unit makes it more;
- a size that no bottle of spirit is sold in.

>>> asked = question("12 l", 12_000.0, Expected(held_ml=12.0))
>>> asked.said
"'12 l' is 12.00 l, where the book has 12.0 ml and at most 22.0 ml was expected"
>>> asked.remedy
"was it '12 ml'?"
>>> question("196 l", 196_000.0, Expected(held_ml=200_000.0, room=Room(225.0)))
>>> question("190 l", 190_000.0, Expected(held_ml=200_000.0, lost=0.02)).said
"'190 l' is 190.00 l, where the book has 200.00 l and at least 192.00 l was expected"
"""

from functools import lru_cache
from math import log
from typing import NamedTuple

from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3
from pourbook.errors import Malformed, Question
from pourbook.gauging.evaporation import ASSUMED_RELATIVE
from pourbook.numerals import number_and_rest, read_decimal, shown
from pourbook.quantities import UNITS, Amount, Strength, unit_named

__all__ = [
    "BOTTLE_SIZES_ML", "SAY_KIND", "Expected", "Room", "alcohol_question", "bare_question", "capacity_of",
    "fill_question", "origin_question", "plan_question", "question", "size_question", "strength_question",
    "water_question",
]  # fmt: skip

SAY_KIND = "say where it went, as leak, spill, theft or unexplained: --kind; in a table: disposition"

_OVERFULL = 8 / 7
_NEAR = 1.25
"""A unit or a decimal mark that brings a figure within a quarter of what was meant, and much nearer, is the slip."""

_WETS = 0.01
"""What stays on walls and in hoses, part of the volume: common practice, no source."""

_STRENGTH_AWAY = 10.0
_STRENGTH_MISREAD = 0.5
"""In % vol, by a hydrometer of class II and a thermometer in a warehouse: common practice, no source."""
_DROP_ML = 10.0
"""Smaller differences, such as a residue in a vial, are not queried."""

_OTHERS = ("l", "ml", "gal", "kg", "lb")
_VAT_ML = 5000.0
_LEAST_INTO_A_VAT_ML = 1000.0
_LEAST_SPIRIT = 15.0
_BEYOND_PLAN = 5.0
_SPIRIT_KG_L = 0.92  # within a tenth of any spirit: enough to tell a unit from another


BOTTLE_SIZES_ML = frozenset({
    # Specified quantities of spirits, 100 to 2000 mL: Directive 2007/45/EC, annex, as gov.uk lists them (read)
    *(100, 200, 350, 500, 700, 1000, 1500, 1750, 2000),
    # 27 CFR 5.203(a) as of 2022 (read), cans included
    *(50, 100, 200, 355, 375, 700, 720, 750, 900, 1000, 1750, 1800),
    # what T.D. TTB-200 added to it in 2025 (not checked against its text)
    *(187, 250, 331, 350, 475, 500, 570, 710, 945, 1500, 2000, 3000, 3750),
})  # fmt: skip
"""Contents in which spirit is sold, mL."""


class Room(NamedTuple):
    """How much a vessel takes, L, and what says so: a record of the vessel itself, the one it lies in, or habit.

    `vessel` names a vat that the liquid lies in, `usual` the kind of thing ("vial") that usually holds no more; both
    are empty where the capacity is on record.
    """

    capacity_l: float
    vessel: str = ""
    usual: str = ""

    def takes_whatever_weighs(self, mass_mg: int) -> bool:
        """Whether so much fits, whatever it is: no liquid here is lighter than ethanol.

        >>> litre = Room(1.0)
        >>> litre.takes_whatever_weighs(789_000), litre.takes_whatever_weighs(998_000)  # of ethanol, of water
        (True, False)
        """
        return not _is_overfull(mass_mg / ETHANOL_20C_KG_M3, self)

    def said(self, typed: str, held: str, whole: str, mark: str) -> str:
        """That what was typed, on top of what is `held` if anything, is too much: whole sentences can be told anew."""
        most = _litres(self.capacity_l * 1000, mark)
        if self.usual and held:
            return f"'{typed}' on top of {held} is {whole}, and a {self.usual} usually holds up to {most}"
        if self.usual:
            return f"'{typed}' is {whole}, and a {self.usual} usually holds up to {most}"
        if self.vessel and held:
            return f"'{typed}' on top of {held} is {whole}, and the capacity of {self.vessel} is {most}"
        if self.vessel:
            return f"'{typed}' is {whole}, and the capacity of {self.vessel} is {most}"
        if held:
            return f"'{typed}' on top of {held} is {whole}, and the capacity is {most}"
        return f"'{typed}' is {whole}, and the capacity is {most}"


class Expected(NamedTuple):
    """What the book expects of an item.

    Attributes:
        held_ml: what it holds; 0 where the book knows of nothing.
        room: how much it can hold; None where that is not known.
        lost: the part of it that air and wood may have taken since it was last measured.
        standard_ml: standard uncertainty of the measured volume, mL; None where the instruments are not known.
        is_told: a person says where the missing liquid went.
    """

    held_ml: float
    room: Room | None = None
    lost: float = 0.0
    standard_ml: float | None = None
    is_told: bool = False

    @property
    def reading_ml(self) -> float:
        """By how much a reading alone may differ from the book."""
        standard_ml = self.held_ml * ASSUMED_RELATIVE if self.standard_ml is None else self.standard_ml
        return max(_DROP_ML, 2.0 * standard_ml + _WETS * self.held_ml)

    @property
    def least_ml(self) -> float:
        """The least that a gauge should find."""
        return self.held_ml * (1.0 - self.lost) - self.reading_ml

    @property
    def most_ml(self) -> float:
        """The most that a gauge should find."""
        return self.held_ml + self.reading_ml


@lru_cache(maxsize=1024)  # casks of a house are of few sizes, and every pour asks
def capacity_of(text: str | None) -> float | None:
    """The capacity on record in litres; None where it is missing, or not in figures."""
    try:
        return float(read_decimal((text or "").replace(",", ".")))
    except Malformed:
        return None


def question(typed: str, measured_ml: float, expected: Expected, mark: str = ".") -> Question | None:
    """What to ask about a measured amount, as typed and in mL (0 is empty); None where it is likely."""
    held = expected.held_ml
    room = expected.room
    if room and _is_overfull(measured_ml, room) and not (room.usual and held):  # what it held says more than habit
        return _overfull(typed, measured_ml, "", room, held or room.capacity_l * 1000, mark)
    if not held or expected.least_ml <= measured_ml <= expected.most_ml:
        return None
    is_loss = measured_ml < held
    bound = f"at least {_litres(expected.least_ml, mark)}" if is_loss else f"at most {_litres(expected.most_ml, mark)}"
    found, there = _litres(measured_ml, mark), _litres(held, mark)
    said = f"'{typed}' is {found}, where the book has {there} and {bound} was expected"
    remedy = _likely(typed, measured_ml, held, mark) or "is a pour missing from the book, or is it another item?"
    figures = {"measured_ul": round(measured_ml * 1000), "held_ul": round(held * 1000)}
    if not is_loss:
        return Question("unlikely-amount", said, remedy, figures)
    return Question("unlikely-loss", said, remedy, figures, "" if expected.is_told else SAY_KIND)


def alcohol_question(
    found_ml: float, there_ml: float, percent: float, expected: Expected, mark: str = "."
) -> Question | None:
    """What to ask about pure alcohol that a gauge finds gone, in mL, of a liquid of `percent` by the book.

    Beside what volume may be lost and misread, a strength may be misread by half a per cent by volume.

    >>> alcohol_question(104_000.0, 120_000.0, 60.0, Expected(200_000.0)).said
    'the book has 120.00 LPA, and 104.00 were found: 16.00 LPA are missing'
    """
    misread = expected.reading_ml / expected.held_ml + _STRENGTH_MISREAD / percent
    if found_ml >= there_ml * (1.0 - expected.lost - misread):
        return None
    there, found, gone = (shown(ml / 1000, 2, mark) for ml in (there_ml, found_ml, there_ml - found_ml))
    said = f"the book has {there} LPA, and {found} were found: {gone} LPA are missing"
    figures = {"found_ul": round(found_ml * 1000), "held_ul": round(there_ml * 1000)}
    remedy = "is it another item, or was water added and not recorded?"
    return Question("unlikely-alcohol", said, remedy, figures, "" if expected.is_told else SAY_KIND)


def fill_question(typed: str, filled_ml: float, expected: Expected, mark: str = ".") -> Question | None:
    """What to ask about an amount filled on top of what is held; None where it fits.

    >>> fill_question("400 l", 400_000.0, Expected(0.0, Room(200.0))).said
    "'400 l' is 400.00 l, and the capacity is 200.00 l"
    >>> asked = fill_question("200 l", 200_000.0, Expected(0.0, Room(2.0, usual="vial")))
    >>> asked.said, asked.remedy
    ("'200 l' is 200.00 l, and a vial usually holds up to 2.00 l", "was it '200 ml'?")
    """
    held, room = expected.held_ml, expected.room
    if room is None or not _is_overfull(held + filled_ml, room):
        return None
    beside = _litres(held, mark) if held else ""
    return _overfull(typed, held + filled_ml, beside, room, room.capacity_l * 1000 - held, mark)


def _is_overfull(whole_ml: float, room: Room) -> bool:
    return whole_ml > room.capacity_l * 1000 * _OVERFULL


def _overfull(typed: str, whole_ml: float, beside: str, room: Room, meant_ml: float, mark: str) -> Question:
    said = room.said(typed, beside, _litres(whole_ml, mark), mark)
    figures = {"whole_ul": round(whole_ml * 1000), "capacity_ul": round(room.capacity_l * 1_000_000)}
    if room.usual:
        return Question("unusual-size", said, _in_ml(typed, room, mark) or "check amount and unit.", figures)
    other = "is it the unit (gallons, litres; lb, kg) or the cask?"
    return Question("over-capacity", said, _likely(typed, whole_ml, meant_ml, mark) or other, figures)


def _in_ml(typed: str, room: Room, mark: str) -> str:
    """The same number in ml, where such a thing holds that; else empty."""
    try:
        number, unit = number_and_rest(typed, mark)
    except Malformed:
        return ""
    fits = unit and unit_named(unit).name != "ml" and float(number) <= room.capacity_l * 1000
    return f"was it '{f'{number:f}'.replace('.', mark)} ml'?" if fits else ""


def bare_question(amount: Amount, held_ml: float, mark: str = ".", *, into_a_vat: bool = False) -> Question | None:
    """What to ask about a bare number that is a thimbleful of a vat; None where it has a unit, or is more.

    `held_ml` is the most that either end holds.

    >>> from pourbook.quantities import read_amount
    >>> asked = bare_question(read_amount("1", "ml"), 40_000.0)
    >>> asked.said, asked.remedy
    ("'1' is 1 ml here, of 40.00 l", "write its unit: '1 l', or '1 ml'.")
    >>> bare_question(read_amount("200", "ml"), 0.0, into_a_vat=True).said
    "'200' is 200 ml here, and that is little for a vat or a cask"
    """
    is_bare = amount.typed[-1:].isdigit()
    if not is_bare or amount.dimension != "volume":
        return None
    is_a_drop = held_ml > _VAT_ML and amount.volume_ml * 100 < held_ml
    if not is_a_drop and not (into_a_vat and amount.volume_ml < _LEAST_INTO_A_VAT_ML):
        return None
    said = f"'{amount.typed}' is {amount.typed} {amount.unit} here, and that is little for a vat or a cask"
    if is_a_drop:
        said = f"'{amount.typed}' is {amount.typed} {amount.unit} here, of {_litres(held_ml, mark)}"
    other = "l" if amount.unit != "l" else "hl"
    remedy = f"write its unit: '{amount.typed} {other}', or '{amount.typed} {amount.unit}'."
    return Question("bare-number", said, remedy, {"typed": amount.typed, "unit": amount.unit})


def plan_question(typed: str, poured_ml: float, planned_ml: float, mark: str = ".") -> Question | None:
    """What to ask about an amount of another order than the plan's; None where it is near, or nothing was planned.

    >>> asked = plan_question("25 l", 25_000.0, 25.0)
    >>> asked.said, asked.remedy
    ("'25 l' is 25.00 l, where the plan has 25.0 ml", "was it '25 ml'?")
    """
    if not planned_ml or poured_ml < planned_ml * _BEYOND_PLAN:
        return None
    said = f"'{typed}' is {_litres(poured_ml, mark)}, where the plan has {_litres(planned_ml, mark)}"
    remedy = _likely(typed, poured_ml, planned_ml, mark) or "check amount and unit."
    figures = {"poured_ul": round(poured_ml * 1000), "planned_ul": round(planned_ml * 1000)}
    return Question("beyond-plan", said, remedy, figures)


def size_question(size_ml: float, mark: str = ".") -> Question | None:
    """What to ask about the content of a bottle; None where spirit is sold in that size.

    >>> asked = size_question(70)
    >>> asked.said, asked.remedy
    ('spirit is not sold in bottles of 70 ml', "was it '700 ml'?")
    >>> size_question(700)
    """
    if size_ml in BOTTLE_SIZES_ML:
        return None
    said = f"spirit is not sold in bottles of {f'{size_ml:g}'.replace('.', mark)} ml"
    likely = [f"'{size_ml * factor:g} ml'" for factor in (10, 1000, 0.1, 0.001) if size_ml * factor in BOTTLE_SIZES_ML]
    remedy = f"was it {likely[0]}?" if likely else "check number and unit."
    return Question("unusual-bottle", said, remedy, {"size_ml": f"{size_ml:g}"})


def origin_question(percent: float | None, mark: str = ".") -> Question | None:
    """What to ask about spirit from outside (% vol at 20 °C); None where it is as strong as spirit is.

    >>> asked = origin_question(0.6)
    >>> asked.said, asked.remedy
    ('0.60 % vol from outside, and spirit has 15 % vol or more', 'was it 60 % vol?')
    """
    if percent is None or percent >= _LEAST_SPIRIT:
        return None
    said = f"{shown(percent, 2, mark)} % vol from outside, and spirit has {_LEAST_SPIRIT:g} % vol or more"
    meant = next((percent * factor for factor in (10, 100) if 40 <= percent * factor <= 96), 0.0)
    remedy = f"was it {shown(meant, 1, mark).removesuffix(f'{mark}0')} % vol?" if meant else "read it again."
    return Question("weak-origin", said, remedy, {"read": f"{percent:.2f}"})


def water_question(typed: str, before: float | None, after: float | None, mark: str = ".") -> Question | None:
    """What to ask about water that makes spirit (% vol at 20 °C before and after) weaker than spirit is.

    >>> water_question("300 l", 61.0, 7.1).said
    "'300 l' of water brings 61.0 % vol to 7.1 % vol, and spirit has 15 % vol or more"
    """
    if before is None or after is None or after >= _LEAST_SPIRIT or before < _LEAST_SPIRIT:
        return None
    said = (
        f"'{typed}' of water brings {shown(before, 1, mark)} % vol to {shown(after, 1, mark)} % vol,"
        f" and spirit has {_LEAST_SPIRIT:g} % vol or more"
    )
    figures = {"before": f"{before:.2f}", "after": f"{after:.2f}"}
    return Question("too-much-water", said, "check the amount and its unit.", figures)


def strength_question(read: Strength | None, percent: float, held: float | None, mark: str = ".") -> Question | None:
    """What to ask about a strength that was read; None where it is likely.

    `percent` is what it comes to and `held` what the book has, None where it holds nothing, both % vol at 20 °C;
    `read` is None where the strength follows from a density.
    """
    if held is None or abs(percent - held) <= _STRENGTH_AWAY:
        return None
    now, before = shown(percent, 1, mark), shown(held, 1, mark)
    said = f"{now} % vol, where the book has {before} % vol"
    if read is not None:
        said = f"'{read.typed}' is {now} % vol, where the book has {before} % vol"
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
    limit = min(log(_NEAR), abs(log(measured_ml / meant_ml)) / 2)
    return min([one for one in near if one[1] < limit], default=(False, 0.0, ""))[2]


def _ml(name: str) -> float:
    """Millilitres in a unit; of a mass, those of spirit."""
    unit = UNITS[name]
    return float(unit.factor) if unit.dimension == "volume" else float(unit.factor) / 1000 / _SPIRIT_KG_L


def _litres(ml: float, mark: str) -> str:
    return f"{shown(ml, 1, mark)} ml" if ml < 1000 else f"{shown(ml / 1000, 2, mark)} l"
