"""Calculators of the vat: water or spirit that brings a spirit to a strength, and vatting to a total."""

from typing import TYPE_CHECKING, Any, NamedTuple

import click

from pourbook.alcoholometry.apparent import (
    apparent_strength_of,
    composition_of,
    composition_of_liquid,
    density_of,
    liquid_of_mass,
)
from pourbook.alcoholometry.density import SIXTY_F_C, density_kg_m3
from pourbook.alcoholometry.volumes import proof_60f, pure_alcohol_ml, strength_20c, volume_ml
from pourbook.cli.figures import read_amount, read_extract, read_strength, shown
from pourbook.cli.output import show_json, show_table
from pourbook.cli.typed import (
    CAUTION,
    Body,
    Typed,
    amount_options,
    body_of,
    celsius,
    json_option,
    mass_in_vacuum,
    show_lines,
    target_percent,
    volume_typed,
)
from pourbook.cli.us_figures import Compared, basis, load_tables, official_lines, tables_option, taken
from pourbook.errors import Malformed, OutOfRange
from pourbook.liquid import EMPTY, Liquid

if TYPE_CHECKING:
    from pourbook.alcoholometry.official_tables import OfficialTables
    from pourbook.alcoholometry.reduction import Step
    from pourbook.alcoholometry.vatting import Part

__all__ = ["reduce_verb", "vatting_verb"]


class _Plan(NamedTuple):
    """A reduction or strengthening as planned."""

    body: Body
    there: Liquid
    steps: "tuple[Step, ...]"
    spirit: Liquid
    after: Liquid
    water_c: float


# -- reduce ----------------------------------------------------------------------------


@click.command("reduce")
@amount_options
@click.option("--to", "to", required=True, metavar="STRENGTH", help="True strength to reach: 46, '92 proof'.")
@click.option("--with-spirit", metavar="STRENGTH", help="Reach it with a spirit of this strength, not with water.")
@click.option("--water-temperature", metavar="TEMPERATURE", help="Of the water; that of the spirit by default.")
@click.option("--steps", type=click.IntRange(1, 100), metavar="NUMBER", help="Equal steps of strength.")
@click.option("--via", multiple=True, metavar="STRENGTH", help="A strength at which to rest; repeat it.")
@click.option("--rest-days", type=click.IntRange(0), default=0, metavar="DAYS", help="Between steps, for the plan.")
@click.option("--vat", metavar="VOLUME", help="What the vat holds: how much must be drawn off first.")
@tables_option
@json_option
def reduce_verb(
    typed: Typed, to: str, with_spirit: str | None, water_temperature: str | None, steps: int | None,
    via: tuple[str, ...], rest_days: int, vat: str | None, tables: str | None, json: bool,
) -> None:  # fmt: skip
    """Water that brings a spirit down to a strength, or stronger spirit that lifts it.

    Give two of mass, volume and strength, as for convert. The target is the true strength: extract
    (--extract) is carried along and does not shift it. Volumes are at the temperature of the
    spirit, the water's at its own; a mass of water holds at any.

    \b
    Example:
      pourbook reduce --volume "1000 l" --strength 62.4 --to 46
      pourbook reduce --volume "1000 l" --strength 62.4 --to 46 --steps 3 --rest-days 7 --vat "1200 l"
      pourbook reduce --mass "500 kg" --strength 63 --to 43 --via 57 --via 50 --extract "2 g/l"
      pourbook reduce --volume "53 gal" --proof 124 --to "92 proof" --temperature "64 F" --json
      pourbook reduce --volume "200 l" --strength 40 --to 43 --with-spirit 96
    """
    official_tables = load_tables(tables)
    body = body_of(typed)
    spirit = liquid_of_mass(round(body.mass_mg), body.made_of)
    target = target_percent(to, body.strength, body.extract_g_per_l, strength_20c(spirit) or 100.0)
    water_c = body.temperature_c if water_temperature is None else celsius(water_temperature)
    if water_c < 0.0:
        raise OutOfRange(f"water of {water_c:g} °C is ice", "give the temperature of the water")
    there = spirit if vat is None else _room(spirit, target, vat, body.temperature_c)
    if with_spirit is not None:
        if steps or via or vat:
            raise Malformed("steps and vat go with water only", "leave out --steps, --via and --vat, or --with-spirit")
        plan = _strengthened(body, there, with_spirit, target, water_c)
    else:
        plan = _reduced(body, there, target, steps, via, water_c)
    document = _plan_document(plan, spirit, rest_days, with_spirit=with_spirit is not None)
    official = _official(official_tables, plan, document)
    document["us_basis"] = basis(official_tables, official)
    if json:
        show_json(document | ({"official": official} if official_tables else {}))
        return
    _show_plan(document, official, stepwise=len(plan.steps) > 1)


