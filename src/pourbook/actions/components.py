"""Write a component: a kind of spirit that recipes are written on; change it, or retire it.

>>> from pourbook import Book
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> written = write_component(book, how, "Chestnut accent", {"wood": "chestnut", "min_age": 8, "bounds": "0..15"})
>>> write_component(book, how._replace(confirm=True), "chestnut accent", {"role": "rich"}).component
Component(name='Chestnut accent', spirit='', wood='chestnut', previous='', min_age=8, max_age=None, role='rich', \
bounds='0..15', gone=False)
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.book.components import component_called
from pourbook.book.entries import Component
from pourbook.errors import Unknown

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["ComponentWritten", "write_component"]


class ComponentWritten(NamedTuple):
    """A component as it stands now, and what was recorded."""

    component: Component
    recorded: "Recorded"


def write_component(book: "BookCore", how: Happening, name: str, changed: Mapping[str, Any]) -> ComponentWritten:
    """Write a component, or change what is named of one: `changed` are fields of `Component`.

    One that was retired (`gone`) is back where that is not said again.

    Raises:
        ToConfirm: it is in the book and changes.
        PourbookError: the name is taken, or nothing can be of that kind.
    """
    with how.transaction(book):
        try:
            before = component_called(book.store, name)
        except Unknown:
            before = Component(name.strip())
        written = before._replace(**{"gone": False, **changed})
        return ComponentWritten(written, how.record(book, written))
