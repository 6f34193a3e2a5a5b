"""Verbs of uncertainty: figures of a gauge, a strength on a label, and trials as poured."""

from typing import TYPE_CHECKING, NamedTuple

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import item_argument, options
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.gauging.gauge_uncertainty import GaugeRead
    from pourbook.queries.plans.sure import SureAsked
    from pourbook.uncertainty.instrument_errors import InstrumentErrors
    from pourbook.uncertainty.portions import Comparison
    from pourbook.uncertainty.wording import Measured

__all__ = ["label_strength_verb", "sure_asked", "sure_options", "uncertainty_verb"]

_COVERAGE = "--coverage-factor"


# -- what is typed ---------------------------------------------------------------------


class _Read(NamedTuple):
    """The options by which a strength is read, as text."""

    strength: str | None
    hydrometer: str | None
    density: str | None
    instrument: str | None
    temperature: str | None
    thermometer: str | None
    extract: str | None


_strength_options = options(
    click.option("--strength", metavar="STRENGTH", help="True strength, by a laboratory or distillation."),
    click.option("--hydrometer", metavar="STRENGTH", help="What a hydrometer shows, instead of --strength."),
    click.option("--density", metavar="DENSITY", help="kg/m³ in vacuum, or '901 air', '0.93 sg 60/60'."),
    click.option("--instrument", metavar="INSTRUMENT", help="What it was read with: 'hydrometer II', 'limit 0.1'."),
    click.option("--temperature", metavar="TEMPERATURE", help="Temperature it was read at; default: 20 °C."),
    click.option("--thermometer", metavar="INSTRUMENT", help="What that was read with: 'thermometer 0.5 C'."),
    click.option("--extract", metavar="EXTRACT", help="Dissolved solids, taken as exact: '12 g/l'."),
)
_trial_options = options(
    click.argument("one", metavar="FIRST"),
    click.argument("other", metavar="SECOND"),
    click.option(
        "--instrument", required=True, metavar="INSTRUMENT", help="What pours it: 'graduated pipette A 10 ml'."
    ),
    click.option("--rest-instrument", metavar="INSTRUMENT", help="What pours all else; taken as exact without it."),
    click.option("--two-pipettes", is_flag=True, help="Each trial has a pipette of its own, of that kind."),
    click.option(_COVERAGE, default="2", metavar="NUMBER", help="k, times the standard uncertainty; default: 2."),
)
_coverage_option = click.option(_COVERAGE, default="2", metavar="NUMBER", help="k; default: 2, about 95 %.")


def _errors(door: Door, text: str, measures: "Measured", about: float = 0.0) -> "InstrumentErrors":
    from pourbook.queries.gauges.named_instruments import errors_of

    return errors_of(door.named_book, door.style, text, measures, about)


def _gauge_read(door: Door, read: _Read) -> "GaugeRead":
    from pourbook.alcoholometry.density_readings import read_density
    from pourbook.gauging.gauge_uncertainty import GaugeRead
    from pourbook.gauging.readings import Readings

    style = door.style
    if read.instrument is None:
        raise Malformed("no instrument is named", "give --instrument, such as 'hydrometer II' or 'limit 0.1'")
    density = None if read.density is None else read_density(read.density, style.mark)
    celsius = None if read.temperature is None else style.celsius(read.temperature)
    readings = Readings(
        None if read.strength is None else style.strength(read.strength),
        None if read.hydrometer is None else style.strength(read.hydrometer),
        None if density is None else density.kg_m3,
        density.sample_c(celsius) if density else 20.0 if celsius is None else celsius,
    )
    by = _errors(door, read.instrument, readings.measures)
    thermometer = None if read.thermometer is None else _errors(door, read.thermometer, "temperature")
    return GaugeRead(readings, by, thermometer, style.extract(read.extract))


def _k(door: Door, text: str) -> float:
    factor = float(door.style.number(text))
    if not factor > 0.0:
        raise Malformed(f"a coverage factor of {text}", "give one above zero: 1, or 2 for about 95 %")
    return factor


# -- gauges ----------------------------------------------------------------------------


class _FiguresFirst(click.Group):
    """A group whose first command needs no name: `uncertainty ITEM` is `uncertainty figures ITEM`."""

    ignore_unknown_options = True

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command:
        return super().get_command(ctx, cmd_name) or self.commands["figures"]

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        return super().resolve_command(ctx, args if args[0] in self.commands else ["figures", *args])


