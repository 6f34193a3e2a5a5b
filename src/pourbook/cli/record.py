"""Verbs of cask and vial: take in, fill, draw."""

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from pourbook.actions.new_item import new_item
from pourbook.cli.door import Door, item_argument, paper_trail, recording, status_options
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed
from pourbook.words.figure_words import in_litres

if TYPE_CHECKING:
    from pourbook.book.entries import Move

__all__ = [
    "cask_verb",
    "draw_verb",
    "fill_verb",
    "holds",
]

_FROM_OUTSIDE = (
    click.option("--strength", metavar="STRENGTH", help="% vol at 20 °C, or with a unit: '127 proof'."),
    click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; 20 °C by default."),
    click.option("--pending", is_flag=True, help="The strength is expected; the laboratory will read it."),
    click.option("--spirit", metavar="TEXT", help="What spirit it is."),
    click.option("--distiller", metavar="TEXT", help="Who distilled it."),
    click.option("--distilled", metavar="DATE", help="When."),
    click.option("--wood-days", type=int, metavar="DAYS", help="Time in wood earned before; 0 for new make."),
    click.option("--cost", metavar="NUMBER", help="Cost per litre of pure alcohol."),
)


_Verb = TypeVar("_Verb", bound=Callable[..., Any])


def _from_outside(verb: _Verb) -> _Verb:
    for option in reversed(_FROM_OUTSIDE):
        verb = option(verb)
    return verb


def _origin(
    door: Door,
    target: str,
    amount: str,
    *,
    strength: str | None,
    temperature: str | None,
    pending: bool,
    spirit: str | None,
    distiller: str | None,
    distilled: str | None,
    wood_days: int | None,
    cost: str | None,
) -> "Move":
    """A filling from outside."""
    from pourbook.book.entries import Move
    from pourbook.book.known_facts import checked_fact

    price = checked_fact("cost", cost, door.decimal_mark) if cost else None
    told = {"spirit": spirit, "distiller": distiller, "distilled": distilled, "cost": price}
    facts: dict[str, str | int] = {name: value for name, value in told.items() if value}
    if wood_days is not None:
        if wood_days < 0:
            raise Malformed(f"{wood_days} days in wood are less than none", "give 0 for new make")
        facts["wood_days"] = wood_days
    filled = door.amount(amount)
    return Move(
        "origin",
        target,
        filled,
        door.strength(strength),
        door.temperature(temperature),
        pending=pending,
        facts=facts,
    )


