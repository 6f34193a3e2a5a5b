"""The figures of the trade with their uncertainty: strength, mass, volume, pure alcohol, pours, blends, reduction.

An `UncertainLiquid` is a `Liquid` whose masses know their sources, so that pours by one pipette,
or two gauges by one hydrometer, are correlated when they meet again in a blend or a difference.
OIML R 22, which defines the strength, and plain numbers are taken as exact.

A cask of 200 L, dipped to 0.5 %, 63.5 % vol by a hydrometer of class II at 15 °C:

>>> from pourbook.uncertainty.instrument_errors import instrument_errors
>>> from pourbook.uncertainty.wording import read_instrument
>>> thermometer = read_instrument("thermometer 0.5 C", "temperature")
>>> celsius = thermometer.reading(15.0, "cask")
>>> strength = strength_by_hydrometer(read_instrument("hydrometer II", "strength").reading(61.8, "cask"), celsius)
>>> cask = of_volume(instrument_errors("dip rod", limit_part=0.005).reading(200_000.0, "cask"), strength, celsius)
>>> strength.shown(), (pure_alcohol_ml(cask) / 1000).shown()
('63.51 ± 0.25 (k = 2)', '127.59 ± 0.93 (k = 2)')
"""

from collections.abc import Callable, Iterable
from functools import partial
from typing import NamedTuple

from pourbook.alcoholometry.apparent import (
    composition_from_density,
    composition_from_hydrometer,
    density_of,
    strength_of,
)
from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3
from pourbook.alcoholometry.mixing import water_to_reach
from pourbook.alcoholometry.volumes import Composition, buoyancy, composition
from pourbook.errors import OutOfRange
from pourbook.liquid import Liquid
from pourbook.uncertainty.instrument_errors import InstrumentErrors
from pourbook.uncertainty.propagation import Figure, Uncertain, applied

__all__ = [
    "UncertainLiquid",
    "mixed",
    "of_volume",
    "of_weight",
    "poured",
    "pure_alcohol_ml",
    "reduced",
    "strength_20c",
    "strength_at",
    "strength_by_density",
    "strength_by_hydrometer",
    "volume_ml",
    "water",
]

_ROUNDING = 1e-12


class UncertainLiquid(NamedTuple):
    """A body of liquid whose masses carry their uncertainty: its mass in vacuum, the ethanol and the extract in it."""

    mass_mg: Uncertain
    ethanol_mg: Uncertain
    extract_mg: Uncertain

    @property
    def liquid(self) -> Liquid:
        """The best estimate, in whole milligrams."""
        return Liquid(*(round(mass.value) for mass in self))


# -- strength as read ------------------------------------------------------------------


def strength_by_hydrometer(
    reading: Figure, temperature_c: Figure, reference_c: float = 20.0, extract_g_per_l: float = 0.0
) -> Uncertain:
    """True strength at 20 °C, % vol, from a hydrometer's reading (half of a US proof) at its reference temperature.

    The extract is taken as exact.
    """

    def true(percent: float, celsius: float) -> float:
        return strength_of(composition_from_hydrometer(percent, celsius, reference_c, extract_g_per_l))

    return applied(true, reading, temperature_c)


def strength_by_density(density_kg_m3: Figure, temperature_c: Figure = 20.0, extract_g_per_l: float = 0.0) -> Uncertain:
    """True strength at 20 °C, % vol, from a density in vacuum and its temperature."""

    def true(density: float, celsius: float) -> float:
        return strength_of(composition_from_density(density, celsius, extract_g_per_l))

    return applied(true, density_kg_m3, temperature_c)


def strength_at(percent_vol: Figure, from_c: float, to_c: float, extract_g_per_l: float = 0.0) -> Uncertain:
    """A true strength at another reference temperature, % vol; extract per litre at the first.

    >>> from pourbook.alcoholometry.density import SIXTY_F_C
    >>> strength_at(Uncertain(40.0, {"laboratory": 0.05}), 20.0, SIXTY_F_C).shown()
    '39.93 ± 0.10 (k = 2)'
    """
    return applied(lambda percent: strength_of(composition(percent, extract_g_per_l, from_c), to_c), percent_vol)


# -- bodies of liquid ------------------------------------------------------------------


def of_volume(
    volume_ml: Figure, percent_vol: Figure, temperature_c: Figure = 20.0, extract_g_per_l: Figure = 0.0
) -> UncertainLiquid:
    """A liquid from its volume at a temperature, its true strength at 20 °C and its extract."""

    def mass_mg(volume: float, percent: float, celsius: float, extract: float) -> float:
        return volume * density_of(composition(percent, extract), celsius)

    return _measured(mass_mg, volume_ml, percent_vol, temperature_c, extract_g_per_l)


