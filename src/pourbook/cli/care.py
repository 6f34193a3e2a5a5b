"""Verbs of care: verify, head, repair, backup, restore."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.output import show_json
from pourbook.errors import Damaged
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.book.verifying import Verified
    from pourbook.queries.journal.against import Against

__all__ = ["backup_verb", "head_verb", "repair_verb", "restore_verb", "verify_verb"]

_SQLITE = b"SQLite format 3\0"


@click.command("verify")
@click.option("--against", metavar="HEAD", help="A head (NUMBER:HASH), a file with heads, or a copy of the book.")
@reading
def verify_verb(door: Door, against: str | None) -> None:
    """Check every hash of the journal, and every table against a book built anew from it.

    With --against, also whether the book still holds the history that a paper, a file or a copy of
    the book vouches for. One head says whether; the heads of a dossier say roughly where; a copy
    names the first entry that differs. Exit status 1 when anything does not agree.

    \b
    Example:
      pourbook verify
      pourbook verify --against dossier.json
      pourbook verify --against quillmere-2026-11-25.pourbook --json
    """
    verified = _verified(door)
    held = _held_against(door, against) if against and verified.entries else None
    if door.json:
        show_json(
            {
                "entries": verified.entries,
                "head": verified.head,
                "faults": [{**fault._asdict(), "text": str(fault)} for fault in verified.faults],
            }
            | ({"against": _document(held)} if held else {})
        )
    else:
        for fault in verified.faults:
            click.echo(str(fault))
        if not verified.faults:
            click.echo(f"{counted(verified.entries, 'entry', 'entries')}, every hash and every table agrees")
            click.echo(f"head {verified.head}")
        if held:
            click.echo(held.sentence)
    if verified.faults or (held and not held.agrees):
        raise click.exceptions.Exit(1)


def _verified(door: Door) -> "Verified":
    """What verification finds; a file too damaged to be asked anything is a finding, too."""
    from pourbook.book.verifying import Verified, file_fault

    try:
        return door.book.verify()
    except Damaged as damage:
        return Verified(0, "", (file_fault(damage.message),))


def _held_against(door: Door, against: str) -> "Against":
    """What comes of holding the book against a head, a file with heads, or a copy."""
    from pourbook.queries.journal.against import against_heads, read_heads

    path = Path(against)
    content = path.read_bytes() if _is_file(path) else against.encode()
    if content.startswith(_SQLITE):
        return _against_copy(door, path)
    heads = read_heads(content.decode("utf-8", "replace"))
    with door.book.store.snapshot():
        return against_heads(door.book.store, heads)


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a scanned text may be longer than a name can be
        return False


def _against_copy(door: Door, path: Path) -> "Against":
    from pourbook.book.backup import opened_copy
    from pourbook.queries.journal.against import against_book

    with opened_copy(path) as other, door.book.store.snapshot():
        return against_book(door.book.store, other)


def _document(held: "Against") -> dict[str, Any]:
    return held._asdict() | {"agrees": held.agrees, "exact": held.is_exact, "text": held.sentence}


@click.command("head")
@reading
def head_verb(door: Door) -> None:
    """Print the number and hash of the last entry.

    Written down outside the house, it proves later that the history up to it is unchanged.

    \b
    Example:
      pourbook head
    """
    number, head = door.book.head()
    if door.json:
        show_json({"entries": number, "head": head})
    else:
        click.echo(f"{number} {head}")


@click.command("repair")
@reading
def repair_verb(door: Door) -> None:
    """Make every table anew from the journal, if the journal itself is sound.

    \b
    Example:
      pourbook repair
    """
    from pourbook.book.verifying import repair

    entries = repair(door.book.store)
    if door.json:
        show_json({"entries": entries})
    else:
        click.echo(f"every table made anew from {counted(entries, 'entry', 'entries')}")


@click.command("backup")
@click.argument("path")
@reading
def backup_verb(door: Door, path: str) -> None:
    """Write a copy of the book to PATH, checked, while others go on working.

    Copying the file by hand can miss what was recorded last; this does not.

    \b
    Example:
      pourbook backup quillmere-2026-11-25.pourbook
    """
    from pourbook.book.backup import backup

    entries = backup(door.book.store, path)
    if door.json:
        show_json({"path": path, "entries": entries})
    else:
        click.echo(f"copied and checked: {counted(entries, 'entry', 'entries')} in {path}")


@click.command("restore")
@click.argument("backup")
@click.argument("path")
@reading
def restore_verb(door: Door, backup: str, path: str) -> None:
    """Make a book at PATH, where none may be yet, of the copy BACKUP, whose hashes are checked first.

    \b
    Example:
      pourbook restore quillmere-2026-11-25.pourbook quillmere/quillmere.pourbook
    """
    from pourbook.book.backup import restore

    entries = restore(backup, path)
    if door.json:
        show_json({"path": path, "entries": entries})
    else:
        click.echo(f"checked and restored: {counted(entries, 'entry', 'entries')} in {path}")
