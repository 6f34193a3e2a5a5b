"""Vials and trials that hold nothing any more: broken, lost, sent away, or poured out.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> vial = book.next_id("vial")
>>> fill = Move("origin", vial, read_amount("200 ml"), read_strength("63.5"))
>>> broken = Move(vial, "loss", None, facts={"disposition": "accident"})
>>> _ = book.record(*(Draft(one, 0, "M. Aldane") for one in (Item(vial, {}), Pour("fill", (fill,)))))
>>> emptied(book.store, vial)
>>> _ = book.record(Draft(Pour("loss", (broken,)), 9, "M. Aldane"))
>>> found = emptied(book.store, vial)
>>> found.is_gone, emptied_words(found, book.zone)
(True, 'is broken: all that was left was lost by accident on 1970-01-01 (entry 4)')
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.contents import EVER, LINES
from pourbook.book.search import ledger_lines, told
from pourbook.codes.identifiers import key_of, kind_of, named
from pourbook.times import day_shown

if TYPE_CHECKING:
    from datetime import tzinfo

    from pourbook.book.store import Store

__all__ = ["Emptied", "emptied", "emptied_words"]

_GLASSES = ("vial", "trial")


class Emptied(NamedTuple):
    """How a glass came to hold nothing.

    Attributes:
        id: the glass.
        entry: that emptied it.
        happened_us: when.
        into: what the last of it was poured into: an item, "loss" or "despatch"; empty where a gauge found nothing.
        disposition: of a loss.
    """

    id: str
    entry: int
    happened_us: int
    into: str
    disposition: str = ""

    @property
    def is_gone(self) -> bool:
        """Whether there is no glass to put a label on: what was in it was lost, or sent away with it."""
        return self.into in ("loss", "despatch")


def emptied(store: "Store", identifier: str) -> Emptied | None:
    """How a vial or trial was emptied; None while it holds something, was never filled, or is no glass."""
    if kind_of(identifier) not in _GLASSES:
        return None
    lines = list(ledger_lines(store, (key_of(identifier),), EVER))
    if not lines or lines[-1].after.mass_mg:
        return None
    last = next(one for at, one in enumerate(lines) if not any(later.after.mass_mg for later in lines[at:]))
    moved = told(last)
    facts = moved.get("facts", {})
    return Emptied(
        identifier, last.line // LINES, last.happened_us, moved.get("to", ""), str(facts.get("disposition", ""))
    )


def emptied_words(glass: Emptied, zone: "tzinfo") -> str:
    """What became of a glass, as it follows its name."""
    when = f"on {day_shown(glass.happened_us, zone)} (entry {glass.entry})"
    if glass.into == "loss":
        if glass.disposition == "accident":
            return f"is broken: all that was left was lost by accident {when}"
        return f"is empty: all that was left was lost ({glass.disposition or 'other'}) {when}"
    if glass.into == "despatch":
        return f"is gone: it was sent away {when}"
    return (
        f"is empty: the last of it went into {named(glass.into)} {when}" if glass.into else f"is empty by gauge {when}"
    )
