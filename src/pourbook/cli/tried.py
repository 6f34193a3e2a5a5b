"""Verbs that look back on what was tried: compare, revisions, near."""

from pathlib import Path
from typing import Any

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import AT, FORCE, PAPER, item_argument, options, pair
from pourbook.errors import Malformed
from pourbook.one_file import check_target, write_file

__all__ = ["compare_verb", "near_verb", "revisions_verb"]

_FILE = click.Path(path_type=Path)
_HOW_TOLD = options(
    click.option(
        "--group-by", type=click.Choice(("cask", "wood", "spirit", "kind", "component")), default="cask",
        help="What parts are told apart by; kind is spirit, wood and previous contents. Default: cask.",
    ),
    click.option("--without-water", is_flag=True, help="Look at what is beside the water alone."),
)  # fmt: skip
"""How it is told what blends are made of; above `reading`."""


@click.command("compare")
@item_argument("items", many=True)
@_HOW_TOLD
@AT
@click.option("--csv", "csv_to", type=_FILE, metavar="FILE", help="Write it as CSV, a row for each.")
@FORCE
@reading
def compare_verb(
    door: Door, items: tuple[str, ...], at: str | None, csv_to: Path | None, force: bool, **told: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Show trials, batches or lots side by side: what they are made of, strength, cost, youngest age.

    Fractions are by volume as poured, of the casks behind every glass; of two, the change is shown, too.

    \b
    Example:
      pourbook compare T-000002-M T-000003-K
      pourbook compare T-000002-M T-000003-K B-000001-Y --group-by wood --csv blends.csv
      pourbook compare T-000002-M T-000003-K --at 2026-06-30 --json
    """
    from pourbook.documents.tried import compared_shown, compared_table
    from pourbook.queries.traces.made_of import By
    from pourbook.queries.trials.comparison import compare

    if csv_to:
        check_target(csv_to, force=force, never=door.book.files)
    found = compare(door.book, *items, at_us=door.style.as_of(at), by=By(**told))
    if csv_to:
        from pourbook.documents.accounts import csv_bytes

        write_file(csv_to, csv_bytes(*compared_table(found, door.style)), force=force, never=door.book.files)
    door.show(compared_shown(found, door.style, str(csv_to or "")))


@click.command("revisions")
@item_argument("trial")
@_HOW_TOLD
@click.option("-o", "--output", type=_FILE, metavar="FILE", help="Print it as PDF, with every note.")
@PAPER
@FORCE
@reading
def revisions_verb(
    door: Door, trial: str, output: Path | None, paper: str | None, force: bool, **told: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Show the family of TRIAL as a tree: the first one, all that was revised from it, and what changed.

    Each is set against the one it was revised from, in what it was made of: parts of a hundred, by
    volume as poured, of the casks behind every glass. TRIAL may be a recipe: then its trials and
    the recipes that were revised from it are shown.

    \b
    Example:
      pourbook revisions T-000005-G
      pourbook revisions T-000005-G --group-by wood
      pourbook revisions "Ostrewick no. 2" -o family.pdf
    """
    from pourbook.documents.tried import family_shown
    from pourbook.queries.traces.made_of import By
    from pourbook.queries.trials.family import family

    if output:
        check_target(output, force=force, never=door.book.files)
    found = family(door.book, trial, By(**told))
    if output:
        from pourbook.paperwork.family_sheet_of import family_sheet_of

        write_file(output, family_sheet_of(door.book, found, paper or ""), force=force, never=door.book.files)
    door.show(family_shown(found, door.style, str(output or "")))


@click.command("near")
@item_argument("item", required=False)
@click.option("--part", "parts", multiple=True, metavar="ITEM=PARTS", help="A component of what you have in mind.")
@_HOW_TOLD
@click.option("--kind", "kinds", multiple=True, type=click.Choice(("trial", "batch", "lot")), help="Only these.")
@click.option("--limit", type=click.IntRange(min=1), default=10, metavar="N", help="Show N; default: 10.")
@reading
def near_verb(
    door: Door, item: str | None, parts: tuple[str, ...], kinds: tuple[str, ...], limit: int,
    **told: Any,  # noqa: ANN401
) -> None:  # fmt: skip
    """Show what was tried near ITEM, or near parts that you have in mind, the nearest first.

    How far two blends are apart is the part of one that would have to be replaced to make the other:
    half the sum of the absolute differences of their fractions. 0 is the same blend, 100 % one with
    nothing in common. Wood or kind instead of cask finds what was alike in character.

    \b
    Example:
      pourbook near T-000005-G
      pourbook near T-000005-G --group-by kind --without-water
      pourbook near --part C-000001-H=80 --part C-000004-B=15 --part water=5 --limit 3
    """
    from pourbook.documents.tried import near_shown
    from pourbook.queries.traces.made_of import By
    from pourbook.queries.trials.near import TRIED, Wanted, near

    if parts and item:
        raise Malformed("both an item and parts are named", "leave one of them out")
    wanted = Wanted(By(**told), kinds or TRIED, limit)
    named = [pair(text, "ITEM=PARTS", "C-000003-D=7 or water=10", at_last=True) for text in parts]
    door.show(near_shown(near(door.book, item or "", wanted, named), door.style))
