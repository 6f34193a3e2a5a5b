"""Casks and vials: take a cask into the book, fill it, draw a sample from it."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.movement import Moved, Status, moved, record, told
from pourbook.actions.new_item import new_item
from pourbook.book.checked_facts import checked_fact, checked_facts
from pourbook.book.consequences import Recorded
from pourbook.book.entries import Entry, Item, Move, Pour
from pourbook.book.items import ItemView
from pourbook.codes.number_ranges import site_code
from pourbook.errors import Malformed
from pourbook.quantities import Amount, Strength

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Drawn", "Filling", "Sample", "draw", "fill", "take_in_cask", "take_in_sample"]


class Filling(NamedTuple):
    """An amount of spirit from outside; the book refuses it without a strength.

    `temperature_c` is that of the volume; `pending` says that the strength is an assumption until the laboratory has
    read it. `facts` are spirit, distiller, distilled, supplier, document, carrier, in_wood ("0" for new make,
    "12 y 3 m"), cost per LPA; and from_site, where it comes from another site of the house under that document.
    """

    amount: Amount
    strength: Strength | None
    temperature_c: float = 20.0
    pending: bool = False
    facts: Mapping[str, str | int] = {}


class Sample(NamedTuple):
    """A sample to be drawn.

    Attributes:
        amount: drawn from the source, with what goes back.
        returned: valinch excess that went back at once.
        strength: as read: it gauges the source just before.
        temperature_c: of the volumes.
        ref: the house's own name for the vial.
        given: identifier on a label printed ahead; None takes the next number.
        facts: recipient, purpose, document.
    """

    amount: Amount
    returned: Amount | None = None
    strength: Strength | None = None
    temperature_c: float = 20.0
    ref: str | None = None
    given: str | None = None
    facts: Mapping[str, str] = {}


class Drawn(NamedTuple):
    """The vial that was drawn, its source afterwards, whose pending entries those are, and what was recorded."""

    vial: str
    source: ItemView
    pending: tuple[int, ...]
    recorded: Recorded


def take_in_cask(
    book: "BookCore", how: Happening, facts: Mapping[str, str], filling: Filling | None = None,
    given: str | None = None, status: Status | None = None,
) -> Moved:  # fmt: skip
    """Take a cask into the book, empty or with what it holds.

    `facts` are ref, wood, cooper, toast, char, seasoning, spirit, capacity_l, earlier_fills, place and previous
    contents, as the house writes them; `given` is the identifier on a label printed ahead, None takes the next number.
    """
    return _take_in(book, how, "cask", facts, filling, given, status)


def take_in_sample(
    book: "BookCore", how: Happening, facts: Mapping[str, str], filling: Filling,
    given: str | None = None, status: Status | None = None,
) -> Moved:  # fmt: skip
    """Take in a sample from outside as a vial: sent, or bought, with no cask of ours behind it.

    `facts` are ref, wood and spirit of the vial; those of the filling say where it came from: supplier, supplier_ref
    (what they call it), document. `given` is as in `take_in_cask`.

    Raises:
        Malformed: it is not said who supplied it, or from which site it comes.
    """
    if not (filling.facts.get("supplier") or filling.facts.get("from_site")):
        raise Malformed("the supplier of the sample is missing", "give --supplier")
    return _take_in(book, how, "vial", facts, filling, given, status)


def _take_in(
    book: "BookCore", how: Happening, kind: str, facts: Mapping[str, str], filling: Filling | None,
    given: str | None, status: Status | None,
) -> Moved:  # fmt: skip
    with how.transaction(book):
        item = new_item(book, kind, given)
        entries: list[Entry] = [Item(item, checked_facts(facts, book.settings["decimal_mark"]))]
        entries += [Pour("fill", (_line(book, item, filling),))] if filling else []
        return moved(book, item, record(book, how, status, *entries))


def fill(book: "BookCore", how: Happening, item: str, filling: Filling, status: Status | None = None) -> Moved:
    """Fill spirit from outside into a cask, a batch or any item."""
    with how.transaction(book):
        target = book.find(item)
        return moved(book, target, record(book, how, status, Pour("fill", (_line(book, target, filling),))))


def _line(book: "BookCore", target: str, filling: Filling) -> Move:
    facts = dict(filling.facts)
    if "cost" in facts:
        facts["cost"] = checked_fact("cost", str(facts["cost"]), book.settings["decimal_mark"])
    if "from_site" in facts:
        facts["from_site"] = site_code(str(facts["from_site"]))
    return Move(
        "origin", target, filling.amount, filling.strength, filling.temperature_c, pending=filling.pending, facts=facts
    )


def draw(book: "BookCore", how: Happening, source: str, sample: Sample, status: Status | None = None) -> Drawn:
    """Draw a sample from a cask or any item into a new vial, which takes the source's name and spirit."""
    drawn, facts = sample.amount, dict(sample.facts)
    if sample.returned:
        facts |= {"drawn": drawn.typed, "returned": sample.returned.typed}
        drawn = drawn.less(sample.returned)
    with how.transaction(book):
        view = book.show(source)
        vial = new_item(book, "vial", sample.given)
        about = {"name": view.facts.get("wood") or view.facts.get("name")}
        about |= {name: view.facts.get(name) for name in ("spirit", "previous")}
        opened = Item(vial, told({"ref": sample.ref, **about}))
        move = Move(view.id, vial, drawn, sample.strength, sample.temperature_c, facts=facts)
        return Drawn(vial, *moved(book, view.id, record(book, how, status, opened, Pour("draw", (move,)))))
