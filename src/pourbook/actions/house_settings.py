"""The house's settings, changed by an entry like everything else."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pourbook.actions.happening import Happening
from pourbook.book.entries import House

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore

__all__ = ["change_settings"]


def change_settings(book: "BookCore", how: Happening, settings: Mapping[str, str]) -> "Recorded":
    """Change some of the house's settings (`pourbook.book.settings`).

    Raises:
        Malformed: an unknown setting or value.
        ToConfirm: a scale that tasting notes were judged on.
    """
    return how.record(book, House(settings))
