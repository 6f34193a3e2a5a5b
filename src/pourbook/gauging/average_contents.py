"""Rules of what bottles hold, as data: how far below its label one may be, and how a lot is judged by a sample.

"Defective" is a bottle that lacks more than the tolerable negative error, "inadequate" one that lacks more than twice
that. A rule says nothing in place of an authority: what is judged here is what the house measured of its own bottles.

>>> UK.tolerable_ml(700.0), UK.tolerable_ml(375.0)
(15.0, 11.3)
>>> found = judged(UK, 700.0, 400, [701.0, 699.0] * 24 + [684.0, 702.0])
>>> found.result, found.defective, f"{found.mean_ml:.2f}", f"{found.least_mean_ml:.2f}"
('passes', 1, '699.72', '699.06')
>>> judged(UK, 700.0, 400, [690.0] * 50).fails_by
('mean',)
"""

from collections.abc import Mapping, Sequence
from math import ceil, fsum, inf, sqrt
from typing import Literal, NamedTuple

from pourbook.uncertainty.student_t import t_quantile

__all__ = ["CONTENTS_RULES", "EU", "UK", "US", "Band", "ContentsRule", "Judged", "Plan", "Stage", "judged", "spread"]


class Band(NamedTuple):
    """The tolerable negative error of contents `up_to_ml`: in `percent` of them, or in `ml`."""

    up_to_ml: float
    percent: float | None = None
    ml: float | None = None


class Stage(NamedTuple):
    """So many `bottles` measured in all: `accepted` with so many defective ones, `rejected` from so many on."""

    bottles: int
    accepted: int
    rejected: int


class Plan(NamedTuple):
    """The `stages` by which lots of at least `least` bottles are judged, and the sample `for_mean`."""

    least: int
    stages: tuple[Stage, ...]
    for_mean: int


class ContentsRule(NamedTuple):
    """A rule of contents.

    Attributes:
        name: as a setting has it.
        source: the law, and what of it was read.
        bands: the tolerable negative error.
        plans: by least size of a lot; a smaller lot than all is measured whole.
        over_too: too much counts as too little does; then there is no other test.
    """

    name: str
    source: str
    bands: tuple[Band, ...]
    plans: tuple[Plan, ...] = ()
    over_too: bool = False

    def tolerable_ml(self, nominal_ml: float) -> float:
        """The tolerable negative error; a percentage is rounded up to 0.1 mL, but not by a rule of both sides."""
        band = next(band for band in self.bands if nominal_ml <= band.up_to_ml)
        if band.ml is not None:
            return float(band.ml)
        error_ml = round(nominal_ml * (band.percent or 0.0) / 100.0, 6)
        return error_ml if self.over_too else ceil(round(error_ml * 10.0, 6)) / 10.0


Result = Literal["passes", "fails", "measure more"]


class Judged(NamedTuple):
    """A lot, judged by the bottles of it that were measured.

    Attributes:
        rule: its name.
        nominal_ml: content on the label.
        tolerable_ml: tolerable negative error.
        bottles: in the lot.
        measured: of them.
        mean_ml: of what they hold at 20 °C.
        sd_ml: standard deviation; None of a single bottle.
        least_mean_ml: the least that the mean may be; None where the rule does not say.
        defective: measured ones beyond the tolerable error.
        inadequate: beyond twice of it.
        over: measured ones above the nominal content.
        under: measured ones below it.
        accepted: defective ones with which the lot passes.
        needed: bottles to be measured before it can.
        fails_by: what it fails by: mean, defective, inadequate.
        result: whether it passes; "measure more" while that is open.
    """

    rule: str
    nominal_ml: float
    tolerable_ml: float
    bottles: int
    measured: int
    mean_ml: float
    sd_ml: float | None
    least_mean_ml: float | None
    defective: int
    inadequate: int
    over: int
    under: int
    accepted: int
    needed: int
    fails_by: tuple[str, ...]
    result: Result


def spread(contents_ml: Sequence[float]) -> tuple[float, float | None]:
    """Mean and standard deviation (n - 1) of what bottles hold; None of a single one."""
    count = len(contents_ml)
    mean_ml = fsum(contents_ml) / count
    squares = fsum((one - mean_ml) ** 2 for one in contents_ml)
    return mean_ml, sqrt(squares / (count - 1)) if count > 1 else None


