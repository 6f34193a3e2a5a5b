"""What was read of an item, however it was read, as one gauge: readings in, figures out.

A strength comes true (laboratory, distillation), from a hydrometer (apparent, at the sample's
temperature) or from a density meter; an amount as volume or mass, as a weighing in air less a
tare, or from a dip. Vat and sample have temperatures of their own.

>>> from pourbook.quantities import read_strength
>>> read = Readings(hydrometer=read_strength("61.2"), sample_c=14.0)
>>> made_of = strength_read(read, extract_g_per_l=0.0)
>>> from pourbook.alcoholometry.apparent import strength_of
>>> f"{strength_of(made_of):.2f} % vol"
'63.25 % vol'
"""

from typing import Literal, NamedTuple

from pourbook.alcoholometry.apparent import (
    REFERENCE_C,
    composition_from_density,
    composition_from_hydrometer,
    composition_of,
    percent_of,
)
from pourbook.alcoholometry.volumes import Composition
from pourbook.errors import Malformed, OutOfRange
from pourbook.quantities import Amount, Strength

__all__ = ["Readings", "net_weight", "strength_read"]


class Readings(NamedTuple):
    """How a strength of a sample was read: true (laboratory), by a hydrometer, or as a density in vacuum, kg/m3."""

    true: Strength | None = None
    hydrometer: Strength | None = None
    density_kg_m3: float | None = None
    sample_c: float = 20.0

    @property
    def measures(self) -> Literal["density", "strength"]:
        """What was read."""
        return "strength" if self.density_kg_m3 is None else "density"

    @property
    def shown(self) -> float | None:
        """What the instrument showed, kg/m³ or % vol on its scale; None where no strength was read."""
        typed = self.hydrometer or self.true
        return self.density_kg_m3 if typed is None or self.density_kg_m3 is not None else percent_of(typed)


def strength_read(read: Readings, extract_g_per_l: float) -> Composition | None:
    """What the liquid is made of by the strength that was read; None when none was.

    Raises:
        Malformed: a strength was read in two ways at once.
        OutOfRange: outside the formula; a density of no spirit.
    """
    ways = sum(reading is not None for reading in read[:3])
    if ways > 1:
        raise Malformed("the strength was given in two ways", "record the second as a gauge of its own")
    if read.true is not None:
        return composition_of(read.true, extract_g_per_l)
    if read.hydrometer is not None:
        shown = read.hydrometer
        return composition_from_hydrometer(percent_of(shown), read.sample_c, REFERENCE_C[shown.scale], extract_g_per_l)
    density = read.density_kg_m3
    if density is None:
        return None
    if density < 2.0:
        raise OutOfRange(
            f"no liquid has a density of {density:g} kg/m³; it looks like g/cm³ or a specific gravity",
            f"write {density * 1000:g}, or '{density:g} sg'",
        )
    return composition_from_density(density, read.sample_c, extract_g_per_l)


def net_weight(gross: Amount, tare: Amount) -> Amount:
    """A weighing in air less the tare of the vessel.

    Raises:
        Malformed: one of them is a volume.
        OutOfRange: the tare is more than the gross weight.
    """
    for weight in (gross, tare):
        if weight.dimension == "volume":
            raise Malformed(f"'{weight.typed}' is a volume; a weight is needed", "write it in kg or lb")
    if tare.value and gross.mass_mg <= tare.mass_mg:
        raise OutOfRange(
            f"gross '{gross.typed}' is not above tare '{tare.typed}'",
            "were gross and tare swapped, or is it the tare of another cask?",
        )
    return gross.less(tare)._replace(dimension="mass_air", unit=f"{gross.unit.removesuffix(' air')} air")
