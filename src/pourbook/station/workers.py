"""Threads that answer, each with a book of its own: SQLite's connections stay where they were opened.

They end with the process, whatever they are at: a transaction that was not ended leaves no trace in the book.
"""

import asyncio
import threading
from collections.abc import Callable
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from pourbook.whole_book import Book

__all__ = ["Workers"]

_Answer = TypeVar("_Answer")


class Workers:
    """As many threads as given, taking what is asked in the order in which it came."""

    def __init__(self, opened: "Callable[[], Book]", threads: int = 6) -> None:
        self.opened = opened
        self._asked: SimpleQueue[tuple[Callable[[Book], Any], asyncio.Future[Any]]] = SimpleQueue()
        for number in range(threads):
            threading.Thread(target=self._work, name=f"worker {number}", daemon=True).start()

    async def run(self, ask: "Callable[[Book], _Answer]") -> _Answer:
        """What `ask` answers of a book, worked out in one of the threads."""
        answered: asyncio.Future[_Answer] = asyncio.get_running_loop().create_future()
        self._asked.put((ask, answered))
        return await answered

    def _work(self) -> None:
        book = None
        while True:
            ask, answered = self._asked.get()
            try:
                book = book or self.opened()
                told: tuple[Any, BaseException | None] = (ask(book), None)
            except BaseException as error:  # noqa: BLE001 (whoever asked is told)
                told = (None, error)
            answered.get_loop().call_soon_threadsafe(_tell, answered, *told)


def _tell(answered: "asyncio.Future[Any]", answer: Any, error: BaseException | None) -> None:  # noqa: ANN401
    if answered.cancelled():  # whoever asked has gone
        return
    if error is None:
        answered.set_result(answer)
    else:
        answered.set_exception(error)
