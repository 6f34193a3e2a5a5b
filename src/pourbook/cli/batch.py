"""Verbs of vat and bottle: scale up, batch, dump, bottle."""

import click

from pourbook.book.entries import DISPOSITIONS
from pourbook.cli.door import Door, recording
from pourbook.cli.options import (
    dry_goods,
    heel_typed,
    item_argument,
    loss_typed,
    pair,
    second_options,
    status_options,
)
from pourbook.errors import Malformed

__all__ = ["batch_verb", "bottle_verb", "dump_verb", "scale_up_verb"]


@click.command("scale-up")
@item_argument("blend")
@click.option(
    "--total", metavar="VOLUME", help="Sum of the volumes to pour, heel included, without the water for --to."
)
@click.option("--final", metavar="VOLUME", help="Volume of the finished batch, all water included; instead of --total.")
@click.option(
    "--bottles", multiple=True, metavar="NUMBER x SIZE", help="Bottles to fill; instead of --total. May be repeated."
)
@click.option(
    "--losses", metavar="PER CENT|VOLUME", help="Losses while bottling: per cent of what is filled, or a volume."
)
@click.option(
    "--use",
    "uses",
    multiple=True,
    metavar="COMPONENT=CASK[,CASK]",
    help="Casks that supply a component, or a kind of spirit.",
)
@click.option("--make-up", is_flag=True, help="Where casks hold too little, parts that are not fixed make up for it.")
@click.option("--heel", metavar="BATCH=AMOUNT", help="Liquid left in the vat that goes into this batch.")
@click.option("--to", "to_strength", metavar="STRENGTH", help="Reduce to this strength, leaving out the trial's water.")
@click.option("--open", "open_it", is_flag=True, help="Open the batch with this plan, to be poured cask by cask.")
@click.option("--record", "record_it", is_flag=True, help="Open the batch and record the pours.")
@click.option("--ref", metavar="TEXT", help="The house's own name for the batch.")
@click.option("--name", metavar="TEXT", help="What it is called.")
@status_options
@recording
def scale_up_verb(
    door: Door, blend: str, total: str | None, final: str | None, bottles: tuple[str, ...], losses: str | None,
    uses: tuple[str, ...], make_up: bool, heel: str | None, to_strength: str | None, open_it: bool, record_it: bool,
    **about: str | None,
) -> None:  # fmt: skip
    """Scale a trial up to a batch of real casks, in the fractions as poured.

    BLEND is a trial, an earlier batch, or the name of a recipe. Each component is divided among the
    casks behind it, as its trace finds them, unless --use names others. With --bottles it works
    back from the bottles (their volume at 20 °C); the plan is never less than bottles and losses need.

    A recipe on components needs a cask of each kind: pourbook scale-up Autumn --use "Chestnut accent=C-000004-B" …
    A cask of another kind is asked about.

    Without --open or --record it only plans. With --open the batch is poured beside its plan:
    pourbook pour BATCH; its pull list is printed by pourbook sheet BATCH. Gauge it once it is
    mixed: pourbook gauge BATCH.

    \b
    Example:
      pourbook scale-up T-000003-K --total "500 l"
      pourbook scale-up "Ostrewick no. 2" --final "200 l" --to 46
      pourbook scale-up "Ostrewick no. 2" --bottles "400 x 700 ml" --losses 4 --to 46 --open
      pourbook scale-up T-000003-K --total "500 l" --use V-000003-N=C-000004-B,C-000005-9
          --heel B-000001-Y="60 l" --to 46 --record --ref "Vatting 7"
    """
    from pourbook.actions.movement import told
    from pourbook.actions.vats import plan_batch, scale_up
    from pourbook.documents.batches import batch_plan_shown, planned_shown, scaled_up_shown
    from pourbook.queries.plans.typed import bottles_wanted, heel_wanted
    from pourbook.queries.trials.batch_plan import Wanted, batch_plan

    style = door.style
    wanted = Wanted(
        None if total is None else style.amount(total),
        None if final is None else style.amount(final),
        dict(_use(text) for text in uses),
        None if heel is None else heel_wanted(style, *heel_typed(heel)),
        door.strength(to_strength),
        bottles_wanted(style, bottles, losses),
        make_up,
    )
    if open_it and record_it:
        raise Malformed("a batch is poured either at once or cask by cask", "give --record or --open, not both")
    if open_it:
        door.show(planned_shown(plan_batch(door.book, door.how, blend, wanted, told(about), door.status), style))
    elif record_it:
        answer = scale_up(door.book, door.how, blend, wanted, told(about), door.status)
        door.show(scaled_up_shown(answer, style))
    else:
        door.show(batch_plan_shown(batch_plan(door.book, blend, wanted), style))


