"""The flow picture of a trace, to a file: what `pourbook trace ITEM --picture FILE` writes."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door
from pourbook.cli.printing import target_of, write_whole
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["write_picture"]

_HEADING = "Flow of pure alcohol"


def write_picture(door: Door, trace: "Trace", picture: Path) -> None:
    """Draw a trace that was made by alcohol.

    Raises:
        Malformed: neither SVG nor PDF.
        StoreError: the file is there, or cannot be written.
    """
    from pourbook.papers.page import Title
    from pourbook.paperwork.flow_of import flow_of
    from pourbook.paperwork.imprint import imprint_of_state

    if picture.suffix.lower() not in (".svg", ".pdf"):
        raise Malformed(f"'{picture.name}' names no kind of picture", "end it in .svg or .pdf")
    target = target_of(picture, "", force=False)
    flow, imprint = flow_of(trace, door.book.zone), imprint_of_state(door.book)
    title = Title(_HEADING, hyphened(trace.item.id), trace.item.id)
    if picture.suffix.lower() == ".pdf":
        from pourbook.papers.flow.flow_drawing import flow_paper

        write_whole(target, flow_paper(flow, imprint, title, door.settings["paper"]))
    else:
        from pourbook.papers.flow.flow_svg import flow_document

        write_whole(target, flow_document(flow, imprint, title).encode())
    click.echo(f"picture: {target}", err=True)
