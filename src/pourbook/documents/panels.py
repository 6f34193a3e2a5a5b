"""What a panel's verbs answer: orders of serving with their codes, tests planned and judged."""

from math import isinf
from typing import TYPE_CHECKING, Any

from pourbook.documents.shown import Shown, aligned, table
from pourbook.numerals import counted
from pourbook.panels.d_prime import d_prime_of, discriminators
from pourbook.panels.discrimination import least_assessors, planned, upper_tail
from pourbook.panels.orders import balance, whole_set

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.house_style import HouseStyle
    from pourbook.panels.discrimination import Judged, Needed, Planned, Tested
    from pourbook.panels.repeated_answers import RepeatedAnswers

__all__ = ["judged_shown", "needed_shown", "orders_shown", "p_words", "planned_shown", "repeated_shown", "share_words"]


# -- orders of serving -----------------------------------------------------------------


def orders_shown(orders: "Sequence[Sequence[int]]", codes: "Sequence[Sequence[str]]", test: str | None) -> Shown:
    """A line for each assessor, glass by glass; codes are one set by product, or each assessor's own by glass."""
    is_shared = len(codes) == 1 and test is None
    if test == "duo-trio":
        codes = [("R", *own[1:]) for own in codes]
    by_glass = [[codes[0][one - 1] for one in order] for order in orders] if is_shared else codes
    heads = ("assessor", *(f"glass {place}" for place in range(1, len(orders[0]) + 1)))
    rows = (
        (str(number), *(f"{code} = {one}" for code, one in zip(own, order, strict=True)))
        for number, (own, order) in enumerate(zip(by_glass, orders, strict=True), 1)
    )
    document = {
        "orders": [list(order) for order in orders],
        "codes": list(codes[0]) if is_shared else [],
        "own_codes": [] if is_shared else [list(own) for own in codes],
        "test": test,
    }
    given = [code for own in codes for code in own if code != "R"]
    repeat = ["codes come back, for other assessors: there are not so many"] if len(set(given)) < len(given) else []
    if test is not None:
        return Shown({**document, "in_each_place": None, "after_each_other": None}, table(heads, rows), tuple(repeat))
    even = balance(orders)
    notes = [
        *repeat,
        f"each product stands {_times(even.in_each_place)} in each place",
        f"each comes {_times(even.after_each_other)} directly after each other one",
    ]
    if not even.is_whole:
        size = whole_set(len(orders[0]))
        notes.append(f"quite even with a multiple of {counted(size, 'assessor')}")
    return Shown({**document, **even._asdict()}, table(heads, rows), tuple(notes))


def _times(bounds: tuple[int, int]) -> str:
    least, most = bounds
    return counted(most, "time") if least == most else f"{least} to {counted(most, 'time')}"


# -- difference and likeness -----------------------------------------------------------


_EVEN = 0.5
"""A power below it is worth a word before anybody has tasted."""


def planned_shown(test: "Tested", plan: "Planned", style: "HouseStyle") -> Shown:
    """What a test can show, before anybody has tasted."""
    document = {**_asked(test), **_plan_document(test, plan), **dict.fromkeys(_OF_ANSWERS)}
    if plan.critical is None:
        return Shown(document, (_too_few(test, plan, style),))
    small = "it would more often fail to show that than show it: leave --assessors out to see how many it takes"
    return Shown(document, (*aligned(_plan_words(test, plan, style)), *((small,) if plan.power < _EVEN else ())))


def judged_shown(test: "Tested", found: "Judged", style: "HouseStyle") -> Shown:
    """What the answers show, and what they do not."""
    plan = found.plan
    low, high = found.d_prime_interval
    guessed = style.shown(plan.assessors * test.guessed, 1)
    shares = [share_words(one, style) for one in found.pd_interval]
    answers = {
        "correct": found.correct,
        "p_value": found.p_value,
        "fewer_p_value": found.fewer_p_value,
        "d_prime": _finite(found.d_prime),
        "d_prime_interval": [_finite(low), _finite(high)],
        "d_prime_error": found.d_prime_error,
        "pd": found.pd,
        "pd_interval": list(found.pd_interval),
        "verdict": found.verdict,
    }
    below = "; below 0: for the other product" if test.is_two_sided and low < 0 else ""
    lines = [
        ("right answers", f"{found.correct} of {plan.assessors}; by guessing: {guessed}"),
        ("p-value", f"{p_words(found.p_value, style)} (exact)"),
        ("how far apart, d'", f"{_d(found.d_prime, style)}, 95 %: {_d(low, style)} to {_d(high, style)}{below}"),
        ("tell them apart", f"{share_words(found.pd, style)}, 95 %: {' to '.join(shares)}"),
        *(_plan_words(test, plan, style) if plan.critical is not None else ()),
    ]
    document = {**_asked(test), **_plan_document(test, plan), **answers}
    return Shown(document, (*_concluded(test, found, style), "", *aligned(lines)))


def needed_shown(test: "Tested", found: "Needed", style: "HouseStyle") -> Shown:
    """How many assessors it takes: the smallest number, and the one from which on no larger one does worse."""
    document = {**_asked(test), **{name: _plan_document(test, plan) for name, plan in found._asdict().items()}}
    of = "no difference at all" if test.is_of_likeness else _size(test.method, test.true, style)
    lines = [
        (f"{plan.assessors} assessors", f"power {share_words(plan.power, style)}; {_critical(test, plan)}{remark}")
        for plan, remark in ((found.first, ""), (found.stable, "; no larger number does worse"))
    ]
    return Shown(document, (f"to show {_aim(test, style)}, given {of}:", *aligned(lines)))


