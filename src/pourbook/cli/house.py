"""Verbs of the house: create its book, show and change its settings, check what is installed."""

import sys
from typing import Any

import click

from pourbook.book.settings import with_points
from pourbook.cli.door import Door, login, reading, recording
from pourbook.cli.options import pairs, second_options

__all__ = ["checkup_verb", "create_verb", "settings_verb"]

_INSTALLED = (
    "pourbook", "click", "sqlite-utils", "pandas", "reportlab", "pillow", "pypdfium2", "qrcode", "python-barcode",
    "zxing-cpp", "psycopg",
)  # fmt: skip


@click.command("create")
@click.argument("path")
@click.option("--house", required=True, metavar="NAME", help="Name of the house.")
@click.option("--site", metavar="CODE", help="This site, where the house works at several.")
@click.option("--numbers", metavar="RANGES", help="Its own numbers for items: 1-99999, 200000-299999.")
@click.option("--set", "settings", multiple=True, metavar="NAME=VALUE", help="Another setting; may be repeated.")
@click.option("--who", default="pourbook", metavar="NAME", help="Who creates it.")
@reading
def create_verb(door: Door, path: str, house: str, settings: tuple[str, ...], who: str, **of_site: str | None) -> None:
    """Create a book at PATH, or at the address of a database.

    Settings can be changed later with: pourbook settings --set NAME=VALUE. Where the house works at
    several sites, each has a book with numbers that no other has, and a group's book joins them.

    \b
    Example:
      pourbook create quillmere.pourbook --house Quillmere --set zone=Europe/London
      pourbook create casks.pourbook --house Quillmere --set volume_unit=gal --set paper=Letter
      pourbook create stills.pourbook --house Quillmere --site STILLS --numbers 1-99999
      pourbook create "postgresql://quill@cellar.example/books?schema=north" --house Quillmere
    """
    from shlex import quote

    from pourbook.documents.shown import Shown
    from pourbook.whole_book import Book

    typed = pairs(settings) | {name: text for name, text in of_site.items() if text}
    chosen: dict[str, Any] = {**with_points(typed, typed.get("decimal_mark", "."))}
    with Book.create(path, house=house, who=who, login=login(), **chosen) as book:
        number, head = book.head()
    said = f"created {house}'s book: {path}", f"next: export POURBOOK_BOOK={quote(path)}, then pourbook cask --help"
    door.show(Shown({"path": path, "house": house, "entries": number, "head": head}, said))


@click.command("settings")
@click.option("--set", "changes", multiple=True, metavar="NAME=VALUE", help="A setting to change; may be repeated.")
@second_options
@recording
def settings_verb(door: Door, changes: tuple[str, ...]) -> None:
    """Show the house's settings, or change some.

    \b
    Example:
      pourbook settings
      pourbook settings --set decimal_mark=, --set volume_unit=l
    """
    from pourbook.documents.house import settings_changed_shown, settings_shown

    if not changes:
        door.show(settings_shown(door.settings))
        return
    settings = with_points(pairs(changes), door.style.mark)
    door.show(settings_changed_shown(door.book.change_settings(door.how, settings), settings, door.style))


@click.command("checkup")
@reading
def checkup_verb(door: Door) -> None:
    """Show which versions are installed and, if a book is named, the book's health.

    \b
    Example:
      pourbook checkup
      pourbook --book quillmere.pourbook checkup
    """
    import sqlite3
    from importlib.metadata import PackageNotFoundError, version

    from pourbook.documents.shown import Shown, table

    found = {"python": sys.version.split()[0], "sqlite": sqlite3.sqlite_version}
    for name in _INSTALLED:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "missing"
    if click.get_current_context().find_root().obj:
        number, head = door.book.head()
        found |= {"book": door.settings["house"], "entries": str(number), "head": head}
        found |= {"kept in": door.book.engine}
    door.show(Shown(found, table(("what", "is"), list(found.items()))))
