"""Figures with their uncertainty: of gauges, of the book, of labels and of trials.

>>> uncertainty_words(GaugeUncertainty({"strength_20c": ("63.2541", "0.0642")}, ("temperature",)))
'strength 63.25 ± 0.13 (k = 2) % vol; ± is of the instruments alone, with temperature as exact'
"""

from decimal import Decimal
from math import ceil, floor
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import CAUTION, Shown, aligned, listed
from pourbook.gauging.gauge_uncertainty import LABELS
from pourbook.gauging.recorded_values import GaugeUncertainty
from pourbook.uncertainty.propagation import COVERAGE_FACTOR, Uncertain

if TYPE_CHECKING:
    from collections.abc import Mapping

    from pourbook.gauging.gauge_uncertainty import UncertainFigures
    from pourbook.house_style import HouseStyle
    from pourbook.uncertainty.labelling import LabelStrength
    from pourbook.uncertainty.portions import Portion, TrialDifference

__all__ = [
    "BASIS", "chance_words", "difference_shown", "figures_document", "label_strength_shown", "portions_shown",
    "recorded_document", "trial_size_shown", "uncertainty_document", "uncertainty_shown", "uncertainty_words",
]  # fmt: skip

BASIS = "± is of the instruments alone: stirring and sampling are not in it"
"""Stands beside every ±."""

ONE_PIPETTE = (
    "the error of the one pipette is taken as the same at both marks; where it differs along its scale, the ± lies"
    " between this one and that of two pipettes"
)
"""Stands beside a difference by one pipette: a class limits the error at each mark, not how it runs between them."""

_ROUNDING = 1e-9
_LABELS = {
    "strength_20c": ("strength", "% vol at 20 °C"),
    "mass_kg": ("mass", "kg in vacuum"),
    "ethanol_kg": ("ethanol", "kg"),
    "volume_l_20c": ("volume", "l at 20 °C"),
    "lpa": ("pure alcohol", "l at 20 °C (LPA)"),
}


def uncertainty_document(figure: "Uncertain", coverage_factor: float = COVERAGE_FACTOR) -> dict[str, Any]:
    """A figure with its standard and its expanded uncertainty, and its sources, each a standard uncertainty."""
    return {
        "value": figure.value,
        "standard_uncertainty": figure.standard,
        "expanded_uncertainty": coverage_factor * figure.standard,
        "coverage_factor": coverage_factor,
        "relative_standard_uncertainty": figure.relative if figure.value else None,
        "sources": dict(figure.sources),
    }


def figures_document(found: "UncertainFigures", coverage_factor: float = COVERAGE_FACTOR) -> dict[str, Any]:
    """Figures as documents, each with its words."""
    k = coverage_factor
    return {
        name: {**uncertainty_document(one, k), "shown": one.shown(coverage_factor=k)}
        for name, one in found.figures.items()
    }


def _contributions(figure: "Uncertain", style: "HouseStyle") -> str:
    """The sources that contribute most to an uncertainty."""
    largest = [f"{style.shown(100 * part, 0)} % {source}" for source, part in figure.budget()[:3] if part >= 0.005]
    return "; ".join(largest) or "none known"


def recorded_document(uncertainty: GaugeUncertainty) -> dict[str, Any]:
    """Figures of a recorded gauge, as the decimal text of the record."""
    return {
        name: {
            "value": value,
            "standard_uncertainty": standard,
            "expanded_uncertainty": str(int(COVERAGE_FACTOR) * Decimal(standard)),
            "coverage_factor": COVERAGE_FACTOR,
        }
        for name, (value, standard) in uncertainty.figures.items()
    }


def uncertainty_words(uncertainty: GaugeUncertainty | None, mark: str = ".") -> str:
    """Every figure with its expanded uncertainty, and what that takes as exact; empty where nothing is known."""
    if uncertainty is None:
        return ""
    figures = "; ".join(
        f"{LABELS[name][0]} {Uncertain(float(value), {'gauge': float(standard)}).shown(mark)} {LABELS[name][1]}"
        for name, (value, standard) in uncertainty.figures.items()
    )
    exact = f", with {' and '.join(uncertainty.exact)} as exact" if uncertainty.exact else ""
    return f"{figures}; ± is of the instruments alone{exact}"


