"""Plans for a vat: water or spirit that brings a spirit to a strength, and spirits vatted to a total.

>>> from pourbook.alcoholometry.spirit_body import BodyRead, body_of
>>> from pourbook.quantities import read_amount, read_strength
>>> spirit = body_of(BodyRead(volume=read_amount("1000 l"), strength=read_strength("62.4")))
>>> f"{reduction(Reduce(spirit, read_strength('46'))).water.mass_mg / 1e6:.2f} kg of water"
'368.36 kg of water'
"""

from collections.abc import Sequence
from typing import NamedTuple

from pourbook.alcoholometry.apparent import (
    apparent_strength_of,
    composition_of,
    composition_of_liquid,
    density_of,
    liquid_of_mass,
)
from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.mixing import SAME_PERCENT_VOL, mix
from pourbook.alcoholometry.official_figures import OfficialFigures, beside_formula
from pourbook.alcoholometry.official_tables import OfficialTables
from pourbook.alcoholometry.reduction import Step, equal_steps, fitting, reduced
from pourbook.alcoholometry.spirit_body import Body, mass_in_vacuum, target_percent
from pourbook.alcoholometry.us_gauging import POUND_MG
from pourbook.alcoholometry.vatting import Part, part_to_reach, vatted
from pourbook.alcoholometry.volumes import displayed_mg, proof_60f, pure_alcohol_ml, strength_20c, volume_ml
from pourbook.errors import Malformed, OutOfRange
from pourbook.liquid import EMPTY, Liquid
from pourbook.quantities import Amount, Strength

__all__ = [
    "GaugeAhead",
    "PartRead",
    "Reduce",
    "Reduction",
    "UsWater",
    "VattedPart",
    "Vatting",
    "gauge_ahead",
    "reduction",
    "steps_down",
    "vatting",
]


class GaugeAhead(NamedTuple):
    """What a gauge of a liquid will show; strength and proof are true ones, None for nothing.

    Attributes:
        mass_kg: in vacuum.
        volume_l: at the temperature of the plan.
        strength_20c: % vol at 20 °C.
        proof_60f: US proof.
        lpa: litres of pure alcohol.
        extract_g_per_l: dissolved solids at 20 °C; None without any.
        apparent_strength_20c: what a hydrometer shows, % vol at 20 °C; None without extract, or heavier than water.
    """

    mass_kg: float
    volume_l: float
    strength_20c: float | None
    proof_60f: float | None
    lpa: float
    extract_g_per_l: float | None = None
    apparent_strength_20c: float | None = None


def gauge_ahead(liquid: Liquid, temperature_c: float) -> GaugeAhead:
    """What a gauge of a liquid will show at a temperature."""
    found = GaugeAhead(
        liquid.mass_mg / 1e6,
        volume_ml(liquid, temperature_c) / 1000.0,
        strength_20c(liquid),
        proof_60f(liquid),
        pure_alcohol_ml(liquid) / 1000.0,
    )
    if not liquid.extract_mg:
        return found
    made_of = composition_of_liquid(liquid)
    extract = made_of.extract_per_mass * density_of(made_of)
    return found._replace(extract_g_per_l=extract, apparent_strength_20c=apparent_strength_of(made_of))


# -- reduction -------------------------------------------------------------------------


class Reduce(NamedTuple):
    """What is to be brought to a strength, and how.

    Attributes:
        body: the spirit.
        target: true strength to reach.
        with_spirit: strength of a spirit to reach it with; None is water.
        water_c: temperature of the water, °C; None is that of the spirit.
        steps: equal steps of strength; None is one.
        via: strengths at which to rest, instead of equal steps.
        vat_ml: what the vat holds; None is enough.
    """

    body: Body
    target: Strength
    with_spirit: Strength | None = None
    water_c: float | None = None
    steps: int | None = None
    via: tuple[Strength, ...] = ()
    vat_ml: float | None = None


