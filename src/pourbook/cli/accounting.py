"""The verb of the periodic account: on the screen, as CSV, JSON and PDF; and what was declared of it."""

import csv
from collections.abc import Sequence
from contextlib import nullcontext
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.output import show_json, show_table
from pourbook.numerals import shown

if TYPE_CHECKING:
    from fractions import Fraction

    from pourbook.book.as_known_then import Corrected
    from pourbook.book.recorded import Recorded
    from pourbook.queries.accounts.account import Account, GroupAccount
    from pourbook.queries.accounts.declared import Declaration

__all__ = ["account_verb", "end_us"]

CAUTION = "working figures: legal gauge, label and duty return follow the local authority and licensed practice"

_BY = ("owner", "duty", "warehouse", "kind", "spirit")
_SIDES = {"adjustment": "earlier periods", "gain": "gains", "loss": "losses"}


@click.command("account")
@click.option("--from", "first", required=True, metavar="DATE", help="First day, or the first moment.")
@click.option("--to", "last", required=True, metavar="DATE", help="Last day, or the moment before which it ends.")
@click.option("--by", multiple=True, type=click.Choice(_BY), help="Keep it apart by this; more than once for several.")
@click.option("--declare", "rule", metavar="RULE", help="Freeze its figures, rounded by this rule: 'half-up 0.1'.")
@click.option("--csv", "csv_to", type=click.Path(path_type=Path), metavar="FILE", help="Write its lines as CSV.")
@click.option("--samples", "samples_to", type=click.Path(path_type=Path), metavar="FILE", help="Its samples as CSV.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Print it as PDF.")
@click.option("--paper", type=click.Choice(("A4", "Letter")), help="Page size; the house's by default.")
@click.option("--force", is_flag=True, help="Write over files that are there.")
@recording
def account_verb(
    door: Door, first: str, last: str, by: tuple[str, ...], rule: str | None, csv_to: Path | None,
    samples_to: Path | None, output: Path | None, paper: str | None, force: bool,
) -> None:  # fmt: skip
    """Make out the account of a period: opening, in, gains, out, losses by disposition, closing.

    In pure alcohol and bulk litres, by owner, duty status (the fact `duty`), warehouse, kind or
    spirit. A working account, not the return itself.

    A closed period (pourbook close) is shown as it was when it was closed; what was corrected
    later is an adjustment of the period that was open then. --declare freezes the figures of a
    closed period with a rule of rounding: down, up, half-up or half-even, and the step. They
    are shown beside the exact ones from then on; --confirm records an amended declaration.

    \b
    Example:
      pourbook account --from 2025-01-01 --to 2025-12-31
      pourbook account --from 2025-01-01 --to 2025-12-31 --by owner --by duty -o account.pdf
      pourbook account --from 2025-01-01 --to 2025-12-31 --by owner --declare "half-up 0.1"
      pourbook account --from 2025-01-01 --to 2025-12-31 --csv account.csv --samples samples.csv --json
    """
    from pourbook.documents.account_documents import document, sample_table, table
    from pourbook.queries.accounts.account import account_of
    from pourbook.queries.accounts.declared import declaration_of

    for path in filter(None, (csv_to, samples_to, output)):
        _checked_target(path, force=force)
    with door.book.writing() if rule or output else nullcontext():
        account = account_of(door.book, door.moment(first), end_us(door, last), by)
        entries = list(_declared(door, account, rule)) if rule else []
        declaration = declaration_of(door.book.store, account)
        for target, rows in ((csv_to, table(account, declaration)), (samples_to, sample_table(account))):
            if target and not door.options["dry_run"]:
                _write_csv(target, *rows)
        entries += _printed(door, account, declaration, output, paper) if output else []
    if door.json:
        files = {"csv": csv_to, "samples_csv": samples_to, "pdf": output}
        named = {name: str(path) for name, path in files.items() if path}
        told = {"entries": entries, "files": named, "dry_run": bool(door.options["dry_run"])}
        show_json({**document(account, declaration), **told})
    else:
        _show_account(door, account, declaration)
        _show_written(door, entries, csv_to, samples_to, output)
    click.echo(CAUTION, err=True)


def end_us(door: Door, text: str) -> int:
    """The moment before which a period ends: of a day, the first instant of the next one."""
    return door.style.end(text)


def _checked_target(path: Path, *, force: bool) -> Path:
    from pourbook.cli.printing import target_of

    return target_of(path, "", force=force)