# -- gauges and the book ---------------------------------------------------------------


def uncertainty_shown(
    found: "UncertainFigures", style: "HouseStyle", coverage_factor: float = COVERAGE_FACTOR
) -> Shown:
    """The figures of readings, or of an item of the book."""
    document: dict[str, Any] = {name: uncertainty_document(one, coverage_factor) for name, one in found.figures.items()}
    if found.item:
        document = {
            "id": found.item,
            "uncertainty": figures_document(found, coverage_factor),
            "taken_as_exact": list(found.exact),
        }

    def shown(figure: "Uncertain") -> str:
        if figure.standard:
            return figure.shown(style.mark, coverage_factor)
        return f"{style.shown(figure.value, 2)} (no ± known)" if found.item else figure.shown(style.mark)

    lines = [(_LABELS[name][0], f"{shown(figure)} {_LABELS[name][1]}") for name, figure in found.figures.items()]
    most = "lpa" if "lpa" in found.figures else "strength_20c"
    causes = f"contributions to uncertainty of {_LABELS[most][0]}: {_contributions(found.figures[most], style)}"
    taken = tuple(f"taken as exact: {one}" for one in found.exact) if found.item else ()
    wanting = tuple(f"no ±: {one}" for one in found.wanting)
    return Shown(document, (*aligned(lines), causes, *taken), (*_exact_temperature(found), *wanting, BASIS, CAUTION))


def _exact_temperature(found: "UncertainFigures") -> tuple[str, ...]:
    if found.item or "temperature" not in found.exact:
        return ()
    return ("the temperature is taken as exact: --thermometer says how well it was read",)


# -- labels ----------------------------------------------------------------------------


def label_strength_shown(
    found: "LabelStrength", style: "HouseStyle", readings: "UncertainFigures | None" = None
) -> Shown:
    """Whether a strength may stand on a label; `readings` are those that the gauge followed from."""
    shown, check = style.shown, found.check
    document = {
        "gauge": uncertainty_document(found.gauge),
        "label": found.label,
        "tolerance": found.rule.tolerance,
        "rule": found.rule.citation,
        **check._asdict(),
    }
    ends = f"from {shown(check.lowest, 2)} to {shown(check.highest, 2)}: {found.rule.citation}"
    chance = chance_words(check.probability, style)
    lines = (
        ("gauge", f"{found.gauge.shown(style.mark)} % vol at {'60 °F' if found.rule.at_60f else '20 °C'}"),
        ("label", f"{shown(found.label, 2)} % vol, {ends}"),
        ("answer", f"{check.verdict}: {chance} that the true strength lies there"),
        ("needed", _needed(found, style)),
    )
    notes = _exact_temperature(readings) if readings else ()
    causes = f"contributions to uncertainty: {_contributions(found.gauge, style)}"
    return Shown(document, (*aligned(lines), causes), (*notes, BASIS, CAUTION))


def chance_words(probability: float, style: "HouseStyle") -> str:
    """A probability in per cent that rounding never shows as certain, or as impossible."""
    if probability >= 0.9995:
        return f"more than {style.shown(99.9, 1)} %"
    return f"less than {style.shown(0.1, 1)} %" if probability < 0.0005 else f"{style.shown(100 * probability, 1)} %"


def _needed(found: "LabelStrength", style: "HouseStyle") -> str:
    """Between which gauges the answer is within, to the hundredth inwards, or finer where that would contradict it."""
    check, gauge = found.check, found.gauge.value
    if check.guard_band is None:
        return "a gauge this uncertain cannot decide it; use a finer instrument"
    for digits in range(2, 7):
        scale = 10**digits
        least = ceil((check.lowest + check.guard_band) * scale - _ROUNDING) / scale
        most = floor((check.highest - check.guard_band) * scale + _ROUNDING) / scale
        if (least <= round(gauge, digits) <= most) == (check.verdict == "within"):
            break
    ends = f"a gauge from {style.shown(least, digits)} to {style.shown(most, digits)}"
    return f"{ends} (guard band {style.shown(check.guard_band, digits)})"


