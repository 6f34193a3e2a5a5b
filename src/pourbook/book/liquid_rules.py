"""The rules of liquid: each line of a pour, and each gauge, against what the book holds just then.

Of one shape, as in `rules.py`: nothing, a `Question`, or a refusal. They are asked after an amount became
whole milligrams and before it is applied.
"""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from pourbook.book.book_so_far import Known
from pourbook.book.bottle_rules import bottles_are_counted, cases_leave_once, returns_are_of_that_customer
from pourbook.book.bottles import bottle_count, bottle_mg
from pourbook.book.contents import Holding
from pourbook.book.entries import DISPOSITIONS, Draft, Gauge
from pourbook.book.line_case import LineCase, as_asked
from pourbook.book.slip_rules import (
    bare_number_has_its_unit,
    origin_is_spirit,
    room_in_the_target,
    water_leaves_spirit,
)
from pourbook.book.store import Store
from pourbook.codes.identifiers import hyphened, of_key, several
from pourbook.errors import Malformed, OutOfRange, Question, Refused
from pourbook.liquid import MOST_MG, Liquid
from pourbook.numerals import counted
from pourbook.quantities import Amount, Strength
from pourbook.times import YEAR_US

__all__ = ["OF_GAUGES", "OF_LINES", "OF_VATS", "GaugeCase", "LineCase", "VatCase", "checked_amounts"]

_LONGEST_DAYS = 73_050  # two hundred years


class GaugeCase(NamedTuple):
    """A gauge that is about to be applied.

    Attributes:
        known: the book so far.
        draft: the gauge, with when, by whom and why.
        gauge: as asked for.
        body: as the journal will keep it.
        held: what the book holds of the item.
        key: of the item.
        touched_us: when the book last heard of its contents; None where it never did.
    """

    known: Known
    draft: Draft
    gauge: Gauge
    body: Mapping[str, Any]
    held: Holding
    key: int
    touched_us: int | None


def checked_amounts(line: Mapping[str, Any], *, least_mg: int) -> None:
    """Refuse amounts that are none, and liquids that cannot be."""
    for amount in (line.get("mass", least_mg), line.get("in", least_mg)):
        if not least_mg <= amount < MOST_MG:
            raise OutOfRange(f"{amount} mg cannot be poured or held", "check amount and unit")
    if "ethanol" in line:
        liquid = Liquid(line["mass"], line["ethanol"], line.get("extract", 0))
        if min(*liquid, liquid.water_mg) < 0:
            raise OutOfRange(f"{liquid} cannot be: its parts are more than the whole", "check the composition")


# -- of the lines of a pour ------------------------------------------------------------


def wood_time_can_be(case: LineCase) -> None:
    """Time in wood earned before is none or more, and no longer than any spirit ever lay."""
    days = case.move.facts.get("wood_days", 0)
    if int(days) < 0:
        raise Malformed(f"{days} days in wood are less than none", "give 0 for new make")
    if int(days) > _LONGEST_DAYS:
        raise OutOfRange(f"{days} days in wood are more than two hundred years", "check it: days, or '12 y 3 m'?")


def amounts_can_be(case: LineCase) -> None:
    """A line moves something, and of something that can be."""
    checked_amounts(case.line, least_mg=1)


def no_more_than_is_held(case: LineCase) -> Question | None:
    """More than the book holds, beyond its tolerance, is poured only where a person confirms it."""
    if "beyond" not in case.line:
        return None
    held, mass = case.source.mass_mg, case.line["mass"]
    there, asked = _in_the_unit_asked(case.move.amount, held, mass, case.known.mark)
    return Question(
        "more-than-held",
        f"{hyphened(case.move.source)} holds {there} by the book, less than {asked}",
        "check identifier, amount and unit.",
        {"held_mg": held, "taken_mg": mass},
    )


