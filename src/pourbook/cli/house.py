"""Verbs of the house: create a book, its settings, what is installed."""

import sys
from pathlib import Path
from typing import Any

import click

from pourbook.book.settings import SETTINGS
from pourbook.cli.door import Door, reading, recording
from pourbook.cli.output import show_json, show_table
from pourbook.errors import Malformed

__all__ = ["checkup_verb", "create_verb", "house_verb", "pairs"]


def pairs(texts: tuple[str, ...]) -> dict[str, str]:
    """Words of the form NAME=VALUE as a mapping.

    Raises:
        Malformed: one of them has another form.
    """
    found = {}
    for text in texts:
        name, equals, value = text.partition("=")
        if not equals:
            raise Malformed(f"'{text}' is not NAME=VALUE", "write it like zone=Europe/London")
        found[name.strip()] = value.strip()
    return found


@click.command("create")
@click.argument("path", type=click.Path(path_type=Path))
@click.option("--house", required=True, metavar="NAME", help="Name of the house.")
@click.option("--set", "settings", multiple=True, metavar="NAME=VALUE", help="Another setting; may be repeated.")
@click.option("--who", default="pourbook", metavar="NAME", help="Who makes it.")
@reading
def create_verb(door: Door, path: Path, house: str, settings: tuple[str, ...], who: str) -> None:
    """Make a new book at PATH.

    Settings can be changed later with: pourbook house --set NAME=VALUE

    \b
    Example:
      pourbook create quillmere.pourbook --house Quillmere --set zone=Europe/London
      pourbook create casks.pourbook --house Quillmere --set volume_unit=gal --set paper=Letter
    """
    from pourbook.surface import Book

    chosen: dict[str, Any] = {**pairs(settings)}
    with Book.create(path, house=house, who=who, **chosen) as book:
        number, head = book.head()
    if door.json:
        show_json({"path": str(path), "house": house, "entries": number, "head": head})
    else:
        click.echo(f"made the book of {house}: {path}")
        click.echo(f"next: export POURBOOK_BOOK={path}, then pourbook cask --help")


@click.command("house")
@click.option("--set", "settings", multiple=True, metavar="NAME=VALUE", help="A setting to change; may be repeated.")
@recording
def house_verb(door: Door, settings: tuple[str, ...]) -> None:
    """Show the house's settings, or change some.

    \b
    Example:
      pourbook house
      pourbook house --set decimal_mark=, --set volume_unit=l
    """
    if settings:
        from pourbook.book.entries import House

        door.tell(door.record(House(pairs(settings))), "changed the house's settings", settings=pairs(settings))
        return
    if door.json:
        show_json(door.settings)
        return
    show_table(
        ("setting", "value", "meaning"),
        [(name, door.settings[name] or "–", setting.meaning) for name, setting in SETTINGS.items()],
    )


@click.command("checkup")
@reading
def checkup_verb(door: Door) -> None:
    """Say which versions are installed and, if a book is named, whether it is well.

    \b
    Example:
      pourbook checkup
      pourbook --book quillmere.pourbook checkup
    """
    import sqlite3
    from importlib.metadata import PackageNotFoundError, version

    found = {"python": sys.version.split()[0], "sqlite": sqlite3.sqlite_version}
    for name in (
        "pourbook",
        "click",
        "sqlite-utils",
        "pandas",
        "reportlab",
        "pillow",
        "pypdfium2",
        "qrcode",
        "python-barcode",
        "zxing-cpp",
    ):
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "missing"
    if click.get_current_context().find_root().obj:
        number, head = door.book.head()
        found |= {"book": door.settings["house"], "entries": str(number), "head": head}
    if door.json:
        show_json(found)
    else:
        show_table(("what", "is"), list(found.items()))
