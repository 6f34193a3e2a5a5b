"""The verb of recalls: a drill or a real one, found, held, recorded and printed in one action; and its end."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.output import show_json, show_table
from pourbook.cli.recall_scope import scope_options, suspects_of
from pourbook.cli.recall_shown import finding_document, recall_document, show_finding, show_recall
from pourbook.errors import Malformed, PourbookError
from pourbook.numerals import counted
from pourbook.words.figure_words import several

if TYPE_CHECKING:
    from pourbook.queries.recalls.recalls import Finding

__all__ = ["recall_verb"]

CAUTION = "working figures: legal gauge, label and duty return follow the local authority and licensed practice"


@click.command("recall")
@scope_options
@click.option("--drill/--real", "drill", default=None, help="A drill of a recall, or a recall.")
@click.option("--least-share", metavar="PART", help="Leave out items with a smaller share: 0.001; else any amount.")
@click.option("--hold", "hold", is_flag=True, help="Put all that holds any of it on hold.")
@click.option("--begun", metavar="TIME", help="When it was begun; with this command by default.")
@click.option("--ended", metavar="TIME", help="When all was found; now by default.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Print its report as PDF.")
@click.option("--paper", type=click.Choice(("A4", "Letter")), help="Page size; the house's by default.")
@click.option("--force", is_flag=True, help="Write over a file that is there.")
@click.option("--release", type=int, metavar="NUMBER", help="End the holds of that recall.")
@click.option("--show", type=int, metavar="NUMBER", help="Show a recall: as it was found, and its figures now.")
@click.option("--list", "list_", is_flag=True, help="List the recalls.")
@recording
def recall_verb(
    door: Door, release: int | None, show: int | None, list_: bool, first: str | None, last: str | None,
    since_check: bool, **other: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Recall: find all that a suspicion reaches, put it on hold, record it, print it.

    What is suspect is said as for pourbook affected. The entry keeps the scope and the figures as they
    were found. --release lets go what this recall holds and nothing else does.

    \b
    Example:
      pourbook recall --item C-000004-B --drill --reason "yearly drill" --hold -o recall.pdf
      pourbook recall --water "Spring 4, lot 26-3" --real --reason "laboratory report 31" --hold -o recall.pdf
      pourbook recall --list
      pourbook recall --show 131 --json
      pourbook recall --release 131 --reason "laboratory: clean"
    """
    if sum((release is not None, show is not None, list_)) > 1:
        raise Malformed("several things at once", "give one of --release, --show and --list")
    if list_:
        _list(door)
    elif show is not None:
        _show(door, show)
    elif not door.options["reason"]:
        raise Malformed("a recall and its end need their reason", "give --reason")
    elif release is not None:
        _release(door, release)
    else:
        begun_us = door.book.clock()
        typed = {name: value for name, value in other.items() if isinstance(value, tuple)}
        suspects = suspects_of(door, typed, first, last, since_check=since_check)
        _recall(door, suspects, begun_us, **{name: value for name, value in other.items() if name not in typed})


