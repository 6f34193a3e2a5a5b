"""An entry of the journal in one line, whatever its kind: what was moved, measured, set or corrected, and why.

>>> from pourbook.book.logged import Logged
>>> entry = {"body": {"held": 0, "item": "C000001H"}, "reason": "laboratory: clean"}
>>> in_words(Logged(12, "hold", 0, 0, entry, ""))
'release C-000001-H; laboratory: clean'
"""

from typing import TYPE_CHECKING

from pourbook.book.kinds import KIND_OF_NAME

if TYPE_CHECKING:
    from pourbook.book.logged import Logged

__all__ = ["in_words"]


def in_words(entry: "Logged", mark: str = ".") -> str:
    """What an entry says, in one line; masses that nobody typed are written with this decimal mark."""
    recorded = entry.entry
    said = KIND_OF_NAME[entry.kind].words(recorded["body"], mark)
    place = f"in place of {recorded['replaces']}" if "replaces" in recorded else ""
    return "; ".join(part for part in (said, place, recorded.get("reason", "")) if part)
