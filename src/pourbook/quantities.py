"""Amounts, strengths and temperatures as people type them, with exact factors.

Reading is lenient about case, spaces and the degree sign, and strict about the number.
What was typed is kept beside what was derived. Writing for people rounds half up.

>>> read_amount("12.5 ml")
Amount(typed='12.5 ml', value=Decimal('12.5'), unit='ml', dimension='volume')
>>> read_amount("53 gal").volume_ml == 53 * 231 * Fraction("16.387064")  # 231 cubic inches
True
>>> read_strength("80 proof")
Strength(typed='80 proof', value=Decimal('80'), scale='proof60f')
>>> f"{read_temperature('60 °F').celsius:.4f}"
'15.5556'
>>> shown(46.05, 1)
'46.1'
"""

import re
from decimal import Decimal
from fractions import Fraction
from typing import Literal, NamedTuple

from pourbook.errors import Ambiguous, Malformed, OutOfRange
from pourbook.liquid import MOST_MG
from pourbook.numerals import EXACT, as_decimal, number_and_rest, shown

__all__ = [
    "UNITS",
    "Amount",
    "Dimension",
    "Scale",
    "Strength",
    "Temperature",
    "Unit",
    "in_bottles",
    "read_amount",
    "read_strength",
    "read_temperature",
    "shown",
    "shown_volume",
    "unit_named",
]

Dimension = Literal["mass", "mass_air", "volume", "count"]
"""Mass in vacuum, a weighing in air as displayed, a volume as it is, or bottles of a lot, which the book knows."""

Scale = Literal["vol20", "vol60f", "proof60f"]
"""% vol at 20 °C, % vol at 60 °F, or US proof (twice the % vol at 60 °F, 27 CFR 30.11)."""


class Unit(NamedTuple):
    """A unit: its written name, its dimension, and the exact factor, milligrams, millilitres or bottles in one."""

    name: str
    dimension: Dimension
    factor: Fraction


_VOLUMES = {  # written form: millilitres, other names
    "ul": ("0.001", "µl", "μl", "microlitre", "microliter"),
    "ml": ("1", "millilitre", "milliliter", "cc", "cm3"),
    "cl": ("10", "centilitre", "centiliter"),
    "dl": ("100", "decilitre", "deciliter"),
    "l": ("1000", "litre", "liter", "ltr"),
    "hl": ("100000", "hectolitre", "hectoliter"),
    "m3": ("1000000", "m³"),
    # 231 cubic inches (27 CFR 30.11) of 25.4 mm each: Weights and Measures Act 1985 (UK), section 1(1)(a), a yard
    "gal": ("3785.411784", "gallon", "us gal", "us gallon", "wine gal", "wine gallon"),
    # NIST Special Publication 811, B.8, exact (read in a copy)
    "imp gal": ("4546.09", "imp gallon", "imperial gal", "imperial gallon", "uk gal", "uk gallon"),
}
_MASSES = {  # written form: milligrams, other names
    "mg": ("1", "milligram", "milligramme"),
    "g": ("1000", "gram", "gramme"),
    "kg": ("1000000", "kilo", "kilogram", "kilogramme"),
    "t": ("1000000000", "tonne"),
    # Weights and Measures Act 1985 (UK), section 1(1)(b), and its sixteenth part, schedule 1, part V (read)
    "lb": ("453592.37", "pound"),
    "oz": ("28349.523125", "ounce"),
}
_IN_AIR = re.compile(r" ?\(?(?:in )?air\)?$")


def _table() -> tuple[dict[str, Unit], dict[str, Unit]]:
    """Units by their written form, and by every name they are read under."""
    written, read = {}, {}
    kinds: tuple[tuple[dict[str, tuple[str, ...]], str, Dimension], ...] = (
        (_VOLUMES, "", "volume"),
        (_MASSES, "", "mass"),
        (_MASSES, " air", "mass_air"),
    )
    for units, suffix, dimension in kinds:
        for name, (factor, *others) in units.items():
            unit = Unit(name + suffix, dimension, Fraction(factor))
            written[unit.name] = unit
            read.update({other + plural + suffix: unit for other in (name, *others) for plural in ("", "s")})
    return written, read | dict.fromkeys(("bottle", "bottles"), Unit("bottle", "count", Fraction(1)))


UNITS, _BY_NAME = _table()
"""Every unit of mass and volume by its written form."""


def unit_named(name: str) -> Unit:
    """The unit read under a name, in any case, singular or plural; else `Malformed`.

    >>> unit_named("Gallons").name, unit_named("kg in air").name
    ('gal', 'kg air')
    """
    plain = " ".join(name.lower().replace(".", "").split())
    unit = _BY_NAME.get(_IN_AIR.sub(" air", plain))
    if unit is None:
        raise Malformed(f"'{name}' is not a unit known here", f"write one of: {', '.join(UNITS)}")
    return unit


# -- amounts ---------------------------------------------------------------------------


