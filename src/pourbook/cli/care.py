"""Verbs of care: verify, journal-hash, repair, backup, restore, and `move` of a whole book."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.progress import bars
from pourbook.errors import Malformed, StoreError

if TYPE_CHECKING:
    from pourbook.queries.journal.verification import Evidence

_MOST_EVIDENCE = 100_000_000
"""Bytes of a paper that the book is compared with."""

__all__ = ["backup_verb", "journal_hash_verb", "move_book", "repair_verb", "restore_verb", "verify_verb"]


@click.command("verify")
@click.option("--against", metavar="HASH", help="NUMBER:HASH, a file that holds some, or a copy of the book.")
@click.option("--public", metavar="FILE", help="Public key of whoever signed or counter-signed that: FILE.pub.")
@reading
def verify_verb(door: Door, against: str | None, public: str | None) -> None:
    """Check every hash of the journal, and every table against a book rebuilt from it.

    With --against, check also that the book still holds the history that a paper, a file or a copy of
    the book vouches for. One hash says whether; the hashes on a dossier say roughly where; a copy names
    the first entry that differs: a file, or the address of a server, where it is only read. For a dossier
    as JSON, every figure is compared with what the book said when it was printed, and what has changed
    since is named. Exit status 1 if anything does not agree.

    Where that was signed, its signature is checked, too: with --public by that key alone, so that a journal
    that was rewritten and hashed anew as a whole does not pass. Without it the keys that the journal itself
    knows are believed, which is weaker.

    \b
    Example:
      pourbook verify
      pourbook verify --against dossier.json
      pourbook verify --against quillmere-2026-11-25.pourbook --json
      pourbook verify --against postgresql://quill@cellar.example/copies
      pourbook verify --against signed.json --public site-a.key.pub
    """
    from pourbook.documents.journal import checked_shown
    from pourbook.paperwork.paper_compared import checked_with_paper

    if public and not against:
        raise Malformed("a key alone proves nothing", "name what was signed: --against SIGNED")
    evidence = _evidence(against, _public_key(public)) if against else None
    with bars() as progress:
        found = checked_with_paper(lambda: door.book, evidence, progress)
    door.show(checked_shown(found))
    if not found.agrees:
        raise click.exceptions.Exit(1)


def _evidence(against: str, public: str) -> "Evidence":
    from pourbook.queries.journal.verification import Evidence, copy_on_a_server

    if address := copy_on_a_server(against):
        return Evidence(b"", address, public)
    path = Path(against)
    if not _is_file(path):
        return Evidence(against.encode("utf-8", "replace"), None, public)
    return Evidence(_content(path), path, public)


def _content(path: Path) -> bytes:
    """A paper or a file of hashes whole; of a copy of the book, which is opened by itself, only how it begins."""
    from pourbook.input_files import opened, whole

    with opened(path) as file:
        begins = file.read(16)
    return begins if begins.startswith(b"SQLite format 3") else whole(path, _MOST_EVIDENCE)


def _public_key(public: str | None) -> str:
    from pourbook.signing.key_files import read_public  # few need it

    return read_public(Path(public)) if public else ""


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except OSError:  # a scanned text may be longer than a name can be
        return False


@click.command("journal-hash")
@reading
def journal_hash_verb(door: Door) -> None:
    """Print the number and hash of the last entry.

    Keep it outside the house: it proves later that the history up to it is unchanged.

    \b
    Example:
      pourbook journal-hash
    """
    from pourbook.documents.journal import journal_hash_shown

    door.show(journal_hash_shown(*door.book.head()))


@click.command("repair")
@reading
def repair_verb(door: Door) -> None:
    """Rebuild every table from the journal, if the journal itself is sound.

    \b
    Example:
      pourbook repair
    """
    from pourbook.actions.safekeeping import repair
    from pourbook.documents.journal import repaired_shown

    door.show(repaired_shown(repair(door.book)))


@click.command("backup")
@click.argument("path")
@reading
def backup_verb(door: Door, path: str) -> None:
    """Write a checked copy of the book to PATH while others go on working.

    Copying the file by hand can miss what was recorded last; this does not. A terminal shows its progress.
    Accounts of the station are not in the copy.

    \b
    Example:
      pourbook backup quillmere-2026-11-25.pourbook
    """
    from pourbook.actions.safekeeping import backup
    from pourbook.documents.journal import copied_shown

    with bars() as progress:
        copy = backup(door.book, path, progress)
    door.show(copied_shown(copy, "copied and checked"))


@click.command("restore")
@click.argument("backup")
@click.argument("path")
@reading
def restore_verb(door: Door, backup: str, path: str) -> None:
    """Check the copy BACKUP, then make a book from it at PATH, where none may exist yet.

    \b
    Example:
      pourbook restore quillmere-2026-11-25.pourbook quillmere/quillmere.pourbook
    """
    from pourbook.actions.safekeeping import restore
    from pourbook.documents.journal import copied_shown

    with bars() as progress:
        copy = restore(backup, path, progress)
    door.show(copied_shown(copy, "checked and restored"))


def move_book(door: Door, places: tuple[str, ...]) -> None:
    """Move a whole book from the first of these places to the second."""
    from pourbook.book.addresses import is_address
    from pourbook.documents.journal import book_moved_shown
    from pourbook.whole_book import Book

    of_items = "items are moved with --to PLACE, a book with: pourbook move FROM TO"
    if len(places) != 2:
        raise Malformed("no place to move to was named", of_items)
    if given := [f"--{name.replace('_', '-')}" for name, value in door.options.items() if value]:
        raise Malformed(f"nothing is recorded when a book is moved: {given[0]} has no meaning there", of_items)
    source, target = places
    try:
        book = Book.open(source)
    except StoreError as refusal:
        if not is_address(source) and not Path(source).exists():  # an item, perhaps, and --to was left out
            refusal.remedy = f"{refusal.remedy}; {of_items}"
        raise
    with book, bars() as progress:
        moved = book.move_book(target, progress)
    door.show(book_moved_shown(moved))
