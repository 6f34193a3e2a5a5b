"""Accounts of the station, shown: what became of one, and who has one."""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pourbook.codes.identifiers import hyphened, readable
from pourbook.documents.shown import Shown, listed, recorded_shown
from pourbook.numerals import counted
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.actions.accounts import AccountChanged
    from pourbook.actions.withdrawing import Withdrawn
    from pourbook.house_style import HouseStyle
    from pourbook.queries.people.accounts import Account

__all__ = ["account_shown", "accounts_shown", "withdrawn_shown"]


def account_shown(answer: "AccountChanged", style: "HouseStyle") -> Shown:
    """An account that was made, changed or ended."""
    document = {"id": answer.person, "name": answer.name, "role": answer.role, "account": answer.what}
    said = f"{hyphened(answer.person)}: account {answer.what}, {answer.role}"
    shown = recorded_shown(answer.recorded, document, (said,), style)
    easy = (
        ("warning: this PIN is among the first that anybody would try: have it changed soon",) if answer.is_easy else ()
    )
    return shown.warned(*easy)


def withdrawn_shown(answer: "Withdrawn") -> Shown:
    """A person who was withdrawn, and what is not reached by that."""
    found = answer.withdrawal
    document = {
        "id": answer.person, "references": list(found.references), "entries": found.entries,
        "hashed_with_names": found.hashed_with_names, "free_text": list(found.free_text),
        "account_ended": answer.ended, "dry_run": answer.is_dry_run,
    }  # fmt: skip
    done = "would be withdrawn" if answer.is_dry_run else "withdrawn"
    entries = counted(found.entries, "entry", "entries")
    said = [f"{done}: {readable(found.references[0])} stands instead of the name in {entries}"]
    if found.hashed_with_names:
        said.append(
            f"{counted(found.hashed_with_names, 'entry', 'entries')} of before the upgrade: their text is kept for"
            " verification alone"
        )
    said += ["the account is ended"] if answer.ended else []
    numbers = ", ".join(map(str, found.free_text[:20])) + (" …" if len(found.free_text) > 20 else "")
    warnings = [f"warning: the name still stands in free text of entries {numbers}"] if found.free_text else []
    warnings.append("back-ups, exports and printed papers are not reached")
    return Shown(document, tuple(said), warnings=tuple(warnings))


def accounts_shown(accounts: Sequence["Account"], style: "HouseStyle") -> Shown:
    """Who has an account, or had one."""
    said = listed(
        accounts,
        ("person", lambda one: hyphened(one.person)),
        ("name", lambda one: one.name),
        ("role", lambda one: one.role if one.ended_us is None else f"{one.role}, ended"),
        ("since", lambda one: style.time_shown(one.made_us)),
        ("last seen", lambda one: "" if one.seen_us is None else style.time_shown(one.seen_us)),
    )
    return Shown({"people": [_document(one) for one in accounts]}, said if accounts else ("nobody has an account",))


def _document(one: "Account") -> dict[str, str | None]:
    ended, seen = (None if moment is None else written(moment) for moment in (one.ended_us, one.seen_us))
    return {
        "id": one.person, "name": one.name, "role": one.role, "made": written(one.made_us), "ended": ended,
        "last_seen": seen,
    }  # fmt: skip