@click.group("uncertainty", cls=_FiguresFirst)
def uncertainty_verb() -> None:
    """Show the uncertainty of an item's figures, of readings, of trials as poured, or of a plan.

    Without a command, show the figures of ITEM or of the readings given.

    \b
    Example:
      pourbook uncertainty "Vatting 7"
      pourbook uncertainty --hydrometer 61.8 --instrument "hydrometer II" --temperature 15
          --thermometer "thermometer 0.5 C"
      pourbook uncertainty difference 7 8 --instrument "graduated pipette A 10 ml"
      pourbook uncertainty trial-size 7 8 --instrument "graduated pipette A 10 ml"
      pourbook uncertainty plan "Vatting 7"
    """


@uncertainty_verb.command("figures", short_help="Figures of an item, or of readings.")
@item_argument("item", required=False)
@_strength_options
@click.option("--amount", metavar="AMOUNT", help="Volume or mass: '180.4 l', '165 kg air'; strength alone without it.")
@click.option("--amount-instrument", metavar="INSTRUMENT", help="What measured it: 'limit 0.5 %', 'balance II 0.1 kg'.")
@click.option("--amount-temperature", metavar="TEMPERATURE", help="Of it; --temperature by default, same thermometer.")
@_coverage_option
@reading
def _figures(
    door: Door, item: str | None, amount: str | None, amount_instrument: str | None, amount_temperature: str | None,
    coverage_factor: str, **read: str,
) -> None:  # fmt: skip
    """Mass, volume, strength and pure alcohol of a gauge with their uncertainty.

    For ITEM, the book's own figures: from its last gauge, or from those of all that was poured into it
    since. Without ITEM, from what was read.

    An instrument is one in the book, a class ("hydrometer II", "cylinder A 100 ml"), or what its
    certificate says ("limit 0.1, division 0.1", "certificate 0.04 k 2", "limit 0.5 %").

    \b
    Example:
      pourbook uncertainty figures "Vatting 7"
      pourbook uncertainty --strength 63.5 --instrument "limit 0.05"
          --amount "180.4 l" --amount-instrument "limit 0.5 %" --coverage-factor 2
      pourbook uncertainty --density 901.2 --instrument "certificate 0.02"
          --amount "165 kg air" --amount-instrument "balance II 50 g" --json
    """
    from pourbook.documents.uncertainty import uncertainty_shown
    from pourbook.gauging.gauge_uncertainty import readings_uncertainty
    from pourbook.queries.gauges.uncertainty_through_pours import uncertainty

    typed, style, k = _Read(**read), door.style, _k(door, coverage_factor)
    if item is not None:
        if any(text is not None for text in (*typed, amount, amount_instrument, amount_temperature)):
            raise Malformed(f"'{item}' and a reading are two gauges", "name the item, or give the reading")
        door.show(uncertainty_shown(uncertainty(door.book, item), style, k))
        return
    gauge = _gauge_read(door, typed)
    if amount is not None:
        if amount_instrument is None:
            raise Malformed(f"no instrument is named for '{amount}'", "give --amount-instrument, such as 'limit 0.5 %'")
        read_amount = style.amount(amount)
        is_volume = read_amount.dimension == "volume"
        about = 0.0 if is_volume else float(read_amount.mass_mg)
        gauge = gauge._replace(
            amount=read_amount,
            amount_by=_errors(door, amount_instrument, "volume" if is_volume else "mass", about),
            amount_c=None if amount_temperature is None else style.celsius(amount_temperature),
        )
    door.show(uncertainty_shown(readings_uncertainty(gauge), style, k))


