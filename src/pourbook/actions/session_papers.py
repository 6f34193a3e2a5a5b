"""The papers of a tasting session, printed and recorded: ballots, labels of glasses, the pour sheet, the report."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from pourbook.actions.print_paper import Output, Printed, kept, paper_targets, stood
from pourbook.book.entries import Paper
from pourbook.book.sessions import assessor_named, session_named
from pourbook.codes.identifiers import named
from pourbook.errors import Question, ToConfirm, Unknown

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.core import BookCore
    from pourbook.labels.label_layout import Template
    from pourbook.papers.page import Imprint

__all__ = ["print_ballots", "print_glass_labels", "print_pour_sheet", "print_session_report"]

_UNWRITTEN = Output()


def print_ballots(book: "BookCore", how: "Happening", session: str, output: Output = _UNWRITTEN) -> Printed:
    """Print the ballots of a session, one for each assessor, by code alone.

    Raises:
        PourbookError: no such session, it is closed, or the file cannot be written; nothing is recorded.
    """
    from pourbook.papers.ballots import ballots
    from pourbook.paperwork.session_papers_of import ballots_of

    with how.transaction(book):
        values = ballots_of(book, session)
        return _printed(book, how, session, "ballots", values.imprint, lambda size: ballots(values, size), output)


def print_pour_sheet(book: "BookCore", how: "Happening", session: str, output: Output = _UNWRITTEN) -> Printed:
    """Print the sealed sheet for whoever pours: the only paper of an open session that links a code with an item.

    Raises:
        ToConfirm: whoever prints it tastes in the session.
        PourbookError: no such session, it is closed, or the file cannot be written; nothing is recorded.
    """
    from pourbook.papers.pour_sheet import pour_sheet
    from pourbook.paperwork.session_papers_of import pour_sheet_of

    with how.transaction(book):
        values = pour_sheet_of(book, session)
        if not how.confirm and _tastes(book, how.who, session):
            said = f"{named(how.who)} tastes in this session, and would see which code is which glass"
            raise ToConfirm(Question("pourer-tastes", said, "let somebody else print it and pour."))
        return _printed(book, how, session, "pour sheet", values.imprint, lambda size: pour_sheet(values, size), output)


def _tastes(book: "BookCore", who: str, session: str) -> bool:
    """Whether a person, by name or number, is among the assessors."""
    try:
        return bool(assessor_named(book.store, session_named(book.store, session).session, who))
    except Unknown:
        return False


def print_session_report(book: "BookCore", how: "Happening", session: str, output: Output = _UNWRITTEN) -> Printed:
    """Print the report of a session that was closed.

    Raises:
        PourbookError: no such session, it is open, or the file cannot be written; nothing is recorded.
    """
    from pourbook.papers.session_paper import session_paper
    from pourbook.paperwork.session_papers_of import session_paper_of

    with how.transaction(book):
        values = session_paper_of(book, session)
        drawn = lambda size: session_paper(values, size)  # noqa: E731
        return _printed(book, how, session, "session report", values.imprint, drawn, output)


def print_glass_labels(
    book: "BookCore", how: "Happening", session: str, template: "Template", output: Output = _UNWRITTEN
) -> Printed:
    """Print a label for each glass of a session, with its code alone; every symbol is read back.

    Raises:
        PourbookError: no such session, it is closed, the template is not for glasses, a symbol does not read, or the
            file cannot be written; nothing is recorded.
    """
    from pourbook.labels.label_sheets import Printout
    from pourbook.labels.readback import read_back
    from pourbook.paperwork.imprint import imprint_of
    from pourbook.paperwork.session_papers_of import glass_labels_of

    def drawn(_size: str) -> bytes:
        printout = Printout(glass_labels_of(book, session), template)
        pdf = printout.pdf()
        read_back(pdf, printout)
        return pdf

    with how.transaction(book):
        return _printed(book, how, session, "glass labels", imprint_of(book), drawn, output)


def _printed(
    book: "BookCore", how: "Happening", name: str, paper: str, imprint: "Imprint", drawn: Callable[[str], bytes],
    output: Output,
) -> Printed:  # fmt: skip
    """Draw a paper, record it and put its file in place."""
    session = session_named(book.store, name).session
    targets = paper_targets(book, output, f"{paper.replace(' ', '-')}.pdf")
    files = dict.fromkeys(targets, drawn(output.size or book.settings["paper"]))
    facts = stood(imprint) | {"session": session.name}
    recorded = kept(book, how, Paper(paper, session.ids, facts), files, output)
    return Printed(files, "", facts, (), (), recorded)
