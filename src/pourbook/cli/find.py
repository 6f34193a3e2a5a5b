"""Verbs that read: show, stock, find, due, today, trace, journal, schema."""

from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import AT, FORCE, PAPER, item_argument, list_options
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from pathlib import Path

    from pourbook.book.journal import Logged
    from pourbook.queries.traces.trace_answer import Trace

__all__ = [
    "due_verb", "find_verb", "journal_verb", "schema_verb", "show_verb", "stock_verb", "today_verb", "trace_verb",
]  # fmt: skip


@click.command("show")
@item_argument("item")
@AT
@click.option("--history", is_flag=True, help="List every line that touched it.")
@reading
def show_verb(door: Door, item: str, at: str | None, history: bool) -> None:
    """Show an item: what it is, what it holds and, with --history, how it came to hold that.

    \b
    Example:
      pourbook show C-000001-H
      pourbook show "Row 3/12" --at 2024-06-30 --history
    """
    from pourbook.documents.items import item_shown
    from pourbook.queries.items.item_card import item_card

    door.show(item_shown(item_card(door.book, item, door.style.as_of(at), history=history), door.style))


@click.command("stock")
@AT
@click.option("--kind", type=click.Choice(("cask", "vial", "trial", "batch", "lot")), help="Only this kind.")
@click.option("--place", metavar="PLACE", help="Only at this place.")
@list_options
@reading
def stock_verb(
    door: Door, at: str | None, kind: str | None, place: str | None, everything: bool, limit: int | None
) -> None:
    """List every item that holds liquid, by kind and number.

    A terminal shows the first of them; a file, another program or --json gets them all.

    \b
    Example:
      pourbook stock
      pourbook stock --kind cask --at 2023-12-31 --json
      pourbook stock --place "Row 3" --all
    """
    from itertools import islice

    from pourbook.documents.items import stock_shown
    from pourbook.queries.items.item_card import stock

    most = door.most(limit, everything=everything)
    found = stock(door.book, door.style.as_of(at), kind, place, called=not door.json)
    door.show_list(stock_shown(islice(found, most), door.style, of_group=door.book.is_group), most, "first")


@click.command("find")
@click.argument("text", nargs=-1, required=True)
@click.option("--limit", type=click.IntRange(1, 1000), default=20, show_default=True, help="At most so many.")
@reading
def find_verb(door: Door, text: tuple[str, ...], limit: int) -> None:
    """Find whatever is called TEXT, or says so: items, recipes, sessions, notes.

    Identifiers, refs and lot marks are found by how they begin, in any case and spacing; wood, previous
    contents, places, other facts and notes by words, and parts of words, all of which must stand there.
    The best comes first.

    \b
    Example:
      pourbook find "row 3"
      pourbook find chestnut
      pourbook find ripe pear --limit 5 --json
    """
    from pourbook.documents.finding import found_shown

    words = " ".join(text)
    door.show(found_shown(door.book.find_all(words, limit), words))


@click.command("due")
@click.option(
    "--days", type=click.IntRange(min=0), default=30, show_default=True, help="How many days ahead to look for checks."
)
@reading
def due_verb(door: Door, days: int) -> None:
    """List what is due: strengths to read, checks of instruments, labels to print again, items missing.

    An item is missing that a stocktake did not find, until it is found or written off. A strength is
    due while its filling is --pending; a label once what it says has changed in the
    book. Each list ends with what to type next.

    \b
    Example:
      pourbook due
      pourbook due --days 90 --json
    """
    from pourbook.documents.due import due_shown

    door.show(due_shown(door.book.due(days), door.style))


@click.command("today")
@click.option(
    "--days", type=click.IntRange(min=1), default=30, show_default=True,
    help="A trial or run of labels that nobody went on with for so many days is left out.",
)  # fmt: skip
@reading
def today_verb(door: Door, days: int) -> None:
    """List what is being worked at: half-poured trials and batches, sessions, stocktakes, runs, holds.

    Each line says when it was begun, who worked at it last, how far it is and what is left; each
    list ends with what to type next. What waits for its day is listed by pourbook due.

    \b
    Example:
      pourbook today
      pourbook today --days 7 --json
    """
    from pourbook.documents.today import today_shown

    door.show(today_shown(door.book.under_way(days), door.style))


