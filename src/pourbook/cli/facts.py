"""Verbs of what is true of an item from a time on: its facts, its place, whether it is on hold, notes."""

import click

from pourbook.cli.door import Door, item_argument, recording
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed

__all__ = ["hold_verb", "note_verb", "place_verb", "set_verb", "unhold_verb"]


@click.command("set")
@item_argument("item")
@click.argument("facts", nargs=-1, required=True, metavar="NAME=VALUE…")
@recording
def set_verb(door: Door, item: str, facts: tuple[str, ...]) -> None:
    """Set facts of an item from a time on: ref, name, wood, capacity_l, owner and so on.

    An empty value ends a fact. What was true before stays true of the time before.

    \b
    Example:
      pourbook set C-000001-H ref="Row 4/02" wood="rum barrel, second use"
    """
    from pourbook.book.entries import Facts
    from pourbook.book.known_facts import checked_facts
    from pourbook.cli.house import pairs

    identifier = door.book.find(item)
    told = checked_facts(pairs(facts), door.decimal_mark)
    door.tell(door.record(Facts(identifier, told)), f"{hyphened(identifier)}: noted", id=identifier)


@click.command("place")
@item_argument("items", many=True)
@click.option("--to", "place", required=True, metavar="PLACE", help="Where they are now.")
@recording
def place_verb(door: Door, items: tuple[str, ...], place: str) -> None:
    """Move items to a place.

    \b
    Example:
      pourbook place C-000001-H C-000002-F --to "Warehouse 2, row 7"
    """
    from pourbook.book.entries import Facts

    found = [door.book.find(item) for item in items]
    recorded = door.record(*(Facts(identifier, {"place": place}) for identifier in found))
    door.tell(recorded, *(f"{hyphened(identifier)} is at {place}" for identifier in found), ids=found, place=place)


def _hold(door: Door, items: tuple[str, ...], *, held: bool) -> None:
    from pourbook.book.entries import Hold

    if not door.options["reason"]:
        raise Malformed("a hold and its end need their reason", "give --reason")
    found = [door.book.find(item) for item in items]
    recorded = door.record(*(Hold(identifier, held) for identifier in found))
    word = "is on hold" if held else "is free again"
    door.tell(recorded, *(f"{hyphened(identifier)} {word}" for identifier in found), ids=found, held=held)


@click.command("hold")
@item_argument("items", many=True)
@recording
def hold_verb(door: Door, items: tuple[str, ...]) -> None:
    """Put items on hold: nothing may be poured from or into them until they are let go.

    \b
    Example:
      pourbook hold C-000004-B L-000001-C --reason "cork taint suspected"
    """
    _hold(door, items, held=True)


@click.command("unhold")
@item_argument("items", many=True)
@recording
def unhold_verb(door: Door, items: tuple[str, ...]) -> None:
    """Let items on hold go again.

    \b
    Example:
      pourbook unhold C-000004-B --reason "laboratory: clean"
    """
    _hold(door, items, held=False)


@click.command("note")
@item_argument("item")
@click.argument("text")
@recording
def note_verb(door: Door, item: str, text: str) -> None:
    """Note something about an item.

    \b
    Example:
      pourbook note C-000001-H "bung replaced; nose clean, dried apple"
    """
    from pourbook.book.entries import Note

    identifier = door.book.find(item)
    door.tell(door.record(Note(identifier, text)), f"{hyphened(identifier)}: noted", id=identifier)
