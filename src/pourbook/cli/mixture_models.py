"""Models of blends, parts of the verb `mixture`: `fit`, and `drift`, how far a part may drift unnoticed."""

from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import click

from pourbook.cli.door import Door, reading, recording
from pourbook.cli.options import FORCE, options, pair, share
from pourbook.errors import Malformed, Refused

if TYPE_CHECKING:
    from pourbook.mixtures.effects import Prediction
    from pourbook.mixtures.glasses import Blend, Glasses
    from pourbook.mixtures.models import Fit
    from pourbook.mixtures.terms import Model
    from pourbook.queries.tastings.tasted_blends import Tasting
    from pourbook.queries.traces.made_of import Grouping

__all__ = ["drift_command", "fit_command"]

_MODEL_NAMES = ("linear", "quadratic", "special-cubic")
_TESTS = ("triangle", "duo-trio", "three-afc", "tetrad", "paired")


class _Typed(NamedTuple):
    """The options of a model, as text."""

    file: str | None
    model: "Model"
    components: tuple[str, ...]
    assessor: str
    as_sample: bool
    trials: str | None
    group_by: "Grouping"
    without_water: bool
    stage: str
    at: tuple[str, ...]
    of: str | None
    confidence: str

    @property
    def tasting(self) -> "Tasting":
        """Which notes of the book are wanted."""
        from pourbook.queries.tastings.tasted_blends import Tasting

        named = () if self.trials in (None, "all") else [one.strip() for one in (self.trials or "").split(",")]
        return Tasting(named, self.group_by, self.without_water, self.stage)


_model_options = options(
    click.argument("file", required=False),
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
    click.option("--trials", metavar="ITEM[,ITEM…]|all", help="Instead of FILE: tasting notes of the book on these."),
    click.option(
        "--group-by", type=click.Choice(("cask", "wood", "spirit", "kind", "component")), default="cask",
        help="What their parts are told apart by; default: cask.",
    ),
    click.option("--without-water", is_flag=True, help="Take them as they were beside the water."),
    click.option("--stage", default="", metavar="STAGE", help="Of an intensity: nose, first, middle or finish."),
    click.option(
        "--at", multiple=True, metavar="COMPONENT=PARTS", help="Of a blend; default: the middle of what was tasted."
    ),
    click.option("--of", metavar="BLEND", help="Instead of --at: a trial, batch, lot or recipe of the book."),
    click.option("--confidence", default="95 %", metavar="SHARE", help="Of intervals: 0.95, or '95 %', the default."),
)  # fmt: skip


# -- what was tasted ---------------------------------------------------------------------


class _Tasted(NamedTuple):
    """Glasses; how many notes say nothing of the response, and what casks are called."""

    glasses: "Glasses"
    silent: int = 0
    called: Mapping[str, str] = {}


def _tasted(door: Door, typed: _Typed, response: str) -> _Tasted:
    """The glasses of a table, or of notes in the book."""
    if (typed.file is None) == (typed.trials is None):
        raise Malformed("one source is needed", "name a FILE of glasses, or --trials of the book")
    if typed.trials is not None:
        from pourbook.queries.tastings.tasted_blends import tasted_blends

        found = tasted_blends(door.book, response, typed.tasting)
        return _Tasted(found.glasses, found.silent, found.called)
    if typed.as_sample and not typed.assessor:
        raise Malformed("--sample is of assessors", "name their column with --assessor")
    from pourbook.exchange.tables.plain_table import plain_table
    from pourbook.exchange.tables.table_files import one_table
    from pourbook.mixtures.glasses import Asked, glasses_of

    source = one_table(typed.file or "", "glasses")
    named = tuple(one.strip() for text in typed.components for one in text.split(",") if one.strip())
    table = plain_table(source, (response, typed.assessor, *named), door.style.mark)
    asked = Asked(response, typed.assessor, named)
    return _Tasted(glasses_of(source.name, table.headings, table.rows, asked, door.style.number))