@click.command("trace")
@item_argument("item")
@click.option("--forward", is_flag=True, help="What it went into, instead of what went into it.")
@click.option(
    "--by", type=click.Choice(("alcohol", "mass", "volume")), default="alcohol",
    help="Basis of shares; volume is that of alcohol, water and extract before they contract.",
)  # fmt: skip
@AT
@click.option("--pours", is_flag=True, help="List every pour on the way, too.")
@click.option("--why", metavar="WHAT", help="Show how the share of that item, or of 'entry 12', is worked out.")
@click.option("--picture", type=click.Path(), metavar="FILE", help="Draw it, too: .svg or .pdf.")
@FORCE
@reading
def trace_verb(
    door: Door, item: str, forward: bool, by: Any, at: str | None, pours: bool, why: str | None,  # noqa: ANN401
    picture: str | None, force: bool,
) -> None:  # fmt: skip
    """Trace an item back to all that went into it, or forward to all it went into.

    Back, a share is the part of the item that was once in the other one. Forward, it is the part,
    of all that was ever poured into the other one, that had been in this item.

    \b
    Example:
      pourbook trace L-000001-C
      pourbook trace C-000004-B --forward --by mass --json
      pourbook trace L-000001-C --why C-000004-B
      pourbook trace C-000004-B --forward --why L-000001-C
      pourbook trace L-000001-C --picture flow.svg
    """
    at_us = door.style.as_of(at)
    if why is not None:
        from pourbook.documents.traces import why_shown

        traced, of = (why, item) if forward else (item, _asked_about(why))
        door.show(why_shown(door.book.why(traced, of, by, at_us, forward=forward), door.style))
        return
    from pourbook.documents.traces import trace_shown

    ask = door.book.trace_forward if forward else door.book.trace_back
    trace = ask(item, by, at_us)
    if picture is not None:
        from pathlib import Path  # most traces are not drawn

        drawn = trace if by == "alcohol" else ask(item, "alcohol", at_us)
        _write_picture(door, drawn, at_us, Path(picture), force=force)
    door.show(trace_shown(trace, door.style, pours=pours, at_us=at_us))


def _asked_about(text: str) -> str | int:
    """What `--why` names: an item, or an entry as a trace lists it, `entry 12` or `12`.

    >>> _asked_about("entry 12"), _asked_about("12"), _asked_about("C-000001-H")
    (12, 12, 'C-000001-H')
    """
    number = text.strip().lower().removeprefix("entry ").strip()
    return int(number) if number.isdecimal() else text


def _write_picture(door: Door, trace: "Trace", at_us: int | None, picture: "Path", *, force: bool) -> None:
    from pourbook.one_file import write_file
    from pourbook.paperwork.flow_of import flow_picture

    if picture.suffix.lower() not in (".svg", ".pdf"):
        raise Malformed(f"'{picture.name}' is not an SVG or PDF file", "end it in .svg or .pdf")
    drawn = flow_picture(door.book, trace, as_pdf=picture.suffix.lower() == ".pdf", at_us=at_us)
    write_file(picture, drawn, force=force, never=door.book.files)
    click.echo(f"picture: {picture}", err=True)


