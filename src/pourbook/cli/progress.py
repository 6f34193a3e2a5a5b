"""How far a long job has come: a bar on standard error, where a person watches and there is something to wait for."""

import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import click

__all__ = ["bars"]

_WATCHED = 20_000
"""Things to count; fewer are done before a bar is read."""


@contextmanager
def bars() -> Iterator[Callable[[str, int, int], None]]:
    """To be called with what is being done (or to what), how much is done, and how much there is: a bar for each."""
    bar: Any = None
    with ExitStack() as stack:

        def progress(what: str, done: int, whole: int) -> None:
            nonlocal bar
            if not sys.stderr.isatty() or whole < _WATCHED:
                return
            if bar is None or bar.label != what:
                stack.close()
                bar = stack.enter_context(click.progressbar(length=whole, file=sys.stderr, label=what))
            bar.update(done - bar.pos)

        yield progress
