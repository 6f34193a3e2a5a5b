"""Verbs of what holds no liquid but wears a badge or a tag: people, places, vessels, instruments."""

import sys
from typing import TYPE_CHECKING, Any

import click

from pourbook.actions.roles import ALL_ROLES
from pourbook.book.checked_facts import checked_facts
from pourbook.cli.door import Door, reading, recording
from pourbook.documents.house import entered_shown
from pourbook.documents.people import account_shown, accounts_shown, withdrawn_shown
from pourbook.errors import Malformed
from pourbook.warehouse.places import KINDS_OF_STORAGE, OPEN_ENDS

if TYPE_CHECKING:
    from pourbook.actions.entering import HouseKind

__all__ = ["instrument_verb", "location_verb", "people_verb", "person_verb", "vessel_verb"]

_ID = click.option("--id", "given", metavar="ID", help="Its label printed ahead; default: the next number.")


@click.command("person")
@click.argument("name")
@click.option("--note", metavar="TEXT", help="What they do; printed on the badge.")
@_ID
@click.option(
    "--role", type=click.Choice(ALL_ROLES), help="Their role at the station: makes an account, or changes it."
)
@click.option("--pin-stdin", is_flag=True, help="Read the PIN of the account: one line on standard input.")
@click.option("--end-account", is_flag=True, help="End the account; a new one can be made later.")
@click.option("--withdraw", is_flag=True, help="Withdraw the person from the book, for good.")
@recording
def person_verb(door: Door, name: str, note: str | None, given: str | None, **account: Any) -> None:  # noqa: ANN401
    """Enter a person, so that a badge can be printed and scanned; a person already entered is shown.

    With --role and --pin-stdin they get an account of the station, with either alone it is changed: a PIN
    is 4 to 12 digits, or a passphrase of 8 characters or more. Accounts stand in a file beside the book and
    are not in its back-ups; each change of one is a note about the person.

    --withdraw takes a person's names (also the login names that are theirs alone) and all that is told of
    their badge out of the book: a reference stands in their place, and the hashes stay as they are. Free
    text, back-ups, exports and printed papers are not reached. Whether a name may or must go, the law says.

    \b
    Example:
      pourbook person "Isla Farrow" --note "blending room"
      pourbook label "Isla Farrow" --template badge-roll-86x54 -o badge.pdf
      echo 482913 | pourbook person "Isla Farrow" --role blender --pin-stdin
      pourbook person "Isla Farrow" --end-account
      pourbook person "Isla Farrow" --withdraw --confirm
    """
    role, pin_stdin, end = account["role"], account["pin_stdin"], account["end_account"]
    if account["withdraw"]:
        if note or given or role or pin_stdin or end:
            raise Malformed("a withdrawal and something else at once", "give --withdraw alone")
        door.show(withdrawn_shown(door.book.withdraw_person(door.how, name)))
        return
    if not (role or pin_stdin or end):
        _enter(door, "person", name, {"note": note}, given)
        return
    if note or given or (end and (role or pin_stdin)):
        raise Malformed(
            "an account and something else at once", "enter the person, then make, change or end the account"
        )
    if end:
        changed = door.book.end_account(door.how, name)
    else:
        pin = _line_read() if pin_stdin else None
        changed = door.book.set_account(door.how, name, role, pin, takes_easy=True)
    door.show(account_shown(changed, door.style))


def _line_read() -> str:
    """One line of standard input."""
    line = sys.stdin.readline(1000).rstrip("\r\n")
    if not line:
        raise Malformed("no PIN came on standard input", "send one line: echo PIN | pourbook person NAME --pin-stdin")
    return line


@click.command("people")
@click.option("--all", "everything", is_flag=True, help="Accounts that were ended, too.")
@reading
def people_verb(door: Door, *, everything: bool) -> None:
    """List who has an account of the station: role, since when, last seen.

    \b
    Example:
      pourbook people
    """
    door.show(accounts_shown(door.book.accounts(everything=everything), door.style))


