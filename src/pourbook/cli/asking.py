"""What the book holds and lets expect at the time of a verb."""

from typing import TYPE_CHECKING

from pourbook.codes.identifiers import key_of
from pourbook.errors import ToConfirm

if TYPE_CHECKING:
    from pourbook.cli.door import Door
    from pourbook.errors import Question
    from pourbook.gauging.slips import Expected
    from pourbook.liquid import Liquid

__all__ = ["ask", "expected_of", "held_then"]

_YEAR_US = 365.25 * 86_400e6


def ask(door: "Door", question: "Question | None") -> None:
    """Refuse with the question, unless --confirm answers it.

    Raises:
        ToConfirm: there is a question, and nobody confirmed.
    """
    if question is not None and not door.options["confirm"]:
        raise ToConfirm(question)


def held_then(door: "Door", identifier: str) -> "Liquid":
    """What the book holds of an item at the verb's time."""
    return door.book.show(identifier, door.moment_or_none(door.options["when"])).holding.liquid


def expected_of(door: "Door", identifier: str) -> "Expected":
    """What the book lets expect of an item at the verb's time."""
    from pourbook.alcoholometry import volume_ml
    from pourbook.book.items import ledger
    from pourbook.gauging.slips import Expected, capacity_of

    moment = door.moment(door.options["when"])
    before = [row.happened_us for row in ledger(door.book.store, key_of(identifier)) if row.happened_us <= moment]
    years = (moment - before[-1]) / _YEAR_US if before else 0.0
    capacity = capacity_of(door.book.show(identifier).facts.get("capacity_l"))
    return Expected(volume_ml(held_then(door, identifier)), capacity, years)
