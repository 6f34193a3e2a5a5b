"""Every trial and every recipe, a line each: what a blender looks back on.

>>> from pourbook import Book, Draft, Item, Recipe, RecipePart
>>> book = Book.create(":memory:", house="Quillmere")
>>> entries = Item("V000001R", {}), Recipe("Ash", (RecipePart("V000001R", "1"),)), Item("T000002M", {"follows": "Ash"})
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(line.view.id, line.blend, line.note) for line in trials(book)], [card.recipe.name for card in recipes(book)]
([('T000002M', None, '')], ['Ash'])
"""

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import ItemView, ledger, view
from pourbook.book.journal import names_of, notes_on
from pourbook.codes.identifiers import key_of
from pourbook.queries.tastings.notes import notes_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.chosen_trials import Wanted, chosen
from pourbook.queries.trials.opinions import Opinion, opinion
from pourbook.queries.trials.trial_plan import RecipeCard, recipe_card

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.tasting_notes import TastingNote
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["TrialLine", "recipes", "trial_lines", "trials"]


class TrialLine(NamedTuple):
    """A trial: its view, its blend as it last was (None: never poured), the latest note on it, and the latest tasting.

    `tasted` is None where nobody tasted it; `opinion` is of all that did.
    """

    view: ItemView
    blend: "Trace | None"
    note: str
    tasted: "TastingNote | None"
    opinion: Opinion


_ALL = Wanted()


def trials(book: "BookCore", last: int | None = None, wanted: Wanted = _ALL) -> Iterator[TrialLine]:
    """Every trial that answers (or so many of the last), the oldest first, those that were drunk long ago as well.

    Raises as `chosen`.
    """
    found = chosen(book, wanted)
    return trial_lines(book, found[-last:] if last else found)


def trial_lines(book: "BookCore", found: Iterable[str]) -> Iterator[TrialLine]:
    """A line for each of these trials."""
    for trial in found:
        key, tasted = key_of(trial), list(notes_of(book, trial))
        remarks = notes_on(book.store, key)
        blend = trace_back(book, trial) if ledger(book.store, key) else None
        note = remarks[-1].entry["body"]["text"] if remarks else ""
        yield TrialLine(view(book.store, trial), blend, note, tasted[-1] if tasted else None, opinion(tasted))


def recipes(book: "BookCore") -> list[RecipeCard]:
    """Every recipe as it stands, by name."""
    return [recipe_card(book, name) for name in names_of(book.store, "recipe")]
