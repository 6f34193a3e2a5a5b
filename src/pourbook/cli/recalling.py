"""The verbs of recalls: what a suspicion reaches; a recall, mock or actual, and its release."""

from pathlib import Path
from typing import Any

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import AT, FORCE, PAPER
from pourbook.cli.recall_scope import scope_options, suspects_of
from pourbook.errors import Malformed

__all__ = ["affected_verb", "recall_verb"]


@click.command("affected")
@scope_options
@AT
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Print it as PDF, too.")
@PAPER
@FORCE
@reading
def affected_verb(
    door: Door, at: str | None, output: Path | None, paper: str | None, *, force: bool,
    **typed: Any,  # noqa: ANN401 (the options of a scope)
) -> None:  # fmt: skip
    """Show all that a cask, delivery, water lot, closure, instrument, person or place has reached.

    Every option may be repeated; one is enough. --from and --to limit them all. Text matches whole words
    of what was recorded; NAME=VALUE matches one fact. An item is suspect with everything
    it ever held, a place with what lay there at the time, an instrument with what was gauged with it.
    Printed, it is a recall report that records nothing; of a group it names all sites and their customers.

    \b
    Example:
      pourbook affected --item C-000004-B
      pourbook affected --water "Spring 4, lot 26-3" --json
      pourbook affected --origin distiller="Corran Vale" --origin 112
      pourbook affected --instrument "H-3" --since-check
      pourbook affected --person "Isla Farrow" --from 2026-06-01 --to 2026-06-30
      pourbook --book group.pourbook affected --item "Tank 1" -o affected.pdf
    """
    from pourbook.documents.recalls import affected_shown

    until_us, suspects, since_check = door.style.as_of(at), suspects_of(door.style, typed), typed["since_check"]
    if output is None:
        door.show(affected_shown(door.book.affected(suspects, until_us, since_check=since_check), door.style))
        return
    from pourbook.documents.recalls import affected_printed_shown
    from pourbook.one_file import check_target, write_file
    from pourbook.paperwork.recall_report_of import affected_printed

    check_target(output, force=force, never=door.book.files)
    if output.suffix.lower() != ".pdf":
        raise Malformed(f"'{output.name}' is not a PDF", "end the name in .pdf")
    printed = affected_printed(door.book, suspects, until_us, paper or "", since_check=since_check)
    write_file(output, printed.pdf, force=force, never=door.book.files)
    door.show(affected_printed_shown(printed, output, door.style))


@click.command("recall")
@scope_options
@click.option("--mock/--actual", "mock", default=None, help="A mock recall, or an actual one.")
@click.option("--threshold", metavar="PART", help="Leave out items with a smaller share: 0.001; default: any amount.")
@click.option("--hold", "hold", is_flag=True, help="Put everything that holds any of it on hold.")
@click.option("--suspected", metavar="TIME", help="When it was first suspected; the clock runs from then.")
@click.option("--begun", metavar="TIME", help="When it began; default: with this command.")
@click.option("--ended", metavar="TIME", help="When everything was found (a day counts to its end); default: now.")
@click.option("--within", metavar="HOURS", help="Target, from first suspicion to all on hold; 4 is common practice.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Print its report as PDF.")
@PAPER
@FORCE
@click.option("--release", type=int, metavar="NUMBER", help="End the holds of that recall.")
@click.option("--show", type=int, metavar="NUMBER", help="Show a recall: as it was found, and its figures now.")
@click.option("--list", "list_", is_flag=True, help="List the recalls.")
@recording
def recall_verb(
    door: Door, release: int | None, show: int | None, list_: bool, mock: bool | None, **typed: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Recall: find everything affected, put it on hold, record it, print it.

    Name what is suspect as for pourbook affected. The entry keeps the scope and the figures as found.
    --release releases what only this recall holds.

    \b
    Example:
      pourbook recall --item C-000004-B --mock --reason "yearly exercise" --hold -o recall.pdf
      pourbook recall --water "Spring 4, lot 26-3" --actual --reason "laboratory report 31" --hold -o recall.pdf
      pourbook recall --item L-000001-C --mock --reason exercise --suspected 2026-03-02T09:10 --within 4 --hold
      pourbook recall --list
      pourbook recall --show 131 --json
      pourbook recall --release 131 --reason "laboratory: clean"
    """
    from pourbook.documents import recalls

    if sum((release is not None, show is not None, list_)) > 1:
        raise Malformed("one thing at a time", "give only one of --release, --show and --list")
    if list_:
        door.show(recalls.recalls_shown(door.book.recalls(), door.style))
    elif show is not None:
        door.show(recalls.compared_shown(door.book.recall_compared(show), door.style))
    elif release is not None:
        door.show(recalls.released_shown(door.book.release_recall(door.how, release), door.style))
    elif mock is None:
        raise Malformed("mock recall or actual?", "give --mock or --actual")
    else:
        _recall(door, typed, mock=mock)


def _recall(door: Door, typed: dict[str, Any], *, mock: bool) -> None:
    from pourbook.actions.print_paper import Output
    from pourbook.actions.recall import RecallPlan
    from pourbook.documents.recalls import recalled_shown
    from pourbook.queries.recalls.recalls import read_threshold, read_within

    style, output = door.style, typed["output"]
    begun_us, ended_us = style.moment(typed["begun"]) if typed["begun"] else None, style.as_of(typed["ended"])
    threshold = read_threshold(typed["threshold"], style.mark) if typed["threshold"] else 0.0
    suspects = suspects_of(style, typed)
    suspected_us = style.moment(typed["suspected"]) if typed["suspected"] else None
    within_h = read_within(typed["within"], style.mark) if typed["within"] else ""
    times = begun_us, ended_us, suspected_us, within_h
    plan = RecallPlan(suspects, mock, typed["hold"], threshold, typed["since_check"], *times)
    report = Output((output,), size=typed["paper"] or "", force=typed["force"]) if output else None
    door.show(recalled_shown(door.book.recall(door.how, plan, report), style))