def repeated_shown(test: "Tested", found: "RepeatedAnswers", style: "HouseStyle") -> Shown:
    """What repeated answers show, and how far assessors differ."""
    is_shown = found.p_value <= test.alpha
    low, high = found.d_prime_interval
    document = {
        "method": test.method,
        "alpha": test.alpha,
        **found._asdict(),
        "d_prime": _finite(found.d_prime),
        "d_prime_interval": [_finite(low), _finite(high)],
        "verdict": "different" if is_shown else "not shown different",
    }
    chance = f"guessing alone gives {found.correct} right answers of {found.answers} with a probability of"
    vary = "differ" if found.vary_p_value <= test.alpha else "are not shown to differ"
    figures = f"p {p_words(found.vary_p_value, style)}; gamma {style.shown(found.gamma, 2)} of 1"
    lines = (
        f"{document['verdict']}: {chance} {p_words(found.p_value, style)}",
        f"assessors {vary} in what they tell ({figures})",
        f"how far apart, d': {_d(found.d_prime, style)} on average, 95 %: {_d(low, style)} to {_d(high, style)}",
        "not shown: which is better, nor that everybody notices" if is_shown else "not shown: that they are alike",
    )
    return Shown(document, lines)


_OF_ANSWERS = (
    "correct", "p_value", "fewer_p_value", "d_prime", "d_prime_interval", "d_prime_error", "pd", "pd_interval",
    "verdict",
)  # fmt: skip


def _asked(test: "Tested") -> dict[str, Any]:
    return {
        "method": test.method,
        "sense": "similarity" if test.is_of_likeness else "difference",
        "two_sided": test.is_two_sided,
        "alpha": test.alpha,
        "power_for": _size_document(test.method, test.true),
        "limit": None if test.limit is None else _size_document(test.method, test.limit),
    }


def _size_document(method: str, proportion: float) -> dict[str, float]:
    return {"d_prime": d_prime_of(method, proportion), "pd": discriminators(method, proportion), "correct": proportion}


def _plan_document(test: "Tested", plan: "Planned") -> dict[str, Any]:
    return {
        "assessors": plan.assessors,
        "min_correct": planned(test._replace(limit=None), plan.assessors).critical,
        "max_correct": plan.critical if test.is_of_likeness else None,
        "power": plan.power,
    }


def _plan_words(test: "Tested", plan: "Planned", style: "HouseStyle") -> list[tuple[str, str]]:
    of = "no difference at all" if test.is_of_likeness else _size(test.method, test.true, style)
    return [
        ("shown by", f"{_critical(test, plan)}, at a risk of {share_words(test.alpha, style)}"),
        ("power", f"shown in {share_words(plan.power, style)} of such tests, given {of}"),
    ]


def _aim(test: "Tested", style: "HouseStyle") -> str:
    if test.limit is None:
        return "a difference"
    return f"that they are alike within {_size(test.method, test.limit, style)}"


def _critical(test: "Tested", plan: "Planned") -> str:
    if test.is_two_sided:
        return f"{plan.critical} or more answers of {plan.assessors} for one of both"
    return f"{plan.critical} or {'fewer' if test.is_of_likeness else 'more'} right answers of {plan.assessors}"


def _size(method: str, proportion: float, style: "HouseStyle") -> str:
    apart = share_words(discriminators(method, proportion), style)
    return f"d' {_d(d_prime_of(method, proportion), style)} ({apart} tell them apart)"


def _concluded(test: "Tested", found: "Judged", style: "HouseStyle") -> tuple[str, ...]:
    """What may be concluded, and what may not."""
    risk, high = p_words(found.p_value, style), _d(found.d_prime_interval[1], style)
    match found.verdict:
        case "too few assessors":
            return (_too_few(test, found.plan, style),)
        case "worse than guessing":
            few = p_words(found.fewer_p_value, style)
            other = ", or the other product has more of it" if test.method == "paired" else ""
            return (
                f"worse than guessing: it gives so few right answers with a probability of {few}",
                f"nothing is shown by them: check the codes and the key{other}",
            )
        case "different":
            return (
                f"different: guessing alone gives such answers with a probability of {risk}",
                "not shown: which is better, nor that everybody notices",
            )
        case "not shown different":
            return (
                f"not shown different: guessing alone gives such answers with a probability of {risk}",
                f"not found different is not found alike: d' may be as large as {high}; for that ask with --similarity",
            )
        case "alike":
            which = "the other product has no more of it" if test.method == "paired" else "nobody can tell them apart"
            return (
                f"alike within the limit: such answers have a probability of {risk} where they are further apart",
                f"not shown: that {which}",
            )
        case "not shown alike":
            return (
                f"not shown alike: such answers have a probability of {risk} where they are just beyond the limit",
                "not found alike is not found different: more assessors may show either",
            )


def _too_few(test: "Tested", plan: "Planned", style: "HouseStyle") -> str:
    null = test.guessed if test.limit is None else 1 - test.limit
    best = p_words((1 + test.is_two_sided) * upper_tail(plan.assessors, plan.assessors, null), style)
    what = "all wrong" if test.is_of_likeness else "all right"
    return (
        f"too few assessors: no answers of {plan.assessors} could show {_aim(test, style)}; even {what} has p = {best};"
        f" take at least {least_assessors(test)}"
    )


def _finite(value: float) -> float | None:
    return None if isinf(value) else value


def _d(value: float, style: "HouseStyle") -> str:
    return "no limit" if isinf(value) else style.shown(value, 2)


def p_words(value: float, style: "HouseStyle") -> str:
    """A p-value to three decimals."""
    return f"below {style.shown(0.001, 3)}" if value < 0.0005 else style.shown(value, 3)


def share_words(value: float, style: "HouseStyle") -> str:
    """A proportion, in whole per cent; below one with a decimal."""
    return f"{style.shown(100 * value, 1 if 0 < value < 0.01 else 0)} %"
