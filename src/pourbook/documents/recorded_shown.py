"""What every recording action answers, shown: what was done, and what it changed of what was recorded before."""

from typing import TYPE_CHECKING, Any

from pourbook.documents.shown import Shown
from pourbook.words.consequences import document_of, words

if TYPE_CHECKING:
    from pourbook.book.recorded import Recorded
    from pourbook.house_style import HouseStyle

__all__ = ["recorded_shown"]


def recorded_shown(
    recorded: "Recorded",
    style: "HouseStyle",
    *said: str,
    is_correction: bool = False,
    **document: Any,  # noqa: ANN401 (whatever JSON can hold)
) -> Shown:
    """An answer that was recorded.

    Args:
        recorded: what the recording did.
        style: how the house writes.
        said: lines for people.
        is_correction: changed contents are named even where no later line was computed again, as in a dry run.
        document: further keys of the JSON document.
    """
    notes = words(recorded, style.mark, tells_changes=recorded.is_dry_run or is_correction)
    notes += ["dry run: nothing was recorded"] if recorded.is_dry_run else []
    return Shown({**document, **document_of(recorded)}, said, tuple(notes))
