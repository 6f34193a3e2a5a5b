"""Pour into an item from named sources, all at once.

>>> from pourbook import Book
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> vial = book.next_id("vial")
>>> _ = how.record(book, Item(vial, {"ref": "S 27-01"}))
>>> poured = pour(book, how, "S 27-01", [("origin", read_amount("250 ml"))], PourDetails(read_strength("60")))
>>> f"{poured.target.view.volume_ml_20c:.1f} ml", poured.recorded.numbers[-1]
('250.0 ml', 3)
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.movement import Status, record
from pourbook.bench.beside_plan import Target
from pourbook.bench.house_rules import Broken
from pourbook.bench.trials import WATER
from pourbook.book.entries import Entry, Facts, Item, Move, Pour  # noqa: F401 (the example)
from pourbook.book.items import facts
from pourbook.codes.identifiers import key_of, kind_of, readable
from pourbook.errors import Malformed, PourbookError, Question, ToConfirm
from pourbook.quantities import Amount
from pourbook.queries.items.item_card import Held, held_now
from pourbook.queries.traces.heel_age import HeelAge, heels_in
from pourbook.queries.trials.pull_guard import before_it_flows
from pourbook.queries.trials.reducing import rest_question
from pourbook.queries.trials.rules_kept import rules_kept
from pourbook.queries.trials.targets import for_source, targets

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.quantities import Strength

__all__ = ["AS_POURED", "OUTSIDE", "PourDetails", "Poured", "pour", "pour_called", "source_and_amount", "source_named"]

OUTSIDE = ("water", "additive", "origin")
"""Words for sources that are no items."""


class PourDetails(NamedTuple):
    """What holds for every pour of one action.

    Attributes:
        strength: of the source as read; needed from an origin.
        temperature_c: of every volume.
        received: what arrived, where it was measured too.
        redistilled: it went through the still on the way.
        facts: what water or additive it is, and whatever else is known.
        status: owner and duty status that a person states of the target.
        is_let_through: what is not in the plan of a batch was asked about when it was opened.
    """

    strength: "Strength | None" = None
    temperature_c: float = 20.0
    received: "Amount | None" = None
    redistilled: bool = False
    facts: Mapping[str, str | int] = {}
    status: Status | None = None
    is_let_through: bool = False


NOT_PLANNED = {"planned": "no"}
"""A fact of a pour that the plan of its batch has not, or not any more."""

AS_POURED = PourDetails()
"""Nothing but source and amount is known."""


class Poured(NamedTuple):
    """Pours recorded: the target, and beside_plan every component of its plan; empty where it follows none.

    `broken` are rules of the house that more of the plan cannot mend; `heels` make a batch younger.
    """

    target: Held
    beside_plan: tuple[Target, ...]
    recorded: "Recorded"
    broken: tuple[Broken, ...] = ()
    heels: tuple[HeelAge, ...] = ()


def pour(
    book: "BookCore", how: Happening, target: str, pours: "Sequence[tuple[str, Amount | None]]",
    details: PourDetails = AS_POURED,
) -> Poured:  # fmt: skip
    """Pour into an item, all or nothing, as one entry.

    `pours` are sources (identifier, outside name or a word of `OUTSIDE`) with amounts; None is all there is. What the
    plan of a batch has not is recorded as not planned.

    Raises:
        ToConfirm: it is unlikely, or not in the plan of a batch.
        PourbookError: it cannot be.
    """
    if details.received is not None and len(pours) > 1:
        raise Malformed("one amount received cannot cover several sources", "pour them one by one")
    with how.transaction(book):
        into = book.find(target)
        moves: list[Move] = []
        asked: list[Question | None] = []
        for text, amount in pours:
            source = source_named(book, text)
            unplanned = before_it_flows(book, into, source)
            asked += [unplanned] if unplanned and not details.is_let_through else []
            facts = {**details.facts, **(NOT_PLANNED if unplanned else {})}
            if amount is None and source in OUTSIDE:
                raise Malformed(f"'all' of {source} is not an amount", "write how much: 12.5 ml")
            moves.append(
                Move(
                    source, into, amount, details.strength, details.temperature_c,
                    received=details.received, redistilled=details.redistilled, facts=facts,
                )
            )  # fmt: skip
        if any(move.source == WATER for move in moves):
            asked.append(rest_question(book, into, how.moment(book)))
        questions = [question for question in (*asked, *(_beside_plan(book, into, move) for move in moves)) if question]
        if questions and not how.confirm:
            raise ToConfirm(*questions)
        recorded = record(book, how, details.status, Pour("pour", tuple(moves)))
        beside_plan = targets(book, into)
        planned_ml = sum(one.planned_ml for one in beside_plan if one.component != WATER)
        kept = rules_kept(book, into, planned_ml=planned_ml) if planned_ml else ()
        has_heel = kind_of(into) == "batch" and any(move.source[:1] == "B" for move in moves)
        return Poured(held_now(book, into), beside_plan, recorded, kept, heels_in(book, into) if has_heel else ())


def _beside_plan(book: "BookCore", trial: str, move: Move) -> Question | None:
    """What to ask about water of another order than the plan of a trial: a slip in its unit."""
    if move.source != "water" or not isinstance(move.amount, Amount) or move.amount.dimension != "volume":
        return None
    from pourbook.gauging.slips import plan_question

    planned_ml = max((target.planned_ml for target in for_source(book, targets(book, trial), move.source)), default=0.0)
    return plan_question(move.amount.typed, float(move.amount.volume_ml), planned_ml, book.settings["decimal_mark"])


def source_and_amount(book: "BookCore", line: str) -> tuple[str, str] | None:
    """A source and an amount on one line; names of the house may hold spaces."""
    words = line.split()
    for cut in (1, *range(len(words) - 1, 1, -1)):
        try:
            source = source_named(book, " ".join(words[:cut])) if cut < len(words) else ""
        except PourbookError:
            continue
        if source:
            return source, " ".join(words[cut:])
    return None


def source_named(book: "BookCore", text: str) -> str:
    """The source of this name; a word for outside stands for itself."""
    word = text.strip().lower()
    return word if word in OUTSIDE else book.find(text)


def pour_called(book: "BookCore", source: str, amount: Amount | None) -> str:
    """A pour in words, by the name that the house has for its source: `5 ml from S 1`."""
    ref = "" if source in OUTSIDE else facts(book.store, key_of(source)).get("ref", "")
    return f"{amount.typed if amount else 'all'} from {ref or readable(source)}"
