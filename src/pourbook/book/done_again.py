"""An action done again from its beginning, where others wrote at the same time.

On an engine that lets several write at once, a transaction may turn out not to fit with another's only when it is well
under way. Then nothing of it was recorded (`StoreError.again`), and the whole action, with all that it looked up, is
done once more.
"""

from collections.abc import Callable, Iterator
from typing import Protocol, TypeVar

from pourbook.book.store import Store
from pourbook.errors import StoreError

__all__ = ["MOST", "done_again"]

MOST = 6
"""How often an action is begun at most."""

_PAUSE_S = 0.01
"""The longest pause before the second time; each later one may be twice as long."""

_T = TypeVar("_T")


class _Book(Protocol):
    store: Store
    kept: tuple[int, int] | None


def done_again(book: _Book, act: Callable[..., _T], *given: object, **named: object) -> _T:
    """What an action answers for these arguments, begun again at most `MOST` times; `store.retries` counts.

    It is not begun again inside another transaction, which it is a part of; nor where a part of it stands already, or
    an argument can be read only once.

    Raises:
        StoreError: others were in the way every time; nothing was recorded.
    """
    is_part = book.store.is_writing or any(isinstance(one, Iterator) for one in (*given, *named.values()))
    kept = book.kept
    for tried in range(1 if is_part else MOST):
        if tried:
            book.store.retries += 1
            _pause(_PAUSE_S * 2**tried)
        try:
            return act(*given, **named)
        except StoreError as error:
            if not error.again or is_part or book.kept != kept:
                raise
            last = error
    problem = f"others were writing to '{book.store.path}' at the same time, {MOST} times over: nothing was recorded"
    raise StoreError(problem, "wait until fewer record at once, then try again") from last


def _pause(longest_s: float) -> None:
    import random  # seldom needed
    import time

    time.sleep(random.uniform(0, longest_s))  # noqa: S311 (to part two that met)
