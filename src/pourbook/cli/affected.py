"""The verb that asks what a suspicion reaches, without recording anything."""

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.output import show_json
from pourbook.cli.recall_scope import scope_options, suspects_of
from pourbook.cli.recall_shown import finding_document, show_finding

__all__ = ["affected_verb"]

CAUTION = "working figures: legal gauge, label and duty return follow the local authority and licensed practice"


@click.command("affected")
@scope_options
@click.option("--at", metavar="TIME", help="As of that moment; now by default.")
@reading
def affected_verb(
    door: Door, first: str | None, last: str | None, since_check: bool, at: str | None, **typed: tuple[str, ...]
) -> None:
    """Show all that a cask, delivery, water lot, closure, instrument, person or place has reached.

    Every option may be repeated, and any of them is enough; --from and --to narrow each of them. Words
    are found in what was recorded, as whole words; NAME=VALUE asks of one fact. An item is suspect with all
    that it held, a place with what lay there while it did, an instrument with what was gauged with it.

    \b
    Example:
      pourbook affected --item C-000004-B
      pourbook affected --water "Spring 4, lot 26-3" --json
      pourbook affected --origin distiller="Corran Vale" --origin 112
      pourbook affected --instrument "H-3" --since-check
      pourbook affected --by "Isla Farrow" --from 2026-06-01 --to 2026-06-30
    """
    from pourbook.book.lineages import EVER
    from pourbook.queries.recalls.recalls import finding

    suspects = suspects_of(door, typed, first, last, since_check=since_check)
    found = finding(door.book.store, suspects, EVER if at is None else door.moment(at))
    if door.json:
        show_json(finding_document(found))
        return
    show_finding(door, found)
    click.echo(CAUTION, err=True)