def _room(spirit: Liquid, target: float, vat: str, temperature_c: float) -> Liquid:
    from pourbook.alcoholometry.reduction import fitting  # only here: start-up stays light

    return fitting(spirit, target, volume_typed(vat), temperature_c)


def _reduced(
    body: Body, there: Liquid, target: float, steps: int | None, via: tuple[str, ...], water_c: float
) -> _Plan:
    from pourbook.alcoholometry.reduction import equal_steps, reduced

    present = strength_20c(there) or 0.0
    if steps and via:
        raise Malformed("steps are given twice", "give one of --steps and --via")
    if target > present + 0.0005:
        raise OutOfRange(
            f"{present:.3f} % vol is already weaker than {target:g} % vol",
            f"was '{target:g} proof' meant? otherwise lift it: --with-spirit STRENGTH"
            if target <= (proof_60f(there) or 0.0)
            else "lift it with stronger spirit: --with-spirit STRENGTH",
        )
    rests = [target_percent(text, body.strength, body.extract_g_per_l, present) for text in via]
    if rests and any(later >= earlier for earlier, later in zip([present, *rests], [*rests, target], strict=True)):
        raise OutOfRange(
            f"the rests do not fall from {present:.2f} to {target:g} % vol", "give them from strong to weak"
        )
    made = reduced(there, [*rests, target] if rests else equal_steps(present, target, steps or 1))
    return _Plan(body, there, made, EMPTY, made[-1].after, water_c)


def _strengthened(body: Body, there: Liquid, with_spirit: str, target: float, water_c: float) -> _Plan:
    from pourbook.alcoholometry.vatting import part_to_reach

    spirit = part_to_reach(there, composition_of(read_strength(with_spirit)), target)
    return _Plan(body, there, (), spirit, there + spirit, water_c)


def _plan_document(plan: _Plan, spirit: Liquid, rest_days: int, *, with_spirit: bool) -> dict[str, Any]:
    t = plan.body.temperature_c
    water = Liquid(sum(step.water.mass_mg for step in plan.steps), 0)
    added = plan.spirit if with_spirit else water
    document: dict[str, Any] = {
        "water_kg": water.mass_mg / 1e6,
        "water_l": _water_l(water, plan.water_c),
        "final_volume_l": volume_ml(plan.after, t) / 1000.0,
        "contraction_l": (volume_ml(plan.there, t) + volume_ml(added, t) - volume_ml(plan.after, t)) / 1000.0,
        "temperature_c": t,
        "water_temperature_c": plan.water_c,
        "before": _gauge(plan.there, t),
        "after": _gauge(plan.after, t),
        "steps": [
            {
                "step": number + 1, "day": number * rest_days, "water_kg": step.water.mass_mg / 1e6,
                "water_l": _water_l(step.water, plan.water_c), **_gauge(step.after, t),
            }
            for number, step in enumerate(plan.steps)
        ],
    }  # fmt: skip
    if with_spirit:
        document["spirit_kg"] = plan.spirit.mass_mg / 1e6
        document["spirit_l"] = volume_ml(plan.spirit, t) / 1000.0
    else:
        document["water_per_100_volumes_60f"] = 100.0 * volume_ml(water, SIXTY_F_C) / volume_ml(plan.there, SIXTY_F_C)
        document["water_lb_in_air"] = _pounds_in_air(water, plan.water_c)
    drawn = spirit - plan.there
    document["draw_off_kg"] = drawn.mass_mg / 1e6
    document["draw_off_l"] = (volume_ml(spirit, t) - volume_ml(plan.there, t)) / 1000.0
    return document


