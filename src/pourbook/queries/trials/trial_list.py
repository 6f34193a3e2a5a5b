"""Every trial and every recipe, a line each: what a blender looks back on.

>>> from pourbook import Book, Draft, Item, Recipe, RecipePart
>>> book = Book.create(":memory:", house="Quillmere")
>>> entries = Item("V000001R", {}), Recipe("Ash", (RecipePart("V000001R", "1"),)), Item("T000002M", {"follows": "Ash"})
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(line.view.id, line.blend, line.note) for line in trials(book)], [card.recipe.name for card in recipes(book)]
([('T000002M', None, '')], ['Ash'])
"""

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ItemView, keys_of_kind, ledger, view
from pourbook.book.journal import names_of, notes_on
from pourbook.book.tasting_notes import About
from pourbook.book.tasting_notes import notes as latest_notes
from pourbook.codes.identifiers import of_key
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.trial_plan import RecipeCard, recipe_card

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.tasting_notes import TastingNote
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["TrialLine", "recipes", "trials"]


class TrialLine(NamedTuple):
    """A trial: its view, its blend as it last was (None: never poured), the latest note on it, and the latest tasting.

    `tasted` is None where nobody tasted it.
    """

    view: ItemView
    blend: "Trace | None"
    note: str
    tasted: "TastingNote | None" = None


def trials(book: "BookCore", last: int | None = None) -> Iterator[TrialLine]:
    """Every trial (or so many of the last), the oldest first, those that were drunk long ago as well."""
    keys = keys_of_kind(book.store, "trial")
    for key in keys[-last:] if last else keys:
        trial, notes = of_key(key), notes_on(book.store, key)
        blend = trace_back(book, trial) if ledger(book.store, key) else None
        note = notes[-1].entry["body"]["text"] if notes else ""
        yield TrialLine(
            view(book.store, trial), blend, note, next(latest_notes(book.store, About(item=trial), 1), None)
        )


def recipes(book: "BookCore") -> list[RecipeCard]:
    """Every recipe as it stands, by name."""
    return [recipe_card(book, name) for name in names_of(book.store, "recipe")]
