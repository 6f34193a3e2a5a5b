"""Verbs that correct: void, replace, close. Nothing is edited; a later entry says what was right."""

from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, recording
from pourbook.errors import Malformed, Refused
from pourbook.numerals import a_or_an

if TYPE_CHECKING:
    from pourbook.book.entries import Gauge, Pour
    from pourbook.book.logged import Logged

__all__ = ["close_verb", "replace_verb", "void_verb"]


@click.command("void")
@click.argument("number", type=int)
@recording
def void_verb(door: Door, number: int) -> None:
    """Take back entry NUMBER, which was a mistake; it stays readable in the journal.

    What later contents become is computed at once; --dry-run shows it first. A void that would
    leave a later pour without liquid is refused and names that pour.

    \b
    Example:
      pourbook void 214 --reason "poured from the wrong vial" --dry-run
      pourbook void 214 --reason "poured from the wrong vial"
    """
    from pourbook.book.entries import Void

    # A void is recorded now; it takes effect at the time of what it voids.
    recorded = door.record(Void(number))
    door.tell(recorded, f"entry {number} no longer counts", voided=number)


@click.command("replace")
@click.argument("number", type=int)
@click.option("--line", type=int, default=1, metavar="N", help="Which line of the entry; 1 by default.")
@click.option("--amount", metavar="AMOUNT", help="What the amount was.")
@click.option("--strength", metavar="STRENGTH", help="What the strength was; ends a pending one.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume.")
@click.option("--source", metavar="ITEM", help="What it was poured from.")
@click.option("--target", metavar="ITEM", help="What it was poured into.")
@click.option("--rederive", is_flag=True, help="Derive the masses again from what was typed.")
@recording
def replace_verb(
    door: Door, number: int, line: int, amount: str | None, strength: str | None, temperature: str | None,
    source: str | None, target: str | None, rederive: bool,
) -> None:  # fmt: skip
    """Record a pour or gauge anew with what was right; it keeps its place in time.

    Give --when to correct the time, too.

    \b
    Example:
      pourbook replace 215 --amount "12.5 ml" --reason "misread the pipette"
      pourbook replace 31 --strength 68.2 --reason "laboratory report 2041"
    """
    from pourbook.book.logged import entry_of

    old = entry_of(door.book.store, number)
    if old.kind == "gauge":
        entry: Pour | Gauge = _gauge(door, old, amount, strength, temperature)
    elif old.kind == "pour":
        entry = _pour(door, old, line, amount, strength, temperature, source, target, rederive=rederive)
    else:
        raise Refused(f"entry {number} is {a_or_an(old.kind)} entry", "record what is true now instead, or void it")
    happened_us = door.moment_or_none(door.options["when"])
    body = old.entry["body"]
    confirmed = "confirmed" in body or any("confirmed" in kept for kept in body.get("lines", ()))
    draft = door.draft(entry, happened_us=old.happened_us if happened_us is None else happened_us, replaces=number)
    recorded = door.record_drafts(draft._replace(confirmed=draft.confirmed or confirmed))
    door.tell(recorded, f"entry {recorded.numbers[-1]} stands in for entry {number}", replaced=number)


def _gauge(door: Door, old: "Logged", amount: str | None, strength: str | None, temperature: str | None) -> "Gauge":
    from pourbook.actions.gauge import gauge_again
    from pourbook.gauging.what_was_read import WhatWasRead

    anew = WhatWasRead(
        None if amount is None else door.style.amount(amount, allow_zero=True),
        true=None if strength is None else door.style.strength(strength),
    )
    celsius = None if temperature is None else door.style.celsius(temperature)
    return gauge_again(door.book, door.how, old, anew, celsius)


def _pour(
    door: Door, old: "Logged", number: int, amount: str | None, strength: str | None, temperature: str | None,
    source: str | None, target: str | None, *, rederive: bool,
) -> "Pour":  # fmt: skip
    from pourbook.book.entries import Pour
    from pourbook.book.freeze import thawed_move

    lines = old.entry["body"]["lines"]
    if not 1 <= number <= len(lines):
        raise Malformed(f"entry {old.number} has lines 1 to {len(lines)}, not {number}", "give --line")
    measured_anew = amount is not None or strength is not None or temperature is not None or source is not None
    moves = []
    for index, line in enumerate(lines, start=1):
        here = index == number
        move = thawed_move(line, anew=rederive or (here and measured_anew))
        if here and amount is not None:
            move = move._replace(amount=door.amount_or_all(amount), empties=False)
        if here and strength is not None:
            move = move._replace(strength=door.strength(strength), pending=False, composition=None)
        if here and temperature is not None:
            move = move._replace(temperature_c=door.temperature(temperature))
        if here and source is not None:
            move = move._replace(source=door.book.find(source))
        if here and target is not None:
            move = move._replace(target=door.book.find(target))
        moves.append(move)
    return Pour(old.entry["body"]["verb"], tuple(moves))


@click.command("close")
@recording
def close_verb(door: Door) -> None:
    """Close the period up to --when: nothing may be recorded as having happened before it.

    Refused while a strength is pending. Corrections to what happened earlier stay possible; each
    names its reason.

    \b
    Example:
      pourbook close --when 2026-01-01 --reason "stock-take 2025"
    """
    from pourbook.book.entries import Close

    recorded = door.record(Close())
    moment = door.moment(door.options["when"])
    door.tell(recorded, f"closed: nothing may happen before {door.time_shown(moment)}")