def _water_l(water: Liquid, water_c: float) -> float:
    return water.mass_mg / density_kg_m3(0.0, water_c) / 1000.0


def _pounds_in_air(liquid: Liquid, temperature_c: float) -> float:
    from pourbook.alcoholometry.conversion import weighed_in_air
    from pourbook.alcoholometry.us_gauging import POUND_MG

    if not liquid.mass_mg:
        return 0.0
    return liquid.mass_mg / weighed_in_air(composition_of_liquid(liquid), temperature_c) / POUND_MG


def _gauge(liquid: Liquid, temperature_c: float) -> dict[str, float | None]:
    """What a gauge of a liquid will show."""
    found: dict[str, float | None] = {
        "mass_kg": liquid.mass_mg / 1e6,
        "volume_l": volume_ml(liquid, temperature_c) / 1000.0,
        "strength_20c": strength_20c(liquid),
        "proof_60f": proof_60f(liquid),
        "lpa": pure_alcohol_ml(liquid) / 1000.0,
    }
    if liquid.extract_mg:
        made_of = composition_of_liquid(liquid)
        found["extract_g_per_l"] = made_of.extract_per_mass * density_of(made_of)
        found["apparent_strength_20c"] = apparent_strength_of(made_of)
    return found


def _official(tables: "OfficialTables | None", plan: _Plan, document: dict[str, Any]) -> Compared:
    """Water by tables 4 and 6 in the place of the computed US figures."""
    if tables is None or plan.spirit.mass_mg:
        return {}
    before, after = proof_60f(plan.there) or 0.0, proof_60f(plan.after) or 0.0
    pounds = _pounds_in_air(plan.there, plan.body.temperature_c)
    return taken(
        document,
        {
            "water_per_100_volumes_60f": tables.water_per_100_volumes(before, after),
            "water_lb_in_air": tables.pounds_of_water(pounds, before, after),
        },
    )


def _show_plan(document: dict[str, Any], official: Compared, *, stepwise: bool) -> None:
    after, at = document["after"], f"{shown(document['temperature_c'], 1)} °C"
    lines = []
    if document["draw_off_kg"]:
        lines.append(
            ("draw off first", f"{shown(document['draw_off_l'], 2)} l = {shown(document['draw_off_kg'], 2)} kg")
        )
    if "spirit_kg" in document:
        lines.append(
            ("add spirit", f"{shown(document['spirit_kg'], 2)} kg = {shown(document['spirit_l'], 2)} l at {at}")
        )
    else:
        water_at = f"{shown(document['water_temperature_c'], 1)} °C"
        lines.append(
            ("add water", f"{shown(document['water_kg'], 2)} kg = {shown(document['water_l'], 2)} l at {water_at}")
        )
    lines += [
        ("then there are", f"{shown(after['volume_l'], 2)} l at {at}, {shown(after['mass_kg'], 2)} kg"),
        ("of", f"{shown(after['strength_20c'], 2)} % vol at 20 °C, {shown(after['proof_60f'], 1)} US proof"),
        ("contraction", f"{shown(document['contraction_l'], 2)} l"),
    ]
    if "water_lb_in_air" in document:
        per_100, pounds = document["water_per_100_volumes_60f"], document["water_lb_in_air"]
        lines.append(
            ("US figures", f"{shown(per_100, 2)} of water for 100 volumes at 60 °F, {shown(pounds, 2)} lb in air")
        )
    if "apparent_strength_20c" in after:
        lines.append(("hydrometer shows", f"{shown(after['apparent_strength_20c'], 2)} % vol at 20 °C, apparent"))
    show_lines(lines + official_lines(official))
    if stepwise:
        show_table(
            ("step", " day", " water kg", " water l", " then l", " % vol"),
            [
                (str(step["step"]), str(step["day"]), *(shown(step[name], 2) for name in (
                    "water_kg", "water_l", "volume_l", "strength_20c",
                )))
                for step in document["steps"]
            ],
        )  # fmt: skip
    click.echo(f"US figures {document['us_basis']}", err=True)
    click.echo(CAUTION, err=True)


