"""Approve or reject a batch or a lot, with all that spoke for and against it kept as it was; print its sheet."""

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.book.entries import Approval
from pourbook.queries.approvals.approval import ApprovalCase, approval

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Output, Printed
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.queries.approvals.approved import Approved

__all__ = ["Decided", "Wished", "approve", "print_approval", "reject"]


class Wished(NamedTuple):
    """What a batch or a lot is held against.

    Attributes:
        beside: a reference batch, lot or trial; empty for none.
        claims: what its label is to say beside what its facts say: statement to its value.
        rules: name of the rules on labels; empty for the house's.
    """

    beside: str = ""
    claims: Mapping[str, str] = {}
    rules: str = ""


class Decided(NamedTuple):
    """Whether it was `approved`, on which `case`, and what was `recorded`."""

    approved: bool
    case: ApprovalCase
    recorded: "Recorded"


_NOTHING = Wished()


def approve(book: "BookCore", how: Happening, item: str, wished: Wished = _NOTHING) -> Decided:
    """Approve a batch or a lot, on what the book says at that moment.

    Raises:
        ToConfirm: something is not met, or whoever approves it poured it.
        Held: it is on hold.
        Refused: the house wants somebody else than who poured it; or it is neither a batch nor a lot.
    """
    return _decided(book, how, item, wished, approved=True)


def reject(book: "BookCore", how: Happening, item: str, wished: Wished = _NOTHING) -> Decided:
    """Reject a batch or a lot, with a reason, on what the book says at that moment.

    Raises:
        Malformed: no reason.
        Refused: it is neither a batch nor a lot.
    """
    return _decided(book, how, item, wished, approved=False)


def _decided(book: "BookCore", how: Happening, item: str, wished: Wished, *, approved: bool) -> Decided:
    moment_us = how.moment(book)  # what is frozen is what the book says of this very moment
    with how.transaction(book):
        case = approval(book, item, *wished, at_us=moment_us)
        entry = Approval(case.id, approved, case.grounds, case.trial, case.beside, case.rules)
        return Decided(approved, case, how._replace(when_us=moment_us).record(book, entry))


def print_approval(
    book: "BookCore", how: Happening, item: str, wished: Wished = _NOTHING, output: "Output | None" = None
) -> "tuple[ApprovalCase, Approved, Printed]":
    """Print what speaks for and against an approval, to be signed; that, and how it stands now, beside the paper.

    Raises:
        ToConfirm: what it rests on does not agree with the journal.
        PourbookError: no such item, or the file cannot be written; nothing is recorded.
    """
    from pourbook.actions.print_paper import Output, Printed, kept, mark_of, paper_targets, stood
    from pourbook.book.entries import Paper
    from pourbook.book.lineages import behind
    from pourbook.codes.identifiers import hyphened, key_of
    from pourbook.papers.approval_sheet import approval_sheet
    from pourbook.paperwork.approval_sheet_of import approval_sheet_of
    from pourbook.paperwork.unset_characters import unset_on
    from pourbook.queries.approvals.approved import approved

    output = output or Output()
    with how.transaction(book):
        mark = mark_of(book, how, behind(book.store, key_of(book.find(item))))
        case, stands = approval(book, item, *wished), approved(book, item)
        values = approval_sheet_of(book, case, stands, wished.claims)
        values = replace(values, imprint=replace(values.imprint, disagrees=mark))
        targets = paper_targets(book, output, f"approval-{hyphened(case.id)}.pdf")
        files = dict.fromkeys(targets, approval_sheet(values, output.size or book.settings["paper"]))
        facts = stood(values.imprint) | {"grounds": len(case.grounds), "not_met": len(case.against)}
        recorded = kept(book, how, Paper("approval sheet", (case.id,), facts), files, output)
    return case, stands, Printed(files, case.id, facts, (), unset_on(values), recorded)