@click.command("journal")
@click.option("--from", "first", type=int, default=1, metavar="NUMBER", help="First entry.")
@click.option("--to", "last", type=int, default=1 << 62, metavar="NUMBER", help="Last entry.")
@click.option("--kind", metavar="KIND", default="", help="Only this kind: pour, gauge, hold, note, void …")
@click.option("--who", metavar="NAME", default="", help="Only what this person recorded.")
@click.option("--where", metavar="TEXT", default="", help="Only what was recorded at this station.")
@click.option("--item", metavar="ITEM", help="Only what concerns this item.")
@click.option("--since", metavar="TIME", help="Only what happened then or later.")
@click.option("--at", metavar="TIME", help="Only what had happened by that moment (a day counts to its end).")
@list_options
@click.option("--names", is_flag=True, help="With --json: names of people, not their codes.")
@click.option("-o", "--output", type=click.Path(), metavar="FILE", help="Print it as PDF instead.")
@PAPER
@FORCE
@reading
def journal_verb(
    door: Door, first: int, last: int, kind: str, who: str, where: str, item: str | None, since: str | None,
    at: str | None, everything: bool, limit: int | None, names: bool, **printing: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """List the journal: what was recorded, when it happened, by whom, and why.

    A terminal shows the latest entries; a file, another program or --json gets them all. On paper, every
    entry has its hash, and each page has the full hashes of its first and last entry, to check it
    against the book (pourbook verify --against).

    With --json, people stand by codes, as in what is hashed, so that anybody can recompute the chain: the
    hash of an entry is SHA-256 of the 32 bytes of the hash before it (zeros before the first) and the
    UTF-8 of the entry without gone and hash, as JSON with sorted keys, no spaces and no needless escapes.
    Entries that were there before a book of format 2 was upgraded are hashed with names: --names.
    The book of a group has a chain for each of its sites: there the hash is of what stands under "there", the
    entry as its site wrote it, after the hash of the entry before it at that site (site_number).

    \b
    Example:
      pourbook journal --limit 20
      pourbook journal --item "Row 3/12" --at 2024-06-30
      pourbook journal --kind gauge --who "Isla Farrow" --since 2026-06-01
      pourbook journal --item C-000001-H --json
      pourbook journal --from 100 --to 250 -o journal.pdf
    """
    from pourbook.documents.journal import journal_shown
    from pourbook.queries.journal.entries_listed import Wanted, as_chained_there, entries_listed

    since_us = None if since is None else door.style.moment(since)
    which = Wanted(first, last, _kind_of_entry(kind), who, where, since_us, door.style.as_of(at))
    if printing["output"]:
        asked = {"item": item, "kind": kind, "by": who, "at station": where, "since": since, "until": at}
        narrowed = [f"{name} {value}" for name, value in asked.items() if value]
        _print_journal(door, entries_listed(door.book, which, item, limit), narrowed, **printing)
        return
    most = door.most(limit, everything=everything)
    by_codes = door.json and not names
    found, there = (
        entries_listed(door.book, which, item, most, by_codes=by_codes),
        as_chained_there(door.book, by_codes=by_codes),
    )
    door.show_list(journal_shown(found, door.style, there), most, "last")


def _kind_of_entry(word: str) -> str:
    """The kind of entry as the journal calls it.

    Raises:
        Malformed: there is no such kind.
    """
    from pourbook.book.kinds import KIND_OF_NAME

    if word and word.lower() not in KIND_OF_NAME:
        kinds = ", ".join(KIND_OF_NAME)
        remedy = f"kinds are: {kinds}; whatever moves liquid is a pour: fill, draw, loss …"
        raise Malformed(f"'{word}' is not a kind of entry", remedy)
    return word.lower()


def _print_journal(
    door: Door, entries: "Iterable[Logged]", narrowed: "Sequence[str]", output: str, paper: str | None, *, force: bool
) -> None:
    from pathlib import Path

    from pourbook.documents.journal import journal_printed_shown
    from pourbook.one_file import check_target, write_file
    from pourbook.paperwork.journal_paper_of import journal_printed

    path = Path(output)
    check_target(path, force=force, never=door.book.files)
    if path.suffix.lower() != ".pdf":
        raise Malformed(f"'{path.name}' is not a PDF", "end the name in .pdf; for a table: pourbook export journal")
    printed = journal_printed(door.book, entries, narrowed, paper or "")
    write_file(path, printed.pdf, force=force, never=door.book.files)
    door.show(journal_printed_shown(printed, path))


@click.command("schema")
@click.argument("answer", required=False)
@reading
def schema_verb(door: Door, answer: str | None) -> None:
    """Print the JSON schema of an answer (draft 2020-12), or list the answers that have one.

    \b
    Example:
      pourbook schema
      pourbook schema trace > trace.schema.json
    """
    from pourbook.documents.answer_schemas import schema_shown

    door.show(schema_shown(answer))