def of_weight(
    weight_mg: Figure,
    percent_vol: Figure,
    temperature_c: Figure = 20.0,
    extract_g_per_l: Figure = 0.0,
    *,
    in_air: bool = True,
) -> UncertainLiquid:
    """A liquid from what a balance shows in air (or its mass), its temperature, true strength and extract."""

    def mass_mg(weight: float, percent: float, celsius: float, extract: float) -> float:
        return weight * float(buoyancy(density_of(composition(percent, extract), celsius))) if in_air else weight

    return _measured(mass_mg, weight_mg, percent_vol, temperature_c, extract_g_per_l)


def _measured(mass_mg: Callable[..., float], *read: Figure) -> UncertainLiquid:
    """Total, ethanol and extract from amount, strength, temperature and extract as read."""

    def part(of_mass: Callable[[Composition], float], *values: float) -> float:
        return mass_mg(*values) * of_mass(composition(values[1], values[3]))

    of_each: tuple[Callable[[Composition], float], ...] = (
        lambda _: 1.0,
        lambda made_of: made_of.mass_fraction * (1.0 - made_of.extract_per_mass),
        lambda made_of: made_of.extract_per_mass,
    )
    return UncertainLiquid(*(applied(partial(part, of_mass), *read) for of_mass in of_each))


def water(mass_mg: Figure) -> UncertainLiquid:
    """Pure water of a mass."""
    nothing = Uncertain(0.0)
    return UncertainLiquid(nothing + mass_mg, nothing, nothing)


def poured(volume_at_ml: Figure, source: UncertainLiquid, temperature_c: Figure = 20.0) -> UncertainLiquid:
    """A volume poured out of a liquid, with the uncertainty of its source's composition."""

    def part(index: int, volume: float, celsius: float, *masses: float) -> float:
        return volume * density_of(_made_of(*masses), celsius) * masses[index] / masses[0]

    return UncertainLiquid(*(applied(partial(part, index), volume_at_ml, temperature_c, *source) for index in range(3)))


def mixed(parts: Iterable[UncertainLiquid]) -> UncertainLiquid:
    """All parts together; what the parts share stays shared."""
    whole = UncertainLiquid(Uncertain(0.0), Uncertain(0.0), Uncertain(0.0))
    for part in parts:
        whole = UncertainLiquid(*(mass + more for mass, more in zip(whole, part, strict=True)))
    return whole


def reduced(
    spirit: UncertainLiquid, percent_vol: float, balance: InstrumentErrors, label: str = "water"
) -> tuple[Uncertain, UncertainLiquid]:
    """The water in mg, which a balance (in mg) weighs out, and the spirit reduced with it to a strength at 20 °C.

    `label` is of this weighing, as for `InstrumentErrors.reading`.
    """
    added = balance.reading(float(water_to_reach(spirit.liquid, percent_vol).mass_mg), label)
    return added, mixed((spirit, water(added)))


# -- what a liquid is ------------------------------------------------------------------


def strength_20c(of: UncertainLiquid) -> Uncertain:
    """True strength of the whole, % vol at 20 °C."""
    return applied(lambda *masses: strength_of(_made_of(*masses)), *of)


def volume_ml(of: UncertainLiquid, temperature_c: Figure = 20.0) -> Uncertain:
    """Volume at a temperature, mL."""
    return applied(lambda celsius, *masses: masses[0] / density_of(_made_of(*masses), celsius), temperature_c, *of)


def pure_alcohol_ml(of: UncertainLiquid) -> Uncertain:
    """Pure alcohol as a volume at 20 °C, mL; a thousandth of it is LPA."""
    return of.ethanol_mg / ETHANOL_20C_KG_M3


def _made_of(mass_mg: float, ethanol_mg: float, extract_mg: float) -> Composition:
    if not (mass_mg > 0.0 and mass_mg >= extract_mg >= 0.0):
        raise OutOfRange("no spirit is left", "give an amount above zero")
    spirit_mg = mass_mg - extract_mg
    fraction = ethanol_mg / spirit_mg if spirit_mg else 0.0
    # for pure ethanol the quotient is one to the last bits only; more is refused below
    return Composition(1.0 if 1.0 < fraction < 1.0 + _ROUNDING else fraction, extract_mg / mass_mg)