@click.command("label-strength")
@item_argument("item", required=False)
@_strength_options
@click.option("--label", metavar="STRENGTH", help="Strength on the label; that of a lot is known.")
@click.option("--rule", type=click.Choice(["eu", "eu-fruit", "us"]), default="eu", help="Whose tolerance; default: eu.")
@click.option("--tolerance", metavar="NUMBER", help="± % vol, in place of the rule's.")
@click.option("--confidence", default="95", metavar="PERCENT", help="Probability that counts as within; default: 95.")
@reading
def label_strength_verb(
    door: Door, item: str | None, label: str | None, rule: str, tolerance: str | None, confidence: str, **read: str
) -> None:  # fmt: skip
    """Check whether a batch may carry a strength on its label: within the tolerance, outside it, or undecided.

    ITEM is a batch or a lot: its strength by the book, with the ± of its last gauge. Without ITEM, give
    what was read. The gauge and its uncertainty are compared with the legal tolerance. --rule us takes
    strengths at 60 °F.

    \b
    Example:
      pourbook label-strength --hydrometer 45.2 --instrument "hydrometer II" --temperature 17.5
          --thermometer "thermometer 0.5 C" --label 46.0
      pourbook label-strength "Vatting 7" --label 46
      pourbook label-strength --strength 46.05 --instrument "limit 0.05" --label 46.0 --json
      pourbook label-strength --density 942.9 --instrument "certificate 0.02" --label "86 proof" --rule us
    """
    from pourbook.documents.uncertainty import label_strength_shown
    from pourbook.gauging.gauge_uncertainty import readings_uncertainty
    from pourbook.queries.gauges.label_strength_of import label_strength_of
    from pourbook.uncertainty.labelling import RULES, label_strength

    typed, style, law = _Read(**read), door.style, RULES[rule]
    if tolerance is not None:
        law = law._replace(tolerance=float(style.number(tolerance)), citation="as given")
    target = None if label is None else style.strength(label, "vol60f" if law.at_60f else "vol20")
    within = float(style.number(confidence)) / 100.0
    if item is not None:
        if any(text is not None for text in typed):
            raise Malformed(f"'{item}' and a reading are two strengths", "name the item, or give the reading")
        door.show(label_strength_shown(label_strength_of(door.book, item, target, law, within), style))
        return
    gauge = _gauge_read(door, typed)
    if target is None:
        raise Malformed("the strength on the label is not known", "give --label")
    readings = readings_uncertainty(gauge)
    found = label_strength(readings.figures["strength_20c"], target, law, within, gauge.extract_g_per_l)
    door.show(label_strength_shown(found, style, readings))


# -- plans -----------------------------------------------------------------------------

sure_options = options(
    click.option("--meter", metavar="INSTRUMENT", help="What measures part takes and water; default: 'limit 0.5 %'."),
    click.option("--sure", default="95", metavar="PERCENT", help="The chance that is sure enough; default: 95."),
    click.option("--strength-within", metavar="NUMBER", help="± % vol after water; default: 0.3, as on a label."),
)
"""What is asked of how sure a plan is."""


def sure_asked(door: Door, meter: str | None, sure: str, strength_within: str | None) -> "SureAsked":
    """The same, as typed."""
    from pourbook.queries.plans.sure import SureAsked

    asked = SureAsked(level=float(door.style.number(sure)) / 100.0)
    if meter is not None:
        asked = asked._replace(meter=_errors(door, meter, "volume"))
    if strength_within is not None:
        asked = asked._replace(strength_within=float(door.style.number(strength_within)))
    return asked


@uncertainty_verb.command("plan", short_help="Whether an open batch will keep its limits.")
@item_argument("batch")
@sure_options
@reading
def _plan(door: Door, batch: str, meter: str | None, sure: str, strength_within: str | None) -> None:
    """How sure it is that what is left of an open batch's plan keeps its limits, though gauges err.

    The chance that each part, the strength and the volume stay within their limits, and that all do: from the
    last gauge of each cask, what the air may have taken since, and what measures part takes. It names the casks
    whose error matters most, and which to gauge first.

    \b
    Example:
      pourbook uncertainty plan "Vatting 7"
      pourbook uncertainty plan "Vatting 7" --meter "limit 0.2 %, division 0.1 l" --sure 99 --json
    """
    from pourbook.documents.how_sure import how_sure_shown

    asked = sure_asked(door, meter, sure, strength_within)
    door.show(how_sure_shown(door.book.how_sure_of_batch(batch, asked), door.style))


# -- trials ----------------------------------------------------------------------------


def _trial(
    door: Door, one: str, other: str, instrument: str, rest_instrument: str | None, two_pipettes: bool, k: str
) -> "Comparison":  # fmt: skip
    """Both fractions, and what pours the component and the rest."""
    from pourbook.uncertainty.portions import Comparison

    first, second = (float(door.style.number(text.replace("%", ""))) / 100.0 for text in (one, other))
    rest = None if rest_instrument is None else _errors(door, rest_instrument, "volume")
    return Comparison(first, second, _errors(door, instrument, "volume"), rest, two_pipettes, _k(door, k))


