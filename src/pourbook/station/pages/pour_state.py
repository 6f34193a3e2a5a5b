"""What a person has in hand while pouring, kept beside the book: a restart, or another screen, goes on there."""

from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Literal, NamedTuple, cast, get_args

from pourbook.actions.guarded_pouring import GuardedPouring
from pourbook.actions.line_scanned import InHand
from pourbook.actions.pouring import PourDetails
from pourbook.errors import Malformed
from pourbook.station.in_hand import as_json, from_json
from pourbook.station.people import hands_of

if TYPE_CHECKING:
    from collections.abc import Collection

    from pourbook.station.visit import Visit

__all__ = ["BY_HAND", "DEEDS", "WAYS", "PourState", "PourTask", "Way", "keep", "let_go", "state_of"]

DEEDS = ("pour", "gauge", "lose", "void")
"""Actions of a pouring session."""

Way = Literal["volume", "tared", "balance"]
"""How amounts are measured: by volume, on a balance that is tared before each pour, or on one that is not."""

BY_HAND = "-"
"""Stands for no balance: what it shows is typed."""

WAYS: tuple[Way, ...] = get_args(Way)


class PourTask(NamedTuple):
    """What is poured.

    Attributes:
        name: last part of the address of its page.
        kind: of the items that are poured into.
        beside: a template of its own, shown below the table; empty for none.
        more: values for that template, worked out of an item after each line.
    """

    name: str
    kind: str
    beside: str = ""
    more: "Callable[[Visit, str], dict[str, Any]] | None" = None


class PourState(NamedTuple):
    """What is in hand.

    Attributes:
        hand: what the session knows beside the book.
        way: how amounts are measured.
        temperature: of volumes, as it was typed last.
        scales: name of the balance that is read; empty for the house's only one, or what is typed.
    """

    hand: InHand
    way: Way = "volume"
    temperature: str = ""
    scales: str = ""

    def weighed(self, way: str, scales: str) -> "PourState":
        """The same, measured in another way: what a balance showed before no longer counts."""
        return self._replace(way=cast("Way", way), scales=scales).after(self.hand._replace(balance_g=None))

    def read_from(self, names: "Collection[str]") -> str:
        """The balance that is read, of those the house has; empty where amounts are typed."""
        if self.way == "volume" or self.scales == BY_HAND:
            return ""
        return self.scales if self.scales in names else next(iter(names), "") if len(names) == 1 else ""

    def after(self, hand: InHand) -> "PourState":
        """The same with something else in hand; a balance that is tared shows nothing again."""
        return self._replace(hand=hand._replace(balance_g=Decimal(0)) if self.way == "tared" else hand)

    def typed(self, visit: "Visit") -> "PourState":
        """The same with the temperature that was typed."""
        return self._replace(temperature=visit.typed("temperature")) if "temperature" in visit.form else self

    def session(self, visit: "Visit", item: str, *, is_loss: bool = False) -> GuardedPouring:
        """The session as it goes on; what is lost from a tared balance is typed as an amount."""
        on_balance = self.way == "balance" or (self.way == "tared" and not is_loss)
        details = PourDetails(temperature_c=visit.style.celsius(self.temperature or None))
        return GuardedPouring(visit.book, visit.how, item, details, self.hand, balance=on_balance)


def state_of(visit: "Visit", task: PourTask, item: str) -> PourState:
    """What is in hand; whatever another version kept is begun again."""
    if kept := visit.book.beside.in_hand(hands_of(visit.person), _named(task, item)):
        try:
            return cast("PourState", from_json(kept))
        except Malformed:
            pass
    return PourState(InHand(visit.book.head_number()))


def keep(visit: "Visit", task: PourTask, item: str, state: PourState) -> PourState:
    """Keep what is in hand."""
    visit.book.beside.keep_in_hand(hands_of(visit.person), _named(task, item), as_json(state))
    return state


def let_go(visit: "Visit", task: PourTask, item: str) -> None:
    """The task is done."""
    visit.book.beside.drop_in_hand(hands_of(visit.person), _named(task, item))


def _named(task: PourTask, item: str) -> str:
    return f"{task.name} {item}"