def _recall(
    door: Door, suspects: Any, begun_us: int, *, drill: bool | None, least_share: str | None, hold: bool,  # noqa: ANN401
    begun: str | None, ended: str | None, output: Path | None, paper: str | None, force: bool,
) -> None:  # fmt: skip
    from pourbook.book.entries import Recall
    from pourbook.book.lineages import EVER
    from pourbook.cli.printing import target_of
    from pourbook.queries.recalls.recalls import finding, read_share

    if drill is None:
        raise Malformed("a drill, or a real recall?", "give --drill or --real")
    target = target_of(output, "", force=force) if output else None
    least = read_share(least_share, door.decimal_mark) if least_share else 0.0
    until_us = door.moment(door.options["when"]) if door.options["when"] else EVER
    with door.book.writing():
        found = finding(door.book.store, suspects, until_us, least)
        entry = Recall(
            found.affected.suspects,
            drill,
            f"{least:.12g}" if least else "",
            door.moment_or_none(begun) or begun_us,
            door.moment(ended),
            door.book.head()[1],
            found.figures,
            tuple(one.item.id for one in found.affected.items),
            tuple(one.item.id for one in found.affected.on_hand) if hold else (),
        )
        recorded = door.record(entry)
        number = recorded.numbers[-1]
        if target:
            _print(door, number, found, target, paper)
    held = f"{counted(len(entry.held), 'item')} put on hold" if hold else "nothing was put on hold (--hold does)"
    if not door.json:
        show_finding(door, found, entry.held)
        click.echo()
    file = {"file": str(target)} if target else {}
    document = finding_document(found) if door.json else {}
    told = f"{'drill' if drill else 'recall'} {number}: {counted(len(entry.items), 'item')} affected; {held}"
    door.tell(recorded, told, *file.values(), recall=number, held=list(entry.held), **file, **document)
    click.echo(CAUTION, err=True)


def _print(door: Door, number: int, found: "Finding", target: Path, paper: str | None) -> None:
    from pourbook.book.entries import Paper
    from pourbook.book.logged import entry_of
    from pourbook.cli.printing import record_and_write
    from pourbook.papers.recall_report import recall_report
    from pourbook.paperwork.recall_report_of import report_values

    values = report_values(door.book, entry_of(door.book.store, number), found)
    pdf = recall_report(values, paper or door.settings["paper"])
    facts: dict[str, str | int] = {
        "recall": number, "entries": values.imprint.entries, "head": values.imprint.head_hash, "file": target.name,
    }  # fmt: skip
    named = tuple(suspect.name for suspect in found.affected.suspects if suspect.kind == "item")
    record_and_write(door, Paper("recall report", named, facts), target, pdf)


def _release(door: Door, number: int) -> None:
    from pourbook.book.entries import Release
    from pourbook.queries.recalls.recalls import recall_numbered, release_of

    with door.book.writing():
        freed = release_of(door.book.store, number)
        held = recall_numbered(door.book.store, number)[0].entry["body"]["held"]
        recorded = door.record(Release(number, freed))
    kept = tuple(item for item in held if item not in freed)
    said = [f"recall {number} released: {counted(len(freed), 'item')} let go"]
    said += [f"not let go, since held otherwise or free already: {several(kept)}"] if kept else []
    door.tell(recorded, *said, recall=number, released=list(freed), kept=list(kept))


def _list(door: Door) -> None:
    from pourbook.queries.recalls.recalls import every_recall

    recalls = every_recall(door.book.store)
    if door.json:
        show_json({"recalls": [recall_document(*recall) for recall in recalls]})
        return
    rows = [
        (
            str(logged.number),
            door.time_shown(logged.happened_us),
            "drill" if logged.entry["body"]["mock"] else "real",
            logged.entry.get("reason", ""),
            str(len(logged.entry["body"]["items"])),
            str(len(logged.entry["body"]["held"])),
            str(released or ""),
        )
        for logged, released in recalls
    ]
    show_table((" entry", "when", "", "reason", " affected", " held", " released by"), rows)


def _show(door: Door, number: int) -> None:
    from pourbook.book.scope import Suspect
    from pourbook.queries.recalls.recalls import finding, recall_numbered

    logged, released = recall_numbered(door.book.store, number)
    body = logged.entry["body"]
    scope = tuple(map(Suspect.of_body, body["scope"]))
    try:
        now = finding(door.book.store, scope, least_share=float(body.get("threshold", 0))).figures
    except PourbookError as refusal:  # what was suspect may have been voided since
        click.echo(f"note: now {refusal.message}", err=True)
        now = {}
    if door.json:
        differs = {name: now[name] - then for name, then in body["figures"].items() if now.get(name, then) != then}
        show_json({**recall_document(logged, released), "figures_now": now, "differs": differs})
    else:
        show_recall(door, logged, released, now)
