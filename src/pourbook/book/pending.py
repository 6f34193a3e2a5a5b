"""Pending strengths: fills that the laboratory has still to read, and all they went into.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, vial = book.next_id("cask"), book.next_id("vial")
>>> fill = Move("origin", cask, read_amount("200 l"), read_strength("63.5"), pending=True)
>>> recorded = book.record(
...     Draft(Item(cask, {}), 0, "M. Aldane"),
...     Draft(Item(vial, {}), 0, "M. Aldane"),
...     Draft(Pour("fill", (fill,)), 0, "M. Aldane"),
...     Draft(Pour("draw", (Move(cask, vial, read_amount("50 ml")),)), 9, "M. Aldane"),
... )
>>> pending_in(book.store, book.show(vial).holding), recorded.numbers[2]
((4,), 4)
"""

from collections.abc import Mapping

from pourbook.book.holding import LINES, Holding
from pourbook.book.store import Store

__all__ = ["pending_in", "pending_states"]

_BEHIND = (
    "WITH RECURSIVE behind(id) AS (SELECT ? UNION SELECT flow.source FROM behind"
    " JOIN flow ON flow.target = behind.id WHERE flow.source <> 0)"
    " SELECT DISTINCT entry.number FROM behind JOIN flow ON flow.target = behind.id"
    " JOIN entry ON entry.number = flow.line / ?"
    " WHERE flow.source = 0 AND flow.how = 'origin' AND entry.number IN (SELECT entry FROM pending) ORDER BY 1"
)
_FILLS = (
    "SELECT flow.target, flow.line FROM flow JOIN entry ON entry.number = flow.line / ?"
    " WHERE flow.source = 0 AND flow.how = 'origin' AND entry.number IN (SELECT entry FROM pending)"
)
_REACHED = (
    "WITH RECURSIVE reached(id) AS (SELECT ? UNION SELECT flow.target FROM reached"
    " JOIN flow ON flow.source = reached.id WHERE flow.target <> 0) SELECT id FROM reached"
)


def pending_in(store: Store, holding: Holding) -> tuple[int, ...]:
    """Entries whose pending strengths stand behind what is held."""
    if not holding.mass_mg:
        return ()
    return tuple(number for (number,) in store.query(_BEHIND, (holding.state, LINES)))


def pending_states(store: Store) -> Mapping[int, tuple[int, ...]]:
    """Every state with liquid of a pending strength in it, and the entries that brought it."""
    found: dict[int, tuple[int, ...]] = {}
    for filled, line in store.query(_FILLS, (LINES,)):
        for (state,) in store.query(_REACHED, (filled,)):
            found[state] = tuple(sorted({*found.get(state, ()), line // LINES}))
    return found