# -- vatting ---------------------------------------------------------------------------


@click.command("vatting")
@click.option(
    "--part", "parts", multiple=True, required=True, metavar="STRENGTH[+EXTRACT][=AMOUNT]",
    help="A spirit, or 'water'; repeat it. Without an amount, it is to be found.",
)  # fmt: skip
@click.option("--to", "to", metavar="STRENGTH", help="True strength of the whole: 50, '100 proof'.")
@click.option("--total", "--volume", "total", metavar="VOLUME", help="Of the whole, at the temperature.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of all of it; 20 °C by default.")
@json_option
def vatting_verb(
    parts: tuple[str, ...], to: str | None, total: str | None, temperature: str | None, json: bool
) -> None:
    """How much of each spirit makes a whole of a strength and a total.

    Two parts may lack an amount when strength and total are given, one when the strength alone is.
    With every amount given, it says what they make. Masses are read as by convert: lb in air, kg in vacuum.

    \b
    Example:
      pourbook vatting --part 61.2 --part 45 --to 50 --total "500 l"
      pourbook vatting --part "63.5=190 l" --part "58.1=205 l" --part water --to 46
      pourbook vatting --part "62=100 l" --part "40+20 g/l=50 l" --json
    """
    from pourbook.alcoholometry.vatting import vatted  # only here: start-up stays light

    temperature_c = celsius(temperature)
    read = [_part(text, temperature_c) for text in parts]
    target = None if to is None else target_percent(to, None)
    liquids = vatted(read, target, None if total is None else volume_typed(total), temperature_c)
    document = _vatting_document(parts, read, liquids, temperature_c)
    if json:
        show_json(document)
        return
    show_table(
        ("part", " kg", " l", " LPA"),
        [
            (part["part"], *(shown(part[name], 2) for name in ("mass_kg", "volume_l", "lpa")))
            for part in [*document["parts"], {"part": "whole", **document}]
        ],
    )
    show_lines(
        [
            (
                "strength",
                f"{shown(document['strength_20c'], 3)} % vol at 20 °C, {shown(document['proof_60f'], 2)} proof",
            ),
            ("contraction", f"{shown(document['contraction_l'], 2)} l"),
        ]
    )
    click.echo(CAUTION, err=True)


def _part(text: str, temperature_c: float) -> "Part":
    from pourbook.alcoholometry.vatting import Part

    spirit, equals, amount = text.partition("=")
    strength, plus, extract = spirit.partition("+")
    if strength.strip().lower() == "water":
        strength = "0"
    made_of = composition_of(read_strength(strength), read_extract(extract) if plus else 0.0)
    if not equals:
        return Part(made_of)
    typed = read_amount(amount)
    if typed.dimension == "volume":
        return Part(
            made_of, liquid_of_mass(round(float(typed.volume_ml) * density_of(made_of, temperature_c)), made_of)
        )
    return Part(made_of, liquid_of_mass(round(mass_in_vacuum(typed, made_of, temperature_c)), made_of))


def _vatting_document(
    texts: tuple[str, ...], parts: "list[Part]", liquids: tuple[Liquid, ...], temperature_c: float
) -> dict[str, Any]:
    from pourbook.alcoholometry.mixing import mix

    whole = mix(liquids)
    apart_l = sum(volume_ml(liquid, temperature_c) for liquid in liquids) / 1000.0
    gauge = _gauge(whole, temperature_c)
    return {
        "parts": [
            {"part": text.partition("=")[0].strip(), "found": part.liquid is None, **_gauge(liquid, temperature_c)}
            for text, part, liquid in zip(texts, parts, liquids, strict=True)
        ],
        **gauge,
        "contraction_l": apart_l - volume_ml(whole, temperature_c) / 1000.0,
        "temperature_c": temperature_c,
    }
