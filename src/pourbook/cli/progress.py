"""How far a long work is: a bar on standard error, where a person watches and there is something to wait for."""

import sys
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

import click

__all__ = ["bars"]

_WATCHED = 20_000
"""Of what is counted; less is done before a bar is read."""


@contextmanager
def bars() -> Iterator[Callable[[str, int, int], None]]:
    """Is told what is being done (or to what), how much of it is done, and how much there is: a bar for each."""
    bar: Any = None
    with ExitStack() as stack:

        def told(what: str, done: int, whole: int) -> None:
            nonlocal bar
            if not sys.stderr.isatty() or whole < _WATCHED:
                return
            if bar is None or bar.label != what:
                stack.close()
                bar = stack.enter_context(click.progressbar(length=whole, file=sys.stderr, label=what))
            bar.update(done - bar.pos)

        yield told