def _use(text: str) -> tuple[str, list[str]]:
    component, names = pair(text, "COMPONENT=CASK,CASK", "V-000003-N=C-000004-B,C-000005-9")
    return component, names.split(",")


@click.command("batch")
@click.argument("ref", required=False)
@click.option("--name", metavar="TEXT", help="What it is called.")
@click.option("--follows", metavar="TRIAL", help="The trial it follows.")
@click.option("--place", metavar="TEXT", help="The vat or tank it lies in.")
@click.option("--id", "given", metavar="ID", help="A label printed ahead; default: the next number.")
@status_options
@recording
def batch_verb(door: Door, given: str | None, **about: str | None) -> None:
    """Open a batch: a body of spirit outside casks (a vatting, a tank, a tanker's load).

    \b
    Example:
      pourbook batch "Vatting 7" --place "Vat 2"
    """
    from pourbook.actions.movement import told
    from pourbook.actions.vats import open_batch
    from pourbook.documents.pours import opened_shown

    answer = open_batch(door.book, door.how, told(about), given, door.status)
    door.show(opened_shown(answer, door.style))


@click.command("dump")
@item_argument("batch")
@item_argument("casks", many=True)
@click.option("--total", metavar="AMOUNT", help="Measured in the vat, all casks together.")
@click.option("--strength", metavar="STRENGTH", help="Of the vat, if --total is a volume.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of that volume; default: 20 °C.")
@click.option("--kind", type=click.Choice(DISPOSITIONS), help="Kind of loss of what is missing; default: evaporation.")
@status_options
@second_options
@recording
def dump_verb(
    door: Door, batch: str, casks: tuple[str, ...], total: str | None, strength: str | None, temperature: str | None,
    kind: str | None,
) -> None:  # fmt: skip
    """Dump whole casks into a batch.

    With --total, the vat's measurement counts: liquid and pure alcohol are shared out over
    the casks in proportion to what the book expected of each. Each cask is gauged to its share,
    so its difference from the book is its gain or loss.

    \b
    Example:
      pourbook dump B-000001-Y C-000001-H C-000002-F
      pourbook dump B-000001-Y C-000001-H C-000002-F --total "392 l" --strength 60.8 --temperature 13
    """
    from pourbook.actions.vats import VatReading, dump
    from pourbook.documents.pours import moved_shown

    style, read = door.style, None
    if total is not None:
        read = VatReading(style.amount(total), door.strength(strength), style.celsius(temperature), kind or "")
    elif strength is not None or temperature is not None or kind:
        said = "a strength, temperature or kind of loss without the vat's total"
        raise Malformed(said, "give --total, or gauge the batch")
    answer = dump(door.book, door.how, batch, casks, read, door.status)
    door.show(moved_shown(answer, style))


@click.command("bottle")
@item_argument("batch")
@click.option("--count", required=True, type=int, metavar="NUMBER", help="Bottles filled.")
@click.option("--size", required=True, metavar="VOLUME", help="Nominal content of a bottle: '700 ml'.")
@click.option("--ref", metavar="TEXT", help="The house's own name for the lot.")
@click.option("--name", metavar="TEXT", help="What is on the label; default: the name of the batch.")
@click.option("--lot-mark", metavar="TEXT", help="The statutory mark on the bottle: 'L26-118'.")
@click.option("--loss", "losses", multiple=True, metavar="KIND=AMOUNT", help="Lost while bottling: line='3 l'.")
@click.option("--empties", is_flag=True, help="The vat is empty afterwards; what is left in it was lost on the line.")
@dry_goods
@status_options
@second_options
@recording
def bottle_verb(
    door: Door, batch: str, count: int, size: str, losses: tuple[str, ...], empties: bool, **about: str | None
) -> None:
    """Bottle a batch as a lot: bottles of a nominal content at 20 °C, and what was lost.

    For several sizes, measured fills, breakage or a change of vat: pourbook bottling.

    \b
    Example:
      pourbook bottle B-000001-Y --count 690 --size "700 ml" --name "Ostrewick Vatting"
          --lot-mark L26-118 --loss filter="1.2 l" --empties
    """
    from pourbook.actions.movement import told
    from pourbook.actions.vats import Bottling, bottle
    from pourbook.documents.pours import bottled_shown

    lost = [loss_typed(text, door.style.amount_or_all) for text in losses]
    bottling = Bottling(count, door.style.amount(size), told(about), lost, empties)
    answer = bottle(door.book, door.how, batch, bottling, door.status)
    door.show(bottled_shown(answer, door.style))
