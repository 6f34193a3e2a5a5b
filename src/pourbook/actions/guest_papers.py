"""The papers of a blending session, printed and recorded: sheets to compose on, cards of what was chosen."""

from collections.abc import Callable
from typing import TYPE_CHECKING

from pourbook.actions.print_paper import Output, Printed, kept, paper_targets, stood
from pourbook.book.entries import Paper

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.core import BookCore
    from pourbook.papers.page import Imprint

__all__ = ["print_guest_cards", "print_guest_sheets"]

_UNWRITTEN = Output()


def print_guest_sheets(book: "BookCore", how: "Happening", session: str, output: Output = _UNWRITTEN) -> Printed:
    """Print a sheet to compose on for each guest.

    Raises:
        PourbookError: no such session, or the file cannot be written; nothing is recorded.
    """
    from pourbook.papers.guest_sheet import guest_sheets
    from pourbook.paperwork.guest_papers_of import guest_sheets_of

    with how.transaction(book):
        values = guest_sheets_of(book, session)
        ids = tuple(row.code for row in values.rows if row.code)
        drawn = lambda size: guest_sheets(values, size)  # noqa: E731
        return _printed(book, how, ("guest sheets", ids, values.session), values.imprint, drawn, output)


def print_guest_cards(book: "BookCore", how: "Happening", session: str, output: Output = _UNWRITTEN) -> Printed:
    """Print a card of the chosen blend for each guest.

    Raises:
        Refused: none was chosen yet.
        PourbookError: no such session, or the file cannot be written; nothing is recorded.
    """
    from pourbook.papers.guest_card import guest_cards
    from pourbook.paperwork.guest_papers_of import guest_card_of

    with how.transaction(book):
        values = guest_card_of(book, session)
        drawn = lambda size: guest_cards(values, size)  # noqa: E731
        return _printed(book, how, ("guest cards", (values.code,), values.session), values.imprint, drawn, output)


def _printed(
    book: "BookCore", how: "Happening", paper: tuple[str, tuple[str, ...], str], imprint: "Imprint",
    drawn: Callable[[str], bytes], output: Output,
) -> Printed:  # fmt: skip
    """Draw a paper (its kind, the items on it, the session), record it and put its file in place."""
    kind, ids, session = paper
    targets = paper_targets(book, output, f"{kind.replace(' ', '-')}.pdf")
    files = dict.fromkeys(targets, drawn(output.size or book.settings["paper"]))
    facts = stood(imprint) | {"blending": session}
    recorded = kept(book, how, Paper(kind, ids, facts), files, output)
    return Printed(files, "", facts, (), (), recorded)
