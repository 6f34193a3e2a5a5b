"""Models of blends as documents and in lines: the fit with what it can and cannot say, and what more of a part does."""

from math import floor, isfinite, log10
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import readable
from pourbook.documents.shown import Shown, aligned, fields, listed, recorded_shown
from pourbook.mixtures.models import LEAST_LEFT, TooFew
from pourbook.mixtures.terms import terms as terms_of
from pourbook.numerals import counted
from pourbook.queries.items.called import at_sight

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pourbook.actions.tolerances import ToleranceKept
    from pourbook.house_style import HouseStyle
    from pourbook.mixtures.effects import Effect, Estimate, Prediction
    from pourbook.mixtures.glasses import Glasses
    from pourbook.mixtures.models import Fit
    from pourbook.mixtures.neighbourhood import Drift, Reach

__all__ = ["component_named", "drift_kept_shown", "drift_shown", "fit_shown", "too_few_said", "too_few_shown"]

_DIGITS = 3
_MOST_DECIMALS = 8

_MODELS = {"linear": "a linear model", "quadratic": "a quadratic model", "special-cubic": "a special cubic model"}


def _or_none(value: float | None) -> float | None:
    """A number that JSON can hold: what is not known is null."""
    return None if value is None or not isfinite(value) else value


def _numbers(values: Any) -> dict[str, Any]:  # noqa: ANN401 (any named tuple)
    return {name: _or_none(one) if isinstance(one, float) else one for name, one in values._asdict().items()}


def _of_glasses(glasses: "Glasses", response: str, model: str) -> dict[str, Any]:
    return {
        "response": response,
        "model": model,
        "components": list(glasses.components),
        "left_out": list(glasses.left_out),
        "glasses": len(glasses.response),
    }


def component_named(name: str, called: "Mapping[str, str]") -> str:
    """A component as people know it: a cask by what it is called, too, and what was not recorded by a word.

    >>> component_named("C000002F", {"C000002F": "Row 1/02"}), component_named("ash", {}), component_named("", {})
    ('C-000002-F · Row 1/02', 'ash', 'not recorded')
    """
    return at_sight(name, called[name]) if name in called else readable(name) or "not recorded"


def _term(components: "Sequence[str]", called: "Mapping[str, str]") -> str:
    """A term: a component alone with all its names, several by the shortest."""
    alone = len(components) == 1
    return component_named(components[0], called) if alone else "*".join(component_named(one, {}) for one in components)


# -- too few -----------------------------------------------------------------------------


def too_few_said(found: TooFew, what: str = "terms") -> str:
    """Why coefficients cannot be told apart, as a sentence."""
    count = f"{counted(found.glasses, 'glass', 'glasses')} of {counted(found.blends, 'blend')}"
    return f"too few glasses to say: {count} tell {found.told_apart} of the {found.needed} {what} apart"


def too_few_shown(found: TooFew, glasses: "Glasses", response: str, silent: int) -> Shown:
    """Why coefficients cannot be told apart, and which simpler model could be fitted."""
    said = too_few_said(found, "terms and levels of assessors" if glasses.assessors else "terms")
    could = " or ".join(_MODELS[one] for one in found.possible)
    says = (said, f"{could} could be fitted" if could else "taste more different blends")
    document = {
        **_of_glasses(glasses, response, found.model),
        "blends": found.blends,
        "coefficients": dict.fromkeys(found.terms),
        "standard_errors": dict.fromkeys(found.terms),
        **dict.fromkeys(("sd", "df", "r2", "r2_adjusted", "anova", "lack_of_fit", "cross_validated", "assessors")),
        "verdict": "too-few",
        "says": list(says),
        "predicted": None,
        "effects": [],
    }
    return Shown(document, says, _beside(glasses, response, silent))


def _beside(glasses: "Glasses", response: str, silent: int) -> tuple[str, ...]:
    """What was left out."""
    words = f"note: taken as words, not as components: {', '.join(glasses.left_out)}"
    unsaid = f"note: left out: {counted(silent, 'note')} that say{'s' if silent == 1 else ''} nothing of {response}"
    return (*((words,) if glasses.left_out else ()), *((unsaid,) if silent else ()))


# -- a fit -------------------------------------------------------------------------------


