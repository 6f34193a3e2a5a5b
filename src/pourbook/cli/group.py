"""Verbs of a group: sites join into one book, which says what they do not agree on."""

from pathlib import Path

import click

from pourbook.cli.door import Door, reading

__all__ = ["group_verb"]


@click.group("group")
def group_verb() -> None:
    """Join the books of several sites into the book of their group, which every verb can read.

    \b
    Example:
      pourbook group join group.pourbook highmoor.pourbook quay.pourbook
      pourbook --book group.pourbook trace "Lot 2026-1"
    """


@group_verb.command("join")
@click.argument("group")
@click.argument("sites", nargs=-1, required=True, metavar="SITE...")
@click.option(
    "--public", "publics", multiple=True, type=click.Path(path_type=Path), metavar="FILE",
    help="Public key of a site: what it sends must be signed with it; may be repeated.",
)  # fmt: skip
@click.option("--confirm", is_flag=True, help="Join sites of another house, too.")
@reading
def join_verb(door: Door, group: str, sites: tuple[str, ...], publics: tuple[Path, ...], *, confirm: bool) -> None:
    """Make or continue the book GROUP from the books of sites, or from what they wrote with 'export entries'.

    Only what a site recorded since it joined last is taken. Everything is checked first: that its journal
    goes on from what joined before, without a gap, and that the same key signed it. All sites join, or none.
    A site of another house than those before it is asked about, since none can be taken out again.
    What they do not agree on is listed, for people to explain; it is put right at the sites. Nothing can be
    recorded in GROUP itself.

    \b
    Example:
      pourbook group join group.pourbook highmoor.pourbook quay.pourbook
      pourbook group join group.pourbook quay-since-1284.jsonl --public quay.key.pub
    """
    from pourbook.actions.joining import join
    from pourbook.documents.groups import joined_shown
    from pourbook.house_style import HouseStyle

    joined = join(group, sites, publics, confirm=confirm)
    door.show(joined_shown(joined, HouseStyle(joined.settings)))


@group_verb.command("sites")
@reading
def sites_verb(door: Door) -> None:
    """List the sites of the group whose book is named with --book.

    \b
    Example:
      pourbook --book group.pourbook group sites
    """
    from pourbook.documents.groups import sites_shown

    door.show(sites_shown(door.book.sites(), door.book.head()[1]))


@group_verb.command("differences")
@reading
def differences_verb(door: Door) -> None:
    """List what the sites do not agree on.

    \b
    Example:
      pourbook --book group.pourbook group differences
    """
    from pourbook.documents.groups import differences_shown

    door.show(differences_shown(door.book.differences(), door.style))
