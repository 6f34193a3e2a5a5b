"""The ends of a line of a pour: whether they may be poured from and into, and what a recall does with what it holds.

>>> is_work_of_a_recall(Move("C000001H", "V000001R", None, facts={"purpose": "analysis"}))
True
"""

from collections.abc import Iterable

from pourbook.book.book_so_far import Known
from pourbook.book.contents import LINES, Holding
from pourbook.book.entries import SOURCES, TARGETS, Draft, Move, Pour
from pourbook.book.refold import Ends
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Held, Malformed, NotThere, Refused

__all__ = ["ends_of", "filled_by_then", "is_work_of_a_recall", "recall_holding"]

_BEGINS = (
    "SELECT (SELECT min(happened) FROM ledger WHERE item = ?),"
    " (SELECT entry.happened FROM item JOIN entry ON entry.number = item.entry WHERE key = ?)"
)


def ends_of(known: Known, pour: Pour, happened_us: int) -> list[Ends]:
    """The items at the ends of each line, if they may be poured from and into.

    Raises:
        PourbookError: they may not.
    """
    if not pour.moves:
        raise Malformed("a pour without a line", "say what was poured into what")
    if len(pour.moves) > LINES:
        raise Refused(f"{len(pour.moves)} lines in one entry; at most {LINES}", "record them as several")
    ends: list[Ends] = []
    for move in pour.moves:
        if move.source == move.target:
            raise Refused(f"{hyphened(move.source)} cannot be poured into itself", "check which two were meant")
        if move.source in SOURCES and move.target in TARGETS:
            raise Refused(f"{move.source} cannot go straight to {move.target}")
        source = None if move.source in SOURCES else _endpoint(known, move, move.source, happened_us)
        ends.append((source, None if move.target in TARGETS else _endpoint(known, move, move.target, happened_us)))
    return ends


def _endpoint(known: Known, move: Move, identifier: str, happened_us: int) -> int:
    key = known.liquid_key(identifier)
    if known.is_held(key, happened_us) and not (is_work_of_a_recall(move) and recall_holding(known, (key,))):
        remedy = "release it first, with the reason: pourbook release"
        if known.holders(key).recall:
            remedy += "; a recall lets through returns, a witnessed destruction, samples with --purpose analysis"
        raise Held(f"{hyphened(identifier)} is on hold", remedy)
    return key


def filled_by_then(known: Known, source: str, held: Holding, draft: Draft) -> None:
    """Refuse to pour from what is empty because it was filled, or entered, only later; a person may confirm it.

    Raises:
        NotThere: it was; the message says when.
    """
    if held.mass_mg or source in SOURCES or draft.confirmed:
        return
    key, happened_us = known.key(source), draft.happened_us
    filled_us, entered_us = known.store.query(_BEGINS, (key, key))[0]
    began_us = entered_us if filled_us is None else filled_us
    if began_us is not None and began_us > happened_us:  # what this recording itself opens is not written yet
        when, began = known.time_shown(happened_us), known.time_shown(began_us)
        what = "entered" if filled_us is None else "first filled"
        raise NotThere(f"{hyphened(source)} was empty at {when}: it was {what} at {began}", "check --when and the item")


def recall_holding(known: Known, ends: Iterable[int | None]) -> int:
    """The latest recall that alone holds an end of a line now; 0 for none."""
    held_by = [known.holders(key) for key in ends if key is not None and known.is_held_now(key)]
    return 0 if any(one.by_hand for one in held_by) else max((one.recall for one in held_by), default=0)


def is_work_of_a_recall(move: Move) -> bool:
    """What comes back from customers, what is destroyed and seen to be, a sample that a laboratory analyses."""
    told = move.facts
    if move.source == "return":
        return True
    if move.target == "loss":
        return told.get("disposition") == "destruction" and bool(told.get("witness") or told.get("document"))
    is_sample = move.target[:1] == "V" or (move.target == "despatch" and move.source[:1] == "V")
    return is_sample and str(told.get("purpose", "")).strip().lower() == "analysis"
