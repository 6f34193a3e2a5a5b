"""The command as a person runs it: `pourbook` in this process (quick), or in one of its own (as from a shell).

ran = here("draw", "C-000001-H", "200 ml", book=path)
ran.status, ran.out, ran.err, ran.refusal
"""

import atexit
import io
import json
import os
import shlex
import subprocess
import sys
import tempfile
from contextlib import redirect_stderr, redirect_stdout
from typing import NamedTuple
from unittest import mock

from pourbook import Book
from pourbook.cli import main
from pourbook.queries.items.called import named_in

WHO = "M. Aldane"

_COMPILED = tempfile.TemporaryDirectory()
atexit.register(_COMPILED.cleanup)


class Ran(NamedTuple):
    """What came of a command: exit status, both outputs, and the class of the refusal where it was seen."""

    status: int
    out: str
    err: str
    refusal: type | None = None

    @property
    def json(self):
        """Standard output as the one JSON document that it must be."""
        return json.loads(self.out)

    @property
    def id(self):
        """The identifier that a recording verb printed, without hyphens."""
        return self.out.splitlines()[0].replace("-", "")

    def done(self):
        """Itself, if the command did what it was asked."""
        assert self.status == 0, self.err
        return self


def scans(*lines):
    """What a scanner sends: each line with Enter."""
    return "".join(f"{line}\n" for line in lines)


def compiled_once():
    """The environment in which processes keep what Python compiles, as an installation does."""
    kept = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    return kept | {"PYTHONPYCACHEPREFIX": _COMPILED.name}


def _environment(book, own):
    kept = {name: value for name, value in compiled_once().items() if not name.startswith("POURBOOK_")}
    return kept | {"POURBOOK_WHO": WHO} | ({"POURBOOK_BOOK": str(book)} if book else {}) | own


def here(*arguments, book=None, typed="", **environment):
    """Run the command in this process; `typed` (text or lines) is its standard input, further names its environment."""
    out, err, refusals = io.StringIO(), io.StringIO(), []

    def tell(refusal, told=main._tell):
        refusals.append(type(refusal))
        told(refusal)

    with (
        mock.patch.object(sys, "argv", ["pourbook", *map(str, arguments)]),
        mock.patch.object(sys, "stdin", io.StringIO(typed) if isinstance(typed, str) else typed),
        mock.patch.object(main, "_tell", tell),
        mock.patch.dict(os.environ, _environment(book, environment), clear=True),
        redirect_stdout(out),
        redirect_stderr(err),
    ):
        status = main._run()
    return Ran(status, out.getvalue(), err.getvalue(), *refusals)


def apart(*arguments, book=None, typed="", environment=None, **process):
    """Run the command in a process of its own."""
    ran = subprocess.run(
        [sys.executable, "-m", "pourbook", *map(str, arguments)],
        input=typed,
        capture_output=True,
        text=True,
        encoding="utf-8",
        env=_environment(book, {"PYTHONIOENCODING": "utf-8"} | (environment or {})),
        **process,
    )
    return Ran(ran.returncode, ran.stdout, ran.stderr)


def as_told(refusal, path):
    """The sentence of a refusal as the command tells it, with the items of a book named."""
    with Book.open(path) as book:
        return named_in(book, refusal.message)


def recorded(path, *commands, when="2024-02-01", settings=()):
    """A new house at a path in which each of these commands was given; its path."""
    here("create", path, "--house", "Quillmere", *settings).done()
    for words in commands:
        here(*words, "--when", when, book=path).done()
    return path


VATTED = (
    ("cask", "Q 1", "--fill", "220 l", "--strength", "46", "--in-wood", "0"),
    ("batch", "Vatting 1"),
    ("dump", "Vatting 1", "Q 1"),
)
"""A cask dumped whole into a vat."""


def bottled(count, ref, *more):
    """The command that bottles that vat in bottles of 700 mL."""
    return ("bottle", "Vatting 1", "--count", str(count), "--size", "700 ml", "--ref", ref, *more)


class Desk:
    """A person at a desk with one book: commands as they are typed in a shell.

    desk.does("draw 'Row 3/12' '200 ml'")

    Args:
        book: path of the book.
        run: how commands run, `apart` or `here`.
        ask: how questions run; as commands, if not given.
    """

    def __init__(self, book, run=apart, ask=None):
        self.book = book
        self._run = run
        self._ask = ask or run

    def __call__(self, line, typed=""):
        return self._run(*shlex.split(line), book=self.book, typed=typed)

    def does(self, line, typed=""):
        """A command that must succeed."""
        return self(line, typed).done()

    def asks(self, line, typed=""):
        """The JSON document that a command answers."""
        return self._ask(*shlex.split(line), "--json", book=self.book, typed=typed).done().json
