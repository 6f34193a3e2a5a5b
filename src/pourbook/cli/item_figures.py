"""What an item is beside what it holds: a lot's bottles, a blend's cost and age."""

from typing import TYPE_CHECKING, Any

from pourbook.cli.door import Door

if TYPE_CHECKING:
    from pourbook.book.bottles import BottleCount
    from pourbook.book.items import ItemView

__all__ = ["blended", "bottles_document", "bottles_of", "bottles_words"]

_BLENDS = ("trial", "batch", "lot")


def bottles_of(door: Door, view: "ItemView", at_us: int | None) -> "BottleCount | None":
    """The bottles of a lot by a moment; None for anything else."""
    from pourbook.book.bottles import bottle_count

    return bottle_count(door.book.store, view.id, at_us) if view.kind == "lot" and "bottles" in view.facts else None


def bottles_words(count: "BottleCount | None") -> str:
    """Bottles of a lot in few words; empty where nothing was bottled."""
    return f"{count.filled} bottled, {count.left} left" if count else ""


def bottles_document(count: "BottleCount | None") -> dict[str, Any]:
    """The same as JSON; empty where nothing was bottled."""
    return {} if count is None else {"bottles": {**count._asdict(), "left": count.left}}


def blended(door: Door, view: "ItemView", at_us: int | None) -> tuple[str, dict[str, Any]]:
    """Cost and age of a trial, a batch or a lot that holds spirit, in words and as JSON; empty for anything else."""
    if view.kind not in _BLENDS or not view.holding.ethanol_mg:
        return "", {}
    from pourbook.cli.blends import blend_document, blend_words
    from pourbook.queries.traces.blend import blend_of

    blend = blend_of(door.book, view.id, at_us)
    return blend_words(door, blend), blend_document(door, blend)
