"""What a blend costs and how old it is, for verbs that still show it themselves."""

from typing import TYPE_CHECKING, Any

from pourbook.cli.door import Door
from pourbook.documents import items_shown

if TYPE_CHECKING:
    from pourbook.queries.traces.blend import Blend

__all__ = ["blend_document", "blend_words"]


def blend_words(door: Door, blend: "Blend") -> str:
    """Cost per litre, and age of the youngest spirit."""
    return items_shown.blend_words(blend, door.style)


def blend_document(door: Door, blend: "Blend") -> dict[str, Any]:
    """The same as JSON; what is not known is null."""
    return items_shown.blend_document(blend, door.style)