def fit_shown(
    fit: "Fit", blends: int, response: str, predicted: "Prediction", effects: "tuple[Effect, ...]",
    confidence: float, silent: int, called: "Mapping[str, str]", style: "HouseStyle",
) -> Shown:  # fmt: skip
    """A fit, the response of a blend, and what more of each component does to it."""
    errors = [float(fit.covariance[at, at]) ** 0.5 for at in range(len(fit.terms))]
    says = _says(fit, style)
    document = {
        **_of_glasses(fit.glasses, response, fit.model),
        "blends": blends,
        "coefficients": dict(zip(fit.terms, fit.coefficients.tolist(), strict=True)),
        "standard_errors": dict(zip(fit.terms, map(_or_none, errors), strict=True)),
        "sd": _or_none(fit.sd),
        "df": fit.df,
        "r2": fit.r2,
        "r2_adjusted": fit.r2_adjusted,
        "anova": _numbers(fit.anova),
        "lack_of_fit": _numbers(fit.lack_of_fit) if fit.lack_of_fit else None,
        "cross_validated": _numbers(fit.cross_validated) if fit.cross_validated else None,
        "assessors": _assessors(fit),
        "verdict": fit.verdict,
        "says": list(says),
        "predicted": _predicted_document(fit, predicted, confidence),
        "effects": [
            {"component": one.component, "parts": one.parts, **_numbers(one.change), "beyond": one.is_beyond}
            for one in effects
        ],
    }
    digits = _decimals(fit)
    components = fit.glasses.components
    places = terms_of(len(components), fit.model)
    terms = listed(
        range(len(fit.terms)),
        ("term", lambda at: _term([components[one] for one in places[at]], called)),
        (" coefficient", lambda at: style.shown(float(fit.coefficients[at]), digits)),
        (" standard error", lambda at: _shown(errors[at], digits, style)),
    )
    blend = _of_the_blend(fit, response, predicted, confidence, called, style)
    lines = (*terms, *says, "", *blend, *_table(effects, digits, called, style))
    return Shown(document, lines, (*_beside(fit.glasses, response, silent), *_beyond(predicted, called)))


def _assessors(fit: "Fit") -> dict[str, Any] | None:
    names = set(fit.glasses.assessors)
    if len(names) < 2:
        return None
    return {"count": len(names), "as": "sample" if fit.levels else "block", "sd": fit.levels.sd if fit.levels else None}


def _predicted_document(fit: "Fit", predicted: "Prediction", confidence: float) -> dict[str, Any]:
    return {
        "blend": dict(zip(fit.glasses.components, predicted.blend.tolist(), strict=True)),
        **_numbers(predicted.mean),
        "glass_low": _or_none(predicted.glass_low),
        "glass_high": _or_none(predicted.glass_high),
        "confidence": confidence,
        "beyond": list(predicted.beyond),
    }


def _decimals(fit: "Fit") -> int:
    """Decimals at which the noise of a glass has three digits; without noise, the largest coefficient."""
    scale = fit.sd if isfinite(fit.sd) and fit.sd > 0 else float(abs(fit.coefficients).max())
    return min(max(_DIGITS - 1 - floor(log10(scale)), 0), _MOST_DECIMALS) if scale > 0 else _DIGITS


def _shown(value: float, digits: int, style: "HouseStyle") -> str:
    return style.shown(value, digits) if isfinite(value) else "–"


def _says(fit: "Fit", style: "HouseStyle") -> tuple[str, ...]:
    """What may be made of the fit, in sentences."""
    foretold, lack, digits = fit.cross_validated, fit.lack_of_fit, _decimals(fit)
    said = []
    if fit.r2 is not None:
        part = f"parts explain {style.shown(100 * fit.r2, 0)} % of how glasses differ"
        said.append(f"{part} (R² about the mean {style.shown(fit.r2, 3)}){_noise(fit, digits, style)}")
    if lack and lack.p_value is not None:
        said.append(
            f"chance alone makes blends miss the model so far with a probability of {_p(lack.p_value, style)}"
            f" (lack of fit, F {style.shown(lack.f or 0.0, 2)})"
        )
    if foretold:
        what = "blend" if fit.glasses.assessors else "glass"
        said.append(
            f"a {what} left out is foretold to ± {style.shown(foretold.error, digits)}"
            f" (R² {style.shown(foretold.r2, 3)})"
        )
    return (*said, _verdict(fit))


def _noise(fit: "Fit", digits: int, style: "HouseStyle") -> str:
    if not isfinite(fit.sd):
        return ""
    levels = f", assessors differ by {style.shown(fit.levels.sd, digits)}" if fit.levels else ""
    left = f"one standard deviation, {counted(fit.df, 'degree')} of freedom"
    return f"; a glass varies by {style.shown(fit.sd, digits)} ({left}){levels}"


def _p(value: float, style: "HouseStyle") -> str:
    return f"below {style.shown(0.001, 3)}" if value < 0.001 else style.shown(value, 3)


def _verdict(fit: "Fit") -> str:
    if fit.verdict == "too-few" and fit.df < LEAST_LEFT:
        left = f"only {fit.df}" if fit.df else "none"
        return f"too few glasses to say: {left} beyond the terms, and {LEAST_LEFT} are the least that is worth a word"
    return _VERDICTS[fit.verdict]


_VERDICTS = {
    "too-few": "too few glasses to say: without one of them the model could not be fitted",
    "no-difference": "all glasses were found the same: nothing is learned from them, nor proved",
    "no-better": "it foretells no better than the mean of all: too few glasses, or these parts matter little",
    "lacks-fit": "blends miss the model by more than glasses of one blend differ: try the next richer model",
    "usable": "within what was tasted it may be used",
}


