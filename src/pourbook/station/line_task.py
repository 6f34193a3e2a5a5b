"""A task that takes lines one by one, as a page: what a scanner sends, and what a button or a field sends instead.

What is in hand is kept beside the book for whoever is at it, so that another screen, or a station that was started
again, goes on there. The words are those of the command.
"""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, NamedTuple

from starlette.responses import Response

from pourbook.station.in_hand import as_json, from_json
from pourbook.station.people import hands_of

if TYPE_CHECKING:
    from pourbook.documents.shown import Shown
    from pourbook.house_style import HouseStyle
    from pourbook.station.visit import Visit

__all__ = ["LineTask", "in_hand_of", "line_page", "line_taken"]

_OUTCOMES = {"": "good", "good": "good", "repeated": "repeat", "wrong": "bad"}


class LineTask(NamedTuple):
    """A kind of task.

    Attributes:
        key: under which what is in hand is kept.
        address: that takes lines.
        loop: the loop of the action, made with what was in hand; None where nothing was.
        shown: the answer to a line, in words.
        template: of the part of the page that changes.
        values: what the template shows beside the loop, worked out after each line.
        back: where to once it is done.
    """

    key: str
    address: str
    loop: Callable[[Any], Any]
    shown: "Callable[[Any, HouseStyle], Shown]"
    template: str
    values: Callable[[Any], dict[str, Any]]
    back: str


def in_hand_of(visit: "Visit", key: str) -> Any:  # noqa: ANN401 (as the task has it)
    """What whoever asks has in hand at a task; None for nothing."""
    kept = visit.book.beside.in_hand(hands_of(visit.person), key)
    return None if kept is None else from_json(kept)


def line_page(visit: "Visit", task: LineTask, page: str, **values: Any) -> Response:  # noqa: ANN401
    """The page of the task as it stands."""
    hand = task.loop(in_hand_of(visit, task.key)).in_hand
    return visit.page(page, task=task, hand=hand, outcome="", said=(), **task.values(hand), **values)


def line_taken(visit: "Visit", task: LineTask) -> Response:
    """Take a line that was scanned, typed or sent by a button; a refused one changes nothing."""
    loop = task.loop(in_hand_of(visit, task.key))
    line = visit.typed("scan") or visit.typed("line")
    answer = loop.scan(line, confirm=bool(visit.typed("confirm")))
    words = task.shown(answer, visit.style)
    said = tuple(words.notes) or tuple(words.said)
    if answer.done:
        visit.book.beside.drop_in_hand(hands_of(visit.person), task.key)
        return visit.to(task.back, " ".join(said))
    visit.book.beside.keep_in_hand(hands_of(visit.person), task.key, as_json(loop.in_hand))
    outcome = "bad" if answer.refused else _OUTCOMES[words.signal]
    if not visit.is_partial:
        return visit.to(visit.address, " ".join(said), outcome)
    return visit.fragment(
        task.template, task=task, hand=loop.in_hand, outcome=outcome, said=said, is_answer=True,
        **task.values(loop.in_hand),
    )  # fmt: skip