class UsWater(NamedTuple):
    """Water in US figures: volumes for 100 of spirit, all at 60 °F, and pounds as a scale shows them."""

    water_per_100_volumes_60f: float
    water_lb_in_air: float


class Reduction(NamedTuple):
    """A reduction or strengthening as planned.

    Attributes:
        spirit: what lay there at first.
        before: what stays, after drawing off what the vat has no room for.
        steps: additions of water; none where spirit is added.
        added_spirit: nothing where water is added.
        after: the result.
        temperature_c: of the spirit.
        water_c: of the water.
        us_water: None where spirit is added; by the official tables where they have it.
        official: None where no tables were loaded.
    """

    spirit: Liquid
    before: Liquid
    steps: tuple[Step, ...]
    added_spirit: Liquid
    after: Liquid
    temperature_c: float
    water_c: float
    us_water: UsWater | None = None
    official: OfficialFigures | None = None

    @property
    def water(self) -> Liquid:
        """All water to be added."""
        return Liquid(sum(step.water.mass_mg for step in self.steps), 0)

    def water_l(self, water: Liquid) -> float:
        """Its volume at its own temperature."""
        return water.mass_mg / density_kg_m3(0.0, self.water_c) / 1000.0

    def _ml(self, liquid: Liquid) -> float:
        return volume_ml(liquid, self.temperature_c)

    @property
    def added_spirit_l(self) -> float:
        """Volume of the spirit to be added."""
        return self._ml(self.added_spirit) / 1000.0

    @property
    def contraction_l(self) -> float:
        """By how much the volumes shrink as they mix."""
        added = self.added_spirit + self.water
        return (self._ml(self.before) + self._ml(added) - self._ml(self.after)) / 1000.0

    @property
    def draw_off_l(self) -> float:
        """What must be drawn off first."""
        return (self._ml(self.spirit) - self._ml(self.before)) / 1000.0


def reduction(asked: Reduce, tables: OfficialTables | None = None) -> Reduction:
    """Water that brings a spirit down to a strength, or stronger spirit that raises it.

    Raises:
        Malformed: steps in two ways, or for spirit.
        OutOfRange: the target cannot be reached; rests that do not fall; ice.
    """
    body, celsius = asked.body, asked.body.read.temperature_c
    spirit = liquid_of_mass(round(body.mass_mg), body.made_of)
    target = target_percent(asked.target, body.read, strength_20c(spirit) or 100.0)
    water_c = celsius if asked.water_c is None else asked.water_c
    if water_c < 0.0:
        raise OutOfRange(f"water of {water_c:g} °C is ice", "give the temperature of the water")
    official = OfficialFigures(tables.file, {}) if tables else None
    if asked.with_spirit is not None:
        if asked.steps or asked.via or asked.vat_ml is not None:
            raise Malformed("steps and vat apply to water only", "leave out --steps, --via and --vat, or --with-spirit")
        added = part_to_reach(spirit, composition_of(asked.with_spirit), target)
        return Reduction(spirit, spirit, (), added, spirit + added, celsius, water_c, None, official)
    before = spirit if asked.vat_ml is None else fitting(spirit, target, asked.vat_ml, celsius)
    steps = reduced(before, _targets(asked, before, target))
    plan = Reduction(spirit, before, steps, EMPTY, steps[-1].after, celsius, water_c)
    us_water = UsWater(
        100.0 * volume_ml(plan.water, SIXTY_F_C) / volume_ml(before, SIXTY_F_C),
        displayed_mg(plan.water, water_c) / POUND_MG,
    )
    if tables is not None:
        official = _by_tables(plan, us_water, tables)
        us_water = us_water._replace(**official.known)
    return plan._replace(us_water=us_water, official=official)


def _targets(asked: Reduce, before: Liquid, target: float) -> list[float]:
    present = strength_20c(before) or 0.0
    via = [target_percent(rest, asked.body.read, present) for rest in asked.via]
    return steps_down(before, target, asked.steps, via)