def loss_says_where_it_went(case: LineCase) -> Question | None:
    """A loss has a disposition of the list; a word of the house's own is confirmed."""
    word = str(case.move.facts.get("disposition", ""))
    if case.move.target != "loss" or not word or word in DISPOSITIONS:
        return None
    return Question(
        "unknown-disposition",
        f"'{word}' is not a disposition of the list",
        f"write one of: {', '.join(DISPOSITIONS)}.",
        {"disposition": word},
    )


def destruction_is_witnessed(case: LineCase) -> Question | None:
    """Who destroys spirit can show who saw it, or the document of it."""
    told = case.move.facts
    if told.get("disposition") != "destruction" or told.get("witness") or told.get("document"):
        return None
    return Question(
        "unwitnessed-destruction",
        "a destruction that nobody saw may be taken for a loss, and duty asked for it",
        "give --witness NAME, or the --document of it.",
    )


def despatch_is_of_known_strength(case: LineCase) -> None:
    """Nothing leaves for a customer while a strength in it is pending."""
    if case.move.target != "despatch":
        return
    from pourbook.book.lineages import pending_in

    entries = pending_in(case.known.store, case.source)
    if entries:
        numbers, noun = ", ".join(map(str, entries)), "entry" if len(entries) == 1 else "entries"
        raise Refused(
            f"strengths are still pending in {noun} {numbers}, so {hyphened(case.move.source)} is not released",
            "replace each with what the laboratory read: pourbook replace NUMBER --strength …",
        )


def hold_of_now_is_passed_with_a_reason(case: LineCase) -> Question | None:
    """What is recorded late, of before a hold that stands now, is confirmed, and says why."""
    known, happened_us = case.known, case.draft.happened_us
    held = [key for key in case.ends if key is not None and known.is_held_now(key)]
    passed = [of_key(key) for key in held if not known.is_held(key, happened_us)]
    if not passed:
        return None
    if case.draft.confirmed and not case.draft.reason.strip():
        raise Malformed(f"{several(passed)}: on hold now, and what passes a hold needs a reason", "give --reason")
    return Question(
        "held-now",
        f"{several(passed)}: on hold now, though not yet at {known.time_shown(happened_us)}",
        "was it poured before the hold? give --reason; what it was poured into is held, too.",
        {"items": " ".join(passed)},
    )


LineRule = Callable[[LineCase], Question | None]
OF_LINES: tuple[LineRule, ...] = (
    bottles_are_counted,
    returns_are_of_that_customer,
    cases_leave_once,
    wood_time_can_be,
    amounts_can_be,
    no_more_than_is_held,
    room_in_the_target,
    bare_number_has_its_unit,
    origin_is_spirit,
    water_leaves_spirit,
    loss_says_where_it_went,
    destruction_is_witnessed,
    despatch_is_of_known_strength,
    hold_of_now_is_passed_with_a_reason,
)


# -- of gauges -------------------------------------------------------------------------


def amount_is_likely(case: GaugeCase) -> Question | None:
    """What was measured is near what the book holds, less what time may have taken, and has room."""
    gauge = case.gauge
    if gauge.amount is None or not case.body.get("mass"):
        return None
    from pourbook.alcoholometry.volumes import volume_ml
    from pourbook.book.fold import gauged
    from pourbook.gauging.slips import Expected, question

    years = 0.0 if case.touched_us is None else (case.draft.happened_us - case.touched_us) / YEAR_US
    held_ml = volume_ml(case.held.liquid)
    is_told = bool(gauge.facts.get("disposition"))
    expected = Expected(held_ml, case.known.room(case.key), max(years, 0.0), is_told)
    measured_ml = volume_ml(gauged(case.body, case.held.liquid))
    return question(as_asked(gauge.amount), measured_ml, expected, case.known.mark)


def strength_is_likely(case: GaugeCase) -> Question | None:
    """A strength far from the book's belongs to another item, or is on another scale."""
    if "fraction" not in case.body or not case.held.mass_mg or case.gauge.provisional == "unmixed":
        return None
    from pourbook.alcoholometry.volumes import strength_20c
    from pourbook.book.fold import gauged
    from pourbook.gauging.as_typed import strength_again
    from pourbook.gauging.slips import strength_question

    percent = strength_20c(gauged(case.body, case.held.liquid))
    if percent is None or ("book_fraction" in case.body and case.body["book_fraction"] == case.body["fraction"]):
        return None
    shown = case.gauge.reading.get("hydrometer", {}).get("shown")
    typed = case.gauge.strength or (strength_again(shown) if shown else None)
    return strength_question(typed, percent, strength_20c(case.held.liquid), case.known.mark)


