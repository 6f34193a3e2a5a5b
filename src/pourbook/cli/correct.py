"""Verbs that correct: void, replace, close. Nothing is edited; a later entry says what was right."""

import click

from pourbook.actions.correcting import Correction
from pourbook.cli.door import Door, recording
from pourbook.cli.gauging import reading_options, what_was_read
from pourbook.cli.options import second_options
from pourbook.documents.house import closed_shown, replaced_shown, voided_shown

__all__ = ["close_verb", "replace_verb", "void_verb"]


@click.command("void")
@click.argument("number", type=int)
@second_options
@recording
def void_verb(door: Door, number: int) -> None:
    """Void entry NUMBER, which was a mistake; it stays readable in the journal.

    Later contents are computed again at once; --dry-run shows them first. A void that would leave a
    later pour without liquid is refused and names that pour.

    \b
    Example:
      pourbook void 214 --reason "poured from the wrong vial" --dry-run
      pourbook void 214 --reason "poured from the wrong vial"
    """
    door.show(voided_shown(door.book.void(door.how, number), door.style))


@click.command("replace")
@click.argument("number", type=int)
@click.option("--line", type=int, default=1, metavar="N", help="Which line of the entry; default: 1.")
@click.option("--amount", metavar="AMOUNT", help="The right amount.")
@click.option("--strength", metavar="STRENGTH", help="The right strength; settles a pending one.")
@click.option("--temperature", metavar="TEMPERATURE", help="The right temperature of the volume.")
@click.option("--source", metavar="ITEM", help="What it was poured from.")
@click.option("--target", metavar="ITEM", help="What it was poured into.")
@click.option("--document", default="", metavar="TEXT", help="The right document of what was sent, came or was lost.")
@click.option("--rederive", is_flag=True, help="Derive the masses again from what was typed.")
@reading_options
@second_options
@recording
def replace_verb(
    door: Door, number: int, line: int, amount: str | None, strength: str | None, temperature: str | None,
    source: str | None, target: str | None, rederive: bool, instruments: tuple[str, ...], kind: str | None,
    document: str, **readings: str | None,
) -> None:  # fmt: skip
    """Replace a pour or a gauge with what was right; it keeps its time unless you give --when.

    The book queries it as it did the first recording. A gauge is read as `gauge` reads it: what you give takes
    the place of what was read so, and the rest stays.

    \b
    Example:
      pourbook replace 215 --amount "12.5 ml" --reason "misread the pipette"
      pourbook replace 88 --document "D 17" --reason "document number misread"
      pourbook replace 31 --strength 68.2 --reason "laboratory report 2041"
      pourbook replace 40 --hydrometer 61.2 --sample-temperature 15 --reason "misread by a degree"
    """
    style = door.style
    right = Correction(
        line,
        None if amount is None else style.amount_or_all(amount, allow_zero=True) or "all",
        None if strength is None else style.strength(strength),
        None if temperature is None else style.celsius(temperature),
        source,
        target,
        rederive,
        what_was_read(door, **readings),
        instruments,
        kind or "",
        document,
    )
    door.show(replaced_shown(door.book.replace(door.how, number, right), style))


@click.command("close")
@recording
def close_verb(door: Door) -> None:
    """Close the period up to --when: nothing more can be recorded before it.

    Refused while a strength is pending. Earlier entries can still be corrected, with a reason.

    \b
    Example:
      pourbook close --when 2026-01-01 --reason "stock-take 2025"
    """
    door.show(closed_shown(door.book.close_period(door.how), door.style))
