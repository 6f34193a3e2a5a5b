"""The verb replan: a new plan for a batch that is being poured."""

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.options import item_argument

__all__ = ["replan_verb"]


@click.command("replan")
@item_argument("batch")
@click.option("--record", "record_it", is_flag=True, help="Keep the new plan; what was poured stays as it is.")
@recording
def replan_verb(door: Door, batch: str, record_it: bool) -> None:
    """Plan the rest of a batch anew: a cask fell short, leaked, or gave too much.

    What is in the vat stays; the casks still closed make up the rest, so that all that the first plan was
    asked is kept: first the casks of that plan, and where they do not suffice, all that qualify. It is sought
    for 20 seconds at most. BATCH is one that was opened by pourbook plan … --record.

    With --record the batch gets the new plan, with the reason: its pull list is printed again (pourbook sheet
    BATCH), and pourbook pour BATCH goes by it. Exit status 1 if no choice of casks keeps all that was asked.

    \b
    Example:
      pourbook replan B-000002-W
      pourbook replan B-000002-W --record --reason "R 2 leaked"
    """
    from pourbook.actions.planning import keep_new_plan
    from pourbook.documents.replanning import replanned_shown
    from pourbook.queries.plans.again import plan_again

    again = plan_again(door.book, batch)
    kept = keep_new_plan(door.book, door.how, again) if record_it and again.planned.taken else None
    door.show(replanned_shown(again, door.style, kept))
    if not again.planned.taken:
        raise click.exceptions.Exit(1)
