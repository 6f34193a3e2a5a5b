"""Approvals: what the journal says of them, who may approve what, and what leaves the house only once approved."""

from collections import Counter
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from pourbook.book.items import facts, text_listed
from pourbook.codes.identifiers import hyphened, key_of, kind_of, read_or_none, readable
from pourbook.errors import Held, Malformed, Question, Refused
from pourbook.numerals import counted
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.line_case import LineCase
    from pourbook.book.rules import Case
    from pourbook.book.store import Store

__all__ = ["OF_APPROVALS", "despatch_is_approved", "in_words"]

_LEAVING = ("batch", "lot")


def in_words(body: Mapping[str, Any], _mark: str) -> str:
    """What an approval says in one line."""
    stands = Counter(one["stands"] for one in body["grounds"])
    are_alike = set(stands) <= {"met"}
    how = ", ".join(f"{count} {word}" for word, count in sorted(stands.items()))
    on = counted(len(body["grounds"]), "ground") + ("" if are_alike else f" ({how})")
    return f"{'approved' if body['approved'] else 'rejected'} {hyphened(body['item'])} on {on}"


def approval_is_of_what_leaves(case: "Case") -> None:
    """A batch or a lot of the book is approved or rejected."""
    case.known.key(case.entry.id)
    if kind_of(case.entry.id) not in _LEAVING:
        raise Refused(f"{hyphened(case.entry.id)} is no batch and no lot", "approve the batch, or the lot")


def rejection_has_its_reason(case: "Case") -> None:
    """Nobody rejects without saying why."""
    if not case.entry.approved and not case.draft.reason.strip():
        raise Malformed("a rejection needs a reason", "give --reason")


def held_is_not_approved(case: "Case") -> None:
    """A hold and a recall stand above approval."""
    if case.entry.approved and case.known.is_held_now(case.known.key(case.entry.id)):
        raise Held(f"{hyphened(case.entry.id)} is on hold, so it is not approved", "release it first, or reject it")


def grounds_are_met(case: "Case") -> Question | None:
    """What speaks against it is seen before it is approved."""
    against = [
        " ".join(filter(None, (one.name, readable(one.about)))) for one in case.entry.grounds if one.stands == "not met"
    ]
    if not case.entry.approved or not against:
        return None
    said = f"{', '.join(against)}: not met"
    remedy = f"see why: pourbook approval {hyphened(case.entry.id)}."
    return Question("grounds-not-met", said, remedy, {"grounds": ", ".join(against)})


def approver_is_named(case: "Case") -> None:
    """Where the house names who approves, nobody else does; anybody may reject."""
    named = text_listed(case.known.settings["approvers"])
    who = _names(case.known.store, case.draft.who)
    if case.entry.approved and named and not any(who & _names(case.known.store, one) for one in named):
        raise Refused(f"{readable(case.draft.who)} is not among those who approve", f"they are: {', '.join(named)}")


def approver_did_not_pour(case: "Case") -> Question | None:
    """Two pairs of eyes: who poured it is asked, or refused where the house wants another."""
    from pourbook.book.approvals import who_poured  # most recordings approve nothing

    who = _names(case.known.store, case.draft.who)
    if not case.entry.approved or not any(
        who & _names(case.known.store, one) for one in who_poured(case.known.store, case.entry.id)
    ):
        return None
    said = f"{readable(case.draft.who)} poured {hyphened(case.entry.id)}"
    if case.known.settings["pourer_approves"] == "no":
        raise Refused(f"{said}, and the house wants somebody else to approve it", "let another person approve it")
    return Question("pourer-approves", f"{said}, and would approve it, too", "let somebody else taste and approve it.")


def _names(store: "Store", who: str) -> set[str]:
    """Everything that a person goes by."""
    identifier = read_or_none(who)
    known = facts(store, key_of(identifier)) if identifier else {}
    return {lookup_form(name) for name in (who, known.get("name", ""), known.get("ref", "")) if name}


OF_APPROVALS = (
    approval_is_of_what_leaves, rejection_has_its_reason, approver_is_named, held_is_not_approved, grounds_are_met,
    approver_did_not_pour,
)  # fmt: skip


def despatch_is_approved(case: "LineCase") -> Question | None:
    """What leaves the house is approved, where the house wants that; what was rejected is asked about in any house."""
    source = case.move.source
    if case.move.target != "despatch" or source[:1] not in ("B", "L"):
        return None
    from pourbook.book.approvals import covering  # most pours leave nothing out of the house

    wanted = case.known.settings["approval"]
    found = covering(case.known.store, source, case.draft.happened_us)
    if found.stands == "approved" or (wanted == "no" and found.stands != "rejected"):
        return None
    of = "" if found.of == source else f" ({hyphened(found.of)}, which it was bottled from)"
    entry = f" in entry {found.entry.number}" if found.entry else ""
    since = f", and entry {found.lapsed_by} poured into it since" if found.lapsed_by else ""
    word = "approved" if found.stands == "lapsed" else found.stands
    said, remedy = f"{hyphened(source)}{of} is {word}{entry}{since}", "see what speaks for it: pourbook approval"
    if wanted == "needed":
        raise Refused(f"{said}, so it does not leave the house", f"{remedy} {hyphened(source)}")
    return Question("not-approved", said, f"{remedy} {hyphened(source)}.")
