"""Recalls: what one finds, what it puts on hold, and which holds end with it.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(fill, 0, "M. Aldane"))
>>> found = finding(book.store, (Suspect("item", cask),))
>>> found.figures["on_hand_mg"], found.figures["unexplained_mg"]
(1000, 0)
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from pourbook.book.items import chunks
from pourbook.book.journal import parsed
from pourbook.book.lineages import EVER
from pourbook.book.logged import Logged, entry_of
from pourbook.book.scope import Suspect
from pourbook.book.store import Store
from pourbook.codes.identifiers import key_of
from pourbook.errors import OutOfRange, Refused, Unknown
from pourbook.numerals import read_decimal
from pourbook.queries.recalls.affected import Affected, affected
from pourbook.queries.recalls.recall_balance import Balance, balances, total

__all__ = ["Finding", "every_recall", "finding", "read_share", "recall_numbered", "release_of"]


class Finding(NamedTuple):
    """What a recall finds.

    Attributes:
        affected: items, where they are, and what left the house.
        balances: of each affected item, by its key.
        balance: of all of them together.
    """

    affected: Affected
    balances: dict[int, Balance]
    balance: Balance

    @property
    def figures(self) -> dict[str, int]:
        """Counts and whole mg, as the entry of a recall keeps them."""
        items, departures = self.affected.items, self.affected.departures
        counts = {
            "items": len(items),
            "items_on_hand": len(self.affected.on_hand),
            "lots": sum(one.item.kind == "lot" for one in items),
            "units": sum(len(one.units) for one in items),
            "despatches": sum(one.what == "despatch" for one in departures),
            "returns": sum(one.what == "return" for one in departures),
            "suspect_on_hand_mg": sum(one.suspect_mg for one in items),
        }
        sides = {**self.balance._asdict(), "unexplained": self.balance.unexplained}
        masses = {f"{side}_mg": liquid.mass_mg for side, liquid in sides.items()}
        return counts | masses | {f"{side}_ethanol_mg": liquid.ethanol_mg for side, liquid in sides.items()}


def read_share(text: str, mark: str = ".") -> float:
    """A least share as typed: a part of one.

    Raises:
        Malformed: it is no number.
        OutOfRange: below 0 or above 1.
    """
    share = float(read_decimal(text, mark))
    if not 0 <= share <= 1:
        raise OutOfRange(f"a share of {text} is no part of one", "write 0.001 for a tenth of a per cent")
    return share


def finding(store: Store, suspects: Sequence[Suspect], until_us: int = EVER, least_share: float = 0.0) -> Finding:
    """What a recall of these suspects finds, up to a moment.

    Raises:
        PourbookError: a suspect is unknown, or touched no liquid.
        Refused: no item has so great a share.
    """
    with store.snapshot():
        found = affected(store, suspects, until_us, least_share)
        if not found.items:
            raise Refused(f"nothing is affected by a share of {least_share:g} or more", "give a smaller --least-share")
        of_items = balances(store, found, until_us)
    return Finding(found, of_items, total(of_items.values()))


# -- recalls of the journal ------------------------------------------------------------------


def every_recall(store: Store) -> list[tuple[Logged, int]]:
    """The recalls, each with the entry that released it; 0 while none did."""
    released = {}
    recalls = []
    for number, kind, bytes_ in store.query(
        "SELECT number, kind, bytes FROM entry WHERE kind IN ('recall', 'release') ORDER BY number"
    ):
        if kind == "release":
            released[parsed(bytes_)["body"]["recall"]] = number
        else:
            recalls.append(number)
    return [(entry_of(store, number), released.get(number, 0)) for number in recalls]


def recall_numbered(store: Store, number: int) -> tuple[Logged, int]:
    """One recall, and the entry that released it.

    Raises:
        Unknown: the entry is no recall.
    """
    for recall, released in every_recall(store):
        if recall.number == number:
            return recall, released
    raise Unknown(f"entry {number} is no recall", "find its number: pourbook recall --list")


def release_of(store: Store, number: int) -> tuple[str, ...]:
    """The items that this recall holds and nothing else does: those to let go when it is released.

    Raises:
        Unknown: the entry is no recall.
    """
    recall, _ = recall_numbered(store, number)
    held: list[str] = recall.entry["body"]["held"]
    others = {
        item
        for other, released in every_recall(store)
        if other.number != number and not released
        for item in other.entry["body"]["held"]
    }
    keys = {item: key_of(item) for item in held}
    by_hand = _held_by_hand(store, keys.values())
    still = _on_hold(store, keys.values())
    return tuple(item for item in held if item not in others and keys[item] in still - by_hand)


def _on_hold(store: Store, keys: Iterable[int]) -> set[int]:
    held: dict[int, str] = {}
    for marks, chunk in chunks(sorted(keys)):
        question = f"SELECT item, value FROM fact WHERE name = 'held' AND item IN ({marks}) ORDER BY happened, place"
        held |= dict(store.query(question, chunk))
    return {item for item, value in held.items() if value}


def _held_by_hand(store: Store, keys: Iterable[int]) -> set[int]:
    """Items whose last hold or release by hand was a hold."""
    held: dict[int, int] = {}
    for marks, chunk in chunks(sorted(keys)):
        for item, bytes_ in store.query(
            "SELECT mention.item, bytes FROM mention JOIN entry ON number = entry WHERE kind = 'hold' AND gone = 0"
            f" AND mention.item IN ({marks}) ORDER BY happened, place",
            chunk,
        ):
            held[item] = parsed(bytes_)["body"]["held"]
    return {item for item, is_held in held.items() if is_held}
