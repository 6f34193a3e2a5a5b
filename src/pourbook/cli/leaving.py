"""Verbs of what leaves the house, and of what comes back: loss, despatch, return."""

from typing import TYPE_CHECKING

import click

from pourbook.book.entries import DISPOSITIONS
from pourbook.cli.door import Door, recording
from pourbook.cli.options import item_argument, paper_trail, second_options
from pourbook.codes.identifiers import kind_of
from pourbook.numerals import counted

if TYPE_CHECKING:
    from pourbook.actions.leaving import Leaving

__all__ = ["despatch_verb", "loss_verb", "return_verb"]


_cases = click.option(
    "--case", "--sscc", "cases", multiple=True, metavar="SSCC", help="A case or pallet among them; may be repeated."
)


def _units(cases: tuple[str, ...]) -> str:
    """Serial numbers as typed or scanned, several in one text too."""
    if not cases:
        return ""
    from pourbook.codes.gs1 import checked_sscc
    from pourbook.codes.scans import parse

    return " ".join(parse(text).sscc or checked_sscc(text) for texts in cases for text in texts.split())


@click.command("loss")
@item_argument("item")
@click.argument("amount")
@click.option("--kind", type=click.Choice(DISPOSITIONS), required=True, help="Kind of loss.")
@click.option(
    "--strength", metavar="STRENGTH", help="Of what was lost, if it differs from the rest, as in evaporation."
)
@click.option("--temperature", metavar="TEMPERATURE", help="Of the volume; default: 20 °C.")
@click.option("--witness", metavar="NAME", help="Who witnessed a destruction.")
@paper_trail
@second_options
@recording
def loss_verb(
    door: Door, item: str, amount: str, kind: str, strength: str | None, temperature: str | None, **trail: str | None
) -> None:
    """Record a loss: an amount, bottles, or all that an item held.

    A destruction needs a witness (--witness) or a document; without either it needs
    --confirm, and the account says "destruction without witness".

    \b
    Example:
      pourbook loss V-000001-R all --kind tasting
      pourbook loss L-000001-C "2 bottles" --kind sample --document "reference, shelf 3"
      pourbook loss C-000002-F "3.4 l" --kind leak --reason "stave cracked"
      pourbook loss B-000001-Y "12 l" --kind destruction --witness "officer 7" --document "D 26-3"
    """
    from pourbook.actions.leaving import lose
    from pourbook.actions.movement import told
    from pourbook.documents.pours import moved_shown

    answer = lose(door.book, door.how, item, _amount(door, amount, strength, temperature), kind, told(trail))
    door.show(moved_shown(answer, door.style))


def _amount(door: Door, amount: str, strength: str | None, temperature: str | None) -> "Leaving":
    from pourbook.actions.leaving import Leaving

    style = door.style
    return Leaving(style.amount_or_all(amount), door.strength(strength), style.celsius(temperature))


@click.command("despatch")
@item_argument("item")
@click.argument("amount")
@click.option("--customer", "--recipient", "customer", default="", metavar="TEXT", help="To whom.")
@click.option("--site", metavar="CODE", help="To which other site of the house; needs --document.")
@click.option("--address", metavar="TEXT", help="Where it is delivered.")
@click.option("--contact", metavar="TEXT", help="Whom to call there in a recall: name, telephone.")
@click.option("--purpose", metavar="TEXT", help="What for, of a sample: analysis, competition …")
@click.option("--document", metavar="TEXT", help="Delivery note, movement document …")
@click.option("--carrier", metavar="TEXT", help="Who takes it there: haulier, vehicle.")
@click.option("--export", is_flag=True, help="It leaves the country; the account lists it as export.")
@click.option("--temperature", metavar="TEMPERATURE", help="Of a volume; default: 20 °C.")
@_cases
@recording
def despatch_verb(
    door: Door, item: str, amount: str, customer: str, temperature: str | None, cases: tuple[str, ...], *,
    export: bool, **papers: str | None,
) -> None:  # fmt: skip
    """Send bottles of a lot, spirit in bulk or a sample to a customer.

    AMOUNT is an amount or 'all'; for a lot, a number of bottles. Refused while the strength of anything
    in it is still pending, and before it is approved where the house wants that (the setting approval).
    With --site, spirit in bulk or a sample goes to another site of the house, which enters it with
    fill --from-site and the same document.

    \b
    Example:
      pourbook despatch L-000001-C 120 --customer "Harbour Row Wines" --address "4 Harbour Row" --document DN-2214
      pourbook despatch L-000001-C 12 --customer "Harbour Row Wines" --case 095212340000000013 --case 095212340000000020
      pourbook despatch L-000001-C 600 --customer "Corran Vale" --export --document "E 26-7"
      pourbook despatch V-000003-N all --recipient "Ferrow Laboratory" --purpose analysis
      pourbook despatch B-000001-Y "500 l" --site QUAY --document "MD 26-31" --carrier "tank 7"
    """
    from pourbook.actions.leaving import despatch
    from pourbook.actions.movement import told
    from pourbook.documents.pours import despatched_shown

    identifier = door.book.find(item)
    if kind_of(identifier) == "lot" and amount.isdecimal():
        amount = counted(int(amount), "bottle")
    what = _amount(door, amount, None, temperature)
    facts = told({**papers, "disposition": "export" if export else None, "units": _units(cases)})
    answer = despatch(door.book, door.how, identifier, what, customer, facts)
    door.show(despatched_shown(answer, door.style))


@click.command("return")
@item_argument("lot")
@click.argument("count", type=int)
@click.option("--customer", required=True, metavar="TEXT", help="From whom.")
@click.option("--document", metavar="TEXT", help="Credit note …")
@click.option("--place", metavar="TEXT", help="Where they are kept apart from the rest of the lot.")
@_cases
@recording
def return_verb(
    door: Door, lot: str, count: int, customer: str, cases: tuple[str, ...], **papers: str | None
) -> None:  # fmt: skip
    """Take bottles of a lot back from a customer.

    The book asks if the customer was not sent that many.

    \b
    Example:
      pourbook return L-000001-C 6 --customer "Harbour Row Wines" --reason "ordered in error"
      pourbook return L-000001-C 6 --customer "Harbour Row Wines" --place "cage 2" --reason "recall 131"
    """
    from pourbook.actions.leaving import take_back
    from pourbook.actions.movement import told
    from pourbook.documents.pours import returned_shown

    answer = take_back(door.book, door.how, lot, count, customer, told({**papers, "units": _units(cases)}))
    door.show(returned_shown(answer, door.style))
