"""Verbs of people and places; and how anything of the house that holds no liquid is entered or shown."""

import click

from pourbook.actions.new_item import new_item
from pourbook.cli.door import Door, recording
from pourbook.cli.output import show_json
from pourbook.codes.identifiers import hyphened
from pourbook.documents.items_shown import facts_document

__all__ = ["enter_or_note", "location_verb", "person_verb"]

_ID = click.option("--id", "given", metavar="ID", help="The number of a label printed ahead.")


@click.command("person")
@click.argument("name")
@click.option("--note", metavar="TEXT", help="What they do; it stands on the badge.")
@_ID
@recording
def person_verb(door: Door, name: str, note: str | None, given: str | None) -> None:
    """Enter a person, so that a badge can be printed and scanned; if they are there, show them.

    \b
    Example:
      pourbook person "Isla Farrow" --note "blending room"
      pourbook label "Isla Farrow" --template badge-roll-86x54 -o badge.pdf
    """
    enter_or_note(door, "person", name, {"note": note} if note else {}, given)


@click.command("location")
@click.argument("name")
@click.option("--note", metavar="TEXT", help="What it is for; it stands on the tag.")
@_ID
@recording
def location_verb(door: Door, name: str, note: str | None, given: str | None) -> None:
    """Enter a warehouse, a row or a room, so that its tag can be printed; if it is there, show it.

    Vats and tanks are entered with pourbook vessel.

    \b
    Example:
      pourbook location "Warehouse 2, row 3"
      pourbook label "Warehouse 2, row 3" --template tag-roll-50x25 -o tag.pdf
    """
    enter_or_note(door, "place", name, {"note": note} if note else {}, given)


def enter_or_note(door: Door, kind: str, name: str, facts: dict[str, str], given: str | None = None) -> None:
    """A new item of the house that holds no liquid, new facts of one, or what is known of it.

    Args:
        door: with the book.
        kind: instrument, person or place.
        name: what the house calls it.
        facts: what is noted of it; when empty, one that is there is shown.
        given: a number reserved for it, or none.
    """
    from pourbook.book.entries import Facts, Item
    from pourbook.book.items import named

    found = named(door.book.store, name, kind)
    if found and not facts:
        view = door.book.show(found)
        if door.json:
            show_json({"id": found, "kind": kind, "facts": facts_document(view.facts)})
        else:
            click.echo(f"{hyphened(found)}  " + "  ".join(f"{fact}: {value}" for fact, value in view.facts.items()))
        return
    if found:
        recorded = door.record(Facts(found, facts))
    else:
        with door.book.writing():
            found = new_item(door.book, kind, given)
            recorded = door.record(Item(found, {"ref": name, **facts}))
    door.tell(recorded, hyphened(found), id=found)