@uncertainty_verb.command("difference", short_help="Whether two fractions differ.")
@_trial_options
@click.option("--total", default="100 ml", metavar="VOLUME", help="Of each trial; default: 100 ml.")
@reading
def _difference(
    door: Door, one: str, other: str, instrument: str, rest_instrument: str | None, two_pipettes: bool,
    coverage_factor: str, total: str,
) -> None:  # fmt: skip
    """Whether two percentages of a component differ by more than the error of what pours it.

    Two pours by one pipette share its error, which all but cancels in their difference.

    \b
    Example:
      pourbook uncertainty difference 7 8 --instrument "graduated pipette A 10 ml" --total "100 ml"
      pourbook uncertainty difference 7 8 --instrument "cylinder A 25 ml"
          --rest-instrument "cylinder A 100 ml" --two-pipettes --json
    """
    from pourbook.documents.uncertainty import difference_shown
    from pourbook.uncertainty.portions import trial_difference

    asked = _trial(door, one, other, instrument, rest_instrument, two_pipettes, coverage_factor)
    door.show(difference_shown(trial_difference(asked, float(door.style.amount(total).volume_ml)), door.style))


@uncertainty_verb.command("trial-size", short_help="The smallest trial that tells them apart.")
@_trial_options
@reading
def _trial_size(
    door: Door, one: str, other: str, instrument: str, rest_instrument: str | None, two_pipettes: bool,
    coverage_factor: str,
) -> None:  # fmt: skip
    """How large a trial must be for two percentages of a component to be told apart.

    \b
    Example:
      pourbook uncertainty trial-size 7 8 --instrument "graduated pipette A 10 ml"
      pourbook uncertainty trial-size 1 1.5 --instrument "cylinder A 25 ml"
          --rest-instrument "cylinder A 100 ml" --coverage-factor 5 --json
    """
    from pourbook.documents.uncertainty import trial_size_shown
    from pourbook.uncertainty.portions import trial_size

    asked = _trial(door, one, other, instrument, rest_instrument, two_pipettes, coverage_factor)
    door.show(trial_size_shown(trial_size(asked), door.style))


@uncertainty_verb.command("portions", short_help="Each portion of a planned trial.")
@item_argument("trial", required=False)
@click.option("--part", "parts", multiple=True, metavar="NAME=PARTS", help="A component of a trial not in the book.")
@click.option("--total", default="100 ml", metavar="VOLUME", help="Volumes to pour, together; default: 100 ml.")
@click.option(
    "--instrument", "instruments", multiple=True, required=True, metavar="[NAME=]INSTRUMENT",
    help="What pours it; or all the rest.",
)  # fmt: skip
@_coverage_option
@reading
def _portions(
    door: Door, trial: str | None, parts: tuple[str, ...], total: str, instruments: tuple[str, ...],
    coverage_factor: str,
) -> None:  # fmt: skip
    """Each portion of a planned trial with its uncertainty, by the instruments that pour it.

    \b
    Example:
      pourbook uncertainty portions --part base=70 --part wine=23 --part peat=7 --total "100 ml"
          --instrument "cylinder A 100 ml" --instrument peat="graduated pipette A 10 ml"
      pourbook uncertainty portions T-000002-M --instrument "burette A/0.1 50 ml" --json
    """
    from pourbook.documents.uncertainty import portions_shown
    from pourbook.uncertainty.portions import portions

    k, volumes = _k(door, coverage_factor), _volumes(door, trial, parts, total)
    by: dict[str, InstrumentErrors] = {}
    for text in sorted(instruments, key=lambda text: "=" in text):  # the general first, so that a name overrides it
        name, equals, said = text.rpartition("=")
        errors = _errors(door, said, "volume")
        by |= {name if name in volumes else door.book.find(name): errors} if equals else dict.fromkeys(volumes, errors)
    door.show(portions_shown(portions(volumes, by), door.style, k))


def _volumes(door: Door, trial: str | None, parts: tuple[str, ...], total: str) -> dict[str, float]:
    """What to pour, from the book's plan of a trial or from the parts typed."""
    if (trial is None) == (not parts):
        raise Malformed("one trial is needed", "name a trial of the book, or give its components with --part")
    if trial is not None:
        from pourbook.queries.trials.trial_plan import planned_volumes

        return planned_volumes(door.book, trial)
    from pourbook.bench.trials import fractions

    pairs = [text.rpartition("=") for text in parts]
    if not all(name and equals for name, equals, _ in pairs):
        raise Malformed(f"'{' '.join(parts)}' is not NAME=PARTS", "write it like peat=7")
    total_ml = float(door.style.amount(total).volume_ml)
    shares = fractions(((name, part) for name, _, part in pairs), door.style.mark)
    return {name: float(part) * total_ml for name, part in shares.items()}