class Amount(NamedTuple):
    """An amount of liquid as typed.

    Attributes:
        typed: the text as it was typed.
        value: the number in it.
        unit: written form of its unit, a key of `UNITS`, or "bottle".
        dimension: mass, weighing in air, volume, or count.
    """

    typed: str
    value: Decimal
    unit: str
    dimension: Dimension

    @property
    def mass_mg(self) -> Fraction:
        """Milligrams, for a weighing in air as displayed; a volume or a count is `Malformed`."""
        self._refuse_count()
        if self.dimension == "volume":
            raise Malformed(f"'{self.typed}' is a volume; a mass is needed", "write it in g, kg or lb")
        return Fraction(self.value) * UNITS[self.unit].factor

    @property
    def volume_ml(self) -> Fraction:
        """Millilitres, at whatever temperature the liquid had; a mass or a count is `Malformed`."""
        self._refuse_count()
        if self.dimension != "volume":
            raise Malformed(f"'{self.typed}' is a mass; a volume is needed", "write it in ml, l or gal")
        return Fraction(self.value) * UNITS[self.unit].factor

    def _refuse_count(self) -> None:
        if self.dimension == "count":
            raise Malformed(f"'{self.typed}': bottles are counted as they leave a lot", "here write a volume or a mass")

    def less(self, other: "Amount") -> "Amount":
        """This amount less another of the same dimension, in this one's unit.

        Raises:
            Malformed: one is a mass and the other a volume.
            OutOfRange: nothing remains.
        """
        if self.dimension != other.dimension:
            raise Malformed(
                f"'{other.typed}' cannot be taken from '{self.typed}'", "give both as volumes, or both as masses"
            )
        factor = unit_named(other.unit).factor / unit_named(self.unit).factor
        value = self.value - as_decimal(Fraction(other.value) * factor)
        if value <= 0:
            raise OutOfRange(f"'{self.typed}' less '{other.typed}' leaves nothing", "check both amounts")
        return Amount(f"{self.typed} less {other.typed}", value, self.unit, self.dimension)


def read_amount(
    text: str, default_unit: str | None = None, decimal_mark: str = ".", *, allow_zero: bool = False
) -> Amount:
    """An amount with its unit; `gal` is the US gallon unless the default unit is `imp gal`; bottles are whole.

    Raises:
        Malformed: no number, a number in another form, or no such unit.
        Ambiguous: a number without a unit, and no default.
        OutOfRange: negative, zero (unless allowed), or beyond 2^53 mg (or µl).
    """
    value, rest = number_and_rest(text, decimal_mark)
    typed = text.strip()
    if not rest and default_unit is None:
        raise Ambiguous(f"'{typed}' has no unit", f"write '{typed} ml', '{typed} g' or another unit")
    unit = unit_named(rest or default_unit or "")
    if unit.name == "gal" and "us" not in rest and default_unit and unit_named(default_unit).name == "imp gal":
        unit = UNITS["imp gal"]
    _check_amount(typed, value, unit, allow_zero)
    return Amount(typed, value, unit.name, unit.dimension)


def in_bottles(count: int) -> Amount:
    """So many bottles, as if typed."""
    return read_amount(f"{count} bottle{'' if count == 1 else 's'}")


def _check_amount(typed: str, value: Decimal, unit: Unit, allow_zero: bool) -> None:
    if value < 0:
        raise OutOfRange(f"amount '{typed}' is negative", "an amount poured or held is above zero")
    if value == 0 and not allow_zero:
        raise OutOfRange(f"amount '{typed}' is zero", "an amount poured is above zero")
    if unit.dimension == "count" and value != int(value):
        raise Malformed(f"'{typed}': bottles are whole", "count one that was opened as gone")
    smallest = Fraction(value) * unit.factor * (1000 if unit.dimension == "volume" else 1)
    if smallest >= MOST_MG:
        raise OutOfRange(f"amount '{typed}' is above nine million tonnes", "check the unit")


# -- strengths -------------------------------------------------------------------------


class Strength(NamedTuple):
    """A strength with its reference temperature.

    Attributes:
        typed: the text as it was typed.
        value: the number in it, on its scale.
        scale: % vol at 20 °C, % vol at 60 °F, or US proof.
    """

    typed: str
    value: Decimal
    scale: Scale


_NOISE = re.compile(r"[\s°.@()]|\bat\b|\bdeg\b")
_PERCENT = ("%", "%vol", "vol", "%abv", "abv", "%alc", "%alc/vol", "alc/vol", "%v/v")
_SCALES: dict[str, Scale] = {
    **{word + "20c": "vol20" for word in ("", *_PERCENT)},
    **{word + "60f": "vol60f" for word in ("", *_PERCENT)},
    **dict.fromkeys(("usproof", "proofus", "americanproof"), "proof60f"),
}
_UK_PROOF = ("ukproof", "proofuk", "britishproof", "sikes", "sikesproof", "proofsikes")


