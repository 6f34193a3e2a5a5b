"""Take lines one by one, as a scanner sends them: what is common to pouring, sampling and every other such loop.

A line that is refused changes nothing, and the next one is taken. One that the rules of the book ask about waits for
`confirm`; any other line lets it go. What no book can know is one value, `in_hand`: with it a page, a loop over a
scanner's lines or a script goes on where it stopped.
"""

from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar, cast

from pourbook.actions.happening import Happening
from pourbook.errors import Malformed, NotTaken, PourbookError, StoreError, ToConfirm

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["LineByLine", "Signal"]

Signal = Literal["", "good", "repeated", "wrong"]
"""How a scan is met, besides words: what was wanted, what was done already, what must not be."""


_Hand = TypeVar("_Hand")
_Answer = TypeVar("_Answer")


class LineByLine(Generic[_Hand, _Answer]):
    """A loop: `_answer` is given one line after the other, `_refused` makes the answer to one that is refused.

    What is in hand and what is answered are named tuples.

    Attributes:
        in_hand: what it knows beside the book; counts the lines `refused`, and keeps the one `to_confirm`.
    """

    def __init__(self, book: "BookCore", how: Happening, in_hand: _Hand) -> None:
        """Begin, or go on with what an earlier loop had in hand."""
        self._book, self._how, self.in_hand = book, how, in_hand
        self._confirms = False
        self._stands = self._said = ""

    def scan(self, text: str, *, confirm: bool = False) -> _Answer:
        """Take a line; with `confirm`, whatever the rules of the book ask about it is answered with yes.

        Raises:
            NotTaken: the store failed so that not even a refusal can be answered; the loop can be begun again.
            StoreError: it failed after the line was recorded.
        """
        line, asked = text.strip(), self._hand.to_confirm
        self._confirms = confirm
        if line not in ("", "?"):
            self._keep(to_confirm="")
        stood, self._said = self._book.kept, f"'{line}'"
        try:
            answer: Any = self._taken(line, asked)
        except StoreError as lost:
            if self._book.kept != stood:
                raise  # what failed follows what was recorded
            raise self._not_taken(line, lost) from lost
        if self._book.kept not in (stood, None):
            self._stands = f"the last entry recorded is {self._book.kept[1]}, {self._said}"
        return cast("_Answer", answer._replace(in_hand=self.in_hand))

    def _taken(self, line: str, asked: str) -> _Answer:
        try:
            if line.lower() == "confirm":
                line = self._asked_about(asked)
            return self._answer(line)
        except PourbookError as refusal:
            self._keep(refused=self._hand.refused + 1, to_confirm=line if isinstance(refusal, ToConfirm) else "")
            return self._refused(refusal)

    def _not_taken(self, line: str, lost: StoreError) -> NotTaken:
        """What stands and what does not, for whoever must begin again."""
        what = f"'{line}' was not recorded" if line.lower() not in ("", "?", "done", "end") else "the loop ended"
        return NotTaken(
            f"{lost.message}: {what}; {self._stands or 'nothing was recorded before it'}",
            f"{lost.remedy}: the same command goes on; begin with what was scanned last",
        )

    def _answer(self, line: str) -> _Answer:
        raise NotImplementedError

    def _refused(self, refusal: PourbookError) -> _Answer:
        raise NotImplementedError

    def _asked_about(self, line: str) -> str:
        """The line that was asked about, to be taken after all."""
        if not line:
            raise Malformed("'confirm' answers a question, and none was asked", "scan first, then type the amount")
        self._confirms = True
        self._keep(refused=self._hand.refused - 1)
        return line

    def _keep(self, **changed: Any) -> None:  # noqa: ANN401 (values of what is in hand)
        self.in_hand = self._hand._replace(**changed)

    @property
    def _hand(self) -> Any:  # noqa: ANN401 (a named tuple)
        return self.in_hand

    @property
    def _now_and_here(self) -> Happening:
        """The circumstances of the line that is taken."""
        return self._how._replace(confirm=True) if self._confirms else self._how
