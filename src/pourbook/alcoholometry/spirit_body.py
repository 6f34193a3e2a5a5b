"""A body of spirit from any two of mass, volume and strength; usual slips are queried.

All three must agree. Pounds and ounces are taken as a scale shows them in air, as in the US tables
(27 CFR 30.41); kilograms and grams are mass in vacuum, as everywhere in a book.

>>> from pourbook.quantities import read_amount, read_strength
>>> cask = BodyRead(volume=read_amount("53 gal"), strength=read_strength("124 proof"), temperature_c=(76 - 32) / 1.8)
>>> f"{body_of(cask).mass_mg / 1e6:.1f} kg"
'180.7 kg'
"""

from collections.abc import Callable
from typing import NamedTuple

from pourbook.alcoholometry.apparent import composition_from_density, composition_of, density_of, strength_of
from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.volumes import Composition, buoyancy
from pourbook.errors import Ambiguous, Malformed, OutOfRange
from pourbook.quantities import UNITS, Amount, Strength

__all__ = ["Body", "BodyRead", "body_of", "check_density_unit", "mass_in_vacuum", "target_percent"]

_AGREE = 0.005  # mass, volume and strength of one gauge agree better than this; a slip is much coarser
_SHOWN_IN_AIR = ("lb", "oz")
_OTHER_UNIT = {"l": "gal", "gal": "l", "kg": "lb", "lb": "kg", "kg air": "lb air", "lb air": "kg air"}


class BodyRead(NamedTuple):
    """What was read of a body of liquid.

    Attributes:
        mass: gross where a tare is given.
        tare: of cask or vessel.
        volume: at the temperature.
        strength: true.
        extract_g_per_l: dissolved solids.
        temperature_c: of the liquid, °C.
        in_air: whether the mass is a weighing in air; None leaves it to the unit.
    """

    mass: Amount | None = None
    tare: Amount | None = None
    volume: Amount | None = None
    strength: Strength | None = None
    extract_g_per_l: float = 0.0
    temperature_c: float = 20.0
    in_air: bool | None = None


class Body(NamedTuple):
    """A body of liquid.

    Attributes:
        mass_mg: in vacuum; not whole.
        made_of: its composition.
        in_air: whether its mass was read in air; None where no mass was read.
        read: what it follows from.
    """

    mass_mg: float
    made_of: Composition
    in_air: bool | None
    read: BodyRead


def body_of(read: BodyRead) -> Body:
    """The body of liquid that readings describe; a contradiction is refused with the likely slip.

    Raises:
        Malformed: fewer than two of mass, volume and strength.
        OutOfRange: no liquid has these readings.
    """
    if (read.mass is None) + (read.volume is None) + (read.strength is None) > 1:
        raise Malformed("two of mass, volume and strength are needed", "give --volume and --strength, for example")
    net = _net(read)
    in_air = None if net is None else _is_in_air(net, read.in_air)
    density = None
    if net is not None and read.volume is not None:
        density = _density(net, read.volume, in_air=bool(in_air))
        _check_density(density, net, read.volume, read)
    if read.strength is None:
        assert density is not None
        made_of = composition_from_density(density, read.temperature_c, read.extract_g_per_l)
    else:
        made_of = composition_of(read.strength, read.extract_g_per_l)
        if density is not None and net is not None and read.volume is not None:
            _check_agreement(density, density_of(made_of, read.temperature_c), net, read.volume)
    if net is not None:
        return Body(mass_in_vacuum(net, made_of, read.temperature_c, read.in_air), made_of, in_air, read)
    assert read.volume is not None
    return Body(float(read.volume.volume_ml) * density_of(made_of, read.temperature_c), made_of, None, read)


def mass_in_vacuum(amount: Amount, made_of: Composition, temperature_c: float, in_air: bool | None = None) -> float:
    """A mass as read in milligrams in vacuum, corrected if it was read in air."""
    shown = float(amount.mass_mg)
    return shown * float(buoyancy(density_of(made_of, temperature_c))) if _is_in_air(amount, in_air) else shown


