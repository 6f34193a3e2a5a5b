"""Ballots of a tasting session as a table: a row for each glass, with its code and what was found.

Columns: code; assessor; nose, first, middle, finish (words with intensities, then free words, as `pourbook taste` reads
them), seconds, missing, too_much, liking, score, rank, note. A row in which nothing is answered is left out, so that a
form may come back half filled in.
"""

import csv
import io
from collections.abc import Iterable

from pourbook.book.ballots import ANSWERS, Ballot
from pourbook.exchange.tables.columns import Faults
from pourbook.exchange.tables.headings import SUB_HEADINGS, Meaning
from pourbook.exchange.tables.table_files import guarded, read_table
from pourbook.exchange.tables.table_sources import Columns, Source, column_name
from pourbook.exchange.tables.taken import Heard

__all__ = ["BALLOT_COLUMNS", "ballot_form", "read_ballots"]

BALLOT_COLUMNS = Columns(("code",), ("assessor", *ANSWERS), numbers=("liking", "score"))


def read_ballots(source: Source, mark: str) -> list[Ballot]:
    """The ballots of a table, in a house with this decimal mark; a row with a code alone was not filled in.

    Raises:
        FaultsFound: it has not the form of one.
    """
    faults = Faults()
    heard = Heard("ballots", {column_name(SUB_HEADINGS): Meaning("code")}, mark, confirmed=True)
    table = read_table(source, BALLOT_COLUMNS, faults, heard=heard)
    rows = [
        Ballot(number, cells.get("assessor", ""), cells.get("code", ""), answers)
        for number, cells in table.rows
        if any((answers := {name: cells.get(name, "") for name in ANSWERS}).values())
    ]
    faults.check("table of ballots")
    return rows


def ballot_form(glasses: Iterable[tuple[str, str]]) -> str:
    """An empty table for these glasses, assessor and code of each, in the order of serving."""
    file = io.StringIO()
    table = csv.writer(file)
    table.writerow(("assessor", "code", *ANSWERS))
    table.writerows((guarded(assessor), code, *[""] * len(ANSWERS)) for assessor, code in glasses)
    return file.getvalue()
