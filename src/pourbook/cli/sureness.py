"""Verbs that say how sure the figures of a gauge are, and what a label may say of it: sure, labelled."""

from collections.abc import Callable
from math import ceil, floor
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

import click

from pourbook.cli.door import Door, item_argument, reading
from pourbook.cli.figures import house_mark, pointed, read_amount, read_decimal, read_extract, read_strength, shown
from pourbook.cli.output import show_json
from pourbook.cli.typed import CAUTION, celsius, show_lines
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, Refused, Unknown

if TYPE_CHECKING:
    from pourbook.uncertainty.instrument_errors import InstrumentErrors
    from pourbook.uncertainty.propagation import Uncertain
    from pourbook.uncertainty.wording import Measured

__all__ = ["BASIS", "coverage_factor", "document_of", "factor_option", "instrument_named", "labelled_verb", "sure_verb"]

BASIS = "± is of the instruments alone: stirring and sampling are not in it"
"""Said beside every ±."""

_ROUNDING = 1e-9
_Verb = TypeVar("_Verb", bound=Callable[..., Any])


# -- a strength as read ----------------------------------------------------------------


class _Read(NamedTuple):
    """The options by which a strength is said, as text."""

    strength: str | None
    hydrometer: str | None
    density: str | None
    by: str | None
    temperature: str | None
    thermometer: str | None
    extract: str | None


def _strength_options(verb: _Verb) -> _Verb:
    for option in reversed(
        (
            click.option("--strength", metavar="STRENGTH", help="True strength, by a laboratory or distillation."),
            click.option("--hydrometer", metavar="STRENGTH", help="What a hydrometer shows, in place of --strength."),
            click.option("--density", metavar="NUMBER", help="kg/m³ in vacuum, in place of --strength."),
            click.option("--by", metavar="INSTRUMENT", help="What read it: 'hydrometer II', 'limit 0.1'."),
            click.option("--temperature", metavar="TEMPERATURE", help="At which it was read; 20 °C by default."),
            click.option("--thermometer", metavar="INSTRUMENT", help="What read that: 'thermometer 0.5 C'."),
            click.option("--extract", metavar="EXTRACT", help="Dissolved solids, taken as exact: '12 g/l'."),
        )
    ):
        verb = option(verb)
    return verb


def _strength(door: Door, read: _Read) -> "Uncertain":
    """True strength at 20 °C."""
    from pourbook.alcoholometry.apparent import REFERENCE_C, percent_of
    from pourbook.uncertainty.figures import strength_at, strength_by_density, strength_by_hydrometer

    ways = [text for text in (read.strength, read.hydrometer, read.density) if text is not None]
    if len(ways) != 1:
        raise Malformed("one reading of the strength is needed", "give --strength, --hydrometer or --density")
    if read.by is None:
        raise Malformed("it is not said what read the strength", "give --by, such as 'hydrometer II' or 'limit 0.1'")
    extract = _extract(read)
    at = _temperature(door, read.temperature, read.thermometer, "of the strength")
    if read.density is not None:
        meter = instrument_named(door, read.by, "density")
        return strength_by_density(meter.reading(float(read_decimal(read.density)), "gauge"), at, extract)
    typed = read_strength(ways[0])
    reference_c = REFERENCE_C[typed.scale]
    percent = instrument_named(door, read.by, "strength").reading(percent_of(typed), "gauge")
    if read.hydrometer is not None:
        return strength_by_hydrometer(percent, at, reference_c, extract)
    return strength_at(percent, reference_c, 20.0, extract)


def _extract(read: _Read) -> float:
    return 0.0 if read.extract is None else read_extract(read.extract)


def _temperature(door: Door, text: str | None, thermometer: str | None, label: str) -> "Uncertain":
    from pourbook.uncertainty.propagation import Uncertain

    value = celsius(text)
    return instrument_named(door, thermometer, "temperature").reading(value, label) if thermometer else Uncertain(value)


def instrument_named(door: Door, text: str, measures: "Measured", about: float = 0.0) -> "InstrumentErrors":
    """The instrument that a text describes, or that goes by that name in the book, if one is named."""
    from pourbook.uncertainty.wording import read_instrument

    try:
        return read_instrument(pointed(text), measures, about)
    except Malformed as refusal:
        said = _in_book(door, text)
        if said is None:
            raise refusal from None
    return read_instrument(said, measures, about, name=text)