def bottles_are_not_gauged(case: GaugeCase) -> Question | None:
    """Bottles that are gone are counted; what a gauge finds gone leaves their number standing."""
    gauge, mass_mg = case.gauge, case.body.get("mass")
    if gauge.id[:1] != "L" or mass_mg is None:
        return None
    each_mg, there = bottle_mg(case.known.store, gauge.id), bottle_count(case.known.store, gauge.id)
    if there is None or 2 * abs(mass_mg - case.held.mass_mg) <= each_mg:
        return None
    return Question(
        "bottles-gauged",
        f"{hyphened(gauge.id)} has {counted(there.left, 'bottle')}, and a gauge leaves their number standing",
        "record those that are gone: pourbook loss LOT '2 bottles' --kind …",
        {"bottles": there.left},
    )


GaugeRule = Callable[[GaugeCase], Question | None]
OF_GAUGES: tuple[GaugeRule, ...] = (amount_is_likely, strength_is_likely, bottles_are_not_gauged)


# -- of what a vat measured --------------------------------------------------------------


class VatCase(NamedTuple):
    """The total that a vat measured of casks about to be dumped into it.

    Attributes:
        store: of the book.
        mark: the house's decimal mark.
        happened_us: when it was measured.
        casks: what the book holds of each, by key.
        total: as typed.
        strength: as read; None where it was not.
        measured: the liquid that both make.
    """

    store: Store
    mark: str
    happened_us: int
    casks: Mapping[int, Liquid]
    total: Amount
    strength: Strength | None
    measured: Liquid


def vat_total_is_likely(case: VatCase) -> Question | None:
    """The casks can have given what the vat measured, less what time may have taken."""
    from pourbook.alcoholometry.volumes import volume_ml
    from pourbook.gauging.slips import Expected, question

    marks = ",".join("?" * len(case.casks))
    rows = case.store.query(
        f"SELECT max(happened) FROM ledger WHERE item IN ({marks}) AND happened <= ? GROUP BY item",
        (*case.casks, case.happened_us),
    )
    years = max(((case.happened_us - touched_us) / YEAR_US for (touched_us,) in rows), default=0.0)
    expected = Expected(sum(map(volume_ml, case.casks.values())), years=years)
    return question(case.total.typed, volume_ml(case.measured), expected, case.mark)


def vat_strength_is_likely(case: VatCase) -> Question | None:
    """What the vat measured is about as strong as its casks together."""
    from pourbook.alcoholometry.mixing import mix
    from pourbook.alcoholometry.volumes import strength_20c
    from pourbook.gauging.slips import strength_question

    percent = strength_20c(case.measured)
    if case.strength is None or percent is None:
        return None
    return strength_question(case.strength, percent, strength_20c(mix(case.casks.values())), case.mark)


OF_VATS: tuple[Callable[[VatCase], Question | None], ...] = (vat_total_is_likely, vat_strength_is_likely)


def _in_the_unit_asked(amount: Amount | int | None, held_mg: int, taken_mg: int, mark: str) -> tuple[str, str]:
    """What is held and what would be taken of the same liquid, as the person who typed it counts; else in kg."""
    if not isinstance(amount, Amount):
        return f"{_kg(held_mg, mark)} kg", f"{_kg(taken_mg, mark)} kg"
    from pourbook.gauging.as_typed import kept_amount

    held = float(amount.value) * held_mg / taken_mg
    return f"{held:.5g} {amount.unit}".replace(".", mark), kept_amount(amount)


def _kg(mass_mg: int, mark: str) -> str:
    return f"{mass_mg / 1e6:g}".replace(".", mark)
