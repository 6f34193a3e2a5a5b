"""What the command prints: aligned tables for people, one JSON document for programs."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

import click

__all__ = ["show_json", "show_table"]


def show_json(document: Any) -> None:  # noqa: ANN401 (whatever JSON can hold)
    """One JSON document on standard output; numbers are not rounded for looks."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=2))


def show_table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Rows under their heads; a head that ends in a space or a unit in brackets aligns right."""
    lines = [tuple(row) for row in rows]
    widths = [max(len(text) for text in column) for column in zip(heads, *lines, strict=True)]
    right = [head.startswith(" ") for head in heads]
    for line in (tuple(heads), *lines):
        cells = (
            text.rjust(width) if to_right else text.ljust(width)
            for text, width, to_right in zip(line, widths, right, strict=True)
        )
        click.echo("  ".join(cells).rstrip())
