"""Pour into a trial or batch at a screen: what does not belong into it is stopped as it is scanned.

>>> from pourbook import Book, Item, Recipe, RecipePart
>>> from pourbook.actions.happening import Happening
>>> from pourbook.actions.pouring import PourDetails, pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> vials = ("V000001R", "V000002P")
>>> entries = *(Item(vial, {}) for vial in vials), Recipe("Ash", (RecipePart("V000001R", "1"),))
>>> _ = how.record(book, *entries, Item("T000003K", {"follows": "Ash", "total": "100 ml"}))
>>> for vial in vials:
...     _ = pour(book, how, vial, [("origin", read_amount("250 ml"))], PourDetails(read_strength("60")))
>>> session = GuardedPouring(book, how, "T000003K")
>>> session.scan("V-000002-P").refused.message, session.in_hand.source
('V-000002-P is not in the recipe of T-000003-K; still to pour: V-000001-R', '')
>>> session.scan("V-000001-R").in_hand.source, f"{session.in_hand_now().beside_plan[0].to_go_ml:.1f} ml"
('V000001R', '100.0 ml')
"""

from typing import TYPE_CHECKING

from pourbook.actions.pouring_session import PouringSession
from pourbook.errors import ToConfirm
from pourbook.queries.trials.pull_guard import before_a_glass

if TYPE_CHECKING:
    from pourbook.actions.line_scanned import Scanned

__all__ = ["GuardedPouring"]


class GuardedPouring(PouringSession):
    """As `PouringSession`; a glass that the recipe of a trial has not, or that gave its part, is asked about first."""

    def in_hand_now(self) -> "Scanned":
        """The glass in hand beside its part of the plan, and where to stop; nothing but the target with empty hands."""
        return self._now()._replace(in_hand=self.in_hand)

    def _put_in_hand(self, source: str) -> None:
        asked = before_a_glass(self._book, self.target, source)
        if asked and not self._confirms:
            self._take("")
            raise ToConfirm(asked)
        super()._put_in_hand(source)
