"""Corrections: void, replace, close. Nothing is edited; a later entry says what was right."""

from functools import reduce
from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.actions.gauge import difference_of, gauge_again
from pourbook.actions.happening import Happening
from pourbook.book.consequences import Recorded
from pourbook.book.entries import Close, Gauge, Pour, Void
from pourbook.book.freeze import thawed_move
from pourbook.book.journal import Logged, entry_of
from pourbook.errors import Malformed, OutOfRange, Refused
from pourbook.gauging.what_was_read import WhatWasRead
from pourbook.numerals import a_or_an

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from pourbook.book.consequences import Changed
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Move
    from pourbook.quantities import Amount, Strength

__all__ = ["Closed", "Corrected", "Correction", "close_period", "replace", "void", "void_all"]


class Correction(NamedTuple):
    """What was right about a gauge or a line of a pour; None keeps what was recorded.

    Attributes:
        line: which line of a pour, from 1.
        amount: of the line, or measured by the gauge; "all" of what the source held.
        strength: of the liquid; ends one that was pending.
        temperature_c: at which the volume was measured.
        source: what it was poured from.
        target: what it was poured into.
        rederive: derive all masses again from what was typed.
        read: of a gauge, what instruments read, besides amount and strength.
        instruments: of a gauge, what that was read with, by identifier or name.
        kind: of a loss, a word of `DISPOSITIONS`; empty keeps it.
        document: under which it was sent, came or was lost; empty keeps it.
    """

    line: int = 1
    amount: "Amount | Literal['all'] | None" = None
    strength: "Strength | None" = None
    temperature_c: float | None = None
    source: str | None = None
    target: str | None = None
    rederive: bool = False
    read: WhatWasRead = WhatWasRead()
    instruments: "Sequence[str]" = ()
    kind: str = ""
    document: str = ""


class Corrected(NamedTuple):
    """The number of an entry that no longer counts; the last entry recorded is the void, or what stands in.

    `difference` is that of a gauge from what the book had just before it; None for any other entry, or a void.
    """

    number: int
    recorded: Recorded
    difference: "Changed | None" = None


class Closed(NamedTuple):
    """A closed period: nothing may be recorded as having happened before `until_us`."""

    until_us: int
    recorded: Recorded


def void(book: "BookCore", how: Happening, number: int) -> Corrected:
    """Void an entry that was a mistake; it stays readable. It is recorded now and takes effect where the entry did.

    Raises:
        Malformed: no reason was given.
        Unknown: no such entry.
        InTheWay: a later pour would be left without liquid.
    """
    return Corrected(number, how.record(book, Void(number)))


def void_all(book: "BookCore", how: Happening, numbers: "Iterable[int]") -> Recorded:
    """Void what belongs together, all or nothing; the last entry comes first, as `void` each."""
    with how.transaction(book):
        return reduce(Recorded.and_then, [void(book, how, number).recorded for number in numbers])


def replace(book: "BookCore", how: Happening, number: int, correction: Correction) -> Corrected:
    """Record a pour or a gauge again with what was right; it keeps its time unless `how` gives one.

    Raises:
        Malformed: no reason was given, or the pour has no such line.
        Unknown: no such entry.
        Refused: the entry is neither a pour nor a gauge, or a rule of the book refuses it.
    """
    old = entry_of(book.store, number)
    if old.kind == "gauge":
        entry: Gauge | Pour = _gauge(book, how, old, correction)
    elif old.kind == "pour":
        entry = _pour(book, old, correction)
    else:
        raise Refused(f"entry {number} is {a_or_an(old.kind)} entry", "record what is true now instead, or void it")
    when_us = old.happened_us if how.when_us is None else how.when_us
    with how.transaction(book):
        recorded = how.record_drafts(book, how.draft(book, entry, when_us=when_us, replaces=number))
        number_now = recorded.numbers[-1 - len(recorded.held)]
        found = difference_of(book, entry.id, number_now) if isinstance(entry, Gauge) else None
        return Corrected(number, recorded, found)


def _gauge(book: "BookCore", how: Happening, old: Logged, right: Correction) -> Gauge:
    if right.amount == "all":
        raise Malformed("a gauge states an amount, not 'all'", "write digits first: 12.5 ml")
    if right.document:
        raise Malformed(f"entry {old.number} is a gauge, and nothing travelled", "leave --document out")
    read = right.read._replace(amount=right.amount, true=right.strength)
    entry = gauge_again(book, how, old, read, right.temperature_c, right.instruments)
    return entry._replace(facts={**entry.facts, "disposition": right.kind}) if right.kind else entry


def _pour(book: "BookCore", old: Logged, right: Correction) -> Pour:
    lines = old.entry["body"]["lines"]
    if not 1 <= right.line <= len(lines):
        raise Malformed(f"entry {old.number} has lines 1 to {len(lines)}, not {right.line}", "give --line")
    if right.read != WhatWasRead() or right.instruments:
        raise Malformed(f"entry {old.number} is a pour, and no instrument was read", "give --amount or --strength")
    measured = any(one is not None for one in (right.amount, right.strength, right.temperature_c, right.source))
    moves = [
        thawed_move(line, anew=right.rederive or (measured and number == right.line))
        for number, line in enumerate(lines, start=1)
    ]
    moves[right.line - 1] = _put_right(book, moves[right.line - 1], right)
    return Pour(old.entry["body"]["verb"], tuple(moves))


def _put_right(book: "BookCore", move: "Move", right: Correction) -> "Move":
    if right.amount is not None:
        if right.amount != "all" and not right.amount.value:
            raise OutOfRange(f"amount '{right.amount.typed}' is zero", "an amount poured is above zero")
        is_counted_anew = move.source == "return" or move.source[:1] == "L"  # its bottles follow from the amount
        facts = {name: value for name, value in move.facts.items() if name != "bottles" or not is_counted_anew}
        move = move._replace(amount=None if right.amount == "all" else right.amount, empties=False, facts=facts)
    if right.kind and move.target != "loss":
        raise Malformed(f"what went into {move.target} was not lost", "leave --kind out")
    if right.kind:
        move = move._replace(facts={**move.facts, "disposition": right.kind})
    if right.document and "document" not in move.facts:
        raise Malformed("this line was recorded without a document", "leave --document out, or void the entry")
    if right.document:
        move = move._replace(facts={**move.facts, "document": right.document})
    if right.strength is not None:
        move = move._replace(strength=right.strength, pending=False, composition=None)
    if right.temperature_c is not None:
        move = move._replace(temperature_c=right.temperature_c)
    if right.source is not None:
        move = move._replace(source=book.find(right.source))
    return move if right.target is None else move._replace(target=book.find(right.target))


def close_period(book: "BookCore", how: Happening) -> Closed:
    """Close the period up to the moment of `how`. Later corrections stay possible; each names its reason.

    Raises:
        Refused: a strength is pending.
    """
    until_us = how.moment(book)
    return Closed(until_us, how._replace(when_us=until_us).record(book, Close()))
