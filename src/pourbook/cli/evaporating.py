"""The verb of what casks lose to the air: evaporation."""

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import item_argument

__all__ = ["evaporation_verb"]


@click.command("evaporation")
@item_argument("casks", many=True, required=False)
@click.option("--on", "day", metavar="DATE", help="What to expect on that day; default: now.")
@click.option("--at", metavar="TIME", help="Use only the gauges up to that moment (a day counts to its end).")
@reading
def evaporation_verb(door: Door, casks: tuple[str, ...], day: str | None, at: str | None) -> None:
    """Show what casks lose in a year, from their gauges, and what they should hold on a day.

    Yearly loss of volume and of pure alcohol, whether the strength rises or falls, and the
    content to expect, with the band that a gauge should fall in. Where the last gauge disagrees with
    earlier gauges, it warns of a leak, theft or misreading. Without CASKS, every cask that holds spirit.

    \b
    Example:
      pourbook evaporation C-000005-9 --on 2027-01-01
      pourbook evaporation C-000005-9 --at 2025-12-31 --on 2026-06-30
      pourbook evaporation --json
    """
    from pourbook.documents.gauges import evaporation_shown
    from pourbook.queries.gauges.cask_evaporation import evaporation

    on_us, at_us = map(door.style.as_of, (day, at))
    answer = evaporation(door.book, casks, on_us, at_us)
    door.show(evaporation_shown(answer, door.style, in_full=len(casks) == 1))
