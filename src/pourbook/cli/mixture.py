"""The verb `mixture`: statistics of blends, from files alone."""

import click

from pourbook.cli.mixture_models import fit_command

__all__ = ["mixture_verb"]


@click.group("mixture")
def mixture_verb() -> None:
    """Work out blends as statistics: models of what was tasted.

    Files are tables of parts or fractions; no book is needed.

    \b
    Example:
      pourbook mixture fit flight.csv --response pear --model quadratic
    """


mixture_verb.add_command(fit_command)
