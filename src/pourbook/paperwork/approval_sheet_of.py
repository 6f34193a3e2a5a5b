"""The approval sheet of a batch or a lot, made out from the book: what speaks for and against it at a moment."""

from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened
from pourbook.house_style import HouseStyle
from pourbook.papers.approval_sheet import ApprovalSheet
from pourbook.paperwork.imprint import imprint_of
from pourbook.queries.approvals.approved import Approved
from pourbook.queries.items.called import at_sight
from pourbook.queries.labels.statements_of import statements_of
from pourbook.words.approval_words import changed_words, standing_words

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.book.core import BookCore
    from pourbook.queries.approvals.approval import ApprovalCase

__all__ = ["approval_sheet_of"]


def approval_sheet_of(
    book: "BookCore", case: "ApprovalCase", stands: Approved, claims: "Mapping[str, str]"
) -> ApprovalSheet:
    """What the sheet says of a case; `stands` is how an approval stands now."""
    view, style = book.show(case.id), HouseStyle(book.settings)
    said = standing_words(stands, case.id, style)
    told = (
        (said[0].upper() + said[1:], *(changed_words(one, case.called, style.mark) for one in stands.changed))
        if said
        else ()
    )
    named = {item: at_sight(item, case.called.get(item, "")) for item in (case.trial, case.beside) if item}
    return ApprovalSheet(
        imprint_of(book),
        case,
        statements_of(book, case.id, claims, case.rules, case.at_us),
        view.facts.get("name") or view.ref or hyphened(case.id),
        view.ref,
        named.get(case.trial, ""),
        named.get(case.beside, ""),
        told,
    )
