"""A sample read in the laboratory: its strength stands for what it was drawn from, and settles what was pending."""

from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.gauge import difference_of, gauge_draft
from pourbook.actions.happening import Happening
from pourbook.alcoholometry.apparent import strength_of
from pourbook.alcoholometry.volumes import Composition
from pourbook.book.bottles import drawn_from
from pourbook.book.consequences import Changed, Recorded
from pourbook.book.entries import Draft, Gauge, Pour
from pourbook.book.freeze import thawed_move
from pourbook.book.items import ItemView
from pourbook.book.journal import entry_of
from pourbook.book.lineages import pending_in
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, Refused
from pourbook.gauging.what_was_read import WhatWasRead
from pourbook.quantities import Strength
from pourbook.queries.traces.behind import sources_behind
from pourbook.queries.traces.trace import trace_back
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.book.core import BookCore

__all__ = ["LabReading", "gauge_for_source"]

_FRESH_DAYS = 30
"""How long after a filling a sample still shows its strength: tenths go in a year (common practice, no source)."""


class LabReading(NamedTuple):
    """A sample's strength, recorded for the sample and, at the time of drawing, for its source; both as they are now.

    `of_sample` and `of_source` are what the book had of them and has by it. `settled` is the entry whose pending
    strength this settled, 0 for none; `pending` are those left in the source.
    """

    sample: ItemView
    source: ItemView
    settled: int
    pending: tuple[int, ...]
    of_sample: Changed
    of_source: Changed
    recorded: Recorded


def gauge_for_source(
    book: "BookCore", how: Happening, sample: str, read: WhatWasRead, instruments: "Sequence[str]" = ()
) -> LabReading:
    """Record the strength of a sample, for the sample and for what it was drawn from, at the time of drawing.

    Raises:
        Refused: the sample was not drawn from one item.
        Malformed: an amount was given, or no strength.
        ToConfirm: the strength is unlikely.
    """
    with how.transaction(book):
        view = book.show(sample)
        found = drawn_from(book.store, view.id)
        if found is None or sources_behind(book.store, view.id) != found[:1]:
            raise Refused(f"{hyphened(view.id)} was not drawn from one item", "gauge the item itself with --when")
        source, drawn_us = found
        gauge = gauge_draft(book, how, view, read, instruments, drawn_us).entry
        if gauge.amount is not None or (gauge.strength is None and gauge.mass_fraction is None):
            raise Malformed("a reading for the source is of its strength alone", "leave the amount out")
        settled = _settled(book, how, gauge, source, drawn_us)
        drafts = [how.draft(book, one, when_us=drawn_us) for one in (gauge, gauge._replace(id=source))]
        recorded = book.record(*([settled] if settled else []), *drafts)
        of_source = book.show(source)
        still = pending_in(book.store, of_source.holding)
        *_, first, second = recorded.numbers
        apart = difference_of(book, view.id, first), difference_of(book, source, second)
        return LabReading(book.show(view.id), of_source, settled.replaces if settled else 0, still, *apart, recorded)


def _settled(book: "BookCore", how: Happening, gauge: Gauge, source: str, drawn_us: int) -> Draft | None:
    """The pending fill that a sample was drawn from, with what was read of it; else None.

    The sample must be of that fill alone, and drawn before the wood had changed it.
    """
    origins = trace_back(book, source, at_us=drawn_us).origins
    if len(origins) != 1 or not origins[0].pending or origins[0].into != source:
        return None
    (fill,) = origins
    if drawn_us - fill.happened_us > _FRESH_DAYS * DAY_US:
        return None
    old = entry_of(book.store, fill.entry)
    if len(old.entry["body"]["lines"]) != 1:
        return None
    move = thawed_move(old.entry["body"]["lines"][0], anew=True)
    pour = Pour(old.entry["body"]["verb"], (move._replace(strength=_true(gauge), pending=False, composition=None),))
    draft = how.draft(book, pour, when_us=fill.happened_us, replaces=fill.entry)
    return draft._replace(reason=how.reason or f"read of {hyphened(gauge.id)}")


def _true(gauge: Gauge) -> Strength:
    if gauge.strength is not None:
        return gauge.strength
    assert gauge.mass_fraction is not None
    percent = strength_of(Composition(gauge.mass_fraction))
    return Strength(f"{percent:.4f}", Decimal(f"{percent:.4f}"), "vol20")
