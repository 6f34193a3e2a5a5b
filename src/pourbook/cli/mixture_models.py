"""Models of blends: `mixture fit`, part of the verb `mixture`."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, reading
from pourbook.cli.options import FORCE, options, pair
from pourbook.errors import Malformed

if TYPE_CHECKING:
    from pourbook.mixtures.effects import Prediction
    from pourbook.mixtures.glasses import Blend, Glasses
    from pourbook.mixtures.models import Fit
    from pourbook.mixtures.terms import Model

__all__ = ["fit_command"]

_MODEL_NAMES = ("linear", "quadratic", "special-cubic")

_model_options = options(
    click.option(
        "--model", type=click.Choice(_MODEL_NAMES), default="linear", show_default=True,
        help="What components may do together.",
    ),
    click.option(
        "--component", "components", multiple=True, metavar="COLUMN[,COLUMN…]",
        help="Components; default: every other column with numbers.",
    ),
    click.option(
        "--assessor", metavar="COLUMN", default="", help="Who tasted, or on which day: each has a level of their own."
    ),
    click.option("--sample", "as_sample", is_flag=True, help="Assessors are a sample of many, not the panel itself."),
    click.option(
        "--at", multiple=True, metavar="COMPONENT=PARTS", help="Of a blend; default: the middle of what was tasted."
    ),
    click.option("--confidence", default="95", metavar="PERCENT", help="Of intervals; default: 95."),
)  # fmt: skip


def _glasses(door: Door, file: str, response: str, assessor: str, components: tuple[str, ...]) -> "Glasses":
    """The glasses of a table."""
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.mixtures.glasses import Asked, glasses_of

    source, named = one_table(file, "glasses"), [one.strip() for text in components for one in text.split(",")]
    table = plain_table(source, (response, assessor, *named), door.style.mark)
    asked = Asked(response, assessor, tuple(named))
    return glasses_of(source.name, table.headings, table.rows, asked, door.style.number)


def _blend(door: Door, glasses: "Glasses", typed: tuple[str, ...]) -> "Blend | None":
    """The blend of --at as fractions; None where none was typed."""
    from pourbook.mixtures.glasses import blend_of

    parts = dict(pair(text, "COMPONENT=PARTS", "ash=70", at_last=True) for text in typed)
    numbers = {name: float(door.style.number(part)) for name, part in parts.items()}
    return blend_of(glasses.components, numbers) if typed else None


def _confidence(door: Door, text: str) -> float:
    found = float(door.style.number(text)) / 100
    if not 0 < found < 1:
        raise Malformed(f"a confidence of {text} %", "give one between 0 and 100, such as 95")
    return found


@click.command("fit")
@click.argument("file")
@click.option("--response", required=True, metavar="COLUMN", help="What was found: an intensity, a liking, a score.")
@_model_options
@click.option("--traces", metavar="FILE", help="Draw the response along each component: .svg, .pdf or .png.")
@click.option("--contours", metavar="FILE", help="Draw the response over three components.")
@click.option("--over", metavar="A,B,C", help="Which three; the others are held as in the blend.")
@FORCE
@reading
def fit_command(
    door: Door, file: str, response: str, model: "Model", components: tuple[str, ...], assessor: str, as_sample: bool,
    at: tuple[str, ...], confidence: str, force: bool, over: str | None, **pictures: str | None,
) -> None:  # fmt: skip
    """Fit a model of blends to what was tasted, and say what it can and cannot tell.

    FILE has a row for each glass: a column of parts or fractions for each component, and what was
    found. A linear model takes components as adding up; a quadratic one lets every two change each
    other, a special cubic one every three. It answers coefficients, how well it fits and foretells,
    and what one and ten parts in a hundred more of each component do, the others keeping their
    proportions.

    \b
    Example:
      pourbook mixture fit flight.csv --response pear --model quadratic
      pourbook mixture fit flight.csv --response liking --model linear --assessor assessor --json
      pourbook mixture fit flight.csv --response pear --at base=70 --at chestnut=23 --at heather=7
      pourbook mixture fit flight.csv --response pear --model quadratic --traces pear.svg
          --contours pear.pdf --over base,chestnut,heather
    """
    from pourbook.documents.mixture_models import fit_shown, too_few_shown
    from pourbook.mixtures.effects import effects, middle, predicted
    from pourbook.mixtures.glasses import same_blends
    from pourbook.mixtures.models import TooFew, fit

    level = _confidence(door, confidence)
    if as_sample and not assessor:
        raise Malformed("--sample is of assessors", "name their column with --assessor")
    glasses = _glasses(door, file, response, assessor, components)
    found = fit(glasses, model, as_sample=as_sample)
    wanted = {name: path for name, path in pictures.items() if path}
    if isinstance(found, TooFew):
        door.show(too_few_shown(found, glasses, response))
        return
    typed = _blend(door, glasses, at)
    blend = middle(found) if typed is None else typed
    said = predicted(found, blend, level), effects(found, blend, level=level)
    for name, path in wanted.items():
        _draw(door, found, response, said[0], level, (name, path), over, force=force)
    door.show(fit_shown(found, len(set(same_blends(glasses.blends))), response, *said, level, door.style))
    door.tell(f"written: {path}" for path in wanted.values())


def _draw(
    door: Door, fit: "Fit", response: str, at: "Prediction", level: float, wanted: tuple[str, str], over: str | None,
    *, force: bool,
) -> None:  # fmt: skip
    """Draw one picture into a file."""
    from pourbook.mixtures.effects import trace
    from pourbook.mixtures.sections import section
    from pourbook.one_file import check_target, write_file
    from pourbook.papers.plots.figure import suffix_of
    from pourbook.papers.plots.mixture_plots import contours, traces

    (name, path), components, shown = wanted, fit.glasses.components, door.style.shown
    suffix = suffix_of(path)
    check_target(path, force=force)
    if name == "traces":
        along = [trace(fit, at.blend, one, level=level) for one in components]
        picture = traces(along, response, at, fit.glasses.blends, shown, suffix)
    else:
        three = tuple(one.strip() for one in over.split(",")) if over else components
        picture = contours(section(fit, at.blend, three, level=level), response, shown, suffix)
    write_file(Path(path), picture, force=force)
