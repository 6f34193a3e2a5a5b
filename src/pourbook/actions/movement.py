"""What the actions that move liquid share: whose it becomes, what else is told of it, and what is there afterwards."""

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, NamedTuple, TypeVar

from pourbook.actions.happening import Happening
from pourbook.book.consequences import Recorded
from pourbook.book.entries import TARGETS, Draft, Entry, Facts, Item, Pour
from pourbook.book.items import ItemView
from pourbook.book.lineages import pending_in
from pourbook.codes.identifiers import LIQUID_KINDS, kind_of

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Moved", "Status", "moved", "record", "told", "with_status"]


_Told = TypeVar("_Told", str, int, str | int)


class Status(NamedTuple):
    """Owner and duty status that a person states of the liquid; None where nobody did, empty where it ends."""

    owner: str | None = None
    duty: str | None = None


class Moved(NamedTuple):
    """An item after liquid was poured into or out of it, the pending entries behind its strength, what was recorded."""

    item: ItemView
    pending: tuple[int, ...]
    recorded: Recorded


def moved(book: "BookCore", item: str, recorded: Recorded) -> Moved:
    """The answer of an action, read before its transaction ends."""
    view = book.show(item)
    return Moved(view, pending_in(book.store, view.holding), recorded)


def told(words: Mapping[str, _Told | None]) -> dict[str, _Told]:
    """Facts without those that nobody told."""
    return {name: value for name, value in words.items() if value is not None and value != ""}


def record(book: "BookCore", how: Happening, status: Status | None, *entries: Entry) -> Recorded:
    """Record entries, with what a person states of the liquid in them."""
    return book.record(*with_status((how.draft(book, entry) for entry in entries), status or Status()))


def with_status(drafts: Iterable[Draft], status: Status) -> list[Draft]:
    """Drafts with owner and duty status of what is poured into: as it is opened, else just before the pour."""
    stated = {name: value for name, value in status._asdict().items() if value is not None}
    drafts, found = list(drafts), list[Draft]()
    opened = {draft.entry.id for draft in drafts if isinstance(draft.entry, Item)}
    for draft in drafts:
        entry = draft.entry
        if stated and isinstance(entry, Pour) and not draft.replaces:
            targets = dict.fromkeys(move.target for move in entry.moves if move.target not in (*TARGETS, *opened))
            found += [draft._replace(entry=Facts(target, stated)) for target in targets]
        if isinstance(entry, Item) and kind_of(entry.id) in LIQUID_KINDS:
            entry = entry._replace(facts={**entry.facts, **{name: value for name, value in stated.items() if value}})
        found.append(draft._replace(entry=entry))
    return found