def _in_book(door: Door, name: str) -> str | None:
    """What the book says of an instrument, in the words of `read_instrument`; None where it knows none."""
    from pourbook.gauging.house_instruments import instrument_of

    if not click.get_current_context().find_root().obj:
        return None
    try:
        found = door.book.find(name)
    except (Unknown, Malformed):
        return None
    known = instrument_of(found, door.book.show(found).facts)
    if not known.errors:
        raise Malformed(
            f"of {known.name} no permissible error is noted", f"enter it: pourbook instrument '{name}' --mpe …"
        )
    return known.errors


# -- what all of them show -------------------------------------------------------------


def document_of(figure: "Uncertain") -> dict[str, Any]:
    """A figure with its uncertainty and its sources, as JSON."""
    return {
        "value": figure.value,
        "standard_uncertainty": figure.standard,
        "relative": figure.relative if figure.value else None,
        "sources": dict(figure.sources),
    }


def _causes(figure: "Uncertain") -> str:
    largest = [f"{shown(100 * part, 0)} % {source}" for source, part in figure.budget()[:3] if part >= 0.005]
    return "; ".join(largest) or "none said"


def coverage_factor(text: str) -> float:
    """A factor as typed.

    Raises:
        Malformed: no number above zero.
    """
    factor = float(read_decimal(text))
    if not factor > 0.0:
        raise Malformed(f"a factor of {text}", "give one above zero: 1, or 2 for about 95 %")
    return factor


def _say_basis(read: _Read, *, warmth_matters: bool) -> None:
    if warmth_matters and read.thermometer is None:
        click.echo("the temperature is taken as exact: --thermometer says how well it was read", err=True)
    click.echo(BASIS, err=True)
    click.echo(CAUTION, err=True)


factor_option = click.option("--factor", default="1", metavar="NUMBER", help="Coverage factor k; 2 is about 95 %.")
"""The option of verbs that show a ±."""


# -- the figures of a gauge ------------------------------------------------------------


@click.command("sure")
@item_argument("item", required=False)
@_strength_options
@click.option("--amount", metavar="AMOUNT", help="Volume or mass: '180.4 l', '165 kg air'; strength alone without it.")
@click.option("--amount-by", metavar="INSTRUMENT", help="What measured it: 'limit 0.5 %', 'balance II 0.1 kg'.")
@click.option("--amount-temperature", metavar="TEMPERATURE", help="Of it; --temperature by default, same thermometer.")
@factor_option
@reading
def sure_verb(
    door: Door, item: str | None, amount: str | None, amount_by: str | None, amount_temperature: str | None,
    factor: str, **read: str,
) -> None:  # fmt: skip
    """How sure the figures of a gauge are: mass, volume, strength and pure alcohol with their ±.

    ITEM asks it of the book's own figures: from its last gauge, or from those of all that was poured into it since.
    Else say what was read.

    An instrument is one in the book, a class ("hydrometer II", "cylinder A 100 ml"), or what its
    certificate says ("limit 0.1, division 0.1", "certificate 0.04 k 2", "limit 0.5 %").

    \b
    Example:
      pourbook sure --hydrometer 61.8 --by "hydrometer II" --temperature 15 --thermometer "thermometer 0.5 C"
      pourbook sure --strength 63.5 --by "limit 0.05" --amount "180.4 l" --amount-by "limit 0.5 %" --factor 2
      pourbook sure --density 901.2 --by "certificate 0.02" --amount "165 kg air" --amount-by "balance II 50 g" --json
      pourbook sure "Vatting 7"
    """
    typed = _Read(**read)
    k = coverage_factor(factor)
    if item is not None:
        if any(text is not None for text in (*typed, amount, amount_by, amount_temperature)):
            raise Malformed(f"'{item}' and a reading are two gauges", "name the item, or give the reading")
        _show_by_book(door, item, k)
        return
    figures = _figures(door, typed, amount, amount_by, amount_temperature)
    if door.json:
        show_json({name: document_of(figure) for name, (figure, _, _) in figures.items()})
        return
    show_lines((label, f"{figure.shown(house_mark(), factor=k)} {unit}") for figure, label, unit in figures.values())
    most = figures.get("lpa", figures["strength_20c"])
    click.echo(f"{most[1]} is uncertain by: {_causes(most[0])}")
    _say_basis(typed, warmth_matters=typed.strength is None or amount is not None)


