"""The command `pourbook`: one place where a verb is found and a refusal becomes text.

Verbs are imported when they are called, so that a scan or a trace does not wait for libraries it
does not need. Exit status: 0 done, 1 refused.
"""

import gc
import os
import sys
from importlib import import_module
from typing import Any

import click

from pourbook.errors import Damaged, FaultsFound, Malformed, NotShown, PourbookError, ToConfirm

__all__ = ["VERBS", "cli", "run"]

VERBS: dict[str, dict[str, tuple[str, str]]] = {
    "The house": {
        "create": ("house", "Create a book."),
        "settings": ("house", "Show or change the house's settings."),
        "demo": ("demonstration", "Build the sample house Quillmere, from casks to bottles."),
        "checkup": ("house", "Show what is installed and the book's health."),
        "station": ("station", "Serve the pages of bench, cellar, desk and guests on this machine."),
    },
    "Casks and vials": {
        "cask": ("record", "Enter a cask, full or empty."),
        "vial": ("record", "Enter a sample from outside as a vial."),
        "fill": ("record", "Fill spirit from outside into an item."),
        "gauge": ("gauging", "Gauge an item: record what was measured."),
        "draw": ("record", "Draw a sample from a cask into a vial."),
        "rack": ("warehouse", "Rack a leaking cask into a sound one."),
        "loss": ("leaving", "Record a loss: evaporation, leak, spill, tasting …"),
        "instrument": ("house_items", "Enter an instrument, or its latest check."),
        "vessel": ("house_items", "Enter a vat or tank with its calibration table."),
        "person": ("house_items", "Enter a person, for a badge; make, change or end their account."),
        "people": ("house_items", "List who has an account of the station."),
        "location": ("house_items", "Enter a warehouse, a row or a room, for a tag."),
        "set": ("facts", "Set facts of an item: name, ref, wood …"),
        "move": ("facts", "Move items to another place, or a whole book to another file or server."),
        "hold": ("facts", "Put items on hold."),
        "release": ("facts", "Release items from hold."),
        "note": ("facts", "Record a note about an item."),
    },
    "At the bench": {
        "component": ("components", "Write or show a kind of spirit that recipes are written on."),
        "recipe": ("bench", "Write or show a recipe."),
        "trial": ("bench", "Compose a trial blend."),
        "pour": ("bench", "Pour, by scan or by name, into a trial or any item."),
        "sheet": ("printing", "Print the bench sheet of a trial, or the pull list of a batch."),
        "taste": ("tasting", "Record what was found in a glass of an item."),
        "tastings": ("tasting", "List and search tasting notes."),
        "session": ("session", "Taste blind: plan, open, print, pour, take ballots in, close."),
        "word": ("tasting", "Put a word on the house's list for tasting notes."),
        "shape": ("shapes", "Show the shape of a drink from nose to finish, beside its components."),
        "compare": ("tried", "Show trials, batches or lots side by side."),
        "revisions": ("tried", "Show the family of a trial: what changed at each step."),
        "near": ("tried", "Show what was tried near a trial, or near what you have in mind."),
    },
    "Tasting": {
        "blending": ("blending", "Blend with guests: compose within bounds, taste blind, choose."),
        "panel": ("panel", "Plan and judge tests of tasters: difference, ranking, agreement, orders."),
        "mixture": ("mixture", "Design trials, and fit models of blends to what was tasted."),
    },
    "Batch and bottle": {
        "plan": ("plan", "Choose the casks of a batch by a recipe's demands, with proof."),
        "ahead": ("ahead", "Look ahead: how many more batches the casks can give, and what runs out."),
        "replan": ("replanning", "Plan the rest of a batch anew, while it is poured."),
        "scale-up": ("batch", "Scale a trial up to a batch of casks, heel and water."),
        "batch": ("batch", "Open a batch."),
        "dump": ("batch", "Dump casks into a vat, by book or by the vat's total."),
        "bottle": ("batch", "Bottle a batch as a lot."),
        "bottling": ("bottling", "Bottle in a run: sizes, fills, breakage, a change of vat, the balance."),
        "statements": ("statements", "Show what may stand on the label of a batch or a lot, and why."),
        "approval": ("approving", "Show what speaks for and against approving a batch or a lot."),
        "approve": ("approving", "Approve a batch or a lot, or reject it."),
        "despatch": ("leaving", "Send bottles of a lot, bulk or a sample to a customer."),
        "return": ("leaving", "Take bottles back from a customer."),
        "gtin": ("trade_numbers", "Give a lot the GTIN of its bottles and cases."),
        "cases": ("trade_numbers", "Number the cases of a lot (SSCC)."),
        "pallets": ("trade_numbers", "Number the pallets of a lot (SSCC)."),
        "stack": ("trade_numbers", "Put cases on pallets, by scan."),
    },
    "Find and trace": {
        "show": ("find", "Show an item."),
        "stock": ("find", "List what is on hand."),
        "find": ("find", "Find whatever is called so, or says so: items, recipes, sessions, notes."),
        "stocktake": ("stocktake", "Scan whatever is there, beside what the book has there."),
        "today": ("find", "List what is being worked at: half-poured blends, sessions, stocktakes, runs, holds."),
        "due": ("find", "List what is due: strengths to read, checks, labels to print again, items missing."),
        "trace": ("find", "Trace an item back to its casks, or forward."),
        "affected": ("recalling", "Show everything a suspect has reached: casks, lots, cases, customers."),
        "recall": ("recalling", "Recall, actual or mock: find, hold, record and print; and release."),
        "journal": ("find", "List the journal."),
        "casks": ("provenance", "List casks by their history: what they held, wood, fill, age."),
        "provenance": ("provenance", "Show the history of a cask: wood, fills, what each gave."),
        "reach": ("warehouse", "Show which casks must be shifted to reach others."),
        "evaporation": ("evaporating", "Show what casks lose in a year, and what they should hold."),
        "account": ("accounting", "Prepare the account of a period, and declare its figures."),
    },
    "Correct": {
        "void": ("correct", "Void an entry that was a mistake."),
        "replace": ("correct", "Replace a pour or a gauge with what was right."),
        "close": ("correct", "Close a period to new entries."),
    },
    "Labels and papers": {
        "scan": ("scans", "Identify a scan, or say what is wrong with it."),
        "read": ("scans", "Read the codes in a photo or a PDF."),
        "templates": ("label_verbs", "List the label templates."),
        "label": ("label_verbs", "Print labels."),
        "print-log": ("label_verbs", "List the runs of labels."),
        "reserve": ("label_verbs", "Set numbers aside for labels printed ahead, or list them."),
        "printer": ("printers", "Enter a printer, change it, or print its test page."),
        "dossier": ("printing", "Print the dossier of a bottle lot."),
    },
    "Calculators": {
        "density": ("calculators", "Density of ethanol and water at a temperature."),
        "strength": ("calculators", "Strength from density and temperature."),
        "convert": ("calculators", "Mass, volume, pure alcohol and US gallons of a body of spirit."),
        "hydrometer": ("calculators", "True strength from a hydrometer's reading."),
        "obscuration": ("calculators", "What dissolved solids hide from a hydrometer."),
        "reduce": ("reducing", "Work out the water for a strength; plan and book a batch's steps."),
        "vatting": ("reducing", "How much of each spirit makes a strength and a total."),
    },
    "Uncertainty": {
        "uncertainty": ("uncertainty_verbs", "Show how uncertain gauges, the book's figures and trials are."),
        "label-strength": ("uncertainty_verbs", "Check whether a batch may carry a strength on its label."),
    },
    "Files and care": {
        "import": ("import_verb", "Import history, casks, gauges or another house's spirit."),
        "export": ("export_verb", "Write stock, journal, history or a lineage to files."),
        "verify": ("care", "Check the journal and every table derived from it."),
        "journal-hash": ("care", "Print the hash of the last entry, to keep elsewhere."),
        "key": ("keys", "Make keys, and let the journal know whose they are."),
        "sign": ("keys", "Sign where the journal stands, to keep elsewhere."),
        "group": ("group", "Join the books of several sites into their group's."),
        "repair": ("care", "Rebuild every table from the journal."),
        "backup": ("care", "Write a checked copy of the book."),
        "restore": ("care", "Check a backup and make a book from it."),
        "schema": ("find", "Print the JSON schema of an answer."),
    },
}
"""Every verb by group: module in this room, and one line of help."""