@click.command("cask")
@click.argument("ref", required=False)
@click.option("--id", "given", metavar="ID", help="A label printed ahead; else the next number.")
@click.option("--wood", metavar="TEXT", help="Wood and finish: 'Marsala hogshead, toasted'.")
@click.option("--capacity", metavar="LITRES", help="Nominal capacity in litres.")
@click.option("--place", metavar="TEXT", help="Where it lies.")
@click.option("--previous", metavar="TEXT", help="Previous contents and treatments.")
@click.option("--fill", metavar="AMOUNT", help="What it holds as it is taken in: '198 l', '180 kg'.")
@_from_outside
@status_options
@recording
def cask_verb(
    door: Door, ref: str | None, given: str | None, wood: str | None, capacity: str | None, place: str | None,
    previous: str | None, fill: str | None, **origin: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Take a cask into the book, empty or with what it holds.

    REF is the house's own name for it. New make has --wood-days 0; where the time in wood is
    not given it counts as unknown, and no age may be stated of anything it goes into.

    \b
    Example:
      pourbook cask "Row 3/12" --wood "virgin chestnut" --capacity 225 --fill "220 l"
          --strength 63.5 --spirit "malt spirit" --wood-days 0
      pourbook cask --wood "rum barrel"
    """
    from pourbook.book.entries import Item, Pour
    from pourbook.book.known_facts import checked_fact

    capacity = checked_fact("capacity_l", capacity, door.decimal_mark) if capacity else None
    facts = {"ref": ref, "wood": wood, "capacity_l": capacity, "place": place, "previous": previous}
    facts["spirit"] = origin["spirit"]
    with door.book.writing():
        identifier = new_item(door.book, "cask", given)
        drafts = [door.draft(Item(identifier, {name: value for name, value in facts.items() if value}))]
        if fill:
            drafts.append(door.draft(Pour("fill", (_origin(door, identifier, fill, **origin),))))
        recorded = door.record_drafts(*drafts)
    door.tell(recorded, hyphened(identifier), id=identifier)


@click.command("fill")
@item_argument("item")
@click.argument("amount")
@_from_outside
@status_options
@recording
def fill_verb(door: Door, item: str, amount: str, **origin: Any) -> None:  # noqa: ANN401
    """Fill spirit from outside into a cask, batch or any item.

    \b
    Example:
      pourbook fill C-000001-H "220 l" --strength 63.5 --temperature 14 --spirit "malt spirit" --wood-days 0
      pourbook fill B-000001-Y "18400 kg" --strength 68 --pending
    """
    from pourbook.book.entries import Pour

    target = door.book.find(item)
    recorded = door.record(Pour("fill", (_origin(door, target, amount, **origin),)))
    door.tell(recorded, holds(door, target), id=target)


def holds(door: Door, identifier: str) -> str:
    """What an item holds now, in one sentence."""
    view = door.book.show(identifier)
    mark = door.decimal_mark
    if not view.holding.mass_mg:
        return f"{hyphened(identifier)} is empty"
    return f"{hyphened(identifier)} holds {in_litres(view.volume_ml_20c, mark)} at 20 °C, {door.strength_shown(view)}"


@click.command("draw")
@item_argument("item")
@click.argument("amount")
@click.option("--vial", metavar="ID", help="A label printed ahead; else the next number.")
@click.option("--ref", metavar="TEXT", help="The house's own name for the vial.")
@click.option("--returned", metavar="AMOUNT", help="Valinch excess that went back at once.")
@click.option("--strength", metavar="STRENGTH", help="Of the sample as read: gauges the source first.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; 20 °C by default.")
@paper_trail
@status_options
@recording
def draw_verb(
    door: Door, item: str, amount: str, vial: str | None, ref: str | None, returned: str | None,
    strength: str | None, temperature: str | None, **trail: str | None,
) -> None:  # fmt: skip
    """Draw a sample from a cask (or a batch) into a vial, and print the vial's identifier.

    A vial is the drawn sample, not the glass: a glass used again gets a new label.

    \b
    Example:
      pourbook draw C-000001-H "200 ml"
      pourbook draw "Row 3/12" 250 --returned 50 --vial V-000010-P --temperature 13
      pourbook draw B-000001-Y "500 ml" --recipient "Ferrow Laboratory" --purpose analysis --document "S 26-14"
    """
    from pourbook.book.entries import Item, Move, Pour

    source = door.book.find(item)
    drawn = door.amount(amount)
    facts: dict[str, str | int] = {name: value for name, value in trail.items() if value}
    if returned:
        back = door.amount(returned)
        facts |= {"drawn": drawn.typed, "returned": back.typed}
        drawn = drawn.less(back)
    move = Move(source, "", drawn, door.strength(strength), door.temperature(temperature), facts=facts)
    view = door.book.show(source)
    name = view.facts.get("wood") or view.facts.get("name") or ""
    about = {
        "ref": ref,
        "name": name,
        "spirit": view.facts.get("spirit"),
        "previous": view.facts.get("previous"),
    }
    with door.book.writing():
        identifier = new_item(door.book, "vial", vial)
        recorded = door.record(
            Item(identifier, {fact: value for fact, value in about.items() if value}),
            Pour("draw", (move._replace(target=identifier),)),
        )
    door.tell(recorded, hyphened(identifier), id=identifier, source=source)
    if not door.json:
        click.echo(f"{holds(door, source)} after the draw", err=True)