def read_strength(
    text: str, default_scale: Scale = "vol20", decimal_mark: str = ".", proof_scale: Literal["us", "uk"] | None = "us"
) -> Strength:
    """A strength: `40`, `40 %`, `40 % vol`, `40 abv`, `40 % vol 60F`, `80 proof`, `80 US proof`.

    A percentage without a reference temperature takes that of the default scale; `proof` alone is of
    `proof_scale`, and asked where that is None.

    Raises:
        Malformed: no number, no such scale, or UK (Sikes) proof, which is not handled.
        Ambiguous: `proof` alone where it is asked.
        OutOfRange: below zero, above 100 % vol, above 200 US proof.

    >>> read_strength("43,2 % vol at 60 °F", decimal_mark=",").scale
    'vol60f'
    """
    value, rest = number_and_rest(text, decimal_mark)
    typed = text.strip()
    scale = _scale(typed, _NOISE.sub("", rest), default_scale, proof_scale)
    _check_strength(typed, value, scale, decimal_mark)
    return Strength(typed, value, scale)


def _scale(typed: str, words: str, default_scale: Scale, proof_scale: str | None) -> Scale:
    if not words:
        return default_scale
    if words in _PERCENT:
        return "vol20" if default_scale == "vol20" else "vol60f"
    if words == "proof":
        if proof_scale is None:
            raise Ambiguous(f"'{typed}' leaves open which proof is meant", "write 'US proof', or give % vol")
        words = f"{proof_scale}proof"
    if words in _UK_PROOF:
        raise Malformed(f"'{typed}': UK (Sikes) proof is not handled", "convert it to % vol by its table")
    if words not in _SCALES:
        raise Malformed(f"'{typed}' is not a strength known here", "write '% vol', '% vol 60F' or 'proof'")
    return _SCALES[words]


def _check_strength(typed: str, value: Decimal, scale: Scale, decimal_mark: str) -> None:
    most = 200 if scale == "proof60f" else 100
    if value < 0:
        raise OutOfRange(f"strength '{typed}' is below zero", "write it without a sign")
    if value <= most:
        return
    if scale == "proof60f":
        raise OutOfRange(f"strength '{typed}' is above 200 proof, pure ethanol", "read it again")
    number = str(value).replace(".", decimal_mark)
    remedy = f"if it is US proof, write '{number} proof'" if value <= 200 else "read it again"
    raise OutOfRange(f"strength '{typed}' is above 100 % vol", remedy)


# -- temperatures ----------------------------------------------------------------------


class Temperature(NamedTuple):
    """A temperature as typed.

    Attributes:
        typed: the text as it was typed.
        value: the number in it.
        unit: `C` or `F`.
    """

    typed: str
    value: Decimal
    unit: Literal["C", "F"]

    @property
    def celsius(self) -> Decimal:
        """Degrees Celsius, to sixty digits."""
        return self.value if self.unit == "C" else _celsius(self.value)


def _celsius(fahrenheit: Decimal) -> Decimal:
    return EXACT.divide(EXACT.multiply(fahrenheit - 32, Decimal(5)), Decimal(9))


_DEGREE = re.compile(r"^(?:°|deg(?:rees)?\b)? ?")
_TEMPERATURE_UNITS: dict[str, Literal["C", "F"]] = {
    **dict.fromkeys(("c", "celsius", "℃"), "C"),
    **dict.fromkeys(("f", "fahrenheit", "℉"), "F"),
}


def read_temperature(text: str, default_unit: Literal["C", "F"] = "C", decimal_mark: str = ".") -> Temperature:
    """A temperature within the domain of the density formula.

    Raises:
        Malformed: no number, or another unit.
        OutOfRange: below -20 or above 40 °C; the message guesses at °F where that fits.
    """
    value, rest = number_and_rest(text, decimal_mark)
    typed = text.strip()
    words = _DEGREE.sub("", rest)
    unit = _TEMPERATURE_UNITS.get(words) if words else default_unit
    if unit is None:
        raise Malformed(f"'{typed}' is not in a unit of temperature", "write '20 C' or '68 F'")
    temperature = Temperature(typed, value, unit)
    if not -20 <= temperature.celsius <= 40:
        likely_f = unit == "C" and -20 <= _celsius(value) <= 40
        raise OutOfRange(
            f"temperature '{typed}' is outside -20 to 40 °C (-4 to 104 °F), the domain of OIML R 22",
            f"{value} looks like °F: write '{value} F'"
            if likely_f
            else "bring the liquid into that range and measure again",
        )
    return temperature


# -- written for people ----------------------------------------------------------------


def shown_volume(volume_ml: float | Fraction, unit: str, digits: int, decimal_mark: str = ".") -> str:
    """Millilitres written in a unit of volume, for people.

    >>> shown_volume(3785.411784, "gal", 3)
    '1.000 gal'
    """
    found = unit_named(unit)
    if found.dimension != "volume":
        raise Malformed(f"'{unit}' is not a unit of volume", "choose another unit")
    value = Fraction(as_decimal(volume_ml)) / found.factor
    return f"{shown(value, digits, decimal_mark)} {found.name}"