def _declared(door: Door, account: "Account", rule: str) -> "Sequence[int]":
    from pourbook.queries.accounts.declared import declared, read_rule

    entry = declared(
        door.book.store, account, read_rule(rule, door.decimal_mark), amended=bool(door.options["confirm"])
    )
    return door.record(entry).numbers


def _write_csv(path: Path, heads: list[str], rows: list[list[Any]]) -> None:
    """A table, whole or not there; figures with a point, whatever the house writes."""
    from pourbook.exchange.tables.table_files import guarded

    beside = path.with_name(f".{path.name}.part")
    with beside.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(heads)
        writer.writerows([guarded(cell) if isinstance(cell, str) else cell for cell in row] for row in rows)
    beside.replace(path)


def _printed(
    door: Door, account: "Account", declaration: "Declaration | None", output: Path, paper: str | None
) -> "Sequence[int]":
    from pourbook.book.entries import Paper
    from pourbook.cli.printing import record_and_write
    from pourbook.papers.account_paper import account_paper
    from pourbook.paperwork.account_paper_of import account_values

    values = account_values(door.book, account, declaration)
    pdf = account_paper(values, paper or door.settings["paper"])
    facts: dict[str, str | int] = {
        "period": values.period,
        "by": ", ".join(account.by),
        "entries": values.imprint.entries,
        "head": values.imprint.head_hash,
        "opening_ethanol_mg": account.total.side("opening").ethanol_mg,
        "closing_ethanol_mg": account.total.side("closing").ethanol_mg,
        "file": output.name,
    }
    recorded: Recorded = record_and_write(door, Paper("account", (), facts), output, pdf)
    return recorded.numbers


# -- on the screen -----------------------------------------------------------------------


def _show_account(door: Door, account: "Account", declaration: "Declaration | None") -> None:
    from pourbook.words.account_words import NOT_THE_RETURN, declared_text, period_text, status_of

    zone = door.book.zone
    click.echo(f"account of {period_text(account.start_us, account.end_us, zone)}, {status_of(account)}")
    if declaration is not None:
        click.echo(f"declared: {declared_text(declaration, zone)}")
    for group in (*account.groups, account.total) if account.by else account.groups:
        click.echo()
        if account.by:
            click.echo(" · ".join(group.group) or "all together")
        _show_lines(door, group, declaration)
    _show_corrections("corrections of earlier, closed periods that take effect here", account.adjusting)
    _show_corrections("corrected since it was closed; takes effect in the open period", account.corrected_since)
    click.echo()
    if account.samples:
        click.echo(f"{len(account.samples)} movements of samples: see --samples, -o or --json")
    click.echo(NOT_THE_RETURN)
    if account.pending:
        click.echo(f"provisional: strengths are pending in entries {', '.join(map(str, account.pending))}", err=True)


def _show_lines(door: Door, group: "GroupAccount", declaration: "Declaration | None") -> None:
    from pourbook.queries.accounts.declared import figures

    mark = door.decimal_mark
    rows = []
    for figure in filter(lambda one: one.is_seen, figures(group, declaration)):
        line = figure.line
        lpa = "" if line.side == "contraction" else shown(line.quantity.lpa_l, 3, mark)
        cells = [_SIDES.get(line.side, line.side), line.heading, lpa, shown(line.quantity.bulk_l, 3, mark)]
        if declaration is not None:
            cells[3:3] = [figure.declared_lpa_l.replace(".", mark), _difference(figure.difference_lpa_l, mark)]
            cells += [figure.declared_bulk_l.replace(".", mark), _difference(figure.difference_bulk_l, mark)]
        rows.append(cells)
    heads = ["", "", " LPA", " bulk l"]
    if declaration is not None:
        heads[3:3] = [" declared", " difference"]
        heads += [" declared", " difference"]
    show_table(heads, rows)


def _difference(value: "Fraction | None", mark: str) -> str:
    return "" if value is None else shown(value, 4, mark)


def _show_corrections(title: str, corrections: "Sequence[Corrected]") -> None:
    if corrections:
        click.echo()
        click.echo(title)
        show_table(
            (" entry", "what", " by entry", "reason", "who"),
            [(str(one.entry), f"{one.kind}, {one.how}", str(one.by), one.reason, one.who) for one in corrections],
        )


def _show_written(door: Door, entries: "Sequence[int]", *paths: Path | None) -> None:
    if door.options["dry_run"]:
        click.echo("dry run: nothing was recorded or written", err=True)
        return
    for path in filter(None, paths):
        click.echo(f"written: {path}", err=True)
    if entries:
        click.echo(f"recorded: entries {', '.join(map(str, entries))}", err=True)
