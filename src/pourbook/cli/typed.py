"""What a person types at a calculator: amounts, strengths and temperatures, with the usual slips asked back.

Any two of mass, volume and strength say what a body of liquid is; all three are held against each
other. A mass in pounds or ounces is taken as a scale shows it in air, as the US tables take it
(27 CFR 30.41); kilograms and grams are mass in vacuum, as everywhere in a book. `kg air`, --in-air
and --in-vacuum say otherwise.

>>> body = body_of(Typed(volume="53 gal", proof="124", temperature="76 F"))
>>> f"{body.mass_mg / 1e6:.1f} kg"
'180.7 kg'
"""

from collections.abc import Callable, Iterable
from functools import wraps
from typing import Any, NamedTuple, TypeVar, cast

import click

from pourbook.alcoholometry.apparent import (
    composition_from_density,
    composition_of,
    density_of,
    strength_of,
)
from pourbook.alcoholometry.density import density_kg_m3
from pourbook.alcoholometry.volumes import Composition, buoyancy
from pourbook.cli.figures import read_amount, read_extract, read_strength, read_temperature
from pourbook.errors import Ambiguous, Malformed, OutOfRange
from pourbook.quantities import UNITS, Amount, Strength

__all__ = [
    "CAUTION",
    "US_BASIS",
    "Body",
    "Typed",
    "amount_options",
    "body_of",
    "celsius",
    "density_question",
    "json_option",
    "mass_in_vacuum",
    "show_lines",
    "target_percent",
    "typed_strength",
    "volume_typed",
]

CAUTION = (
    "caution: working figures by OIML R 22; the legal gauge, label and duty return follow the local authority;"
    " vapour of strong spirit ignites at room temperature"
)
US_BASIS = "computed; a return uses the official tables"

_AGREE = 0.005  # mass, volume and strength of one gauge agree better than this; a slip is much coarser
_SHOWN_IN_AIR = ("lb", "oz")
_OTHER_UNIT = {"l": "gal", "gal": "l", "kg": "lb", "lb": "kg", "kg air": "lb air", "lb air": "kg air"}
_Verb = TypeVar("_Verb", bound=Callable[..., Any])

json_option = click.option("--json", is_flag=True, help="One JSON document.")
"""The option of every verb that answers programs."""


class Typed(NamedTuple):
    """The options by which a body of liquid is said, as text.

    Attributes:
        mass: with its unit; gross where a tare is given.
        tare: of cask or vessel.
        volume: at the temperature, with its unit.
        strength: with a scale, or % vol at 20 °C.
        proof: US proof.
        extract: dissolved solids, such as "20 g/l".
        temperature: °C, or with a unit.
        in_air: whether the mass is a weighing in air; None leaves it to the unit.
    """

    mass: str | None = None
    tare: str | None = None
    volume: str | None = None
    strength: str | None = None
    proof: str | None = None
    extract: str | None = None
    temperature: str | None = None
    in_air: bool | None = None


class Body(NamedTuple):
    """A body of liquid as typed.

    Attributes:
        mass_mg: in vacuum; not whole.
        made_of: its composition.
        temperature_c: of the liquid, °C.
        in_air: whether its mass was read in air; None where no mass was typed.
        strength: as typed; None where it followed from mass and volume.
        extract_g_per_l: dissolved solids, as typed.
    """

    mass_mg: float
    made_of: Composition
    temperature_c: float
    in_air: bool | None
    strength: Strength | None
    extract_g_per_l: float


