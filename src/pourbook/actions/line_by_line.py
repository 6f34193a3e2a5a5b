"""Take lines one by one, as a scanner sends them: what is common to pouring, sampling and every other such loop.

A line that is refused changes nothing, and the next one is taken. One that the rules of the book ask about waits for
`confirm`; any other line lets it go. What no book can know is one value, `in_hand`: with it a page, a loop over a
scanner's lines or a script goes on where it stopped.
"""

from typing import TYPE_CHECKING, Any, Generic, Literal, TypeVar, cast

from pourbook.actions.happening import Happening
from pourbook.errors import Malformed, PourbookError, ToConfirm

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

    def scan(self, text: str, *, confirm: bool = False) -> _Answer:
        """Take a line; with `confirm`, whatever the rules of the book ask about it is answered with yes."""
        line, asked = text.strip(), self._hand.to_confirm
        self._confirms = confirm
        if line not in ("", "?"):
            self._keep(to_confirm="")
        answer: Any
        try:
            if line.lower() == "confirm":
                line = self._asked_about(asked)
            answer = self._answer(line)
        except PourbookError as refusal:
            self._keep(refused=self._hand.refused + 1, to_confirm=line if isinstance(refusal, ToConfirm) else "")
            answer = self._refused(refusal)
        return cast("_Answer", answer._replace(in_hand=self.in_hand))

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
