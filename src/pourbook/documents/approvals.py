"""Approval of a batch or a lot, shown: what speaks for and against it, and how it stands."""

from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, Any

from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.queries.items.called import at_sight
from pourbook.times import written
from pourbook.words.approval_words import (
    beside_words,
    changed_words,
    found_words,
    ground_name,
    standing_words,
    within_words,
)
from pourbook.words.statement_words import CHECK

if TYPE_CHECKING:
    from pourbook.actions.approving import Decided
    from pourbook.actions.print_paper import Printed
    from pourbook.book.entries import Ground
    from pourbook.house_style import HouseStyle
    from pourbook.queries.approvals.approval import ApprovalCase
    from pourbook.queries.approvals.approved import Approved

__all__ = ["approval_shown", "approved_document", "approved_lines", "decided_shown"]


def approval_shown(
    case: "ApprovalCase", stands: "Approved", style: "HouseStyle", printed: "Printed | None" = None
) -> Shown:  # fmt: skip
    """What speaks for and against an approval; `printed` is its sheet, if one was printed."""
    document = _case_document(case) | {"approval": approved_document(stands)}
    if printed is not None:
        document["paper"] = {"entry": printed.recorded.numbers[0], "file": ", ".join(map(str, printed.files))}
    said = [at_sight(case.id, case.called[case.id]), *approved_lines(stands, case.id, style, case.called), ""]
    notes = tuple(f"written: {path}" for path in printed.files) if printed else ()
    return Shown(document, (*said, *_lines(case, style), "", CHECK), notes)


def decided_shown(answer: "Decided", style: "HouseStyle") -> Shown:
    """A batch or a lot that was approved or rejected, with its grounds."""
    case = answer.case
    word = "approved" if answer.approved else "rejected"
    counts = {stands: sum(one.stands == stands for one in case.grounds) for stands in ("met", "not met", "unknown")}
    told = ", ".join(f"{count} {stands}" for stands, count in counts.items() if count)
    said = (f"{at_sight(case.id, case.called[case.id])}: {word}; grounds: {told}", *_lines(case, style), "", CHECK)
    return recorded_shown(answer.recorded, _case_document(case) | {"approved": answer.approved}, said, style)


def _case_document(case: "ApprovalCase") -> dict[str, Any]:
    return {
        "id": case.id,
        "called": case.called[case.id],
        "trial": case.trial or None,
        "beside": case.beside or None,
        "rules": case.rules,
        "at": None if case.at_us is None else written(case.at_us),
        "grounds": [_ground_document(one) for one in case.grounds],
        "caution": CHECK,
    }


def _ground_document(one: "Ground") -> dict[str, Any]:
    return {"name": one.name, "about": one.about, "stands": one.stands, "figures": dict(one.figures)}


def approved_document(found: "Approved") -> dict[str, Any]:
    """How an approval stands, for programs."""
    covering = found.covering
    return {
        "stands": covering.stands,
        "of": covering.of,
        "entry": covering.entry.number if covering.entry else None,
        "who": found.who or None,
        "happened": None if found.happened_us is None else written(found.happened_us),
        "reason": found.reason,
        "lapsed_by": covering.lapsed_by or None,
        "changed": [
            {"name": one.name, "about": one.about, "then": dict(one.then), "now": dict(one.now)}
            for one in found.changed
        ],
    }


def approved_lines(
    found: "Approved", item: str, style: "HouseStyle", called: Mapping[str, str] | None = None
) -> tuple[str, ...]:
    """How an approval stands, with what would be other figures now."""
    said = standing_words(found, item, style) or "not approved"
    return (said, *(f"  {changed_words(one, called or {}, style.mark)}" for one in found.changed))


def _lines(case: "ApprovalCase", style: "HouseStyle") -> tuple[str, ...]:
    mark = style.mark
    others = {name: item for name, item in (("trial", case.trial), ("reference", case.beside)) if item}
    named = [f"{name}: {at_sight(item, case.called.get(item, ''))}" for name, item in others.items()]
    return (
        *named,
        *listed(
            case.grounds,
            ("ground", lambda one: ground_name(one, case.called)),
            ("stands", lambda one: one.stands),
            ("found", lambda one: found_words(one, mark)),
            ("to be", lambda one: within_words(one, mark)),
            *((name, partial(beside_words, name=name, mark=mark)) for name in others),
        ),
    )
