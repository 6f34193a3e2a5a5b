"""The verb bottling: a run is begun, added to, measured, changed to another vat, ended, shown and printed."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.book.entries import DISPOSITIONS
from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import (
    FORCE,
    PAPER,
    dry_goods,
    item_argument,
    loss_typed,
    options,
    second_options,
    status_options,
)

if TYPE_CHECKING:
    from pourbook.actions.bottling_run import Rest

__all__ = ["bottling_verb"]

_rest = options(
    click.option("--left", metavar="AMOUNT", help="Measured in the vat that was bottled from; 0 l where it is empty."),
    click.option("--empties", is_flag=True, help="It is empty; what the book still has in it was lost on the line."),
    click.option("--temperature", metavar="TEMPERATURE", help="Of what is left; default: 20 °C."),
    click.option("--kind", type=click.Choice(DISPOSITIONS), help="Where went what is missing; default: the line."),
)


@click.group("bottling")
def bottling_verb() -> None:
    """Bottle in a run: sizes side by side, fills measured, bottles counted, the vat changed, the whole balanced.

    Every size is a lot. Whatever is counted or measured is in the book at once; liquid is poured when a vat is done
    with, by the mean of the fills measured. For a count of one size: pourbook bottle.

    \b
    Example:
      pourbook bottling begin "Vatting 7" --size "700 ml" --ref "Lot 7" --lot-mark L26-118
      pourbook bottling add "Lot 7" --filled 240 --broken 1
      pourbook bottling fills "Lot 7" 701.2 699.8 700.4
      pourbook bottling end "Lot 7" --left "12.4 l"
      pourbook bottling show "Lot 7"
    """


@bottling_verb.command("begin")
@item_argument("vat")
@click.option("--size", required=True, metavar="VOLUME", help="Nominal content of a bottle: '700 ml'.")
@click.option("--with", "beside", metavar="LOT", help="A lot of a run under way: this size is filled beside it.")
@click.option("--ref", metavar="TEXT", help="The house's own name for the lot.")
@click.option("--name", metavar="TEXT", help="What is on the label; default: the name of the vat's batch.")
@click.option("--lot-mark", metavar="TEXT", help="The statutory mark on the bottle; sizes of a run may share one.")
@dry_goods
@status_options
@recording
def begin_verb(door: Door, vat: str, size: str, beside: str | None, **about: str | None) -> None:
    """Begin to fill a lot of a size from a vat.

    \b
    Example:
      pourbook bottling begin "Vatting 7" --size "700 ml" --ref "Lot 7" --filter "sheet 5 µm, lot F-31"
      pourbook bottling begin "Vatting 7" --size "50 ml" --with "Lot 7" --ref "Lot 7 small"
    """
    from pourbook.actions.bottling_run import Begun, begin_bottling
    from pourbook.actions.movement import told
    from pourbook.documents.bottling import run_recorded_shown

    begun = Begun(door.style.amount(size), told(about), beside or "")
    door.show(run_recorded_shown(begin_bottling(door.book, door.how, vat, begun, door.status), door.style))


_NUMBER = click.IntRange(min=0)


@bottling_verb.command("add")
@item_argument("lot")
@click.option("--filled", type=_NUMBER, default=0, metavar="COUNT", help="By the counter since it was read last.")
@click.option("--put-back", type=_NUMBER, default=0, metavar="COUNT", help="Of them: emptied back into the vat.")
@click.option("--broken", type=_NUMBER, default=0, metavar="COUNT", help="Of them: their liquid is lost.")
@click.option("--destroyed", type=_NUMBER, default=0, metavar="COUNT", help="Of them: emptied to the drain.")
@click.option("--witness", metavar="NAME", help="Who saw that.")
@click.option("--sampled", type=_NUMBER, default=0, metavar="COUNT", help="Of them: opened for the laboratory.")
@click.option("--retained", type=_NUMBER, default=0, metavar="COUNT", help="Of them: kept as reference, not for sale.")
@click.option("--place", metavar="TEXT", help="Where those are kept.")
@click.option("--keep-until", "until", metavar="DAY", help="How long, as 2031-12-31.")
@click.option("--loss", "losses", multiple=True, metavar="KIND=AMOUNT", help="Out of the vat: filter='1.2 l'.")
@click.option("--purge", metavar="AMOUNT", help="Ran through the line and not into bottles.")
@click.option("--purge-back", "back", metavar="AMOUNT", help="Of that: went back into the vat; the rest is lost.")
@dry_goods
@second_options
@recording
def add_verb(
    door: Door, lot: str, losses: tuple[str, ...], purge: str | None, back: str | None, place: str | None,
    until: str | None, witness: str | None, **more: str | int | None,
) -> None:  # fmt: skip
    """Add what was counted, lost on the line, or taken of glass, closures, labels, cartons, filters since.

    Give dry goods when a new lot of them is begun: bottles counted until then, here too, had the one before.

    \b
    Example:
      pourbook bottling add "Lot 7" --purge "6 l" --purge-back "4.5 l" --loss filter="1.2 l"
      pourbook bottling add "Lot 7" --filled 240 --put-back 3 --broken 1
      pourbook bottling add "Lot 7" --retained 6 --place "shelf 3" --keep-until 2031-12-31
      pourbook bottling add "Lot 7" --closure "natural stopper, lot K-78"
    """
    from pourbook.actions.bottling_run import Added, add_to_bottling
    from pourbook.actions.movement import told
    from pourbook.book.bottling_runs import Tally
    from pourbook.documents.bottling import run_recorded_shown
    from pourbook.errors import Malformed

    style = door.style
    if back is not None and purge is None:
        raise Malformed("what went back belongs to a purge", "give --purge, too")
    counted = Tally(**{name: int(more.pop(name) or 0) for name in Tally._fields})
    goods = {name: str(text) for name, text in more.items() if text}
    added = Added(
        counted,
        told({"place": place, "until": until, "witness": witness}),
        [loss_typed(text, style.amount) for text in losses],
        None if purge is None else (style.amount(purge), None if back is None else style.amount(back)),
        goods,
    )
    door.show(run_recorded_shown(add_to_bottling(door.book, door.how, lot, added), style))


@bottling_verb.command("fills")
@item_argument("lot")
@click.argument("readings", nargs=-1, required=True, metavar="READING…")
@click.option("--tare", metavar="WEIGHT", help="Of an empty bottle with its closure: readings are full bottles, in g.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the liquid; default: 20 °C.")
@recording
def fills_verb(
    door: Door, lot: str, readings: tuple[str, ...], tare: str | None, temperature: str | None
) -> None:  # fmt: skip
    """Record what bottles hold, each by itself: in ml, or weighed full, with one tare or each its own.

    A weight in air becomes a volume at 20 °C by the strength that the book has of the vat.

    \b
    Example:
      pourbook bottling fills "Lot 7" 701.2 699.8 700.4 --temperature 18
      pourbook bottling fills "Lot 7" 1141.6 1140.9 1142.2 --tare "482.1 g"
      pourbook bottling fills "Lot 7" 1141.6/482.1 1140.9/481.7
    """
    from pourbook.actions.bottling_run import Measured, measure_fills
    from pourbook.documents.bottling import run_recorded_shown

    style = door.style
    empty = None if tare is None else style.amount(tare, "g")
    measured = Measured(readings, empty, style.celsius(temperature))
    door.show(run_recorded_shown(measure_fills(door.book, door.how, lot, measured), style))


@bottling_verb.command("change")
@item_argument("lot")
@item_argument("vat")
@_rest
@status_options
@second_options
@recording
def change_verb(door: Door, lot: str, vat: str, **rest: str | bool | None) -> None:
    """Go on from another vat: what the one before gave is poured, and its rest measured.

    The lot then has both as its sources; the run says which bottles are from which. A vat of another
    strength is asked about.

    \b
    Example:
      pourbook bottling change "Lot 7" "Vatting 8" --empties
    """
    from pourbook.actions.bottling_run import change_vat
    from pourbook.documents.bottling import run_recorded_shown

    answer = change_vat(door.book, door.how, lot, vat, _rest_typed(door, **rest), door.status)
    door.show(run_recorded_shown(answer, door.style))


@bottling_verb.command("end")
@item_argument("lot")
@_rest
@status_options
@second_options
@recording
def end_verb(door: Door, lot: str, **rest: str | bool | None) -> None:
    """End a run: pour what was filled, measure what is left, and explain what differs.

    What is missing beyond the house's tolerance (the setting bottling_difference) is asked about.

    \b
    Example:
      pourbook bottling end "Lot 7" --left "12.4 l"
      pourbook bottling end "Lot 7" --empties --kind soakage
    """
    from pourbook.actions.bottling_run import end_bottling
    from pourbook.documents.bottling import run_recorded_shown

    answer = end_bottling(door.book, door.how, lot, _rest_typed(door, **rest), door.status)
    door.show(run_recorded_shown(answer, door.style))


def _rest_typed(door: Door, **given: str | bool | None) -> "Rest":
    from pourbook.actions.bottling_run import Rest
    from pourbook.errors import Malformed

    style, left, kind, celsius = door.style, given["left"], given["kind"], given["temperature"]
    if left is not None and given["empties"]:
        raise Malformed("the vat is said to be empty, and to have something left", "give --left or --empties")
    return Rest(
        None if left is None else style.amount(str(left), allow_zero=True),
        style.celsius(None if celsius is None else str(celsius)),
        bool(given["empties"]),
        str(kind or ""),
    )


@bottling_verb.command("show")
@item_argument("lot", required=False)
@reading
def show_verb(door: Door, lot: str | None) -> None:
    """Show the run of a lot: bottles, contents, losses, balance; without LOT, every run under way.

    \b
    Example:
      pourbook bottling show "Lot 7"
    """
    from pourbook.documents.bottling import run_shown, runs_shown

    book = door.book
    door.show(
        runs_shown(book.bottling_runs(), door.style) if lot is None else run_shown(book.bottling_run(lot), door.style)
    )


@bottling_verb.command("sheet")
@item_argument("lot")
@click.option("-o", "--output", type=click.Path(path_type=Path), required=True, metavar="FILE", help="The PDF.")
@PAPER
@FORCE
@recording
def sheet_verb(door: Door, lot: str, output: Path, paper: str | None, *, force: bool) -> None:
    """Print the run sheet: boxes for the line while it runs, and the figures that the book has.

    \b
    Example:
      pourbook bottling sheet "Lot 7" -o run.pdf
    """
    from pourbook.actions.print_paper import Output
    from pourbook.documents.labels import printed_shown

    printed = door.book.print_run_sheet(door.how, lot, Output((output,), None, paper or "", force))
    door.show(printed_shown(printed, door.style))
