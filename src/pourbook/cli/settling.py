"""A sample read in the laboratory: its strength stands for the cask when it was drawn, and settles what was awaited."""

from decimal import Decimal
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door
from pourbook.cli.record import holds
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, Refused

if TYPE_CHECKING:
    from pourbook.book.entries import Draft, Gauge

__all__ = ["strength_at_source"]

_FRESH_DAYS = 30
"""So long after a filling a sample still shows its strength: tenths go in a year (common practice, no source)."""


def strength_at_source(door: Door, gauge: "Gauge") -> None:
    """A vial's strength stands for the vial and for what it was drawn from, when it was drawn."""
    from pourbook.book.awaiting import awaited_in
    from pourbook.book.bottles import drawn_from

    found = drawn_from(door.book.store, gauge.id)
    if found is None:
        raise Refused(f"{hyphened(gauge.id)} was not drawn from one item", "gauge the item itself with --when")
    if gauge.amount is not None or (gauge.strength is None and gauge.mass_fraction is None):
        raise Malformed("--at-source carries a strength, and nothing else", "give a strength only")
    source, drawn_us = found
    drafts = [door.draft(gauge, happened_us=drawn_us), door.draft(gauge._replace(id=source), happened_us=drawn_us)]
    settled = _settled(door, gauge, source, drawn_us)
    recorded = door.record_drafts(*([settled] if settled else []), *drafts)
    document = {"settled": settled.replaces} if settled else {}
    door.tell(recorded, holds(door, gauge.id), holds(door, source), id=gauge.id, source=source, **document)
    if settled:
        click.echo(f"note: the awaited strength of entry {settled.replaces} is settled by it", err=True)
    for number in awaited_in(door.book.store, door.book.show(source).holding):
        remedy = f"pourbook replace {number} --strength … --reason …"
        click.echo(f"note: the strength of entry {number} is still awaited; settle it: {remedy}", err=True)


def _settled(door: Door, gauge: "Gauge", source: str, drawn_us: int) -> "Draft | None":
    """The awaited fill that a sample was drawn from, with what was read of it; None where that is not the same.

    It is where the sample was of that fill alone, and drawn before the wood had changed it.
    """
    from pourbook.alcoholometry.apparent import strength_of
    from pourbook.alcoholometry.volumes import Composition
    from pourbook.book.entries import Pour
    from pourbook.book.freeze import thawed_move
    from pourbook.book.logged import entry_of
    from pourbook.quantities import Strength
    from pourbook.times import DAY_US

    origins = door.book.trace_back(source, at_us=drawn_us).origins
    if len(origins) != 1 or not origins[0].awaited or origins[0].into != source:
        return None
    (fill,) = origins
    if drawn_us - fill.happened_us > _FRESH_DAYS * DAY_US:
        return None
    old = entry_of(door.book.store, fill.entry).entry
    if len(old["body"]["lines"]) != 1:
        return None
    read = gauge.strength
    if read is None:
        assert gauge.mass_fraction is not None
        percent = strength_of(Composition(gauge.mass_fraction))
        read = Strength(f"{percent:.4f}", Decimal(f"{percent:.4f}"), "vol20")
    move = thawed_move(old["body"]["lines"][0], anew=True)._replace(strength=read, awaited=False, composition=None)
    reason = door.options["reason"] or f"read of {hyphened(gauge.id)}"
    draft = door.draft(Pour(old["body"]["verb"], (move,)), happened_us=fill.happened_us, replaces=fill.entry)
    return draft._replace(reason=reason)
