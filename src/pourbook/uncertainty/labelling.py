"""Whether a batch may bear a strength: the gauge and its uncertainty against the tolerance of the law.

A gauge inside the tolerance can still come from a batch outside it. If the true strength lies inside with a
probability of 95 % or more, the verdict is within; 5 % or less, not within; between, it cannot be told (after JCGM
106:2012, 7.3 and 7.4, read in a public copy). The probability is that of the errors as they are, rectangular,
triangular or normal (`laws`). Whether the gauge alone decides is for the authority to say.

A permissible error of ± 0.3 alone and a gauge 0.1 off: four parts in six of the errors leave it inside.

>>> from pourbook.uncertainty.instrument_errors import instrument_errors
>>> from pourbook.uncertainty.propagation import Uncertain
>>> one = instrument_errors("hydrometer", limit=0.3).reading(46.1, "gauge")
>>> label_check(one, 46.0, 0.2).verdict, f"{label_check(one, 46.0, 0.2).probability:.4f}"
('cannot be told', '0.6667')
>>> check = label_check(Uncertain(46.12, {"hydrometer": 0.065}), 46.0, RULES["eu"].tolerance)
>>> check.verdict, f"{check.probability:.4f}", f"{check.guard_band:.2f}"
('within', '0.9972', '0.11')
>>> label_check(Uncertain(46.25, {"hydrometer": 0.065}), 46.0, RULES["eu"].tolerance).verdict
'cannot be told'
"""

from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.errors import OutOfRange
from pourbook.uncertainty.laws import inside

if TYPE_CHECKING:
    from pourbook.quantities import Strength
    from pourbook.uncertainty.propagation import Uncertain

__all__ = ["RULES", "LabelCheck", "LabelStrength", "Rule", "Verdict", "guard_band", "label_check", "label_strength"]

Verdict = Literal["within", "not within", "cannot be told"]

_ROUNDING = 1e-9  # % vol: 46.3 - 46 is a little more or less than 0.3 in binary
_SAME = 1e-9
"""Probabilities this near are the same: 19 parts of 20 are 95 %."""
_HALVINGS = 40


class Rule(NamedTuple):
    """A tolerance of the law on a label, ± % vol, at 60 °F (at_60f) or else at 20 °C, with its citation."""

    tolerance: float
    at_60f: bool
    citation: str


RULES = {
    "eu": Rule(0.3, False, "Reg. (EU) 1169/2011 Annex XII, other beverages above 1.2 % vol"),
    "eu-fruit": Rule(1.5, False, "Reg. (EU) 1169/2011 Annex XII, beverages with macerated fruit or parts of plants"),
    "us": Rule(0.3, True, "27 CFR 5.65(c) and 19.356(c)"),
}
"""Tolerances by a short name."""


class LabelCheck(NamedTuple):
    """Whether a strength may stand on a label.

    Attributes:
        verdict: within, not within, or cannot be told.
        probability: that the true strength lies within the tolerance, 0 to 1.
        lowest: end of the tolerance, % vol.
        highest: its other end, % vol.
        guard_band: how far inside both ends a gauge must lie to be within, % vol; None where none can be.
    """

    verdict: Verdict
    probability: float
    lowest: float
    highest: float
    guard_band: float | None


class LabelStrength(NamedTuple):
    """A gauge and a label, % vol at the reference temperature of a rule, and the check of one against the other."""

    gauge: "Uncertain"
    label: float
    rule: Rule
    check: LabelCheck


def label_strength(
    gauge_20c: "Uncertain", label: "Strength", rule: Rule, confidence: float = 0.95, extract_g_per_l: float = 0.0
) -> LabelStrength:
    """Compare a strength gauged at 20 °C with a label, both at the reference temperature of the rule."""
    from pourbook.alcoholometry.apparent import REFERENCE_C, percent_of  # a shown lot does without it
    from pourbook.uncertainty.figures import strength_at  # showing a lot does without it

    reference_c, written_c = REFERENCE_C["vol60f" if rule.at_60f else "vol20"], REFERENCE_C[label.scale]
    target = percent_of(label)
    if written_c != reference_c:
        target = strength_at(target, written_c, reference_c).value
    gauge = strength_at(gauge_20c, 20.0, reference_c, extract_g_per_l) if rule.at_60f else gauge_20c
    return LabelStrength(gauge, target, rule, label_check(gauge, target, rule.tolerance, confidence))


def label_check(gauge: "Uncertain", label: float, tolerance: float, confidence: float = 0.95) -> LabelCheck:
    """Compare a gauged strength with a label, % vol: within from this confidence, not within below one less it."""
    if not (tolerance > 0.0 and 0.5 < confidence < 1.0 and 0.0 <= label <= 100.0):
        raise OutOfRange(
            f"cannot check a label of {label:g} ± {tolerance:g} % vol at a confidence of {confidence:g}",
            "give a label of 0 to 100 % vol, a tolerance above zero and a confidence of 0.5 to 1",
        )
    probability = _chance(gauge, label, tolerance)
    verdict: Verdict = "cannot be told"
    if probability >= confidence - _SAME:
        verdict = "within"
    elif probability <= 1.0 - confidence + _SAME:
        verdict = "not within"
    band = guard_band(gauge, tolerance, confidence)
    return LabelCheck(verdict, probability, label - tolerance, label + tolerance, band)


def _chance(gauge: "Uncertain", label: float, tolerance: float) -> float:
    """Probability that the true strength lies within the tolerance, whose ends belong to it."""
    if not gauge.standard:
        return 1.0 if abs(gauge.value - label) <= tolerance + _ROUNDING else 0.0
    return inside(gauge, label - tolerance, label + tolerance)


def guard_band(gauge: "Uncertain", tolerance: float, confidence: float) -> float | None:
    """How far inside ± a tolerance a figure with these errors must lie to be within; None where it never is.

    Sought by halving between the middle, where the probability is highest, and the end of the tolerance.
    """
    if not gauge.standard:
        return 0.0

    from dataclasses import replace  # costs a start more than all the rest of a label's check

    def is_within(off: float) -> bool:
        return _chance(replace(gauge, value=off), 0.0, tolerance) >= confidence - _SAME

    if not is_within(0.0):
        return None
    low, high = 0.0, tolerance
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        low, high = (middle, high) if is_within(middle) else (low, middle)
    return tolerance - low
