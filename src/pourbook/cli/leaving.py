"""Verbs of what leaves the house, and of what comes back: dispose, despatch, return."""

from collections.abc import Mapping
from typing import TYPE_CHECKING

import click

from pourbook.book.entries import DISPOSITIONS
from pourbook.cli.door import Door, item_argument, paper_trail, recording
from pourbook.cli.record import holds
from pourbook.errors import Refused

if TYPE_CHECKING:
    from pourbook.book.entries import Move
    from pourbook.book.items import ItemView

__all__ = ["despatch_verb", "dispose_verb", "return_verb"]


def _told(words: Mapping[str, str | None]) -> dict[str, str | int]:
    """Those facts of a movement that were told."""
    return {name: value for name, value in words.items() if value}


# -- lost ------------------------------------------------------------------------------


@click.command("dispose")
@item_argument("item")
@click.argument("amount")
@click.option("--disposition", type=click.Choice(DISPOSITIONS), required=True, help="Where it went.")
@click.option("--strength", metavar="STRENGTH", help="Of what left, where it differs: evaporation.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; 20 °C by default.")
@click.option("--witness", metavar="NAME", help="Who saw a destruction.")
@paper_trail
@recording
def dispose_verb(
    door: Door, item: str, amount: str, disposition: str, strength: str | None, temperature: str | None,
    **trail: str | None,
) -> None:  # fmt: skip
    """Record a loss: an amount (or all) that left the item for good.

    A destruction needs who saw it (--witness), or at least the document of it; without either it
    takes --confirm, and the account says "destruction without witness".

    \b
    Example:
      pourbook dispose V-000001-R all --disposition tasting
      pourbook dispose L-000001-C "2 bottles" --disposition sample --document "reference, shelf 3"
      pourbook dispose C-000002-F "3.4 l" --disposition leak --reason "stave cracked"
      pourbook dispose B-000001-Y "12 l" --disposition destruction --witness "officer 7" --document "D 26-3"
    """
    from pourbook.book.entries import Move, Pour

    identifier = door.book.find(item)
    facts = _told({"disposition": disposition, **trail})
    count, word = amount.split(maxsplit=1)[0], amount.rsplit(maxsplit=1)[-1].lower()
    if word in ("bottle", "bottles") and count.isdigit():
        move = _bottles_lost(door, identifier, int(count), facts)
    else:
        read, at_c = door.strength(strength), door.temperature(temperature)
        move = Move(identifier, "loss", door.amount_or_all(amount), read, at_c, facts=facts)
    door.tell(door.record(Pour("dispose", (move,))), holds(door, identifier), id=identifier)


def _bottles_lost(door: Door, lot: str, count: int, facts: dict[str, str | int]) -> "Move":
    from pourbook.batches.bottling import bottles_of
    from pourbook.book.bottles import bottles
    from pourbook.book.entries import Move

    holding = door.book.show(lot).holding.liquid
    mass_mg = bottles_of(holding, count, bottles(door.book.store, lot).left)
    return Move(lot, "loss", mass_mg, facts={**facts, "bottles": count})


# -- sent ------------------------------------------------------------------------------


@click.command("despatch")
@item_argument("item")
@click.argument("amount")
@click.option("--customer", "--recipient", "customer", required=True, metavar="TEXT", help="To whom.")
@click.option("--purpose", metavar="TEXT", help="What for, of a sample: analysis, competition …")
@click.option("--document", metavar="TEXT", help="Delivery note, movement document …")
@click.option("--export", is_flag=True, help="It leaves the country: the account has it as export.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of a volume; 20 °C by default.")
@recording
def despatch_verb(
    door: Door, item: str, amount: str, customer: str, purpose: str | None, document: str | None,
    temperature: str | None, *, export: bool,
) -> None:  # fmt: skip
    """Send bottles of a lot to a customer; or spirit in bulk, or a sample, by its amount.

    AMOUNT is a number of bottles where ITEM is a lot, else an amount or all. Refused while the
    strength of anything in it is still pending.

    \b
    Example:
      pourbook despatch L-000001-C 120 --customer "Harbour Row Wines" --document DN-2214
      pourbook despatch L-000001-C 600 --customer "Corran Vale" --export --document "E 26-7"
      pourbook despatch V-000003-N all --recipient "Ferrow Laboratory" --purpose analysis
    """
    from pourbook.book.entries import Pour

    view = door.book.show(item)
    if view.kind == "lot" and not amount.isdecimal():
        wrong = f"'{amount}' is no number of bottles"
        raise click.BadParameter(wrong, click.get_current_context(), param_hint="AMOUNT")
    disposition = "export" if export else None
    facts = _told({"customer": customer, "purpose": purpose, "document": document, "disposition": disposition})
    if view.kind == "lot":
        move, left = _bottles_sent(door, view, int(amount), facts)
        recorded = door.record(Pour("despatch", (move,)))
        door.tell(recorded, f"{facts['bottles']} bottles to {customer}; {left} left", id=view.id, left=left)
    else:
        move = _sent(door, view, amount, temperature, facts)
        recorded = door.record(Pour("despatch", (move,)))
        door.tell(recorded, f"to {customer}; {holds(door, view.id)}", id=view.id)


def _bottles_sent(door: Door, view: "ItemView", count: int, facts: dict[str, str | int]) -> "tuple[Move, int]":
    """The line, and how many bottles are left; the facts are told the count."""
    from pourbook.batches.bottling import bottles_of
    from pourbook.book.bottles import bottles
    from pourbook.book.entries import Move

    left = bottles(door.book.store, view.id).left
    mass_mg = bottles_of(view.holding.liquid, count, left)
    facts["bottles"] = count
    return Move(view.id, "despatch", mass_mg, facts=facts), left - count


def _sent(
    door: Door, view: "ItemView", amount: str, temperature: str | None, facts: dict[str, str | int]
) -> "Move":  # fmt: skip
    from pourbook.book.entries import Move

    return Move(view.id, "despatch", door.amount_or_all(amount), None, door.temperature(temperature), facts=facts)


# -- come back -------------------------------------------------------------------------


@click.command("return")
@item_argument("lot")
@click.argument("count", type=int)
@click.option("--customer", required=True, metavar="TEXT", help="From whom.")
@click.option("--document", metavar="TEXT", help="Credit note …")
@recording
def return_verb(door: Door, lot: str, count: int, customer: str, document: str | None) -> None:
    """Take bottles of a lot back from a customer.

    \b
    Example:
      pourbook return L-000001-C 6 --customer "Harbour Row Wines" --reason "ordered in error"
    """
    from pourbook.book.bottles import bottles
    from pourbook.book.entries import Move, Pour

    identifier = door.book.find(lot)
    found = bottles(door.book.store, identifier)
    if not 0 < count <= found.despatched:
        raise Refused(f"{found.despatched} bottles are with customers, not {count}", "check the count")
    facts = _told({"customer": customer, "document": document}) | {"bottles": count}
    mass_mg = found.one.mass_mg * count
    move = Move("return", identifier, mass_mg, composition=found.one.scaled(mass_mg), facts=facts)
    recorded = door.record(Pour("return", (move,)))
    left = found.left + count
    door.tell(recorded, f"{count} bottles back from {customer}; {left} left", id=identifier, left=left)
