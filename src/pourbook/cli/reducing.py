"""Reduction, reckoned or booked on a batch, and the calculator of vatting to a total."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.calculators import amount_options, body_read, load_tables, tables_option
from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import item_argument
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.batches.vat_plans import PartRead
    from pourbook.house_style import HouseStyle

__all__ = ["reduce_verb", "vatting_verb"]


@click.command("reduce")
@item_argument("batch", required=False)
@amount_options
@click.option("--to", "to", metavar="STRENGTH", help="True strength to reach: 46, '92 proof'.")
@click.option("--with-spirit", metavar="STRENGTH", help="Reach it with a spirit of this strength, not with water.")
@click.option("--water-temperature", metavar="TEMPERATURE", help="Of the water; default: that of the spirit.")
@click.option("--steps", type=click.IntRange(1, 100), metavar="NUMBER", help="Equal steps of strength.")
@click.option("--via", multiple=True, metavar="STRENGTH", help="A strength at which to rest; may be repeated.")
@click.option("--rest-days", type=click.IntRange(0), default=0, metavar="DAYS", help="Between steps, for the plan.")
@click.option("--vat", metavar="VOLUME", help="Capacity of the vat; shows how much to draw off first.")
@click.option("--water", metavar="AMOUNT", help="With BATCH: book water that went in.")
@click.option("--about", metavar="TEXT", help="Which water it is: kind, lot.")
@tables_option
@recording
def reduce_verb(
    door: Door, batch: str | None, to: str | None, with_spirit: str | None, water_temperature: str | None,
    steps: int | None, via: tuple[str, ...], rest_days: int, vat: str | None, water: str | None, about: str | None,
    tables: str | None, **typed: Any,  # noqa: ANN401 (an amount)
) -> None:  # fmt: skip
    """Water that brings a spirit down to a strength, or stronger spirit that raises it.

    Without BATCH it calculates, and records nothing. Give two of mass, volume and strength, as for
    convert. The target is the true strength: extract (--extract) stays in and does not change it.
    Volumes are at the temperature of the spirit, the water's at its own; its mass is the same at any.

    With BATCH, --to records the plan of its steps and rests, and --water books water that
    went in; before the rest has ended it is asked about. Gauge it in between (pourbook gauge BATCH
    --strength …): the next step is worked out from what was gauged. With BATCH alone it shows the
    steps planned, done and next, beside what was expected, and what brings back a step overshot.

    \b
    Example:
      pourbook reduce --volume "1000 l" --strength 62.4 --to 46
      pourbook reduce --volume "1000 l" --strength 62.4 --to 46 --steps 3 --rest-days 7 --vat "1200 l"
      pourbook reduce --mass "500 kg" --strength 63 --to 43 --via 57 --via 50 --extract "2 g/l"
      pourbook reduce --volume "53 gal" --proof 124 --to "92 proof" --temperature "64 F" --json
      pourbook reduce --volume "200 l" --strength 40 --to 43 --with-spirit 96
      pourbook reduce B-000002-W --to 46 --steps 3 --rest-days 7
      pourbook reduce B-000002-W --water "33.2 kg" --about "demineralised, lot W-12"
      pourbook reduce B-000002-W
    """
    if batch is not None:
        given = {"vat": vat, "with_spirit": with_spirit, "tables": tables, **typed}
        if others := [name for name, value in given.items() if value]:
            raise Malformed(
                f"--{others[0].replace('_', '-')} describes a spirit that is not in the book",
                "leave it out, or the batch",
            )
        _of_batch(door, batch, to, (steps, via, rest_days), (water, water_temperature, about))
        return
    if to is None or water is not None or about is not None:
        raise Malformed("it is not clear what to reduce", "give --to, or a batch with --water")
    from pourbook.alcoholometry.spirit_body import body_of
    from pourbook.batches.vat_plans import Reduce, reduction
    from pourbook.documents.calculators import reduction_shown

    style = door.style
    asked = Reduce(
        body_of(body_read(style, typed)),
        style.strength(to),
        None if with_spirit is None else style.strength(with_spirit),
        None if water_temperature is None else style.celsius(water_temperature),
        steps,
        tuple(style.strength(text) for text in via),
        None if vat is None else float(style.amount(vat).volume_ml),
    )
    door.show(reduction_shown(reduction(asked, load_tables(tables)), style, rest_days))


def _of_batch(
    door: Door, batch: str, to: str | None, how: tuple[int | None, tuple[str, ...], int],
    water: tuple[str | None, str | None, str | None],
) -> None:  # fmt: skip
    """Plan the steps of a batch, book one, or show them."""
    from pourbook.actions.reducing import ReductionPlan, add_water, plan_reduction
    from pourbook.documents.reducing import reduced_shown, reducing_shown

    style, (steps, via, rest_days), (amount, celsius, about) = door.style, how, water
    if to is not None and amount is not None:
        raise Malformed(
            "a plan and an addition of water are recorded one by one", "give --to first, and --water once it went in"
        )
    if to is None and (steps or via or rest_days):
        raise Malformed("steps and rests belong to a plan", "give its target: --to")
    if amount is None and (celsius is not None or about is not None):
        raise Malformed("the water is described, but not its amount", "give --water")
    if to is not None:
        plan = ReductionPlan(style.strength(to), steps, tuple(style.strength(text) for text in via), rest_days)
        door.show(reduced_shown(plan_reduction(door.book, door.how, batch, plan), style))
    elif amount is not None:
        facts = {"about": about} if about else {}
        booked = add_water(door.book, door.how, batch, style.amount(amount), style.celsius(celsius), facts)
        door.show(reduced_shown(booked, style))
    else:
        door.show(reducing_shown(door.book.reducing(batch), style))


@click.command("vatting")
@click.option(
    "--part", "parts", multiple=True, required=True, metavar="STRENGTH[+EXTRACT][=AMOUNT]",
    help="A spirit, or 'water'; may be repeated. An amount left out is computed.",
)  # fmt: skip
@click.option("--to", "to", metavar="STRENGTH", help="True strength of the whole: 50, '100 proof'.")
@click.option("--total", "--volume", "total", metavar="VOLUME", help="Of the whole, at the temperature.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of all of it; default: 20 °C.")
@reading
def vatting_verb(
    door: Door, parts: tuple[str, ...], to: str | None, total: str | None, temperature: str | None
) -> None:
    """How much of each spirit to vat for a strength and a total.

    Two parts may lack an amount when strength and total are given, one when the strength alone is.
    With every amount given, it shows what they make. Masses are read as by convert: lb in air, kg in vacuum.

    \b
    Example:
      pourbook vatting --part 61.2 --part 45 --to 50 --total "500 l"
      pourbook vatting --part "63.5=190 l" --part "58.1=205 l" --part water --to 46
      pourbook vatting --part "62=100 l" --part "40+20 g/l=50 l" --json
    """
    from pourbook.batches.vat_plans import vatting
    from pourbook.documents.calculators import vatting_shown

    style = door.style
    target = None if to is None else style.strength(to)
    total_ml = None if total is None else float(style.amount(total).volume_ml)
    found = vatting([_part(style, text) for text in parts], target, total_ml, style.celsius(temperature))
    door.show(vatting_shown(found, style))


def _part(style: "HouseStyle", text: str) -> "PartRead":
    from pourbook.batches.vat_plans import PartRead

    spirit, equals, amount = text.partition("=")
    strength, plus, extract = spirit.partition("+")
    return PartRead(
        spirit.strip(),
        style.strength("0" if strength.strip().lower() == "water" else strength),
        style.extract(extract if plus else None),
        style.amount(amount) if equals else None,
    )