# -- trials ----------------------------------------------------------------------------


def _difference_document(answer: "TrialDifference") -> dict[str, Any]:
    found, k = answer.found, answer.asked.coverage_factor
    return {
        "first": uncertainty_document(found.first, k),
        "second": uncertainty_document(found.second, k),
        "difference": uncertainty_document(found.difference, k),
        "times": found.times if found.difference.standard else None,
        "coverage_factor": answer.asked.coverage_factor,
        "distinguishable": found.exceeds(answer.asked.coverage_factor),
        "total_ml": answer.total_ml,
    }


def _difference_lines(answer: "TrialDifference", style: "HouseStyle") -> list[tuple[str, str]]:
    found = answer.found
    first, second, difference = (f"{(100 * one).shown(style.mark, answer.asked.coverage_factor)} %" for one in found)
    if found.difference.standard:
        difference += f", {style.shown(found.times, 1)} times its standard uncertainty"
    return [("first", first), ("second", second), ("difference", difference)]


def difference_shown(answer: "TrialDifference", style: "HouseStyle") -> Shown:
    """Whether two fractions differ by more than what pours them errs."""
    k = answer.asked.coverage_factor
    lines = _difference_lines(answer, style)
    if not answer.asked.two_pipettes:
        by_two = (100 * answer.by_two_pipettes).shown(style.mark, k)
        lines.append(("two pipettes", f"{by_two} % by two of the kind"))
    larger = "yes, the difference is larger" if answer.found.exceeds(k) else "no, the difference is not larger"
    document = _difference_document(answer)
    document["difference_by_two_pipettes"] = uncertainty_document(answer.by_two_pipettes, k)
    times = f"{k:g}".replace(".", style.mark)
    last = f"{larger} than {times} times its standard uncertainty"
    return Shown(document, (*aligned(lines), last), (*_shared(answer), BASIS))


def trial_size_shown(answer: "TrialDifference", style: "HouseStyle") -> Shown:
    """The smallest trial in which two fractions can be told apart."""
    least, lines = answer.least_by_two_ml, _difference_lines(answer, style)
    if not answer.asked.two_pipettes:
        by_two = "no trial is large enough" if least is None else f"{least} ml by two of the kind"
        lines.append(("two pipettes", by_two))
    document = _difference_document(answer) | {"least_by_two_pipettes_ml": least}
    least_trial = ("least trial", f"{answer.total_ml:g} ml")
    return Shown(document, aligned([least_trial, *lines]), (*_shared(answer), BASIS))


def _shared(answer: "TrialDifference") -> tuple[str, ...]:
    """What is taken for granted where one pipette pours both."""
    return () if answer.asked.two_pipettes else (ONE_PIPETTE,)


def portions_shown(
    found: "Mapping[str, Portion]", style: "HouseStyle", coverage_factor: float = COVERAGE_FACTOR
) -> Shown:
    """Each portion of a planned trial."""
    mark, k = style.mark, coverage_factor
    document = {
        name: {
            "volume_ml": uncertainty_document(part.volume_ml, k),
            "fraction": uncertainty_document(part.fraction, k),
            "fillings": part.fillings,
        }
        for name, part in found.items()
    }
    of_itself = f" ± of itself, k = {k:g} (%)".replace(".", mark)
    said = listed(
        found,
        ("component", lambda name: hyphened(name) if name[0].isupper() and name[1:2].isdigit() else name),
        (" ml", lambda name: found[name].volume_ml.shown(mark, k)),
        (" %", lambda name: (100 * found[name].fraction).shown(mark, k)),
        (of_itself, lambda name: style.shown(100 * found[name].fraction.relative * k, 2)),
        (" fillings", lambda name: found[name].fillings),
    )
    return Shown(document, said, (BASIS,))
