"""What an import did, for programs and for people."""

from collections.abc import Sequence

from pourbook.actions.importing import TakenIn
from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown
from pourbook.errors import Fault
from pourbook.exchange.output.writing import Table
from pourbook.house_style import HouseStyle
from pourbook.numerals import counted
from pourbook.words.figure_words import in_grams

__all__ = ["faults_table", "taken_in_shown"]

_GAINS_SAID = 20


def taken_in_shown(done: TakenIn, what: str, style: HouseStyle, *, dry_run: bool) -> Shown:
    """What was imported; only the first gains are named."""
    document = {
        "items": done.items,
        "pours": done.pours,
        "entries": done.entries,
        "gains": [{"id": id_, "mass_mg": mass} for id_, mass in done.gains],
        "warnings": list(done.notes),
        "dry_run": dry_run,
    }
    counts = (counted(done.items, "item"), counted(done.pours, "pour"), counted(done.entries, "entry", "entries"))
    notes = [
        f"note: {hyphened(id_)} gave {in_grams(mass, style.mark)} more than the book held"
        for id_, mass in done.gains[:_GAINS_SAID]
    ]
    if dry_run:
        notes.append("dry run: nothing was recorded")
    warnings = tuple(f"warning: {note}" for note in done.notes)
    return Shown(document, (f"{what}: {', '.join(counts)} of the journal",), tuple(notes), warnings)


def faults_table(faults: Sequence[Fault]) -> Table:
    """Faults as a table to work through."""
    return Table(Fault._fields, [{name: str(value) for name, value in fault._asdict().items()} for fault in faults])