def _interval(of: "Estimate", digits: int, style: "HouseStyle") -> str:
    return f"{_shown(of.low, digits, style)} to {_shown(of.high, digits, style)}"


def _of_the_blend(
    fit: "Fit", response: str, predicted: "Prediction", confidence: float, called: "Mapping[str, str]",
    style: "HouseStyle",
) -> tuple[str, ...]:  # fmt: skip
    digits, percent = _decimals(fit), style.shown(100 * confidence, 0)
    parts = zip(fit.glasses.components, predicted.blend.tolist(), strict=True)
    blend = (f"{style.shown(100 * part, 1)} % {component_named(name, called)}" for name, part in parts if part)
    ends = (_shown(one, digits, style) for one in (predicted.glass_low, predicted.glass_high))
    mean = f"{_shown(predicted.mean.value, digits, style)}, {_interval(predicted.mean, digits, style)} ({percent} %)"
    return aligned([
        ("blend", ", ".join(blend)),
        (response, f"{mean}; a single glass {' to '.join(ends)}"),
    ])  # fmt: skip


def _table(
    effects: "tuple[Effect, ...]", digits: int, called: "Mapping[str, str]", style: "HouseStyle"
) -> tuple[str, ...]:
    return listed(
        effects,
        ("more of", lambda one: component_named(one.component, called)),
        (" parts in 100", lambda one: f"+{one.parts:g}"),
        (" change", lambda one: style.shown(one.change.value, digits + 1)),
        (" interval", lambda one: _interval(one.change, digits + 1, style)),
        ("", lambda one: "beyond what was tasted" if one.is_beyond else ""),
    )


def _beyond(predicted: "Prediction", called: "Mapping[str, str]") -> tuple[str, ...]:
    if not predicted.beyond:
        return ()
    beyond = ", ".join(component_named(one, called) for one in predicted.beyond)
    return (f"note: beyond what was tasted of {beyond}: the model was never tried there",)


# -- how far parts may drift -------------------------------------------------------------


def drift_shown(
    found: "tuple[Drift, ...]", fits: "Mapping[str, Fit]", d_prime: float, noticed_by: tuple[int, str, float] | None,
    called: "Mapping[str, str]", style: "HouseStyle",
) -> Shown:  # fmt: skip
    """How far each part may drift; `noticed_by` so many assessors in which test, in what share of tests."""
    document = {
        "responses": {name: {"sd": fit.sd, "df": fit.df, "verdict": fit.verdict} for name, fit in fits.items()},
        "d_prime": d_prime,
        "noticed_by": dict(zip(("assessors", "test", "chance"), noticed_by, strict=True)) if noticed_by else None,
        "parts": [
            {"component": one.component, "fraction": one.fraction, "likely": one.likely._asdict(),
             "cautious": one.cautious._asdict()}
            for one in found
        ],
    }  # fmt: skip
    table = listed(
        found,
        ("part", lambda one: component_named(one.component, called)),
        (" % of the blend", lambda one: style.shown(100 * one.fraction, 2)),
        (" may be, cautiously", lambda one: _reach(one.cautious, style)),
        (" likely", lambda one: _reach(one.likely, style)),
    )
    by = f"{counted(noticed_by[0], 'assessor')} in a {noticed_by[1]} test notice" if noticed_by else "noticed from"
    often = f" in {style.shown(100 * noticed_by[2], 0)} % of tests" if noticed_by else ""
    says = (f"{by} a difference of d' {style.shown(d_prime, 2)}{often}; * is as far as was tasted, not noticed there",)
    doubtful = [name for name, fit in fits.items() if fit.verdict != "usable"]
    notes = (f"note: what the model says of {', '.join(doubtful)} is doubtful: pourbook mixture fit",)
    return Shown(document, (*table, *says), notes if doubtful else ())


def _reach(reach: "Reach", style: "HouseStyle") -> str:
    ends = ((reach.low, reach.low_known), (reach.high, reach.high_known))
    return " to ".join(style.shown(100 * end, 2) + ("" if known else "*") for end, known in ends)


def drift_kept_shown(kept: "ToleranceKept", drift: Shown, style: "HouseStyle") -> Shown:
    """How far parts may drift, and what of it was kept as a tolerance."""
    parts = [fields(part, "stands_for", "fixed", "ratio") for part in kept.recipe.parts]
    document = {**drift.document, "id": kept.id or None, "tolerance": kept.recipe.name, "bounds": parts}
    bounds = listed(
        kept.recipe.parts,
        ("kept of", lambda one: readable(one.component)),
        (" parts", lambda one: one.parts),
        (" bounds", lambda one: one.bounds or "none: it is of several kinds, or was not tasted"),
    )
    shown = recorded_shown(kept.recorded, document, (*drift.said, *bounds), style)
    return shown._replace(notes=(*shown.notes, *drift.notes))
