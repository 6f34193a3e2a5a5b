"""Verbs of the warehouse: reach."""

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import AT, item_argument

__all__ = ["reach_verb"]


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