def judged(rule: ContentsRule, nominal_ml: float, bottles: int, contents_ml: Sequence[float]) -> Judged:
    """A lot of `bottles` by what some of them hold at 20 °C, mL; at least one was measured.

    The mean test is Qn - t(0.995, n - 1) s / √n. For the samples of 20, 30 and 50 that Directive and Regulations
    print, these are their 0.640, 0.503 and 0.379 times s.
    """
    tolerable_ml, (mean_ml, sd_ml) = rule.tolerable_ml(nominal_ml), spread(contents_ml)
    lacks = [round(nominal_ml - one, 6) for one in contents_ml]  # read in whole microlitres
    beyond = [abs(lack) if rule.over_too else lack for lack in lacks]
    defective = sum(lack > tolerable_ml for lack in beyond)
    inadequate = 0 if rule.over_too else sum(lack > 2 * tolerable_ml for lack in lacks)
    stage, for_mean = _asked(rule, bottles, len(contents_ml), defective)
    least_mean_ml = _least_mean_ml(rule, nominal_ml, bottles, sd_ml, len(contents_ml))
    fails_by = []
    if least_mean_ml is not None and mean_ml < least_mean_ml and len(contents_ml) >= for_mean:
        fails_by.append("mean")
    if defective >= stage.rejected:
        fails_by.append("defective")
    if inadequate:
        fails_by.append("inadequate")
    needed = max(stage.bottles, for_mean)
    is_open = len(contents_ml) < needed
    return Judged(
        rule.name, nominal_ml, tolerable_ml, bottles, len(contents_ml), mean_ml, sd_ml, least_mean_ml, defective,
        inadequate, sum(lack < 0 for lack in lacks), sum(lack > 0 for lack in lacks), stage.accepted, needed,
        tuple(fails_by), "fails" if fails_by else "measure more" if is_open else "passes",
    )  # fmt: skip


def _asked(rule: ContentsRule, bottles: int, measured: int, defective: int) -> tuple[Stage, int]:
    """The stage that decides, of those to come the first that can, and the sample for the mean."""
    if rule.over_too:
        return Stage(1, 0, 1), 1
    plan = next((plan for plan in reversed(rule.plans) if bottles >= plan.least), None)
    if plan is None:  # "100 %", and at most 5 % defective
        accepted = bottles * 5 // 100
        return Stage(bottles, accepted, accepted + 1), bottles
    for stage in plan.stages:
        if measured < stage.bottles or not stage.accepted < defective < stage.rejected:
            return stage, plan.for_mean
    return plan.stages[-1], plan.for_mean


def _least_mean_ml(
    rule: ContentsRule, nominal_ml: float, bottles: int, sd_ml: float | None, measured: int
) -> float | None:
    if rule.over_too:
        return None
    if bottles < rule.plans[0].least:
        return nominal_ml
    return None if sd_ml is None else nominal_ml - t_quantile(0.99, measured - 1) * sd_ml / sqrt(measured)


_TOLERABLE = (
    Band(50, percent=9), Band(100, ml=4.5), Band(200, percent=4.5), Band(300, ml=9), Band(500, percent=3),
    Band(1_000, ml=15), Band(10_000, percent=1.5), Band(15_000, ml=150), Band(inf, percent=1),
)  # fmt: skip
"""Annex I of the Directive as gov.uk prints it for the Regulations (read; percentages are rounded up to 0.1 mL)."""

UK = ContentsRule(
    "uk-2006-659",
    "Weights and Measures (Packaged Goods) Regulations 2006, schedule 2: 2.8, single plan of 3.5, 3.6, 4.5, 4.7 (read)",
    _TOLERABLE,
    (
        Plan(100, (Stage(50, 3, 4),), 30),
        Plan(501, (Stage(80, 5, 6),), 50),
        Plan(3_201, (Stage(125, 7, 8),), 50),
    ),
)
EU = ContentsRule(
    "eu-76-211",
    "Directive 76/211/EEC, annexes I and II: 2.1.3 and the test of the mean (read); the double plan of 2.2.1 from"
    " memory, not checked",
    _TOLERABLE,
    (
        Plan(100, (Stage(30, 1, 3), Stage(60, 4, 5)), 30),
        Plan(501, (Stage(50, 2, 5), Stage(100, 6, 7)), 50),
        Plan(3_201, (Stage(80, 3, 7), Stage(160, 8, 9)), 50),
    ),
)
US = ContentsRule(
    "us-27-cfr-19",
    "27 CFR 19.356(b) (read): no bottle beyond; about as many over as under, which is for the house to see",
    (Band(100, percent=4.5), Band(375, percent=3), Band(999, percent=2), Band(inf, percent=1.5)),
    over_too=True,
)

CONTENTS_RULES: Mapping[str, ContentsRule] = {rule.name: rule for rule in (EU, UK, US)}
"""By name, as the setting `contents_rule` has it."""
