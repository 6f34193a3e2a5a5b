"""The verb that shows the shape of a drink."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import AT, FORCE, item_argument
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.queries.tastings.shape_values import Shape

__all__ = ["shape_verb"]


@click.command("shape")
@item_argument("items", many=True)
@click.option("--words", metavar="WORD,WORD", default="", help="Only these words, in this order.")
@click.option("-o", "--output", type=click.Path(path_type=Path), metavar="FILE", help="Draw it: .svg, .pdf; or .csv.")
@AT
@FORCE
@reading
def shape_verb(
    door: Door, items: tuple[str, ...], words: str, output: Path | None, at: str | None, force: bool
) -> None:
    """Show the shape of drinks, from nose to finish: how strong each word of their tasting notes is.

    A trial, batch or lot alone brings its components along: theirs above, below them what is expected
    by their parts and what was tasted, all on one scale. So a gap is seen, such as a sweet start that
    ends short, and what could fill it. Expected is a plain sum by parts; blends are not additive.

    A figure is the mean of the notes, with the lowest and the highest of them. A word that a note
    leaves out of a stage with intensities counts as nothing there.

    \b
    Example:
      pourbook shape "Trial 26-B"
      pourbook shape "Trial 26-B" --words pear,oak -o shape.pdf
      pourbook shape "Q 31" "Q 204" "Trial 26-B" -o shape.svg
      pourbook shape T-000002-M -o shape.csv --json
    """
    from pourbook.documents.shapes import shape_shown

    found = door.book.shape(items, [word.strip() for word in words.split(",") if word.strip()], door.style.as_of(at))
    if output is not None:
        from pourbook.one_file import write_file

        write_file(output, _drawn(door, items[0], found, output), force=force, never=door.book.files)
        click.echo(f"written: {output}", err=True)
    door.show(shape_shown(found, door.style))


def _drawn(door: Door, item: str, found: "Shape", output: Path) -> bytes:
    ending = output.suffix.lower()
    if ending == ".csv":
        from pourbook.documents.accounts import csv_bytes
        from pourbook.documents.shapes import shape_table

        return csv_bytes(*shape_table(found))
    if ending not in (".svg", ".pdf"):
        raise Malformed(f"'{output.name}' is not an SVG, PDF or CSV file", "end it in .svg, .pdf or .csv")
    from pourbook.paperwork.shape_of import shape_picture

    return shape_picture(door.book, found, door.book.find(item), as_pdf=ending == ".pdf")
