"""The verb of printers: what the house knows of each, and the page of rulers by which it is measured.

Where labels may be sent is a setting of the house, kept in the journal like any other: a run of
labels names a printer, never a machine.
"""

from pathlib import Path

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.options import FORCE

__all__ = ["printer_verb"]


@click.command("printer")
@click.argument("name", required=False)
@click.option("--dpi", metavar="NUMBER", help="Dots per inch; the true pitch of a thermal head: 203.2.")
@click.option("--offset-x", metavar="MM", help="Shift everything right; negative: left.")
@click.option("--offset-y", metavar="MM", help="Shift everything down; negative: up.")
@click.option("--margins", metavar="MM", help="Margins it cannot print on: one number, or left,top,right,bottom.")
@click.option("--queue", metavar="QUEUE", help="Print queue of the operating system; replaces an address.")
@click.option("--address", metavar="HOST[:PORT]", help="Thermal printer on the network; port 9100 by default.")
@click.option(
    "--text", type=click.Choice(("picture", "printer")), help="Plain lines as a picture, or in the printer's typeface."
)
@click.option("--forget", is_flag=True, help="Remove it from the house's printers.")
@click.option("--test", is_flag=True, help="Print the page of rulers on it, or with -o to a file.")
@click.option("--template", metavar="NAME", help="For the test page: the roll or sheet loaded.")
@click.option(
    "-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="For the test page: a PDF, or a .png."
)
@FORCE
@recording
def printer_verb(
    door: Door, name: str | None, test: bool, template: str | None, output: Path | None, force: bool,
    forget: bool, **typed: str | None,
) -> None:  # fmt: skip
    """Enter a printer, change it, or print its test page; without NAME, list the printers.

    Print the test page, measure it with a rule, and enter the difference as offsets. Labels that
    would fall outside its margins are refused before anything is printed. Addresses and queues
    are kept here only.

    \b
    Example:
      pourbook printer
      pourbook printer bench --dpi 203.2 --address 192.0.2.7
      pourbook printer office --dpi 600 --queue lab_laser --margins 4.2
      pourbook printer bench --test --template vial-roll-30x15
      pourbook printer office --offset-x 0.6 --offset-y -0.4
    """
    from pourbook.actions.enter_printer import changes_typed
    from pourbook.documents.labels import printer_entered_shown, printer_shown, printers_shown
    from pourbook.paperwork.house_printers import printer_of, printers

    if name is None:
        door.show(printers_shown(printers(door.settings)))
        return
    changes = changes_typed(door.style, typed)
    if forget:
        door.show(printer_entered_shown(door.book.forget_printer(door.how, name), door.style))
    elif changes is not None:
        door.show(printer_entered_shown(door.book.enter_printer(door.how, name, changes), door.style))
    if test:
        _test(door, name, template, output, force=force)
    elif not forget and changes is None:
        door.show(printer_shown(printer_of(door.settings, name)))


def _test(door: Door, name: str, template: str | None, output: Path | None, *, force: bool) -> None:
    """Write the test page, or send it."""
    from pourbook.actions.enter_printer import rulers_page
    from pourbook.documents.labels import rulers_shown
    from pourbook.labels.templates import template as template_of
    from pourbook.one_file import check_target, write_file

    page = rulers_page(door.book, name, template_of(template) if template else None)
    dry_run = door.how.dry_run
    if output is None and page.printer.goes_to:
        if not dry_run:
            page.send()
        door.show(rulers_shown(page, dry_run=dry_run))
        return
    target, never = output or Path(f"test-{name}.pdf"), door.book.files
    check_target(target, force=force, never=never)
    if not dry_run:
        data = page.picture() if target.suffix.lower() == ".png" else page.pdf
        write_file(target, data, force=force, never=never)
    door.show(rulers_shown(page, str(target)))
