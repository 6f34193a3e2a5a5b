"""What every paper and screen of a tasting session says for the care of people.

>>> brings_words(Brought((), ()))
'Allergens: none recorded; this does not mean that there are none.'
>>> alcohol_words(12_000, "uk")
'12.0 g of pure alcohol, or 1.5 units (UK Chief Medical Officers, 2016: 10 ml or 8 g; remembered)'
"""

from collections.abc import Iterator, Mapping
from math import isfinite
from typing import TYPE_CHECKING

from pourbook.alcoholometry.standard_drinks import DRINKS, drinks
from pourbook.numerals import counted, shown
from pourbook.queries.traces.brought import Brought

if TYPE_CHECKING:
    from pourbook.panels.discrimination import Planned
    from pourbook.queries.tastings.session_report import SessionReport, Spread

__all__ = ["CAUTION", "SEALED", "alcohol_words", "brings_words", "found_words", "shows_words", "spread_words"]

CAUTION = (
    "Taste little, spit, drink water, and rest. Whoever has tasted does not drive or work with machines."
    " Nobody tastes who is under age, pregnant, unwell or unwilling; nosing alone is enough."
)
"""Without it there is no session."""

_REPEATABILITY_LIMIT = 2.8
"""Times the standard deviation: 1.96 times the root of 2, as ISO 5725-6 rounds it (remembered)."""

SEALED = "Codes are sealed until the session is closed."


def alcohol_words(alcohol_mg: float, country: str, mark: str = ".") -> str:
    """Pure alcohol in grams and standard drinks, with their source."""
    grams, drink = alcohol_mg / 1000, DRINKS[country]
    count = shown(drinks(grams, country), 1, mark)
    return f"{shown(grams, 1, mark)} g of pure alcohol, or {count} {drink.name} ({drink.source}; {drink.status})"


def brings_words(brings: Brought) -> str:
    """Allergens and previous contents over all glasses together, in one line."""
    if not brings.allergens and not brings.previous:
        return "Allergens: none recorded; this does not mean that there are none."
    said = f"Allergens: {', '.join(brings.allergens) or 'none recorded'}."
    return f"{said} Casks held before: {', '.join(brings.previous)}." if brings.previous else said


def spread_words(found: "Spread | None", mark: str = ".") -> str:
    """A mean with its standard deviation; empty where nobody gave a figure."""
    if found is None:
        return ""
    beside = "" if found.deviation is None else f" ± {shown(found.deviation, 1, mark)}"
    return f"{shown(found.mean, 1, mark)}{beside}"


def found_words(report: "SessionReport", named: Mapping[str, str], mark: str = ".") -> tuple[str, ...]:
    """What may be concluded from a session, and what not, a sentence each."""
    said = [*_test_words(report, mark)] if report.test else [*_rank_words(report, named, mark)]
    for repeat in report.repeats:
        first, second = (shown(score, 0, mark) for score in repeat.scores)
        who = next(one.called for one in report.people if one.assessor == repeat.assessor)
        said.append(f"Hidden repeat {named[repeat.item]}: {who} scored it {first} and {second}.")
    if report.repeat_deviation is not None:
        deviation, limit = (shown(factor * report.repeat_deviation, 1, mark) for factor in (1.0, _REPEATABILITY_LIMIT))
        said.append(
            f"Scores of one glass repeat within a standard deviation of {deviation}; two of them differ by more than"
            f" {limit} once in twenty times."
        )
    return tuple(said)


def shows_words(test: str, shows: "Planned", mark: str = ".") -> str:
    """What a test with so many assessors could show, before anybody tastes."""
    who = counted(shows.assessors, "assessor")
    if shows.critical is None:
        return f"a {test} test with {who} can show nothing, whatever they answer: ask more people, or use no test"
    power = shown(100 * shows.power, 0, mark)
    return (
        f"a {test} test with {who} shows a difference from {shows.critical} right answers on; where the glasses differ"
        f" by d' = 1, it does so in {power} of 100 such sessions"
    )


def _test_words(report: "SessionReport", mark: str) -> Iterator[str]:
    found = report.test
    assert found is not None
    if found.judged is None:
        yield "Nobody answered the test."
        return
    judged = found.judged
    yield f"{found.right} of {counted(found.answered, 'assessor')} were right; p = {shown(judged.p_value, 3, mark)}."
    yield _VERDICTS[judged.verdict]
    size, low, high = (_size(one, mark) for one in (judged.d_prime, *judged.d_prime_interval))
    yield f"For a sense of size: d' = {size}, most likely within {low} to {high}."


def _size(d_prime: float, mark: str) -> str:
    """Where everybody was right, no size is too large."""
    return shown(d_prime, 2, mark) if isfinite(d_prime) else "beyond measure"


_VERDICTS = {
    "different": "The glasses are different: chance alone seldom gives so many right answers.",
    "not shown different": "A difference was not shown. That does not show that the glasses are alike.",
    "too few assessors": "Too few answered: no number of right answers could have shown a difference.",
}


def _rank_words(report: "SessionReport", named: Mapping[str, str], mark: str) -> Iterator[str]:
    found = report.ranking
    if found is None:
        yield "Too few assessors ranked or scored every glass, or nobody told any two apart: no comparison."
        return
    who = counted(len(found.ranks), "assessor")
    p_value = shown(found.friedman.best_p, 3, mark)
    if found.friedman.best_p > found.alpha:
        yield f"Ranks of {who} do not show that the glasses differ (Friedman, p = {p_value}), nor that they are alike."
    else:
        yield f"Ranks of {who} show that the glasses differ (Friedman, p = {p_value})."
        for pair in found.pairs:
            if pair.p_value <= found.alpha:
                first, then = (pair.first, pair.second) if pair.difference < 0 else (pair.second, pair.first)
                chance = shown(pair.p_value, 3, mark)
                yield f"{named[first]} comes before {named[then]} (all pairs compared, p = {chance})."
    if report.agreement:
        w = shown(report.agreement.w, 2, mark)
        yield f"Agreement on the order of scores: Kendall's W = {w}, from 0 (none) to 1 (whole)."
    yield f"This is what {who} found in these glasses; what other people would find is another question."