def _blend(door: Door, typed: _Typed, fit: "Fit") -> "Blend":
    """The blend of --at or --of as fractions; else the middle of what was tasted."""
    from pourbook.mixtures.effects import middle
    from pourbook.mixtures.glasses import blend_of

    components = fit.glasses.components
    if typed.of:
        from pourbook.queries.tastings.tasted_blends import tasted_blend

        return tasted_blend(door.book, typed.of, components, typed.tasting)
    named = (pair(text, "COMPONENT=PARTS", "ash=70", at_last=True) for text in typed.at)
    parts = {_component(door, typed, name, components): float(door.style.number(part)) for name, part in named}
    return blend_of(components, parts) if parts else middle(fit)


def _component(door: Door, typed: _Typed, name: str, components: tuple[str, ...]) -> str:
    """A component as it was typed; a cask of the book by any of its names."""
    return name if typed.trials is None or typed.group_by != "cask" or name in components else door.book.find(name)


# -- fit ---------------------------------------------------------------------------------


@click.command("fit")
@click.option("--response", required=True, metavar="NAME", help="Column, or of notes: a word, liking, score, finish.")
@_model_options
@click.option("--traces", metavar="FILE", help="Draw the response along each component: .svg, .pdf or .png.")
@click.option("--contours", metavar="FILE", help="Draw the response over three components.")
@click.option("--over", metavar="A,B,C", help="Which three; the others are held as in the blend.")
@FORCE
@reading
def fit_command(
    door: Door, response: str, traces: str | None, contours: str | None, over: str | None, force: bool,
    **typed: Any,  # noqa: ANN401 (the options of a model)
) -> None:  # fmt: skip
    """Fit a model of blends to what was tasted, and say what it can and cannot tell.

    FILE has a row for each glass: a column of parts or fractions for each component, and what was
    found. Instead of it, --trials takes tasting notes of the book, each assessor with a level of their
    own. A linear model takes components as adding up; a quadratic one lets every two change each
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
      pourbook mixture fit --trials all --response pear --group-by wood --of T-000003-K
    """
    from pourbook.documents.mixture_models import fit_shown, too_few_shown
    from pourbook.mixtures.effects import effects, predicted
    from pourbook.mixtures.glasses import same_blends
    from pourbook.mixtures.models import TooFew, fit

    options = _Typed(**typed)
    level = share(options.confidence, "--confidence", door.style.number)
    tasted = _tasted(door, options, response)
    glasses = tasted.glasses
    found = fit(glasses, options.model, as_sample=options.as_sample)
    if isinstance(found, TooFew):
        door.show(too_few_shown(found, glasses, response, tasted.silent))
        return
    blend = _blend(door, options, found)
    said = predicted(found, blend, level), effects(found, blend, level=level)
    wanted = {name: path for name, path in (("traces", traces), ("contours", contours)) if path}
    for picture in wanted.items():
        _draw(door, found, response, said[0], level, picture, over, tasted.called, force=force)
    blends = len(set(same_blends(glasses.blends)))
    door.show(fit_shown(found, blends, response, *said, level, tasted.silent, tasted.called, door.style))
    door.tell(f"written: {path}" for path in wanted.values())


def _draw(
    door: Door, fit: "Fit", response: str, at: "Prediction", level: float, wanted: tuple[str, str], over: str | None,
    called: Mapping[str, str], *, force: bool,
) -> None:  # fmt: skip
    """Draw one picture into a file."""
    from pourbook.documents.mixture_models import component_named
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
        named = [one._replace(component=component_named(one.component, called)) for one in along]
        picture = traces(named, response, at, fit.glasses.blends, shown, suffix)
    else:
        three = tuple(one.strip() for one in over.split(",")) if over else components
        found = section(fit, at.blend, three, level=level)
        names = tuple(component_named(one, called) for one in found.components)
        held = {component_named(one, called): part for one, part in found.held.items()}
        picture = contours(found._replace(components=names, held=held), response, shown, suffix)
    write_file(Path(path), picture, force=force)


# -- drift -------------------------------------------------------------------------------