@click.command("location")
@click.argument("name")
@click.option("--note", metavar="TEXT", help="What it is for; printed on the tag.")
@click.option("--storage", type=click.Choice(KINDS_OF_STORAGE), help="How casks lie there.")
@click.option("--levels", metavar="NAMES", help="What the numbers after it are, in order: row/tier/position.")
@click.option("--open", "open_end", type=click.Choice(OPEN_ENDS), help="The end of a row that casks are taken from.")
@_ID
@recording
def location_verb(door: Door, name: str, given: str | None, **facts: str | None) -> None:
    """Enter a place: a warehouse, a row or a room; one already entered is shown.

    Its tag can be printed and scanned. Enter vats and tanks with pourbook vessel.

    --storage says what must be shifted to reach a cask (pourbook reach): nothing where casks are racked;
    in a stow, casks in front and above; with pallets, whole stacks in front. It holds for all places
    that begin so, and a name without a number for all of its kind: "Row" for every row. Places are read
    as they are typed: "row 4, tier 3, position 7", or "Row 3/12", where a last bare number is the
    position. --levels names the numbers of a house that writes otherwise.

    \b
    Example:
      pourbook location "Warehouse 2, row 3"
      pourbook label "Warehouse 2, row 3" --template tag-roll-50x25 -o tag.pdf
      pourbook location "Warehouse 2" --storage stow --levels row/tier/position --open both
    """
    _enter(door, "place", name, facts, given)


@click.command("instrument")
@click.argument("name")
@click.option("--kind", "instrument", metavar="KIND", help="hydrometer, density meter, balance, dip rod, pipette …")
@click.option("--unit", metavar="UNIT", help="Unit it reads in: % vol, proof, kg/m3, ml …")
@click.option("--resolution", metavar="NUMBER", help="Its scale division, in that unit.")
@click.option("--mpe", metavar="NUMBER", help="Its maximum permissible error, in that unit or in %.")
@click.option("--class", metavar="CLASS", help="Its accuracy class: 'hydrometer II', 'balance II 0.1 kg'.")
@click.option("--factor", "meter_factor", metavar="NUMBER", help="Of a flow meter: true volume / volume shown.")
@click.option("--certificate", metavar="TEXT", help="Number of its last certificate.")
@click.option("--due", metavar="DATE", help="Day its next check is due.")
@recording
def instrument_verb(door: Door, name: str, **facts: str | None) -> None:
    """Enter an instrument or its latest check; without options, show it.

    A reading with an instrument whose check is overdue gives a warning, which the record keeps. Where
    the permissible error is known, a gauge read with it has its uncertainty.

    \b
    Example:
      pourbook instrument "H-3" --kind hydrometer --unit "% vol" --resolution 0.1 --mpe 0.1 --due 2027-03-01
      pourbook instrument "H-3" --certificate "CAL 26-118" --due 2028-03-01
      pourbook instrument "Meter 1" --kind "flow meter" --unit l --mpe "0.5 %" --resolution 0.1 --factor 1.0023
    """
    _enter(door, "instrument", name, facts)


@click.command("vessel")
@click.argument("name")
@click.option("--capacity", "capacity_l", metavar="LITRES", help="Its capacity.")
@click.option("--table", metavar="PAIRS", help="Depth in cm and volume in l: '0 12.5; 50 480; 100 962.5'.")
@click.option("--table-file", type=click.Path(), metavar="FILE.csv", help="The same in two columns.")
@recording
def vessel_verb(door: Door, name: str, capacity_l: str | None, table: str | None, table_file: str | None) -> None:
    """Enter a vat, tank or tanker with its calibration table, or a new table; without options, show it.

    The first pair states the dead volume. A gauge uses the table in force when it was read.

    \b
    Example:
      pourbook vessel "Vat 2" --capacity 1200 --table "0 12.5; 50 480; 100 962.5"
      pourbook gauge B-000001-Y --dip 81.5 --vessel "Vat 2" --temperature 13 --strength 46.2
    """
    if table and table_file:
        raise Malformed("two tables at once", "give --table or --table-file")
    if table_file:
        from pathlib import Path

        from pourbook.input_files import whole

        apart = ";" if door.style.mark == "," else ";,"
        lines = whole(Path(table_file), 1_000_000).decode("utf-8-sig", "replace").splitlines()
        rows = [line.translate(dict.fromkeys(map(ord, apart), " ")).strip() for line in lines]
        table = "; ".join(row for row in rows if row[:1].isdigit())
    _enter(door, "place", name, {"capacity_l": capacity_l, "dip_table": table})


def _enter(door: Door, kind: "HouseKind", name: str, facts: dict[str, str | None], given: str | None = None) -> None:
    known = checked_facts({fact: value for fact, value in facts.items() if value}, door.style.mark)
    door.show(entered_shown(door.book.enter(door.how, kind, name, known, given), door.style))
