"""Print the run sheet of a bottling: boxes for the line while it runs, figures as far as the book has them."""

from typing import TYPE_CHECKING

from pourbook.actions.print_paper import Output, Printed, kept, paper_targets, stood
from pourbook.book.entries import Paper
from pourbook.book.items import entered_in
from pourbook.book.journal import entry_of
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.queries.bottling.run import bottling_run
from pourbook.times import day_shown

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.core import BookCore

__all__ = ["print_run_sheet"]

_UNWRITTEN = Output()


def print_run_sheet(book: "BookCore", how: "Happening", lot: str, output: Output = _UNWRITTEN) -> Printed:
    """Print the sheet of the run that a lot belongs to.

    Raises:
        Refused: it was not bottled in a run.
        PourbookError: no such lot, or the file cannot be written; nothing is recorded.
    """
    from pourbook.papers.run_sheet import RunSheet, run_sheet
    from pourbook.paperwork.imprint import imprint_of
    from pourbook.paperwork.naming import person
    from pourbook.paperwork.unset_characters import unset_on

    with how.transaction(book):
        run = bottling_run(book, lot)
        begun = entry_of(book.store, entered_in(book.store, key_of(run.id)))
        who = person(book.store, begun.entry["who"])
        date = day_shown(begun.happened_us, book.zone)
        values = RunSheet(imprint_of(book), run, book.zone, who.name or who.id, date)
        targets = paper_targets(book, output, f"bottling-run-{hyphened(run.id)}.pdf")
        files = dict.fromkeys(targets, run_sheet(values, output.size or book.settings["paper"]))
        facts = stood(values.imprint) | {"lots": len(run.lots), "bottles": sum(one.made.filled for one in run.lots)}
        lots = tuple(one.view.id for one in run.lots)
        recorded = kept(book, how, Paper("bottling run sheet", lots, facts), files, output)
    return Printed(files, run.id, facts, (), unset_on(values), recorded)
