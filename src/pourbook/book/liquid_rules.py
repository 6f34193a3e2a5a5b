"""The rules of liquid: each line of a pour against what the book holds just then.

`gauge_rules.py` has those of gauges. Of one shape, as in `rules.py`: nothing, a `Question`, or a refusal. They
are asked after an amount became whole milligrams and before it is applied.
"""

from collections.abc import Callable, Mapping
from typing import Any

from pourbook.book.approval_rules import despatch_is_approved
from pourbook.book.bottle_rules import (
    bottles_are_counted,
    bottles_hold_their_size,
    cases_leave_once,
    retained_bottles_stay,
    returns_are_of_that_customer,
)
from pourbook.book.consignment_rules import consignment_is_in_order, consignment_is_new
from pourbook.book.entries import DISPOSITIONS
from pourbook.book.line_case import LineCase
from pourbook.book.slip_rules import (
    bare_number_has_its_unit,
    origin_is_spirit,
    room_in_the_target,
    water_leaves_spirit,
)
from pourbook.codes.identifiers import hyphened, of_key, several
from pourbook.errors import Malformed, OutOfRange, Question, Refused
from pourbook.liquid import MOST_MG, Liquid
from pourbook.quantities import Amount

__all__ = ["OF_LINES", "checked_amounts"]

_LONGEST_DAYS = 73_050  # two hundred years


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


def water_says_which(case: LineCase) -> None:
    """Where the house wants it, water that goes into a batch says which it is."""
    move = case.move
    is_told = move.source != "water" or move.target[:1] != "B" or str(move.facts.get("about", "")).strip()
    if not is_told and case.known.settings["water_lot"] == "yes":
        remedy = 'write: --about "demineralised, W-12"'
        raise Malformed("the house wants to know which water goes into a batch", remedy)


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
    bottles_hold_their_size,
    returns_are_of_that_customer,
    cases_leave_once,
    retained_bottles_stay,
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
    despatch_is_approved,
    water_says_which,
    consignment_is_in_order,
    consignment_is_new,
    hold_of_now_is_passed_with_a_reason,
)


def _in_the_unit_asked(amount: Amount | int | None, held_mg: int, taken_mg: int, mark: str) -> tuple[str, str]:
    """What is held and what would be taken of the same liquid, as the person who typed it counts; else in kg."""
    if not isinstance(amount, Amount):
        return f"{_kg(held_mg, mark)} kg", f"{_kg(taken_mg, mark)} kg"
    from pourbook.gauging.as_typed import kept_amount

    held = float(amount.value) * held_mg / taken_mg
    return f"{held:.5g} {amount.unit}".replace(".", mark), kept_amount(amount)


def _kg(mass_mg: int, mark: str) -> str:
    return f"{mass_mg / 1e6:g}".replace(".", mark)
