"""The approval sheet of a batch or a lot: each ground beside the trial and the reference, and the line to sign."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from reportlab.platypus import Flowable, Spacer  # loaded only by the verbs that print

from pourbook.codes.identifiers import hyphened
from pourbook.papers.blocks import Block, Lines, Signatures
from pourbook.papers.blocks_drawing import Section, report
from pourbook.papers.cells import BODY_STRONG, SMALL, Piece
from pourbook.papers.listing import listed
from pourbook.papers.page import Imprint, Title
from pourbook.papers.sections import lines, sheet_head
from pourbook.papers.tables import Column
from pourbook.words.approval_words import beside_words, found_words, ground_name, within_words
from pourbook.words.statement_words import CHECK, points_words, rule_words, statement_words

if TYPE_CHECKING:
    from pourbook.queries.approvals.approval import ApprovalCase, Ground
    from pourbook.queries.labels.statements_of import Statements

__all__ = ["ApprovalSheet", "approval_sheet"]

_COMPUTED = (
    "Parts are by volume at 20 °C as poured, beside their bounds. An attribute is the mean of notes, each taster once; "
    "it is met where those who tasted both cannot tell it apart (95 %), or where score or liking is ahead. A test "
    "shows likeness within a d' of 1; power is that of showing it where there is no difference at all. What nobody "
    "recorded is unknown, never met."
)


@dataclass(frozen=True, slots=True)
class ApprovalSheet:
    """What the sheet says: the `case`, what the label is to say (`label`), how an approval `stands` now, in words.

    Under its `imprint`; `name` is what the item is called, `ref` its own; `trial` and `reference` as named, empty for
    none.
    """

    imprint: Imprint
    case: "ApprovalCase"
    label: "Statements"
    name: str
    ref: str
    trial: str
    reference: str
    stands: tuple[str, ...]


def approval_sheet(values: ApprovalSheet, paper: str = "A4") -> bytes:
    """The sheet as PDF. Raises as `pourbook.papers.page.document`."""
    case = values.case
    counts = [(stands, sum(one.stands == stands for one in case.grounds)) for stands in ("met", "not met", "unknown")]
    stated = [
        ("Item", Piece(values.ref or hyphened(case.id), BODY_STRONG)),
        ("Trial", values.trial or "none"),
        ("Reference", values.reference or "none"),
        ("Rules of its label", case.rules),
        *((stands.capitalize(), str(count)) for stands, count in counts),
    ]

    def opening(width_pt: float) -> list[Flowable]:
        against = ", ".join(ground_name(one, case.called) for one in case.against)
        warned = [f"Not met: {against}"] if against else []
        return [
            *sheet_head(values.name, stated, width_pt, (), warned),
            *lines(values.stands, BODY_STRONG),
            Spacer(0, 2),
        ]

    title = Title("Approval sheet", hyphened(case.id), case.id)
    return report(values.imprint, title, opening, _sections(values), paper)


def _sections(values: ApprovalSheet) -> Iterator[Section]:
    yield Section("What speaks for and against it", _grounds(values))
    yield Section("What its label is to say", _label(values))
    yield Section("How these figures are computed", [Lines((_COMPUTED, f"{CHECK[0].upper()}{CHECK[1:]}."), SMALL)])
    yield Section("Decision: approved · rejected, because …", [Signatures(("Decided by",))], is_whole=True)


def _grounds(values: ApprovalSheet) -> list[Block]:
    case, mark = values.case, values.imprint.notation.mark
    columns = [
        (Column("ground", 50, stretch=2), lambda one: ground_name(one, case.called)),
        (Column("stands", 18), _stands),
        (Column("found", 34, stretch=2), lambda one: found_words(one, mark)),
        (Column("to be", 28, stretch=1), lambda one: within_words(one, mark)),
    ]
    if case.trial:
        columns.append((Column("trial", 20, stretch=1), lambda one: beside_words(one, "trial", mark)))
    if case.beside:
        columns.append((Column("reference", 20, stretch=1), lambda one: beside_words(one, "reference", mark)))
    return listed(case.grounds, columns)


def _stands(one: "Ground") -> str | Piece:
    return one.stands if one.stands == "met" else Piece(one.stands, BODY_STRONG)


def _label(values: ApprovalSheet) -> list[Block]:
    mark, called = values.imprint.notation.mark, values.label.called
    return listed(
        values.label.claimed,
        (
            (Column("statement", 34, stretch=1), lambda one: statement_words(one, mark)),
            (Column("", 22), lambda one: one.stands),
            (
                Column("because", 50, stretch=2),
                lambda one: "; ".join(points_words(one.against or one.rests_on, called, mark)),
            ),
            (Column("rule", 44, stretch=2), lambda one: rule_words(one.rule)),
        ),
    )
