"""Verbs that read codes: scan what a scanner sent, read what a camera saw."""

from pathlib import Path

import click

from pourbook.cli.door import Door, reading
from pourbook.errors import PourbookError

__all__ = ["read_verb", "scan_verb"]


@click.command("scan")
@click.argument("text")
@reading
def scan_verb(door: Door, text: str) -> None:
    """Identify a scan: one of our identifiers, a GS1 code or a link; or say what is wrong with it.

    TEXT is what a scanner sends or a person types, with or without hyphens, symbology prefix and
    separators. With a book it also says which item is meant, and takes the house's own names.

    \b
    Example:
      pourbook scan C-000001-H
      pourbook scan "]C1010952123400567410L26-118" --json
      pourbook scan https://id.gs1.org/01/09521234005674/10/L26-118
    """
    from pourbook.documents.scans import scan_shown
    from pourbook.queries.items.what_was_scanned import what_was_scanned

    door.show(scan_shown(what_was_scanned(text, door.named_book)))


@click.command("read")
@click.argument("file", type=click.Path(path_type=Path))
@reading
def read_verb(door: Door, file: Path) -> None:
    """Read the codes in a photo, a scan or a PDF, and say of each what it is.

    Takes PNG, JPEG and PDF; looks for Data Matrix, QR Code, Code 128 and EAN. Exit status 1 if
    the check character of a code does not agree, or a code is not in the book.

    \b
    Example:
      pourbook read shelf.jpg
      pourbook read labels.pdf --json
    """
    from pourbook.documents.scans import seen_shown
    from pourbook.input_files import whole
    from pourbook.labels.decoding import MOST_BYTES
    from pourbook.queries.items.what_was_scanned import codes_seen

    codes = codes_seen(whole(file, MOST_BYTES), file.name, door.named_book)
    door.show(seen_shown(str(file), codes))
    if any(isinstance(code.found, PourbookError) for code in codes):
        raise click.exceptions.Exit(1)