def target_percent(target: Strength, read: BodyRead | None = None, present: float = 100.0) -> float:
    """A strength to be reached, in % vol at 20 °C of the whole.

    `read` describes the liquid as it is, `present` its strength in % vol; each litre loses extract as it is reduced.

    Raises:
        Ambiguous: a bare number beside a strength in proof.
    """
    beside, has_scale = read and read.strength, any(sign.isalpha() or sign == "%" for sign in target.typed)
    if beside and beside.scale == "proof60f" and not has_scale:
        raise Ambiguous(
            f"is the target '{target.typed}' a proof, as '{beside.typed}' is?",
            f"write '{target.typed} proof' or '{target.typed} % vol'",
        )
    plain = strength_of(composition_of(target))
    extract = read.extract_g_per_l if read else 0.0
    return strength_of(composition_of(target, extract * plain / present)) if extract else plain


def check_density_unit(density: float, temperature_c: float) -> None:
    """Query a density typed in g/mL or lb per gallon, not kg/m³."""
    for unit, factor in (("g/ml", 1000.0), ("lb per US gallon", 119.826427)):
        if _can_be(density * factor, temperature_c):
            raise OutOfRange(
                f"no liquid has a density of {density:g} kg/m3",
                f"was it in {unit}? write {density * factor:.2f}, which is the same in kg/m3",
            )


# -- mass against volume ----------------------------------------------------------------


def _net(read: BodyRead) -> Amount | None:
    gross, tare = read.mass, read.tare
    if gross is None and tare is not None:
        raise Malformed("a tare needs a gross mass", "give it with --mass")
    if gross is None or tare is None:
        return gross
    if gross.mass_mg <= tare.mass_mg:
        raise OutOfRange(
            f"gross '{gross.typed}' is not above tare '{tare.typed}'",
            "were the two swapped, or is one of them in another unit?",
        )
    return gross.less(tare)


def _is_in_air(amount: Amount, in_air: bool | None) -> bool:
    if amount.dimension == "mass_air":
        if in_air is False:
            raise Malformed(f"'{amount.typed}' says in air, --in-vacuum says not", "leave one of them out")
        return True
    return amount.unit in _SHOWN_IN_AIR if in_air is None else in_air


def _density(net: Amount, volume: Amount, *, in_air: bool) -> float:
    """Density from mass and volume, kg/m3; a weighing in air is corrected in turns."""
    shown = float(net.mass_mg / volume.volume_ml)
    density = shown
    for _ in range(5 if in_air and shown > 100.0 else 0):
        density = shown * float(buoyancy(density))
    return density


def _check_density(density: float, net: Amount, volume: Amount, read: BodyRead) -> None:
    def can_be(found: float) -> bool:
        return _can_be(found, read.temperature_c, read.extract_g_per_l)

    if can_be(density):
        return
    lightest, heaviest = (density_kg_m3(fraction, read.temperature_c) for fraction in (1.0, 0.0))
    raise OutOfRange(
        f"'{net.typed}' in '{volume.typed}' would be {density:.1f} kg/m3; spirit at {read.temperature_c:g} °C has"
        f" {lightest:.1f} to {heaviest:.1f}",
        _unit_question(density, net, volume, can_be)
        or ("was it weighed with the cask? give --tare" if density > heaviest else "check both readings"),
    )


def _can_be(density: float, temperature_c: float, extract_g_per_l: float = 0.0) -> bool:
    room = 0.4 * extract_g_per_l + 0.01  # a gram of extract in a litre adds 0.38 to 0.51 kg/m3
    return density_kg_m3(1.0, temperature_c) - 0.01 <= density <= density_kg_m3(0.0, temperature_c) + room


def _check_agreement(density: float, expected: float, net: Amount, volume: Amount) -> None:
    if abs(density / expected - 1.0) <= _AGREE:
        return
    raise OutOfRange(
        f"'{net.typed}' in '{volume.typed}' is {density:.1f} kg/m3, but spirit of that strength has {expected:.1f}",
        _unit_question(density, net, volume, lambda found: abs(found / expected - 1.0) <= 0.02)
        or "check all three, or leave out the one you trust least",
    )


def _unit_question(density: float, net: Amount, volume: Amount, fits: Callable[[float], bool]) -> str:
    """Which unit, taken for another, would explain a density; empty where none does."""
    for amount in (volume, net):
        other = _OTHER_UNIT.get(amount.unit)
        if other is None:
            continue
        factor = float(UNITS[other].factor / UNITS[amount.unit].factor)
        if fits(density / factor if amount is volume else density * factor):
            number = f"{amount.value:f}"
            return f"was it in {other}? write '{number} {other}' for '{amount.typed}'"
    return ""
