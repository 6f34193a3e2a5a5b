"""What waits to be done: strengths to be read, checks of instruments, labels, missing items, approvals, runs.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 3 * DAY_US)
>>> cask, vial = Item("C000001H", {"ref": "Q 31"}), Item("V000001R", {})
>>> fill = Move("origin", "C000001H", read_amount("200 l"), read_strength("63.5"), pending=True)
>>> draw = Pour("draw", (Move("C000001H", "V000001R", read_amount("200 ml")),))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (cask, vial, Pour("fill", (fill,)), draw)))
>>> (one,) = due(book).strengths
>>> one.item, one.days, one.samples[0].item, due(book).instruments, due(book).labels
('C000001H', 3, 'V000001R', (), ())
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.approvals import covering, recorded_about_before
from pourbook.book.bottling_runs import counts, lots_of_run, runs_under_way
from pourbook.book.contents import LINES
from pourbook.book.items import entered_in, facts, ledger, on_hand
from pourbook.book.journal import entries_of, entry_of
from pourbook.book.label_prints import LastPrint, Restated, last_prints
from pourbook.book.lineages import drawn_since, pending_fills, pending_states
from pourbook.book.search import due_until, in_force
from pourbook.book.site_numbers import is_consignment
from pourbook.codes.identifiers import key_of, kind_of, of_key
from pourbook.queries.items.called import called
from pourbook.queries.labels.outdated_labels import outdated
from pourbook.queries.trials.reducing import resting
from pourbook.queries.warehouse.missing import Missing, missing
from pourbook.times import DAY_US, day_shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.lineages import PendingFill
    from pourbook.queries.approvals.approved import Approved

__all__ = [
    "AHEAD_DAYS", "Due", "DueApproval", "DueCheck", "DueLabel", "DueRest", "DueRun", "DueStrength", "Sample", "due",
]  # fmt: skip

AHEAD_DAYS = 30
"""A check is told so many days before it is due, since a laboratory wants notice (common practice, no source)."""


class Sample(NamedTuple):
    """A vial drawn from what waits for its strength: the item, when that happened, and who drew it."""

    item: str
    happened_us: int
    who: str


class DueStrength(NamedTuple):
    """A strength still to be read: the item that was filled, by which entry, when it happened, who did it.

    `days` is how long ago; `samples` are the vials drawn from it since, in that order.
    """

    item: str
    entry: int
    happened_us: int
    who: str
    days: int
    samples: tuple[Sample, ...]


class DueCheck(NamedTuple):
    """A check of an instrument: the item and its name, the day it is due (ISO), days to it (below 0: overdue)."""

    item: str
    name: str
    due: str
    days: int


class DueLabel(NamedTuple):
    """A label that says something else than the book: its item, how it was printed last, what has changed since."""

    item: str
    printed: LastPrint
    changed: tuple[Restated, ...]


class DueApproval(NamedTuple):
    """A batch or a lot whose approval is to be looked at: the item, and how its approval stands."""

    item: str
    stands: "Approved"


class DueRun(NamedTuple):
    """A bottling run under way: its first lot (`item`), when it was begun (`happened_us`), days and bottles since."""

    item: str
    happened_us: int
    days: int
    bottles: int


class DueRest(NamedTuple):
    """A reduction whose rest has ended: the item, when that was, its next strength (`to_percent`) and water to that."""

    item: str
    ended_us: int
    to_percent: float
    water_mg: int


UNDER_WAY_DAYS = 14
"""After so many days, what one site sent and another did not receive is asked about."""


class DueConsignment(NamedTuple):
    """The item of a consignment that a site sent under a document, and that `to_site` did not receive for days."""

    item: str
    document: str
    site: str
    to_site: str
    sent_us: int
    days: int


class Due(NamedTuple):
    """All that is due, the longest waiting first.

    These are strengths, checks of instruments, labels, missing items, approvals, runs, rests of a reduction, and what
    is under way (`between`) between sites of a group.

    `called` is how a person knows each item at sight.
    """

    strengths: tuple[DueStrength, ...]
    instruments: tuple[DueCheck, ...]
    labels: tuple[DueLabel, ...]
    called: dict[str, str]
    missing: tuple[Missing, ...] = ()
    approvals: tuple[DueApproval, ...] = ()
    runs: tuple[DueRun, ...] = ()
    rests: tuple[DueRest, ...] = ()
    between: tuple[DueConsignment, ...] = ()


def due(book: "BookCore", ahead_days: int = AHEAD_DAYS) -> Due:
    """What is due now, and checks of instruments due within so many days."""
    now_us, prints = book.clock(), last_prints(book.store)
    strengths = tuple(_strength(book, one, now_us) for one in pending_fills(book.store))
    changed = outdated(book, prints, pending_states(book.store))
    by_print = sorted(changed, key=lambda item: (prints[key_of(item)].entry, key_of(item)))
    labels = tuple(DueLabel(item, prints[key_of(item)], changed[item]) for item in by_print)
    gone, approvals, rests = missing(book), tuple(_approvals(book)), tuple(_rests(book, now_us))
    named = [*(one.item for one in strengths), *(vial.item for one in strengths for vial in one.samples), *by_print]
    runs = tuple(_run(book, run, now_us) for run in runs_under_way(book.store))
    named += [*(one.view.id for one in gone), *(one.item for one in approvals), *(one.item for one in runs)]
    named += [one.item for one in rests]
    names = called(book.store, dict.fromkeys(named))
    between = tuple(sorted(_under_way(book, now_us), key=lambda one: one.sent_us)) if book.is_group else ()
    return Due(strengths, _checks(book, now_us, ahead_days), labels, names, gone, approvals, runs, rests, between)


def _under_way(book: "BookCore", now_us: int) -> Iterator[DueConsignment]:
    """What another site should have received by now."""
    for view in on_hand(book.store, kind="batch"):
        key, told = key_of(view.id), view.facts
        if is_consignment(key):
            sent_us = ledger(book.store, key)[0].happened_us
            days = (now_us - sent_us) // DAY_US
            if days >= UNDER_WAY_DAYS:
                ends = told.get("site", ""), told.get("to_site", "")
                yield DueConsignment(view.id, view.ref, *ends, sent_us, days)


def _rests(book: "BookCore", now_us: int) -> Iterator[DueRest]:
    for one in resting(book):
        if one.rests_until_us is not None and one.rests_until_us <= now_us:
            step = one.ahead[0]
            yield DueRest(one.view.id, one.rests_until_us, step.to_percent, step.water.mass_mg)


def _run(book: "BookCore", run: str, now_us: int) -> DueRun:
    begun_us = entry_of(book.store, entered_in(book.store, key_of(run))).happened_us
    counted = [one.tally.of_the_lot for lot in lots_of_run(book.store, run) for one in counts(book.store, lot)]
    return DueRun(run, begun_us, (now_us - begun_us) // DAY_US, sum(counted))


def _approvals(book: "BookCore") -> Iterator[DueApproval]:
    """Lots in the house that nobody approved, where the house wants that; and approvals that rest on other figures."""
    waiting: set[str] = set()
    if book.settings["approval"] != "no":
        for view in on_hand(book.store, kind="lot"):
            if covering(book.store, view.id).stands in ("not approved", "lapsed"):
                waiting.add(view.id)
                yield DueApproval(view.id, _approved(book, view.id))
    for entry in in_force(book.store, "approval"):
        item = entry.entry["body"]["item"]
        if item not in waiting and recorded_about_before(book.store, entry.number, entry.happened_us):
            waiting.add(item)
            found = _approved(book, item)
            if found.changed:
                yield DueApproval(item, found)


def _approved(book: "BookCore", item: str) -> "Approved":
    from pourbook.queries.approvals.approved import approved  # most houses approve nothing

    return approved(book, item)


def _strength(book: "BookCore", fill: "PendingFill", now_us: int) -> DueStrength:
    vials = [one for one in drawn_since(book.store, fill.item, fill.happened_us) if kind_of(of_key(one[0])) == "vial"]
    told = entries_of(book.store, (entry for _, entry, _ in vials))
    samples = tuple(Sample(of_key(item), when_us, told[entry]["who"]) for item, entry, when_us in vials)
    days = (now_us - fill.happened_us) // DAY_US
    return DueStrength(of_key(fill.item), fill.line // LINES, fill.happened_us, fill.who, days, samples)


def _checks(book: "BookCore", now_us: int, ahead_days: int) -> tuple[DueCheck, ...]:
    from datetime import date  # a house without instruments does without it

    today = date.fromisoformat(day_shown(now_us, book.zone))
    until = day_shown(now_us + ahead_days * DAY_US, book.zone)
    found = [
        (day, of_key(key), facts(book.store, key).get("ref", ""))
        for key, day in due_until(book.store, until) if kind_of(of_key(key)) == "instrument"
    ]  # fmt: skip
    return tuple(DueCheck(item, ref, day, (date.fromisoformat(day) - today).days) for day, item, ref in sorted(found))
