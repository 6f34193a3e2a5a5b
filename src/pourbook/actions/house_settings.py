"""The house's settings, changed by an entry like everything else."""

from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.book.entries import House

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.recorded import Recorded

__all__ = ["SettingsChanged", "change_settings"]


class SettingsChanged(NamedTuple):
    """Settings that have another value now.

    Attributes:
        settings: name to new value.
        recorded: what the recording did.
    """

    settings: Mapping[str, str]
    recorded: "Recorded"


def change_settings(book: "BookCore", how: Happening, settings: Mapping[str, str]) -> SettingsChanged:
    """Change some of the house's settings (`pourbook.book.settings`).

    Raises:
        Malformed: an unknown setting or value.
    """
    return SettingsChanged(settings, how.record(book, House(settings)))
