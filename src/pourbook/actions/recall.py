"""Recalls, actual and mock: found, held, recorded and printed in one action; and their release.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.actions.happening import Happening
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(fill, 0, "M. Aldane"))
>>> how = Happening("M. Aldane", reason="laboratory report 31")
>>> recalled = recall(book, how, RecallPlan((Suspect("item", cask),), mock=False, hold=True))
>>> recalled.held, release_recall(book, how, recalled.number).released
(('C000001H',), ('C000001H',))
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.print_paper import Output, Printed, print_recall_report
from pourbook.book.contents import EVER
from pourbook.book.entries import Recall, Release
from pourbook.book.journal import entry_of
from pourbook.book.recall_scope import Suspect
from pourbook.errors import Malformed, Refused
from pourbook.queries.recalls.recalls import Finding, Kept, Times, ended, finding, times_of

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["RecallPlan", "Recalled", "Released", "recall", "release_recall"]


class RecallPlan(NamedTuple):
    """What is recalled, and how.

    Attributes:
        suspects: as typed; any of them is enough.
        mock: an exercise only.
        hold: all that holds any of it is put on hold.
        threshold: items with smaller shares by every basis are left out; 0 for any positive amount.
        since_check: of instruments, only what was gauged since their last check.
        begun_us: when it was begun; now by default.
        ended_us: when all was found; by default when it is.
        suspected_us: when it was first suspected; None where nobody says.
        within_h: hours that it is to take from then, as `read_within` gives them; empty for no target.
    """

    suspects: tuple[Suspect, ...]
    mock: bool
    hold: bool = False
    threshold: float = 0.0
    since_check: bool = False
    begun_us: int | None = None
    ended_us: int | None = None
    suspected_us: int | None = None
    within_h: str = ""


class Recalled(NamedTuple):
    """A recall that was recorded, by the number of its entry: mock or not, what it found, the items held.

    `is_holding` says whether it was to put anything on hold; `times` when it was done; `printed` is its report, None
    where none was asked for.
    """

    number: int
    mock: bool
    found: Finding
    held: tuple[str, ...]
    is_holding: bool
    times: Times
    printed: Printed | None
    recorded: "Recorded"


class Released(NamedTuple):
    """The number of a recall, the items released, those kept (each with why), what was recorded."""

    number: int
    released: tuple[str, ...]
    kept: tuple[Kept, ...]
    recorded: "Recorded"


def recall(book: "BookCore", how: "Happening", plan: RecallPlan, report: Output | None = None) -> Recalled:
    """Find all that suspects reach, hold it, record it and print it: all of it, or nothing.

    Where `how` says when, only what happened until then is followed; a report goes where it is told, None prints none.

    Raises:
        Refused: this is a group's book, which records nothing.
        PourbookError: no reason, a suspect is unknown or touched no liquid, or the report cannot be written.
    """
    if book.is_group:
        raise Refused(
            "this is the book of a group, which records no recall",
            "print what it finds at every site: pourbook affected … -o FILE.pdf; then recall at each site",
        )
    _check_reason(how)
    begun_us = book.clock() if plan.begun_us is None else plan.begun_us
    until_us = EVER if how.when_us is None else how.when_us
    with how.transaction(book):
        found = finding(book.store, plan.suspects, until_us, plan.threshold, since_check=plan.since_check)
        held = _on_hand_now(book, plan, found, until_us) if plan.hold else ()
        entry = Recall(
            found.affected.suspects,
            plan.mock,
            f"{plan.threshold:.12g}" if plan.threshold else "",
            begun_us,
            book.clock() if plan.ended_us is None else plan.ended_us,
            book.head()[1],
            found.figures,
            tuple(dict.fromkeys((*(one.item.id for one in found.affected.items), *held))),
            held,
            plan.suspected_us,
            plan.within_h,
        )
        recorded = how.record(book, entry)
        number = recorded.numbers[-1]
        times = times_of(entry_of(book.store, number))
        printed = None if report is None else print_recall_report(book, how, number, found, report)
    return Recalled(number, plan.mock, found, held, plan.hold, times, printed, recorded)


def _on_hand_now(book: "BookCore", plan: RecallPlan, found: Finding, until_us: int) -> tuple[str, ...]:
    """What holds any of it: as found, and where the search ends in the past, also what it was poured into since."""
    if until_us != EVER:
        now = finding(book.store, plan.suspects, EVER, plan.threshold, since_check=plan.since_check)
        return tuple(one.item.id for one in now.affected.on_hand)
    return tuple(one.item.id for one in found.affected.on_hand)


def release_recall(book: "BookCore", how: "Happening", number: int) -> Released:
    """End the holds of a recall: release what it holds and nothing else does.

    Raises:
        PourbookError: no reason, the entry is not a recall, it held nothing, or it was released before.
    """
    _check_reason(how)
    with how.transaction(book):
        released, kept = ended(book.store, number)
        recorded = how.record(book, Release(number, released))
    return Released(number, released, kept, recorded)


def _check_reason(how: "Happening") -> None:
    if not how.reason:
        raise Malformed("a recall and its release need a reason", "give --reason")