@click.command("drift")
@click.option("--response", "responses", required=True, multiple=True, metavar="NAME", help="As of fit; one or more.")
@_model_options
@click.option("--noticed-by", "assessors", type=click.IntRange(min=1), metavar="N", help="By how many assessors.")
@click.option("--test", type=click.Choice(_TESTS), default="triangle", show_default=True, help="In which test.")
@click.option(
    "--alpha", default="5 %", metavar="RISK", help="Of finding what is not there: 0.05, or '5 %', the default."
)
@click.option("--chance", default="50 %", metavar="SHARE", help="Of finding it, from which it counts; default: 50 %.")
@click.option("--d-prime", metavar="NUMBER", help="Instead of --noticed-by: the d' that is just noticed.")
@click.option("--keep", is_flag=True, help="Keep it as the tolerance of the trial or recipe of --of.")
@recording
def drift_command(
    door: Door, responses: tuple[str, ...], assessors: int | None, test: str, alpha: str, chance: str,
    d_prime: str | None, keep: bool, **typed: Any,  # noqa: ANN401 (the options of a model)
) -> None:  # fmt: skip
    """Say how far each part of a blend may drift before so many assessors would notice.

    Each part alone, the others keeping their proportions. What a drift does is taken from a model of
    each response, against what a single glass varies by; several responses together are noticed sooner.
    The cautious limits allow for what the glasses leave in doubt. No limit goes beyond what was tasted.
    Give rows of single glasses: means vary less, and would allow too little.

    With --keep the cautious limits are bounds of the trial or recipe: pourbook scale-up warns of a part
    beyond them. The book must know it and what was tasted (--trials); a recipe is written anew, with
    --confirm.

    \b
    Example:
      pourbook mixture drift flight.csv --response pear --response smoke --assessor assessor
          --component base,chestnut,heather --at base=80 --at chestnut=14 --at heather=6 --noticed-by 12
      pourbook mixture drift --trials all --response pear --of T-000003-K --d-prime 1 --keep
    """
    from pourbook.documents.mixture_models import drift_kept_shown, drift_shown
    from pourbook.mixtures.neighbourhood import neighbourhood
    from pourbook.panels.noticing import noticed_d_prime

    options = _Typed(**typed)
    if (assessors is None) == (d_prime is None):
        raise Malformed("how much is noticed is needed", "give --noticed-by N or --d-prime NUMBER")
    if keep and not (options.of and options.trials):
        raise Malformed("a tolerance is that of a trial or recipe", "name it with --of, and give --trials")
    least = float(door.style.number(d_prime)) if d_prime else 0.0
    risk, power = (share(text, name, door.style.number) for text, name in ((alpha, "--alpha"), (chance, "--chance")))
    if assessors:
        least = noticed_d_prime(test, assessors, risk, power)
    if least <= 0:
        raise Malformed(f"a d' of {d_prime}", "give one above zero")
    fits, called = _fits(door, options, responses)
    blend = _blend(door, options, fits[responses[0]])
    level = share(options.confidence, "--confidence", door.style.number)
    found = neighbourhood(list(fits.values()), blend, least, level)
    noticed_by = (assessors, test, power) if assessors else None
    said = drift_shown(found, fits, least, noticed_by, called, door.style)
    if not keep:
        door.show(said)
        return
    from pourbook.actions.tolerances import cautious_limits, keep_tolerance

    kept = keep_tolerance(door.book, door.how, options.of or "", cautious_limits(found), options.group_by)
    door.show(drift_kept_shown(kept, said, door.style))


def _fits(door: Door, options: _Typed, responses: tuple[str, ...]) -> "tuple[dict[str, Fit], Mapping[str, str]]":
    """A model of each response, all of the same components, and what those are called."""
    from pourbook.documents.mixture_models import too_few_said
    from pourbook.mixtures.models import TooFew, fit

    found: dict[str, Fit] = {}
    for response in responses:
        tasted = _tasted(door, options, response)
        fitted = fit(tasted.glasses, options.model, as_sample=options.as_sample)
        if isinstance(fitted, TooFew) or not fitted.df:
            said = too_few_said(fitted) if isinstance(fitted, TooFew) else "too few glasses to say"
            raise Refused(f"{response}: {said}", "taste more different blends, or give a simpler --model")
        if not fitted.sd:
            raise Refused(f"{response}: glasses do not vary at all", "give what assessors found, not means")
        found[response] = fitted
    if len({fitted.glasses.components for fitted in found.values()}) > 1:
        raise Refused("the responses were found in blends of other components", "ask of each alone")
    return found, tasted.called
