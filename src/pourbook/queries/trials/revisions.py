"""What a trial was revised from, and what was revised from it."""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ItemView, view
from pourbook.book.names import with_fact

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Revisions", "revisions"]


class Revisions(NamedTuple):
    """A trial's place: what it was revised from, the nearest first, and its own revisions."""

    trial: ItemView
    revised_from: tuple[ItemView, ...]
    revisions: tuple[ItemView, ...]


def revisions(book: "BookCore", text: str) -> Revisions:
    """The revisions of a trial, by identifier or outside name."""
    trial = current = book.show(text)
    before: dict[str, ItemView] = {}
    while (parent := current.facts.get("revised_from")) and parent not in before:
        current = before[parent] = view(book.store, parent)
    after = (view(book.store, one) for one in with_fact(book.store, "revised_from", trial.id))
    return Revisions(trial, tuple(before.values()), tuple(after))
