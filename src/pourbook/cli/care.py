"""Verbs of care: verify, head, repair, backup."""

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.output import show_json

__all__ = ["backup_verb", "head_verb", "repair_verb", "verify_verb"]


@click.command("verify")
@reading
def verify_verb(door: Door) -> None:
    """Check every hash of the journal, and every table against a book built anew from it.

    Exit status 1 when anything does not agree.

    \b
    Example:
      pourbook verify
    """
    verified = door.book.verify()
    if door.json:
        show_json(
            {
                "entries": verified.entries,
                "head": verified.head,
                "faults": [{**fault._asdict(), "text": str(fault)} for fault in verified.faults],
            }
        )
    else:
        for fault in verified.faults:
            click.echo(str(fault))
        if not verified.faults:
            click.echo(f"{verified.entries} entries, every hash and every table agrees")
            click.echo(f"head {verified.head}")
    if verified.faults:
        raise click.exceptions.Exit(1)


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
        click.echo(f"every table made anew from {entries} entries")


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
        click.echo(f"copied and checked: {entries} entries in {path}")
