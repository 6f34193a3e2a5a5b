"""What the command prints: aligned tables for people, one JSON document for programs."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

import click

from pourbook.documents.shown import table

__all__ = ["show_json", "show_table"]


def show_json(document: Any) -> None:  # noqa: ANN401 (whatever JSON can hold)
    """One JSON document on standard output; numbers are not rounded for looks."""
    click.echo(json.dumps(document, ensure_ascii=False, indent=2))


def show_table(heads: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    """Rows under their heads; a head that begins with a space aligns right."""
    for line in table(heads, rows):
        click.echo(line)