def _show_by_book(door: Door, item: str, k: float) -> None:
    """The figures of an item of the book, what they are uncertain by, and what was taken as exact."""
    from pourbook.gauging.gauge_uncertainty import LABELS
    from pourbook.queries.gauges.uncertainty_through_pours import sure_by_book

    identifier = door.book.find(item)
    sure = sure_by_book(door.book.store, identifier)
    if door.json:
        figures = {name: {**document_of(one), "shown": one.shown()} for name, one in sure.figures.items()}
        show_json({"id": identifier, "uncertainty": figures, "taken_as_exact": list(sure.exact)})
        return
    show_lines((LABELS[name][0], f"{_or_exact(figure, k)} {LABELS[name][1]}") for name, figure in sure.figures.items())
    click.echo(f"pure alcohol is uncertain by: {_causes(sure.figures['lpa'])}")
    for taken in sure.exact:
        click.echo(f"taken as exact: {taken}")
    for wanting in sure.wanting:
        click.echo(f"no ±: {wanting}", err=True)
    click.echo(BASIS, err=True)
    click.echo(CAUTION, err=True)


def _or_exact(figure: "Uncertain", k: float) -> str:
    """Value and ±; a value without one to the hundredth, as the book shows it."""
    return figure.shown(house_mark(), factor=k) if figure.standard else f"{shown(figure.value, 2)} (no ± known)"


def _figures(
    door: Door, read: _Read, amount: str | None, amount_by: str | None, amount_temperature: str | None
) -> "dict[str, tuple[Uncertain, str, str]]":
    """Each figure with its label and unit."""
    from pourbook.uncertainty.figures import of_volume, of_weight, pure_alcohol_ml, volume_ml

    strength = _strength(door, read)
    found = {"strength_20c": (strength, "strength", "% vol at 20 °C")}
    if amount is None:
        return found
    if amount_by is None:
        raise Malformed(f"it is not said what measured '{amount}'", "give --amount-by, such as 'limit 0.5 %'")
    typed = read_amount(amount)
    warmth = read.temperature if amount_temperature is None else amount_temperature
    same = amount_temperature is None
    at = _temperature(door, warmth, read.thermometer, "of the strength" if same else "of the amount")
    if typed.dimension == "volume":
        value = float(typed.volume_ml)
        liquid = of_volume(
            instrument_named(door, amount_by, "volume").reading(value, "amount"), strength, at, _extract(read)
        )
    else:
        value = float(typed.mass_mg)
        weight = instrument_named(door, amount_by, "mass", value).reading(value, "amount")
        liquid = of_weight(weight, strength, at, _extract(read), in_air=typed.dimension == "mass_air")
    return found | {
        "mass_kg": (liquid.mass_mg / 1e6, "mass", "kg in vacuum"),
        "ethanol_kg": (liquid.ethanol_mg / 1e6, "ethanol", "kg"),
        "volume_l_20c": (volume_ml(liquid) / 1000, "volume", "l at 20 °C"),
        "lpa": (pure_alcohol_ml(liquid) / 1000, "pure alcohol", "l at 20 °C (LPA)"),
    }


# -- the label -------------------------------------------------------------------------


