"""Verbs of what is true of an item from a time on: its facts, its place, whether it is on hold, notes."""

import click

from pourbook.book.checked_facts import checked_facts
from pourbook.book.entries import SUBJECTS
from pourbook.cli.door import Door, recording
from pourbook.cli.options import item_argument, pairs
from pourbook.documents.house import hold_shown, moved_shown, stated_shown

__all__ = ["hold_verb", "move_verb", "note_verb", "release_verb", "set_verb"]


@click.command("set")
@item_argument("item")
@click.argument("facts", nargs=-1, required=True, metavar="NAME=VALUE…")
@recording
def set_verb(door: Door, item: str, facts: tuple[str, ...]) -> None:
    """Set facts of an item: ref, name, wood, capacity_l, owner and so on.

    They hold from --when on; what was true before stays true for the time before. An empty value ends
    a fact.

    \b
    Example:
      pourbook set C-000001-H ref="Row 4/02" wood="rum barrel, second use"
    """
    told = checked_facts(pairs(facts), door.style.mark)
    door.show(stated_shown(door.book.set_facts(door.how, item, told), door.style))


@click.command("move")
@item_argument("items", many=True)
@click.option("--to", "place", metavar="PLACE", help="The place, or a scan of its tag.")
@recording
def move_verb(door: Door, items: tuple[str, ...], place: str | None) -> None:
    """Move items to another place with --to; without it, a whole book to another file or server: FROM TO.

    A book arrives with the same entries, hashes and answers, and is verified before it is said to be there. Where
    that was interrupted, the same command goes on. TO holds nothing yet, or earlier entries of the same book. FROM is
    only read: record in TO from then on. Accounts of the station stay behind.

    \b
    Example:
      pourbook move C-000001-H C-000002-F --to "Warehouse 2, row 7"
      pourbook move quillmere.pourbook postgresql://cellar@server/quillmere
    """
    if place is None:
        from pourbook.cli.care import move_book  # what only a whole book needs

        move_book(door, items)
        return
    door.show(moved_shown(door.book.move_items(door.how, items, place), door.style))


@click.command("hold")
@item_argument("items", many=True)
@recording
def hold_verb(door: Door, items: tuple[str, ...]) -> None:
    """Put items on hold: nothing may be poured from or into them until they are released.

    \b
    Example:
      pourbook hold C-000004-B L-000001-C --reason "cork taint suspected"
    """
    door.show(hold_shown(door.book.hold(door.how, items), door.style, held=True))


@click.command("release")
@item_argument("items", many=True)
@recording
def release_verb(door: Door, items: tuple[str, ...]) -> None:
    """Release items from hold.

    \b
    Example:
      pourbook release C-000004-B --reason "laboratory: clean"
    """
    door.show(hold_shown(door.book.release(door.how, items), door.style, held=False))


@click.command("note")
@item_argument("item")
@click.argument("text")
@click.option("--subject", type=click.Choice(SUBJECTS), help="The part of a cask's history it belongs to.")
@recording
def note_verb(door: Door, item: str, text: str, subject: str | None) -> None:
    """Record a note about an item.

    With --subject it appears in the cask's history, too (pourbook provenance): how it arrived, how it
    was found on inspection, what was done to it.

    \b
    Example:
      pourbook note C-000001-H "bung replaced; nose clean, dried apple"
      pourbook note C-000001-H "dry, sulphured; nose clean" --subject arrival --when 2019-03-02
      pourbook note C-000001-H "two hoops driven, head steamed" --subject repair
    """
    door.show(stated_shown(door.book.note(door.how, item, text, subject or ""), door.style))
