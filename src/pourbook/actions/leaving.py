"""What leaves the house, and what comes back: losses, despatches, returns."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.movement import Moved, moved
from pourbook.book.bottles import bottle_count
from pourbook.book.consequences import Recorded
from pourbook.book.entries import Move, Pour
from pourbook.book.items import ItemView
from pourbook.book.journal import entry_of
from pourbook.codes.number_ranges import site_code
from pourbook.consignments import recipient
from pourbook.errors import Malformed
from pourbook.quantities import Amount, Strength, in_bottles

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Leaving", "Sent", "despatch", "lose", "take_back"]


class Leaving(NamedTuple):
    """How much leaves an item: an amount, which of a lot is in bottles; None is all.

    `strength` is that of what leaves, where it differs from what is held (evaporation); `temperature_c` a volume's.
    """

    amount: Amount | None = None
    strength: Strength | None = None
    temperature_c: float = 20.0


class Sent(NamedTuple):
    """What a customer got or sent back: the item afterwards, its pending entries, what was recorded.

    `customer` is a name, or "site CODE"; `bottles` were sent or returned; `left` are in the house now; both None in
    bulk.
    """

    item: ItemView
    pending: tuple[int, ...]
    recorded: Recorded
    customer: str
    bottles: int | None = None
    left: int | None = None


def lose(
    book: "BookCore", how: Happening, item: str, what: Leaving, kind: str, facts: Mapping[str, str] | None = None
) -> Moved:
    """Record a loss: an amount that left an item for good.

    `kind` is a word of `DISPOSITIONS`, or one of the house's own; `facts` are witness, recipient, purpose, document.

    Raises:
        ToConfirm: a destruction without witness or document, or another kind of loss than those known.
    """
    with how.transaction(book):
        view = book.show(item)
        move = _line(view, "loss", what, {"disposition": kind, **(facts or {})})
        return moved(book, view.id, how.record(book, Pour("loss", (move,))))


def despatch(
    book: "BookCore", how: Happening, item: str, what: Leaving, customer: str = "",
    facts: Mapping[str, str] | None = None,
) -> Sent:  # fmt: skip
    """Send bottles of a lot to a customer; or spirit in bulk, or a sample.

    `facts` are address, contact, purpose, document and carrier, and the disposition "export" where it leaves the
    country. With `site` it goes to another site of the house, which is the customer where none is named; that needs
    the document that goes with it.

    Raises:
        Malformed: neither a customer nor a site is named; or a site without document.
        Refused: a strength in it is pending, or it is not approved and the house wants that.
        ToConfirm: it is not approved and the house asks about that, or it was rejected.
        NotThere: fewer bottles are left.
    """
    with how.transaction(book):
        view, told = book.show(item), dict(facts or {})
        if "site" in told:
            told["site"] = site_code(told["site"])
        customer = customer or told.get("site", "")
        if not customer:
            raise Malformed("it is not said to whom it goes", "give --customer NAME, or --site CODE for another site")
        move = _line(view, "despatch", what, {"customer": customer, **told})
        return _sent(book, view.id, how.record(book, Pour("despatch", (move,))), recipient(move.facts))


def take_back(
    book: "BookCore", how: Happening, lot: str, count: int, customer: str, facts: Mapping[str, str] | None = None
) -> Sent:
    """Take bottles of a lot back from a customer; `facts` may name document and place.

    Raises:
        Refused: fewer are with customers.
    """
    with how.transaction(book):
        item = book.find(lot)
        move = Move("return", item, in_bottles(count), facts={"customer": customer, **(facts or {})})
        return _sent(book, item, how.record(book, Pour("return", (move,))), customer)


def _line(view: ItemView, target: str, what: Leaving, facts: Mapping[str, str | int]) -> Move:
    return Move(view.id, target, what.amount, what.strength, what.temperature_c, facts=facts)


def _sent(book: "BookCore", item: str, recorded: Recorded, customer: str) -> Sent:
    line = entry_of(book.store, recorded.numbers[-1]).entry["body"]["lines"][0]
    bottles = line["facts"].get("bottles")
    count = None if bottles is None else bottle_count(book.store, item)
    return Sent(*moved(book, item, recorded), customer, bottles, count and count.left)
