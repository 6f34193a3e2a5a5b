"""The verb of the periodic account: on the screen, as CSV, JSON and PDF; and its declared figures."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.door import Door, recording
from pourbook.cli.options import FORCE, PAPER
from pourbook.errors import Malformed
from pourbook.one_file import check_target, write_file

if TYPE_CHECKING:
    from pourbook.queries.accounts.account import Period

__all__ = ["account_verb"]

_FILE = click.Path(path_type=Path)
_GROUPINGS = click.Choice(("owner", "duty", "warehouse", "kind", "spirit", "site"))


@click.command("account")
@click.option("--from", "first", required=True, metavar="DATE", help="First day, or the first moment.")
@click.option("--to", "last", required=True, metavar="DATE", help="Last day, or the moment at which it ends.")
@click.option("--group-by", multiple=True, type=_GROUPINGS, help="Group by this; may be repeated.")
@click.option(
    "--list", "listed", metavar="WHAT", help="List the entries behind a figure: in, losses, losses:evaporation, all."
)
@click.option("--group", metavar="TEXT", help="With --list: only the entries of this group.")
@click.option("--declare", "rule", metavar="RULE", help="Freeze its figures, rounded by this rule: 'half-up 0.1'.")
@click.option("--csv", "csv_to", type=_FILE, metavar="FILE", help="Write its lines as CSV.")
@click.option("--samples", "samples_to", type=_FILE, metavar="FILE", help="Write its samples as CSV.")
@click.option("-o", "--output", type=_FILE, metavar="FILE", help="Print it as PDF.")
@PAPER
@FORCE
@recording
def account_verb(
    door: Door, first: str, last: str, group_by: tuple[str, ...], csv_to: Path | None, samples_to: Path | None,
    listed: str | None, group: str | None, force: bool, **paper: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Prepare the account of a period: opening, in, gains, out, losses by disposition, closing.

    In pure alcohol and bulk litres, by owner, duty status (the fact `duty`), warehouse, kind,
    spirit, or site of a group. A working account, not the return itself.

    A closed period (pourbook close) is shown as it was when it was closed; a later correction is a
    prior-period adjustment of the period open then. --declare freezes the figures of a closed period
    with a rounding rule: down, up, half-up or half-even, and the step. They are shown beside the exact
    ones from then on; --confirm records an amended declaration.

    --list shows the entries behind figures, which add up to them; --csv writes those entries then.

    \b
    Example:
      pourbook account --from 2025-01-01 --to 2025-12-31
      pourbook account --from 2025-01-01 --to 2025-12-31 --group-by owner --group-by duty -o account.pdf
      pourbook account --from 2025-01-01 --to 2025-12-31 --group-by owner --declare "half-up 0.1"
      pourbook account --from 2025-01-01 --to 2025-12-31 --csv account.csv --samples samples.csv --json
      pourbook account --from 2025-01-01 --to 2025-12-31 --list losses:evaporation
      pourbook account --from 2025-01-01 --to 2025-12-31 --group-by owner --list in --group "Harbour Row" --csv in.csv
    """
    from pourbook.actions.declare import DeclaredAccount
    from pourbook.actions.print_paper import Output
    from pourbook.documents.accounts import account_shown, csv_bytes, sample_table, table
    from pourbook.queries.accounts.account import Period
    from pourbook.queries.accounts.declared import read_rule

    book, how, style = door.book, door.how, door.style
    files = {name: path for name, path in (("csv", csv_to), ("samples_csv", samples_to)) if path}
    outputs = [path.resolve() for path in (*files.values(), paper["output"]) if path]
    if len(set(outputs)) < len(outputs):
        raise Malformed("two of its files have one name", "name a file for each")
    for path in files.values():
        check_target(path, force=force, never=book.files)
    period = Period(style.moment(first), style.end(last), group_by)
    if listed or group:
        if not listed or samples_to or paper["output"] or paper["rule"]:
            raise Malformed(
                "--list goes without -o, --samples and --declare, and --group needs --list", "run them one at a time"
            )
        _list_entries(door, period, (listed, group or ""), files, force=force)
        return
    rule = read_rule(paper["rule"], style.mark) if paper["rule"] else None
    if paper["output"]:
        done = book.print_period(how, period, Output((paper["output"],), None, paper["paper"] or "", force), rule)
    elif rule:
        done = book.declare(how, period, rule)
    else:
        done = DeclaredAccount(book.account(period))
    for name, path in files.items() if not how.dry_run else ():
        rows = table(done.answer) if name == "csv" else sample_table(done.answer.account)
        write_file(path, csv_bytes(*rows), force=force, never=book.files)
    door.show(account_shown(done, style, files, dry_run=how.dry_run))


def _list_entries(
    door: Door, period: "Period", wanted: tuple[str, str], files: dict[str, Path], *, force: bool
) -> None:  # fmt: skip
    """Show the entries behind figures, and write them as CSV."""
    from pourbook.documents.accounts import csv_bytes, entries_shown, entries_table
    from pourbook.queries.accounts.entries_behind import read_wanted

    found = door.book.account_entries(period, read_wanted(*wanted))
    for path in files.values():
        rows = entries_table(found, door.style.zone)
        write_file(path, csv_bytes(*rows), force=force, never=door.book.files)
    door.show(entries_shown(found, door.style, files))