_MODULE = {verb: module for group in VERBS.values() for verb, (module, _) in group.items()}


class _LazyGroup(click.Group):
    """A group whose commands are imported when they are called."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 (the interface of click)
        return list(_MODULE)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002
        module = _MODULE.get(cmd_name)
        if module is None:
            return None
        found = getattr(import_module(f"pourbook.cli.{module}"), f"{cmd_name.replace('-', '_')}_verb")
        assert isinstance(found, click.Command)
        return found

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        if args[0] not in _MODULE and not ctx.resilient_parsing:  # as when the shell completes words
            from pourbook.cli.wrong_usage import no_such_verb

            raise no_such_verb(args[0], list(_MODULE))
        return super().resolve_command(ctx, args)

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401
        try:
            return super().invoke(ctx)
        except BrokenPipeError:  # before click sees it, which takes it for a failure
            return _no_reader()
        except (PourbookError, click.ClickException, click.Abort, click.exceptions.Exit, OSError):
            raise
        except Exception as error:
            # What a verb stumbles over may be the book's and not the program's.
            damage = "" if os.environ.get("POURBOOK_DEBUG") else _first_fault(ctx.obj)
            if damage:
                raise Damaged(f"'{ctx.obj}' is damaged: {damage}", "see all that is wrong: pourbook verify") from error
            raise

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:  # noqa: ARG002
        for group, verbs in VERBS.items():
            with formatter.section(group):
                formatter.write_dl([(verb, text) for verb, (_, text) in verbs.items()])


@click.group(cls=_LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.option(
    "--book", "path", envvar="POURBOOK_BOOK", metavar="PATH",
    help="The book: a file, or postgresql://USER@HOST:PORT/NAME; default: POURBOOK_BOOK.",
)  # fmt: skip
@click.version_option(package_name="pourbook")
@click.pass_context
def cli(ctx: click.Context, path: str | None) -> None:
    """Record every pour behind a spirit blend, and trace any bottle to its casks.

    Identifiers can be typed or scanned with or without hyphens; your own names work too.
    Every verb has examples: pourbook VERB --help

    Figures are working figures; the legal gauge, label and duty return follow the local authority and
    licensed practice. Vapour of strong spirit ignites at room temperature.

    \b
    Example:
      pourbook demo
      pourbook --book quillmere/quillmere.pourbook stock
    """
    ctx.obj = path


def _first_fault(path: str | None) -> str:
    """The first fault of the book at that path; empty where it has none, or nobody can tell."""
    from pourbook.book.core import BookCore

    if not path:
        return ""
    try:
        with BookCore.open(path) as book:
            faults = book.verify().faults
    except PourbookError:
        return ""
    return str(faults[0]) if faults else ""


def run() -> None:
    """Run the command; the one place where an exception becomes text and an exit status."""
    gc.set_threshold(100_000)  # what a start loads is no garbage: searching it takes as long as reading an item
    status = _run()
    gc.disable()  # nor does what is left need a search at the end
    sys.exit(status)


def _run() -> int:
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a terminal without ° must not stop a record
    try:
        _refuse_unreadable_text()
        # What a verb exits with comes back as a value.
        status = cli.main(prog_name="pourbook", standalone_mode=False)
        return status if isinstance(status, int) else 0
    except click.Abort:
        click.echo("stopped: nothing more was recorded", err=True)
        return 1
    except click.exceptions.NoArgsIsHelpError as nothing_asked:
        nothing_asked.show()
        return 1
    except click.UsageError as wrong:
        from pourbook.cli.wrong_usage import as_refusal

        _tell(as_refusal(wrong))
        return 1
    except PourbookError as refusal:
        _tell(refusal)
        return refusal.exit_status
    except BrokenPipeError:
        return _no_reader()
    except OSError as error:
        if error.filename is None:  # not a file that was named: the screen, or where it is led to
            click.echo(f"the answer could not be written: {error.strerror or error}", err=True)
            click.echo("    do: check whether it was recorded: pourbook journal", err=True)
        else:
            click.echo(f"refused: {error.strerror or error}: {error.filename}", err=True)
            click.echo("    do: check the path and the permissions of the file and its folder", err=True)
        return 1
    except Exception as error:
        if os.environ.get("POURBOOK_DEBUG"):
            raise
        click.echo(f"pourbook itself failed: {type(error).__name__}: {error}", err=True)
        click.echo(
            "    do: run it again with POURBOOK_DEBUG=1 and report what it prints; nothing was recorded", err=True
        )
        return 1


def _no_reader() -> int:
    """The status where the reader has gone; Python must not complain again when it closes standard output."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return 0