@click.command("labelled")
@item_argument("item", required=False)
@_strength_options
@click.option("--label", metavar="STRENGTH", help="What is to stand on the label; that of a lot is known.")
@click.option(
    "--rule", type=click.Choice(["eu", "eu-fruit", "us"]), default="eu", help="Whose tolerance; eu by default."
)
@click.option("--tolerance", metavar="NUMBER", help="± % vol, in place of the rule's.")
@click.option("--confidence", default="95", metavar="PERCENT", help="From which probability it is within; 95.")
@reading
def labelled_verb(
    door: Door, item: str | None, label: str | None, rule: str, tolerance: str | None, confidence: str, **read: str
) -> None:  # fmt: skip
    """Whether a batch may be labelled with a strength: within the tolerance, not within, or it cannot be told.

    ITEM is a batch or a lot of the book: its strength by the book, with the ± of its last gauge. Else
    say what was read. The gauge is held against the tolerance of the law together with its uncertainty. --rule us
    takes strengths at 60 °F.

    \b
    Example:
      pourbook labelled --hydrometer 45.2 --by "hydrometer II" --temperature 17.5
          --thermometer "thermometer 0.5 C" --label 46.0
      pourbook labelled "Vatting 7" --label 46
      pourbook labelled --strength 46.05 --by "limit 0.05" --label 46.0 --json
      pourbook labelled --density 942.9 --by "certificate 0.02" --label "86 proof" --rule us
    """
    from pourbook.uncertainty.labelling import RULES, labelled

    law = RULES[rule]
    typed = _Read(**read)
    if item is None:
        found, extract = _strength(door, typed), _extract(typed)
    else:
        found, extract, label = _of_item(door, item, typed, label)
    if label is None:
        raise Malformed("it is not said what is to stand on the label", "give --label")
    gauge, target = _at_reference(found, extract, label, at_60f=law.at_60f)
    allowed = law.tolerance if tolerance is None else float(read_decimal(tolerance))
    check = labelled(gauge, target, allowed, float(read_decimal(confidence)) / 100.0)
    citation = law.citation if tolerance is None else "as given"
    if door.json:
        show_json(
            {"gauge": document_of(gauge), "label": target, "tolerance": allowed, "rule": citation, **check._asdict()}
        )
        return
    where = "60 °F" if law.at_60f else "20 °C"
    show_lines(
        (
            ("gauge", f"{gauge.shown(house_mark())} % vol at {where}"),
            (
                "label",
                f"{shown(target, 2)} % vol, from {shown(check.lowest, 2)} to {shown(check.highest, 2)}: {citation}",
            ),
            ("answer", f"{check.verdict}: {_chance(check.probability)} that the true strength lies there"),
            ("needed", _needed(check.lowest, check.highest, check.guard_band)),
            ("doubt", _causes(gauge)),
        )
    )
    _say_basis(typed, warmth_matters=item is None and typed.strength is None)


def _of_item(door: Door, item: str, read: _Read, label: str | None) -> "tuple[Uncertain, float, str | None]":
    """Strength of an item by the book with the ± of its last gauge, its extract in g/L, and what it is labelled."""
    from pourbook.queries.gauges.last_gauge import last_gauge, strength_in_words
    from pourbook.queries.items.labelled_strength import stated_strength
    from pourbook.uncertainty.propagation import Uncertain

    view = door.book.show(item)
    if any(text is not None for text in read):
        raise Malformed(f"{hyphened(view.id)} and a reading are two strengths", "name the item, or give the reading")
    gauge = last_gauge(door.book.store, view.id)
    known = strength_in_words(gauge.sure) if gauge else None
    if known is None or view.strength_20c is None:
        raise Refused(
            f"no gauge says how sure the strength of {hyphened(view.id)} is",
            "gauge it with an instrument whose permissible error the book knows, or give --strength and --by",
        )
    stated = stated_strength(view.facts)
    known_label = label or (None if stated is None else f"{shown(stated, 2)} % vol")
    extract = view.holding.extract_mg / view.volume_ml_20c
    return Uncertain(view.strength_20c, known.sources), extract, known_label


def _at_reference(gauge: "Uncertain", extract: float, label: str, *, at_60f: bool) -> "tuple[Uncertain, float]":
    """Gauge and label in % vol at the reference temperature of the rule."""
    from pourbook.alcoholometry.apparent import REFERENCE_C, percent_of
    from pourbook.uncertainty.figures import strength_at

    reference_c = REFERENCE_C["vol60f" if at_60f else "vol20"]
    typed = read_strength(label, "vol60f" if at_60f else "vol20")
    written_c = REFERENCE_C[typed.scale]
    target = percent_of(typed)
    if written_c != reference_c:
        target = strength_at(target, written_c, reference_c).value
    return (strength_at(gauge, 20.0, reference_c, extract) if at_60f else gauge), target


def _chance(probability: float) -> str:
    """A probability in per cent that is never shown as certain, or as impossible, by rounding."""
    if probability >= 0.9995:
        return "more than 99.9 %"
    return "less than 0.1 %" if probability < 0.0005 else f"{shown(100 * probability, 1)} %"


def _needed(lowest: float, highest: float, guard_band: float | None) -> str:
    if guard_band is None:
        return "no gauge as uncertain as this one can tell; take a finer instrument"
    # to the hundredth inwards, so that both ends of what is shown will do
    least = shown(ceil((lowest + guard_band) * 100 - _ROUNDING) / 100, 2)
    most = shown(floor((highest - guard_band) * 100 + _ROUNDING) / 100, 2)
    return f"a gauge from {least} to {most} (guard band {shown(guard_band, 2)})"
