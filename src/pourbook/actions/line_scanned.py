"""What a line of a pouring session answers, and what the session knows beside the book.

>>> Scanned(InHand(7, source="water")).in_hand.source
'water'
"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.errors import PourbookError
from pourbook.quantities import Amount
from pourbook.queries.items.item_card import Held
from pourbook.queries.trials.targets import Target

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["InHand", "SamePour", "Scanned", "reads"]


class SamePour(NamedTuple):
    """A pour that this session recorded before: was it poured twice?"""

    source: str
    amount: Amount


class InHand(NamedTuple):
    """What a session knows beside the book.

    Attributes:
        since: number of the last entry before it began.
        glass: the one scanned last.
        source: scanned, and its amount is still to come.
        asked: a pour that is already recorded: the line `again` records it once more, any other one lets it go.
        to_confirm: a line that the rules of the book asked about: `confirm` records it, any other line lets it go.
        balance_g: what the balance showed last.
        refused: how many lines were not recorded.
    """

    since: int
    glass: str = ""
    source: str = ""
    asked: SamePour | None = None
    to_confirm: str = ""
    balance_g: Decimal | None = None
    refused: int = 0


class Scanned(NamedTuple):
    """The answer to one line.

    Attributes:
        in_hand: what the session knows now.
        done: it was the last line.
        let_go: the pour that was asked about, where this line does not confirm it.
        put_away: a source scanned before, from which nothing was poured.
        refused: why nothing was recorded.
        zero_g: what the balance shows before the next pour, where this line says so.
        until_g: what it shows once the source in hand is poured as planned.
        glass: the glass in hand.
        target: the item poured into.
        beside_plan: the component that the source stands for, or the whole plan; when done, what is still to go.
        called: of a whole plan, what each component is called beside its identifier.
        blend: the target traced back, where cost and age were asked for.
        recorded: the pour, or the gauge of a glass.
    """

    in_hand: InHand = InHand(0)
    done: bool = False
    let_go: SamePour | None = None
    put_away: str = ""
    refused: PourbookError | None = None
    zero_g: Decimal | None = None
    until_g: Decimal | None = None
    glass: Held | None = None
    target: Held | None = None
    beside_plan: tuple[Target, ...] = ()
    called: Mapping[str, str] = {}
    blend: "Trace | None" = None
    recorded: "Recorded | None" = None


def reads(read_text: Callable[[str], object], text: str) -> bool:
    """Whether a text can be read so."""
    try:
        read_text(text)
    except PourbookError:
        return False
    return True
