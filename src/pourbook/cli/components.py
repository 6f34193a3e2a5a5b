"""The verb of kinds of spirit: component."""

from typing import Any

import click

from pourbook.cli.door import Door, recording
from pourbook.errors import Malformed

__all__ = ["component_verb"]

_YEARS = click.IntRange(min=0)


@click.command("component")
@click.argument("name", required=False)
@click.option("--spirit", metavar="WORDS", help="Words that name the spirit.")
@click.option("--wood", metavar="WORDS", help="Words that describe the wood it lay in.")
@click.option("--previous", metavar="WORDS", help="Words that name what that wood held before.")
@click.option("--min-age", type=_YEARS, metavar="YEARS", help="Completed years in wood, at least.")
@click.option("--max-age", type=_YEARS, metavar="YEARS", help="At most.")
@click.option("--role", metavar="TEXT", help="What it is for: base, rich, top …")
@click.option("--bounds", metavar="LOW..HIGH", help="Between which per cent of a blend it may be: 0..15.")
@click.option("--retire", "gone", is_flag=True, help="No new recipe is written on it; --list still shows it.")
@click.option("--list", "lists", is_flag=True, help="List the components.")
@recording
def component_verb(door: Door, name: str | None, lists: bool, gone: bool, **told: Any) -> None:  # noqa: ANN401
    """Write a component, a kind of spirit that recipes are written on; or show it, or list them all.

    WORDS are whole words in any case; what is left out does not narrow. Given again, only what is named
    changes; an empty text ends it. A cask or vial of unknown age meets neither --min-age nor --max-age.

    \b
    Example:
      pourbook component "Chestnut accent" --wood chestnut --min-age 8 --role rich --bounds 0..15
      pourbook component "Chestnut accent"
      pourbook component --list
    """
    from pourbook.documents.components import component_shown, component_written_shown, components_shown

    changed = {field: value for field, value in told.items() if value is not None} | ({"gone": True} if gone else {})
    if lists:
        door.show(components_shown(door.book.components()))
    elif not name:
        raise Malformed("a component has a name", "give it, or --list for all")
    elif changed:
        door.show(component_written_shown(door.book.write_component(door.how, name, changed), door.style))
    else:
        door.show(component_shown(door.book.component_card(name), door.style))
