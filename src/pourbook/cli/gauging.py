"""The verb of measuring: what was read of an item, by whatever instrument, as one gauge."""

from typing import TYPE_CHECKING

import click

from pourbook.book.entries import DISPOSITIONS
from pourbook.cli.door import Door, recording
from pourbook.cli.options import item_argument, options

if TYPE_CHECKING:
    from pourbook.gauging.what_was_read import WhatWasRead
    from pourbook.quantities import Amount

__all__ = ["gauge_verb", "reading_options", "what_was_read"]

_OF_A_GAUGE = tuple(word for word in DISPOSITIONS if word != "destruction")


reading_options = options(
    click.option("--gross", metavar="WEIGHT", help="Gross weight in air, instead of --amount."),
    click.option("--tare", metavar="WEIGHT", help="Of the vessel; default: the cask's tare_kg."),
    click.option("--dip", metavar="CM", help="Depth read, instead of --amount; needs --vessel."),
    click.option("--vessel", metavar="PLACE", help="The vat whose calibration table is used."),
    click.option("--meter", metavar="VOLUME", help="The whole volume as a flow meter showed it, instead of --amount."),
    click.option("--meter-start", metavar="VOLUME", help="What the meter showed before."),
    click.option("--hydrometer", metavar="READING", help="What the hydrometer showed: 61.2, or '122 proof'."),
    click.option("--density", metavar="NUMBER", help="What the density meter showed: kg/m³ in vacuum, '0.9051 sg'."),
    click.option("--sample-temperature", metavar="TEMPERATURE", help="Of the sample read; default: 20 °C."),
    click.option("--extract", metavar="EXTRACT", help="Dissolved solids: '3.1 g/l', '310 mg/100 ml'."),
    click.option("--instrument", "instruments", multiple=True, metavar="NAME", help="Read with; may be repeated."),
    click.option("--kind", type=click.Choice(_OF_A_GAUGE), help="Kind of loss; air from a cask needs none."),
)
"""How an item was read, besides amount, strength and temperature."""


@click.command("gauge")
@item_argument("item")
@click.option("--amount", metavar="AMOUNT", help="Volume or mass found; 0 for empty.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume, in the vat; default: 20 °C.")
@click.option("--strength", metavar="STRENGTH", help="True strength, from the laboratory or by distillation.")
@reading_options
@click.option(
    "--provisional", type=click.Choice(("warm", "unmixed", "aerated")), help="Why it cannot be relied on yet."
)
@click.option(
    "--for-source-cask",
    "for_source",
    is_flag=True,
    help="Apply a vial's strength to its source, too, as of the draw.",
)
@recording
def gauge_verb(
    door: Door, item: str, temperature: str | None, instruments: tuple[str, ...], provisional: str | None,
    kind: str | None, for_source: bool, **readings: str | None,
) -> None:  # fmt: skip
    """Gauge an item: record what was measured.

    A gauge states what is there; the difference from the book is shown and is a gain or a loss. A loss that
    neither air nor instruments explain needs its --kind and --confirm. Amount alone
    keeps the strength, strength alone keeps the volume, extract that is not read keeps its mass. A density
    may be "0.9051 g/cm3", "905.1 air" (in air), "0.9051 sg" (20/20 °C) or "0.9079 sg 60/60" (°F). A
    hydrometer shows the apparent strength; the true one follows from the extract, read or known. If the
    book knows the permissible error of the instruments, it shows the figures with their ±.

    \b
    Example:
      pourbook gauge C-000001-H --amount "198.5 l" --strength 61.2 --temperature 12
      pourbook gauge C-000001-H --gross "221.4 kg" --tare "43.1 kg" --hydrometer 59.8 --sample-temperature 14
      pourbook gauge V-000003-N --strength 61.4 --for-source-cask
      pourbook gauge B-000001-Y --meter "512.4 l" --instrument "Meter 1" --temperature 14
      pourbook gauge C-000002-F --amount "171 l" --kind leak --confirm --reason "stave cracked"
    """
    from pourbook.actions.gauge import gauge
    from pourbook.actions.lab_reading import gauge_for_source
    from pourbook.documents.gauges import gauged_shown, lab_reading_shown

    style = door.style
    read = what_was_read(door, **readings)._replace(temperature_c=style.celsius(temperature))
    if for_source:
        door.show(lab_reading_shown(gauge_for_source(door.book, door.how, item, read, instruments), style))
        return
    told = {"disposition": kind} if kind else {}
    answer = gauge(door.book, door.how, item, read, instruments, provisional=provisional or "", told=told)
    door.show(gauged_shown(answer, style))


def what_was_read(
    door: Door, strength: str | None = None, hydrometer: str | None = None, density: str | None = None,
    sample_temperature: str | None = None, extract: str | None = None, dip: str | None = None,
    vessel: str | None = None, **amounts: str | None,
) -> "WhatWasRead":  # fmt: skip
    """What `reading_options` say, with amount and strength, in the house's way of writing."""
    from pourbook.gauging.what_was_read import WhatWasRead

    style = door.style
    amount, gross, tare, meter, meter_start = (
        None if (text := amounts.get(name)) is None else _amount(door, name, text)
        for name in ("amount", "gross", "tare", "meter", "meter_start")
    )
    return WhatWasRead(
        amount,
        gross,
        tare,
        meter=meter,
        meter_start=meter_start,
        dip=style.kept(dip),
        vessel=vessel,
        true=door.strength(strength),
        hydrometer=door.strength(hydrometer),
        density=style.kept(density),
        sample_c=None if sample_temperature is None else style.celsius(sample_temperature),
        extract=extract,
    )


def _amount(door: Door, name: str, text: str) -> "Amount":
    """An amount of the gauge: weights are in kg, meters show volumes; zero is an amount, too."""
    weight = name in ("gross", "tare")
    return door.style.amount(text, "kg" if weight else None, allow_zero=name in ("amount", "meter_start"))
