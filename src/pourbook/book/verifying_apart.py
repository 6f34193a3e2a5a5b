"""Half of a verification in a process of its own, so that it takes half as long where two cores are free.

The other process opens the same book and checks the journal, and all that no liquid moves in. It sees one state of the
book, which may be a later one.
"""

import os
import pickle
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from pourbook.book.groups import ending
from pourbook.book.rebuilding import unheard
from pourbook.book.store import Store
from pourbook.book.verifying import Journal, halves, verify_journal, verify_liquid
from pourbook.errors import Damaged

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.book.backup import Progress
    from pourbook.errors import Fault

__all__ = ["answer", "both"]

_WORTH_IT = 20_000
"""Entries; a shorter journal is checked before another process has begun."""

_COMMAND = "from pourbook.book.verifying_apart import answer; answer()"


def both(
    store: Store, tables: "Sequence[str]", progress: "Progress" = unheard
) -> "tuple[Journal, tuple[Fault, ...]]":  # fmt: skip
    """What `verify_journal` and `verify_liquid` find, at the same time where that is worth it and can be."""
    process = _begun(store, tables)
    if process is None:
        return halves(store, tables, progress)
    try:
        of_liquid = verify_liquid(store, tables, progress)
        said, _ = process.communicate()
    finally:
        process.kill()
        process.wait()
    of_journal = pickle.loads(said) if process.returncode == 0 else verify_journal(store, tables)  # noqa: S301 (our own)
    return of_journal, of_liquid


def answer() -> None:
    """What the other process does: check the journal of the book named, and write what it finds as a pickle."""
    address, *tables = sys.argv[1:]
    store = Store.open(address)
    with store.snapshot():
        found = verify_journal(store, tables)
    sys.stdout.buffer.write(pickle.dumps(found))


def _begun(store: Store, tables: "Sequence[str]") -> "subprocess.Popen[bytes] | None":
    """The other process; None where the book is short, can be found by no other, or no process can be begun."""
    address = store.elsewhere
    try:
        if not address or ending(store)[0] < _WORTH_IT:
            return None
        ours = str(Path(__file__).parents[2])
        paths = os.pathsep.join(filter(None, (ours, os.environ.get("PYTHONPATH"))))
        return subprocess.Popen(  # noqa: S603 (our own words)
            [sys.executable, "-c", _COMMAND, address, *tables], env=os.environ | {"PYTHONPATH": paths},
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        )  # fmt: skip
    except (OSError, Damaged):
        return None