def amount_options(verb: _Verb) -> _Verb:
    """The options of `Typed` for a verb, which gets them as `typed`."""

    @wraps(verb)
    def wrapped(**arguments: Any) -> Any:  # noqa: ANN401 (whatever the verb takes)
        typed = Typed(**{name: arguments.pop(name) for name in Typed._fields})
        return verb(typed=typed, **arguments)

    decorated = cast("_Verb", wrapped)
    for option in reversed(
        (
            click.option("--mass", metavar="MASS", help="With its unit: '81000 lb', '500 kg', '500 kg air'."),
            click.option("--tare", metavar="MASS", help="Of cask or vessel; --mass is then gross."),
            click.option("--volume", metavar="VOLUME", help="At the temperature: '1000 l', '53 gal'."),
            click.option("--strength", metavar="STRENGTH", help="% vol at 20 °C, or with a scale: '124 proof'."),
            click.option("--proof", metavar="NUMBER", help="US proof, in place of --strength."),
            click.option("--extract", metavar="EXTRACT", help="Dissolved solids: '20 g/l', '500 mg/100 ml'."),
            click.option("--temperature", metavar="TEMPERATURE", help="°C, or with a unit: '76 F'; 20 °C by default."),
            click.option(
                "--in-air/--in-vacuum",
                "in_air",
                default=None,
                help="How the mass was read; lb and oz in air, kg and g in vacuum by default.",
            ),
        )
    ):
        decorated = option(decorated)
    return decorated


# -- single quantities -----------------------------------------------------------------


def celsius(text: str | None) -> float:
    """A temperature in °C; 20 when nothing was typed."""
    return 20.0 if text is None else float(read_temperature(text, "C").celsius)


def typed_strength(strength: str | None, proof: str | None) -> Strength | None:
    """The strength of --strength or --proof; None where neither was typed.

    Raises:
        Malformed: both, or a % vol as proof.
    """
    if strength is not None and proof is not None:
        raise Malformed("strength and proof are both given", "give one of --strength and --proof")
    if proof is None:
        return None if strength is None else read_strength(strength)
    found = read_strength(proof, "proof60f")
    if found.scale != "proof60f":
        raise Malformed(f"'{found.typed}' is not a proof", f"give it as --strength '{found.typed}'")
    return found


def target_percent(text: str, beside: Strength | None, extract_g_per_l: float = 0.0, present: float = 100.0) -> float:
    """A strength to be reached, in % vol at 20 °C of the whole.

    Args:
        text: as typed.
        beside: the strength of the liquid; where it is a proof, a bare number is asked back.
        extract_g_per_l: in the liquid as it is; the litre thins it with the strength.
        present: strength of the liquid as it is, % vol at 20 °C.

    Raises:
        Ambiguous: a bare number beside a proof.
    """
    if beside is not None and beside.scale == "proof60f" and not _has_scale(text):
        raise Ambiguous(
            f"is the target '{text}' a proof, as '{beside.typed}' is?", f"write '{text} proof' or '{text} % vol'"
        )
    target = read_strength(text)
    plain = strength_of(composition_of(target))
    return strength_of(composition_of(target, extract_g_per_l * plain / present)) if extract_g_per_l else plain


def _has_scale(text: str) -> bool:
    return any(character.isalpha() or character == "%" for character in text)


def volume_typed(text: str) -> float:
    """A volume in mL.

    Raises:
        Malformed: it is a mass.
        Ambiguous: it has no unit.
    """
    return float(read_amount(text).volume_ml)


def _mass_typed(text: str) -> Amount:
    amount = read_amount(text)
    _ = amount.mass_mg  # refuses a volume
    return amount


def _net(mass: str, tare: str | None) -> Amount:
    gross = _mass_typed(mass)
    if tare is None:
        return gross
    empty = _mass_typed(tare)
    if gross.mass_mg <= empty.mass_mg:
        raise OutOfRange(
            f"gross '{gross.typed}' is not above tare '{empty.typed}': the net weight would be below zero",
            "were the two swapped, or is one of them in another unit?",
        )
    return gross.less(empty)


def _is_in_air(amount: Amount, in_air: bool | None = None) -> bool:
    if amount.dimension == "mass_air":
        if in_air is False:
            raise Malformed(f"'{amount.typed}' says in air, --in-vacuum says not", "leave one of them out")
        return True
    return amount.unit in _SHOWN_IN_AIR if in_air is None else in_air


def mass_in_vacuum(amount: Amount, made_of: Composition, temperature_c: float, in_air: bool | None = None) -> float:
    """A mass as typed in milligrams in vacuum: corrected for the air where it was read in air.

    Raises:
        Malformed: it is a volume; `kg air` where --in-vacuum was said.
    """
    shown = float(amount.mass_mg)
    return shown * float(buoyancy(density_of(made_of, temperature_c))) if _is_in_air(amount, in_air) else shown


