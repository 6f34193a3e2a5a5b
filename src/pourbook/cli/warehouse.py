"""Verbs of the warehouse: reach, rack."""

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import AT, item_argument
from pourbook.errors import Malformed

__all__ = ["rack_verb", "reach_verb"]


@click.command("reach")
@item_argument("casks", many=True)
@AT
@reading
def reach_verb(door: Door, casks: tuple[str, ...], at: str | None) -> None:
    """Show which casks must be shifted to reach others.

    For each cask alone, and for all together: a cask that is pulled itself is not shifted, and what lies
    in the way of two is shifted once. A batch stands for all casks that its plan still takes. How casks
    lie is said of locations (pourbook location --storage). Empty casks count where the book has them.

    \b
    Example:
      pourbook reach "Q 104" "Q 107"
      pourbook reach "Vatting 4" --json
    """
    from pourbook.documents.warehouse import reach_shown
    from pourbook.queries.warehouse.reach import reach

    door.show(reach_shown(reach(door.book, casks, door.style.as_of(at))))


@click.command("rack")
@item_argument("leaking", required=False)
@item_argument("into", required=False)
@click.argument("amount", required=False)
@click.option("--strength", metavar="STRENGTH", help="Of what arrived, as read.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; default: 20 °C.")
@click.option("--about", metavar="TEXT", default="leaking", help="What was found, as a note on the leaking cask.")
@recording
def rack_verb(
    door: Door, leaking: str | None, into: str | None, amount: str | None, strength: str | None,
    temperature: str | None, about: str,
) -> None:  # fmt: skip
    """Rack a leaking cask into a sound one, at once.

    AMOUNT is what arrived, as measured; what the book has beyond it is booked as a leak. Without it, or
    with 'all', all that the book has goes over, to be gauged later. The spirit keeps its time in wood,
    owner, duty status and hold. It warns of other wood, of another kind, of a cask that is not empty or
    too small, and names the plans that wanted the leaking cask.

    Without casks it reads lines as a scanner sends them: the leaking cask, the sound one, the amount;
    '13 C' and '61.2 %' before the amount are its temperature and strength. 'undo' voids the last racking,
    'confirm' records a line that was queried, 'done' or the end of input ends.

    \b
    Example:
      pourbook rack C-000004-B C-000012-B "180 l" --temperature 13 --about "stave 4 cracked"
      pourbook rack
    """
    from pourbook.actions.racking import Racking, RackingByScan, rack
    from pourbook.documents.warehouse import racked_shown, racking_shown

    style = door.style
    if leaking is None:
        racking = RackingByScan(door.book, door.how, about=about)
        door.take_lines(racking.scan, racking_shown)
        return
    if into is None:
        raise Malformed("into which cask?", 'name both: pourbook rack LEAKING INTO "180 l"')
    arrived = Racking(style.amount_or_all(amount or "all"), door.strength(strength), style.celsius(temperature), about)
    door.show(racked_shown(rack(door.book, door.how, leaking, into, arrived), style))