def steps_down(before: Liquid, target: float, steps: int | None = None, via: Sequence[float] = ()) -> list[float]:
    """Strengths at which the steps of a reduction end: equal steps, or rests and the target; all % vol at 20 °C.

    Raises:
        Malformed: steps in two ways.
        OutOfRange: it is weaker already, or the rests do not fall.
    """
    present = strength_20c(before) or 0.0
    if steps and via:
        raise Malformed("steps are given twice", "give either --steps or --via")
    if target > present + SAME_PERCENT_VOL:
        raise OutOfRange(
            f"{present:.3f} % vol is already weaker than {target:g} % vol",
            f"was '{target:g} proof' meant? otherwise raise it: --with-spirit STRENGTH"
            if target <= (proof_60f(before) or 0.0)
            else "raise it with stronger spirit: --with-spirit STRENGTH",
        )
    if not via:
        return equal_steps(present, target, steps or 1)
    rests = [*via, target]
    if any(later >= earlier for earlier, later in zip([present, *rests], rests, strict=False)):
        raise OutOfRange(
            f"the strengths of --via do not fall from {present:.2f} to {target:g} % vol",
            "give them from strong to weak",
        )
    return rests


def _by_tables(plan: Reduction, us_water: UsWater, tables: OfficialTables) -> OfficialFigures:
    """Water by tables 4 and 6."""
    before, after = proof_60f(plan.before) or 0.0, proof_60f(plan.after) or 0.0
    pounds = displayed_mg(plan.before, plan.temperature_c) / POUND_MG
    by_tables = {
        "water_per_100_volumes_60f": tables.water_per_100_volumes(before, after),
        "water_lb_in_air": tables.pounds_of_water(pounds, before, after),
    }
    return beside_formula(tables.file, us_water._asdict(), by_tables)


# -- vatting ---------------------------------------------------------------------------


class PartRead(NamedTuple):
    """A spirit to be vatted, as typed: name, true strength, extract_g_per_l, amount; None where that is to be found."""

    name: str
    strength: Strength
    extract_g_per_l: float
    amount: Amount | None


class VattedPart(NamedTuple):
    """A spirit (part, as typed), whether its amount was found or given, and the gauge of that amount."""

    part: str
    found: bool
    gauge: GaugeAhead


class Vatting(NamedTuple):
    """Spirits and what they make: parts, the whole, the contraction on mixing, and the temperature of all of it."""

    parts: tuple[VattedPart, ...]
    whole: GaugeAhead
    contraction_l: float
    temperature_c: float


def vatting(
    parts: Sequence[PartRead], target: Strength | None, total_ml: float | None, temperature_c: float = 20.0
) -> Vatting:
    """How much of each spirit makes a whole of a strength and a total volume; raises as `vatted`."""
    percent = None if target is None else target_percent(target)
    liquids = vatted([_part(part, temperature_c) for part in parts], percent, total_ml, temperature_c)
    gauges = [gauge_ahead(liquid, temperature_c) for liquid in liquids]
    whole = gauge_ahead(mix(liquids), temperature_c)
    made = tuple(VattedPart(part.name, part.amount is None, gauge) for part, gauge in zip(parts, gauges, strict=True))
    apart_l = sum(volume_ml(liquid, temperature_c) for liquid in liquids) / 1000.0
    return Vatting(made, whole, apart_l - whole.volume_l, temperature_c)


def _part(read: PartRead, temperature_c: float) -> Part:
    made_of = composition_of(read.strength, read.extract_g_per_l)
    if read.amount is None:
        return Part(made_of)
    if read.amount.dimension == "volume":
        mass_mg = float(read.amount.volume_ml) * density_of(made_of, temperature_c)
    else:
        mass_mg = mass_in_vacuum(read.amount, made_of, temperature_c)
    return Part(made_of, liquid_of_mass(round(mass_mg), made_of))
