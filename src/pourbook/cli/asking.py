"""What can hardly be is asked back, by every verb that measures or fills alike; --confirm records it, flagged."""

from typing import TYPE_CHECKING

from pourbook.codes.identifiers import key_of
from pourbook.errors import Question as Asked
from pourbook.errors import ToConfirm

if TYPE_CHECKING:
    from pourbook.alcoholometry.volumes import Composition
    from pourbook.cli.door import Door
    from pourbook.gauging.slips import Expected, Question
    from pourbook.liquid import Liquid
    from pourbook.quantities import Amount

__all__ = ["amount_out", "ask", "ask_of_fill", "ask_of_strength", "expected_of", "held_then", "in_ml"]

_YEAR_US = 365.25 * 86_400e6


def ask(door: "Door", question: "Question | None", facts: dict[str, str | int]) -> None:
    """Refuse with the question; where --confirm answers it, let the record say what was asked.

    Raises:
        ToConfirm: there is a question, and nobody confirmed.
    """
    if question is None:
        return
    if not door.options["confirm"]:
        raise ToConfirm(Asked("slip", question.said, question.remedy))
    facts["questioned"] = question.said


def ask_of_strength(door: "Door", identifier: str, text: str | None, facts: dict[str, str | int]) -> None:
    """Ask about a strength that was typed as a reading of an item, at the verb's time."""
    from pourbook.alcoholometry import strength_20c
    from pourbook.alcoholometry.apparent import composition_of, strength_of
    from pourbook.gauging.slips import strength_question

    read = door.strength(text)
    if read is not None:
        held = strength_20c(held_then(door, identifier))
        ask(door, strength_question(read, strength_of(composition_of(read)), held, door.decimal_mark), facts)


def amount_out(door: "Door", identifier: str, text: str, facts: dict[str, str | int]) -> "Amount | None":
    """An amount that leaves an item, or None for all of it; a bare number that is next to nothing is asked back."""
    from pourbook.alcoholometry import volume_ml
    from pourbook.gauging.slips import bare_question

    amount = door.amount_or_all(text)
    if amount is not None:
        ask(door, bare_question(amount, volume_ml(held_then(door, identifier)), door.decimal_mark), facts)
    return amount


def ask_of_fill(door: "Door", amount: "Amount", expected: "Expected", facts: dict[str, str | int]) -> None:
    """Ask about an amount filled from outside that the vessel has no room for."""
    from pourbook.gauging.slips import fill_question

    ask(door, fill_question(amount.typed, in_ml(amount, None), expected, door.decimal_mark), facts)


def held_then(door: "Door", identifier: str) -> "Liquid":
    """What the book holds of an item at the verb's time."""
    return door.book.show(identifier, door.moment_or_none(door.options["when"])).holding.liquid


def expected_of(door: "Door", identifier: str, *, is_told: bool = False) -> "Expected":
    """What the book lets expect of an item at the verb's time."""
    from pourbook.alcoholometry import volume_ml
    from pourbook.book.items import ledger
    from pourbook.gauging.slips import Expected, capacity_of

    moment = door.moment(door.options["when"])
    before = [row.happened_us for row in ledger(door.book.store, key_of(identifier)) if row.happened_us <= moment]
    years = (moment - before[-1]) / _YEAR_US if before else 0.0
    capacity = capacity_of(door.book.show(identifier).facts.get("capacity_l"))
    return Expected(volume_ml(held_then(door, identifier)), capacity, years, is_told)


def in_ml(amount: "Amount", made_of: "Composition | None") -> float:
    """An amount as typed in millilitres; of a mass of what is not known, those of weak spirit."""
    from pourbook.alcoholometry.apparent import density_of

    if amount.dimension == "volume":
        return float(amount.volume_ml)
    return float(amount.mass_mg) / (920.0 if made_of is None else density_of(made_of))
