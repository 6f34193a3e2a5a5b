"""What a line of a pouring session says and answers, and what the session knows beside the book.

>>> Scanned(InHand(7, source="water")).in_hand.source
'water'
>>> typed = AmountTyped.of("gross 252.4 tare 48.2 and empty", HouseStyle())
>>> kept_amount(typed.amount), typed.empties, typed.facts
('204.2 kg air', True, {'gross': '252.4 kg', 'tare': '48.2 kg'})
"""

import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.line_by_line import Signal
from pourbook.bench.beside_plan import Keeps, Rest, Target
from pourbook.bench.bounds import PartShare
from pourbook.bench.house_rules import Broken
from pourbook.errors import Ambiguous, Malformed, Mistyped, PourbookError, ToConfirm, Unknown
from pourbook.errors import Held as OnHold
from pourbook.gauging.as_typed import kept_amount
from pourbook.gauging.readings import net_weight
from pourbook.house_style import HouseStyle
from pourbook.liquid import Liquid
from pourbook.quantities import Amount
from pourbook.queries.items.item_card import Held

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.queries.plans.again import PlannedAgain
    from pourbook.queries.traces.heel_age import HeelAge
    from pourbook.queries.traces.trace_answer import Trace
    from pourbook.queries.trials.to_come import ToCome

__all__ = ["TEMPERATURE", "AmountTyped", "InHand", "SamePour", "Scanned", "met", "reads"]

TEMPERATURE = re.compile(r"[-−]?\d+(?:[.,]\d+)?\s*°?\s*[CF]", re.IGNORECASE)
"""A line that is a temperature, with its unit."""

_WHOLE_LINE = re.compile(r"(?P<amount>.+?)(?:\s+at\s+(?P<celsius>.+?))?(?P<empty>\s+and\s+empty)?", re.IGNORECASE)
_WEIGHED = re.compile(r"gross\s+(?P<gross>.+?)(?:\s+tare\s+(?P<tare>.+))?", re.IGNORECASE)


class AmountTyped(NamedTuple):
    """What a line says was poured.

    Attributes:
        amount: None is all there is.
        temperature_c: of a volume; None where the line does not say.
        empties: it was measured and is all there was.
        weighed: what a scale showed: gross and tare.
    """

    amount: Amount | None
    temperature_c: float | None = None
    empties: bool = False
    weighed: tuple[Amount, Amount] | None = None

    @classmethod
    def of(cls, line: str, style: HouseStyle) -> "AmountTyped":
        """Read `118.2 l`, `118.2 l at 13`, `gross 252.4 tare 48.2` (kg) or `all`; with `and empty` after a measure.

        Raises:
            PourbookError: it is none of these.
        """
        parts = _WHOLE_LINE.fullmatch(line)
        text = parts["amount"] if parts else line
        celsius = style.celsius(parts["celsius"]) if parts and parts["celsius"] else None
        empties = bool(parts and parts["empty"])
        if weights := _WEIGHED.fullmatch(text):
            if not weights["tare"]:
                raise Malformed(f"'{text}' lacks the tare", "write both, in kg: gross 252.4 tare 48.2")
            gross, tare = (style.amount(weights[name], "kg") for name in ("gross", "tare"))
            return cls(net_weight(gross, tare), celsius, empties, (gross, tare))
        amount = style.amount_or_all(text)
        return cls(amount, celsius, empties and amount is not None)

    @property
    def facts(self) -> dict[str, str]:
        """Gross and tare, as a pour keeps them."""
        return dict(zip(("gross", "tare"), map(kept_amount, self.weighed or ()), strict=False))


class SamePour(NamedTuple):
    """A pour that this session recorded before: was it poured twice? An amount of a source, and its line."""

    source: str
    amount: Amount
    line: str


class InHand(NamedTuple):
    """What a session knows beside the book.

    Attributes:
        since: number of the last entry before it began.
        glass: the one scanned last.
        source: scanned, and its amount is still to come.
        asked: a pour that is already recorded: the line `again` records it once more, any other one lets it go.
        to_confirm: a line that the rules of the book asked about: `confirm` records it, any other line lets it go.
        let_through: a source that the plan has not, and that a person confirmed.
        new_plan: a plan for the casks still closed: `accept` keeps it.
        gauged: for a pour, the gauge by which its source was emptied, which is undone with it: entries by number.
        balance_g: what the balance showed last.
        refused: how many lines were not recorded.
    """

    since: int
    glass: str = ""
    source: str = ""
    asked: SamePour | None = None
    to_confirm: str = ""
    let_through: str = ""
    new_plan: "PlannedAgain | None" = None
    gauged: Mapping[int, tuple[int, ...]] = {}
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
        signal: how a scan is met where the target has a plan of its own.
        zero_g: what the balance shows before the next pour, where this line says so.
        until_g: what it shows once the source in hand is poured as planned.
        within_g: between what it shows while its part is within its bounds; None where it has none, or is above them.
        glass: the glass in hand.
        expected_ml: what a cask in hand should hold today at 20 °C, where a plan goes by that and the book has more.
        target: the item poured into.
        beside_plan: the component that the source stands for, or the whole plan; when done, what is still to go.
        rests: what remains to be poured into a batch, each way.
        to_come: of a batch with a plan, once something was poured: what it will be if the rest is as planned.
        take: of the source in hand, by what it keeps.
        at_c: temperature of volumes, where a line says no other.
        called: of a whole plan, what each component is called beside its identifier.
        blend: the target traced back, where cost and age were asked for.
        heels: a batch scanned that would make, or has made, the target younger.
        new_plan: a plan for the casks still closed, or that there is none.
        recorded: the pour, or the gauge of a glass.
        bounds: when done, every part of what was poured that its recipe bounds.
        broken: rules of the house that what was poured breaks; before it is done, those that more of it cannot mend.
    """

    in_hand: InHand = InHand(0)
    done: bool = False
    let_go: SamePour | None = None
    put_away: str = ""
    refused: PourbookError | None = None
    signal: Signal = ""
    zero_g: Decimal | None = None
    until_g: Decimal | None = None
    within_g: tuple[Decimal, Decimal] | None = None
    glass: Held | None = None
    expected_ml: float | None = None
    target: Held | None = None
    beside_plan: tuple[Target, ...] = ()
    rests: tuple[Rest, ...] = ()
    to_come: "ToCome | None" = None
    take: Mapping[Keeps, Liquid] = {}
    at_c: float = 20.0
    called: Mapping[str, str] = {}
    blend: "Trace | None" = None
    heels: "tuple[HeelAge, ...]" = ()
    new_plan: "PlannedAgain | None" = None
    recorded: "Recorded | None" = None
    bounds: tuple[PartShare, ...] = ()
    broken: tuple[Broken, ...] = ()


def met(refusal: PourbookError) -> Signal:
    """How a line that is refused is met: a source that must not be opened is wrong, one that gave its part repeated."""
    if isinstance(refusal, ToConfirm):
        return _MET.get(refusal.questions[0].rule, "")
    return "wrong" if isinstance(refusal, (Ambiguous, OnHold, Mistyped, Unknown)) else ""


_MET: dict[str, Signal] = {"taken-already": "repeated", "nothing-in-it": "wrong", "not-in-plan": "wrong"}


def reads(read_text: Callable[[str], object], text: str) -> bool:
    """Whether a text can be read so."""
    try:
        read_text(text)
    except PourbookError:
        return False
    return True
