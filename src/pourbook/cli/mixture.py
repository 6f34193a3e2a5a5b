"""The verb `mixture`: statistics of blends, from files or from the book."""

import click

from pourbook.cli.mixture_designs import design_command, vertices_command
from pourbook.cli.mixture_models import drift_command, fit_command
from pourbook.cli.mixture_next import next_command

__all__ = ["mixture_verb"]


@click.group("mixture")
def mixture_verb() -> None:
    """Work out blends as statistics: designs of trials, models of what was tasted, the next glass.

    Files are tables of parts or fractions; without --trials no book is needed.

    \b
    Example:
      pourbook mixture design bounds.csv --glasses 12 --model quadratic
      pourbook mixture fit flight.csv --response pear --model quadratic
      pourbook mixture next bounds.csv flight.csv --wish "liking more"
    """


mixture_verb.add_command(vertices_command)
mixture_verb.add_command(design_command)
mixture_verb.add_command(fit_command)
mixture_verb.add_command(drift_command)
mixture_verb.add_command(next_command)
