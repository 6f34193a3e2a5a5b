"""Labels that say something else than the book by now: what is on them, and what would be printed today.

Facts are read from the journal as they stood when the label was printed; the strength is what the run kept of it.

>>> from pourbook import Book, Draft, Facts, Item, Paper
>>> from pourbook.book.label_prints import last_prints
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, label = Item("C000001H", {"ref": "Q 31"}), Paper("label", ("C000001H",), {})
>>> _ = book.record(*(Draft(one, 0, "M. Aldane") for one in (cask, label, Facts("C000001H", {"ref": "Q 310"}))))
>>> outdated(book, last_prints(book.store))
{'C000001H': (Restated(name='ref', printed='Q 31', now='Q 310'),)}
"""

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING

from pourbook.book.items import ItemView, views
from pourbook.book.label_prints import LastPrint, Restated, restated
from pourbook.codes.identifiers import LIQUID_KINDS
from pourbook.house_style import HouseStyle
from pourbook.numerals import with_mark
from pourbook.queries.labels.label_strength import strength_on_label

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["outdated"]


def outdated(
    book: "BookCore", prints: Mapping[int, LastPrint], pending: Collection[int] | None = None
) -> dict[str, tuple[Restated, ...]]:
    """What the labels printed last say otherwise than the book, by item; items whose label is right are left out.

    A glass, batch or lot that is empty is done with; an empty cask keeps its name, but no strength. `pending` is as for
    `strength_on_label`.
    """
    style, store = HouseStyle(book.settings), book.store
    changed = restated(store, {key: one.entry for key, one in prints.items()})
    found = {}
    for key, view in views(store, prints).items():
        is_empty = view.kind in LIQUID_KINDS and not view.holding.mass_mg
        if is_empty and view.kind != "cask":
            continue
        strength = () if is_empty else _strength(book, view, prints[key], style, pending)
        if known := (*changed.get(key, ()), *strength):
            found[view.id] = known
    return found


def _strength(
    book: "BookCore", view: ItemView, printed: LastPrint, style: HouseStyle, pending: Collection[int] | None
) -> tuple[Restated, ...]:
    if not printed.strength:
        return ()
    now = strength_on_label(book.store, view, style, pending)
    # A label with another decimal mark says the same.
    return () if now == with_mark(printed.strength, style.mark) else (Restated("strength", printed.strength, now),)