# -- a body of liquid ------------------------------------------------------------------


def body_of(typed: Typed) -> Body:
    """What was typed as a body of liquid.

    Raises:
        Malformed: fewer than two of mass, volume and strength.
        OutOfRange: what cannot be, with a question that names the likely slip.
    """
    strength = typed_strength(typed.strength, typed.proof)
    temperature_c = celsius(typed.temperature)
    extract = 0.0 if typed.extract is None else read_extract(typed.extract)
    if (typed.mass is None) + (typed.volume is None) + (strength is None) > 1:
        raise Malformed("two of mass, volume and strength are needed", "give --volume and --strength, for example")
    if typed.tare is not None and typed.mass is None:
        raise Malformed("a tare is given without a mass", "give the gross mass with --mass")
    net = None if typed.mass is None else _net(typed.mass, typed.tare)
    in_air = None if net is None else _is_in_air(net, typed.in_air)
    volume = None if typed.volume is None else read_amount(typed.volume)
    density = None
    if net is not None and volume is not None:
        density = _density(net, volume, in_air=bool(in_air))
        _check_density(density, temperature_c, extract, net, volume)
    if strength is not None:
        made_of = composition_of(strength, extract)
        if density is not None and net is not None and volume is not None:
            _check_agreement(density, made_of, temperature_c, net, volume)
    else:
        assert density is not None
        made_of = composition_from_density(density, temperature_c, extract)
    if net is not None:
        mass_mg = mass_in_vacuum(net, made_of, temperature_c, typed.in_air)
    else:
        assert volume is not None
        mass_mg = float(volume.volume_ml) * density_of(made_of, temperature_c)
    return Body(mass_mg, made_of, temperature_c, in_air, strength, extract)


def _density(net: Amount, volume: Amount, *, in_air: bool) -> float:
    """Density from mass and volume, kg/m3; a weighing in air is corrected in turns."""
    shown = float(net.mass_mg / volume.volume_ml)
    density = shown
    for _ in range(5 if in_air and shown > 100.0 else 0):
        density = shown * float(buoyancy(density))
    return density


def _check_density(density: float, temperature_c: float, extract_g_per_l: float, net: Amount, volume: Amount) -> None:
    if _can_be(density, temperature_c, extract_g_per_l):
        return
    lightest, heaviest = density_kg_m3(1.0, temperature_c), density_kg_m3(0.0, temperature_c)
    raise OutOfRange(
        f"'{net.typed}' in '{volume.typed}' would be {density:.1f} kg/m3; spirit at {temperature_c:g} °C has"
        f" {lightest:.1f} to {heaviest:.1f}",
        _unit_question(density, net, volume, lambda found: _can_be(found, temperature_c, extract_g_per_l))
        or ("was it weighed with the cask? give --tare" if density > heaviest else "check both readings"),
    )


def _can_be(density: float, temperature_c: float, extract_g_per_l: float) -> bool:
    room = 0.4 * extract_g_per_l + 0.01  # a gram of extract in a litre adds 0.38 to 0.51 kg/m3
    return density_kg_m3(1.0, temperature_c) - 0.01 <= density <= density_kg_m3(0.0, temperature_c) + room


def _check_agreement(density: float, made_of: Composition, temperature_c: float, net: Amount, volume: Amount) -> None:
    expected = density_of(made_of, temperature_c)
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


def density_question(density: float, temperature_c: float) -> None:
    """Ask back a density in g/mL, or in lb per gallon, that was meant in kg/m3.

    Raises:
        OutOfRange: it is one in another unit.
    """
    for unit, factor in (("g/ml", 1000.0), ("lb per US gallon", 119.826427)):
        if _can_be(density * factor, temperature_c, 0.0):
            raise OutOfRange(
                f"density {density:g} kg/m3 is that of no liquid",
                f"was it in {unit}? write {density * factor:.2f}, which is the same in kg/m3",
            )


def show_lines(lines: Iterable[tuple[str, str]]) -> None:
    """Labels and values, aligned."""
    pairs = list(lines)
    width = max(len(label) for label, _ in pairs)
    for label, value in pairs:
        click.echo(f"{label.ljust(width)}  {value}")