def _refuse_unreadable_text() -> None:
    given = {f"argument {place}": text for place, text in enumerate(sys.argv[1:], 1)}
    given |= {name: text for name, text in os.environ.items() if name.startswith("POURBOOK_")}
    for name, text in given.items():
        try:
            text.encode()
        except UnicodeEncodeError as error:
            shown = text.encode(errors="replace").decode()
            raise Malformed(
                f"{name} is not text in UTF-8: '{shown}'", "type it again, in a terminal that is set to UTF-8"
            ) from error


def _tell(refusal: PourbookError) -> None:
    click.echo(refusal.message if isinstance(refusal, NotShown) else f"refused: {refusal.message}", err=True)
    confirm = ""
    if isinstance(refusal, ToConfirm):
        confirm = f"If it is right, give --confirm{f' and {refusal.lacks}' if refusal.lacks else ''}"
    advice = f"{refusal.remedy}." if confirm and refusal.remedy and refusal.remedy[-1] not in ".?" else refusal.remedy
    if remedy := f"{advice} {confirm}".strip():
        click.echo(f"    do: {remedy}", err=True)
    faults = list(map(str, refusal.faults)) if isinstance(refusal, FaultsFound) else []
    for fault in faults if faults != [refusal.message] else ():  # one that is all is told already
        click.echo(f"  {fault}", err=True)
