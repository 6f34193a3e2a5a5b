"""What ranks and scores of a panel say: whether products differ, how far assessors agree."""

from math import isinf
from typing import TYPE_CHECKING

from pourbook.documents.panels import p_words, share_words
from pourbook.documents.shown import Shown, aligned, fields, listed

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.panels.agreement import Agreement, Assessor, Correlation
    from pourbook.panels.ranking import Page, Ranking

__all__ = ["agreement_shown", "ranking_shown"]


# -- ranks -----------------------------------------------------------------------------


_EXPECTED = "note: the order is that of the file; Page's test counts if it was expected before; --expected says another"


def ranking_shown(found: "Ranking", page: "Page", style: "HouseStyle", *, is_order_of_file: bool) -> Shown:
    """Rank sums, whether they differ and which, and whether they follow the expected order."""
    by_sum = sorted(zip(found.products, found.rank_sums, strict=True), key=lambda one: one[1])
    friedman, assessors = found.friedman, len(found.ranks)
    is_shown = friedman.best_p <= found.alpha
    document = {
        "assessors": assessors,
        "products": [{"product": name, "rank_sum": one, "mean_rank": one / assessors} for name, one in by_sum],
        "ties": found.has_ties,
        "alpha": found.alpha,
        "friedman": {**friedman._asdict(), "f": None if isinf(friedman.f) else friedman.f, "f_df": list(friedman.f_df)},
        "verdict": "different" if is_shown else "not shown different",
        "pairs": [{**pair._asdict(), "differ": is_shown and pair.p_value <= found.alpha} for pair in found.pairs],
        "lsd": found.lsd,
        "hsd": found.hsd,
        "page": {**page._asdict(), "expected": list(page.expected)},
    }
    sums = listed(
        by_sum,
        ("product", lambda one: one[0]),
        (" rank sum", lambda one: style.shown(one[1], 1)),
        (" mean rank", lambda one: style.shown(one[1] / assessors, 2)),
    )
    said = (
        *sums, "", *_friedman_words(found, is_shown, style), *_pair_words(found, is_shown, style),
        *_page_words(page, found.alpha, style),
    )  # fmt: skip
    return Shown(document, said, (_EXPECTED,) if is_order_of_file else ())


def _friedman_words(found: "Ranking", is_shown: bool, style: "HouseStyle") -> list[str]:
    friedman = found.friedman
    exact = "" if friedman.exact_p_value is None else f"; exact: {p_words(friedman.exact_p_value, style)}"
    told = "they differ" if is_shown else "no difference was shown; not found different is not found alike"
    figures = f"Friedman's chi-squared {style.shown(friedman.statistic, 2)}, {friedman.df} df"
    return [f"{told} ({figures}, p {p_words(friedman.p_value, style)}{exact})"]


def _pair_words(found: "Ranking", is_shown: bool, style: "HouseStyle") -> list[str]:
    """Which differ, all pairs in view; nothing where no difference was shown at all."""
    if not is_shown:
        return []
    needed = f"rank sums {style.shown(found.hsd, 1)} apart"
    apart = [pair for pair in found.pairs if pair.p_value <= found.alpha]
    lines = [f"  {pair.first} and {pair.second} (p {p_words(pair.p_value, style)})" for pair in apart]
    return [
        f"of all pairs, these are told apart ({needed}, or more):",
        *(lines or ["  no two: more assessors may tell which"]),
    ]


def _page_words(page: "Page", alpha: float, style: "HouseStyle") -> list[str]:
    how = "exact" if page.is_exact else "by the normal distribution"
    p = f"p {p_words(page.best_p, style)}, {how}"
    if page.p_value_with_ties is not None:
        p += f"; as if nothing tied: {p_words(page.p_value, style)}"
    told = "they follow" if page.best_p <= alpha else "not shown to follow"
    return [f"{told} the expected order {', '.join(page.expected)} (Page's L {style.shown(page.statistic, 1)}, {p})"]


# -- scores ----------------------------------------------------------------------------

_WHOLE = 0.999999
"""A lower limit above it comes of scores without any error, which rounding makes."""


def agreement_shown(found: "Agreement", style: "HouseStyle") -> Shown:
    """How far the panel agrees, and a line for each assessor."""
    correlations = {
        "one": found.one, "one_order": found.one_order, "panel": found.panel, "panel_order": found.panel_order,
    }  # fmt: skip
    document = {
        "products": list(found.products),
        "kendall_w": found.w,
        "w_p_value": found.w_p_value,
        **{f"icc_{name}": None if one is None else one._asdict() for name, one in correlations.items()},
        "repeatability": found.repeatability,
        "repeatability_limit": found.repeatability_limit,
        "repeats": found.repeats,
        "scale": list(found.scale),
        "assessors": [fields(one) for one in found.assessors],
    }
    alone = "  own level left out"
    lines = [
        ("order of the products", f"Kendall's W {style.shown(found.w, 2)}, p {p_words(found.w_p_value, style)}"),
        ("scores of one assessor", f"intraclass correlation {_correlation(found.one, style)}"),
        (alone, _correlation(found.one_order, style)),
        ("mean of the panel", f"intraclass correlation {_correlation(found.panel, style)}"),
        (alone, _correlation(found.panel_order, style)),
        ("the same glass again", _repeat_words(found, style)),
    ]
    each = listed(
        found.assessors,
        ("assessor", lambda one: one.name),
        (" mean", lambda one: style.shown(one.mean, 1)),
        (" spread", lambda one: style.shown(one.deviation, 1)),
        (" lowest", lambda one: style.shown(one.lowest, 1)),
        (" highest", lambda one: style.shown(one.highest, 1)),
        (" of scale", lambda one: share_words(one.range_used, style)),
        (" again", lambda one: _again(one, style)),
    )
    return Shown(document, (*aligned(lines), "W and correlations: 0 is no agreement, 1 is whole agreement", "", *each))


def _again(one: "Assessor", style: "HouseStyle") -> str:
    return "" if one.repeatability is None else f"± {style.shown(one.repeatability, 2)} of {one.repeats}"


def _correlation(found: "Correlation | None", style: "HouseStyle") -> str:
    if found is None:
        return "cannot be told: all scores are the same"
    value, lower, upper = (style.shown(one, 2) for one in found)
    if found.lower > _WHOLE:
        return f"{value}: whole agreement, so no limits can be told"
    return f"{value}, 95 %: {lower} to {upper}"


def _repeat_words(found: "Agreement", style: "HouseStyle") -> str:
    if found.repeatability is None or found.repeatability_limit is None:
        return "no product was scored again"
    limit = style.shown(found.repeatability_limit, 1)
    return f"± {style.shown(found.repeatability, 2)} of {found.repeats}; two scores are within {limit} in 19 of 20"
