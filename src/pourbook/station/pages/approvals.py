"""What may stand on a label, what speaks for and against an approval, and the decision."""

from typing import TYPE_CHECKING, Any

from starlette.responses import Response

from pourbook.errors import Refused
from pourbook.queries.labels.statements_of import claims_typed
from pourbook.station.pages.printed import printed_file
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit
from pourbook.words import approval_words, statement_words

if TYPE_CHECKING:
    from pourbook.actions.approving import Wished
    from pourbook.labels.statements import Statement
    from pourbook.queries.approvals.approval import ApprovalCase
    from pourbook.queries.labels.statements_of import Statements

    Words = tuple[str, ...]

__all__ = ["routes"]

routes = Routes()


@routes.page("/item/{item}/statements")
def statements(visit: Visit) -> Response:
    """Each statement: allowed, not allowed, or what cannot be said, and why."""
    item, asked = visit.item("batch", "lot"), {name: text.strip() for name, text in visit.query.items()}
    claims = claims_typed(visit.style, *(asked.get(name, "") for name in ("claims", "strength", "size")))
    view = visit.book.show(item)
    try:
        found = visit.book.statements_of(item, claims, asked.get("rules", ""))
    except Refused:
        found = None  # nothing was poured into it yet
    return visit.page(
        "batches/statements.html", view=view, found=found, rows=_statement_rows(visit, found) if found else (),
        asked=asked, check=statement_words.CHECK,
    )  # fmt: skip


def _statement_rows(visit: Visit, found: "Statements") -> "list[tuple[Statement, str, Words, Words, str]]":
    mark = visit.style.mark
    return [
        (
            one, statement_words.statement_words(one, mark),
            statement_words.points_words(one.against, found.called, mark),
            statement_words.points_words(one.rests_on, found.called, mark), statement_words.rule_words(one.rule),
        )
        for one in sorted(found.statements, key=lambda one: one.claim is None)
    ]  # fmt: skip


@routes.page("/item/{item}/approval")
def approval(visit: Visit) -> Response:
    """Grounds for and against, and how the approval stands."""
    item = visit.item("batch", "lot")
    asked = {name: visit.query.get(name, "").strip() for name in ("beside", "claims", "rules")}
    view = visit.book.show(item)
    values: dict[str, Any] = {"view": view, "asked": asked, "check": statement_words.CHECK, "case": None, "rows": ()}
    if view.holding.mass_mg:
        case = visit.book.approval(item, asked["beside"], claims_typed(visit.style, asked["claims"]), asked["rules"])
        values |= {"case": case, "rows": _rows(visit, case)}
    stands = visit.book.approved(item)
    called = values["case"].called if values["case"] else {}
    values["standing"] = approval_words.standing_words(stands, item, visit.style)
    values["changed"] = [approval_words.changed_words(one, called, visit.style.mark) for one in stands.changed]
    return visit.page("batches/approval.html", stands=stands, **values)


def _rows(visit: Visit, case: "ApprovalCase") -> list[tuple[str, ...]]:
    mark = visit.style.mark
    return [
        (
            approval_words.ground_name(one, case.called), one.stands, approval_words.found_words(one, mark),
            approval_words.within_words(one, mark), approval_words.beside_words(one, "trial", mark),
            approval_words.beside_words(one, "reference", mark),
        )
        for one in case.grounds
    ]  # fmt: skip


def _wished(visit: Visit) -> "Wished":
    from pourbook.actions.approving import Wished

    return Wished(visit.typed("beside"), claims_typed(visit.style, visit.typed("claims")), visit.typed("rules"))


@routes.deed("/item/{item}/approve", "approve")
def approve(visit: Visit) -> Response:
    """Approve it, on what the book says now."""
    item = visit.item("batch", "lot")
    recorded = visit.book.approve(visit.how, item, _wished(visit)).recorded
    return visit.to(f"/item/{item}/approval", visit.gettext("It is approved."), recorded=recorded)


@routes.deed("/item/{item}/reject", "reject")
def reject(visit: Visit) -> Response:
    """Reject it, with the reason."""
    item = visit.item("batch", "lot")
    visit.needed("reason", visit.gettext("Reason"))
    visit.book.reject(visit.how, item, _wished(visit))
    return visit.to(f"/item/{item}/approval", visit.gettext("It is rejected."))


@routes.deed("/item/{item}/approval-sheet", "print_approval")
def approval_sheet(visit: Visit) -> Response:
    """The sheet to be signed, as PDF."""
    *_, printed = visit.book.print_approval(visit.how, visit.item("batch", "lot"), _wished(visit))
    return printed_file(visit, printed)
