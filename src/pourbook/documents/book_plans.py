"""Plans from a book, shown: what is to be taken from which cask, what it comes to, and how far it is from before."""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened, readable, several
from pourbook.documents.how_sure import how_sure_document, how_sure_lines, how_sure_notes
from pourbook.documents.items import heel_words
from pourbook.documents.plans import out_of_time_shown, plan_document, proof_words
from pourbook.documents.shown import Shown, aligned, listed, recorded_shown, table
from pourbook.documents.why_not import why_not_document, why_not_lines
from pourbook.lineage.ages import Age, age_of
from pourbook.numerals import counted
from pourbook.planning.plan import OutOfTime, Plan
from pourbook.quantities import Amount
from pourbook.queries.items.called import at_sight
from pourbook.queries.plans.repeats import ANOTHER_DRINK
from pourbook.times import day_shown, written
from pourbook.words.figure_words import UNKNOWN, age_text, percent, strength_shown

if TYPE_CHECKING:
    from pourbook.actions.planning import PlanOpened
    from pourbook.house_style import HouseStyle
    from pourbook.planning.why_not import WhyNot
    from pourbook.queries.plans.candidates import Candidate, Candidates, CaskLeftOut
    from pourbook.queries.plans.planned import BookPlan, TakenFrom
    from pourbook.queries.plans.repeats import Measured, Repeats
    from pourbook.queries.plans.sure import BatchSure

__all__ = ["book_plan_shown", "earlier_rows", "figure_rows", "left_out_words", "plan_opened_shown"]

_TOLERANCE = {"recipe": "of the recipe", "asked": "as asked", "usual": "usual"}
_YEAR_DAYS = 365.2425
_MOST_NAMED = 8
_DAYS_US = 86_400_000_000


def plan_opened_shown(
    answer: "PlanOpened", earlier: "Repeats | None", style: "HouseStyle", sure: "BatchSure | None" = None, *,
    left_out: bool,
) -> Shown:  # fmt: skip
    """A plan, and the batch that was opened with it."""
    shown = book_plan_shown(answer.planned, earlier, style, sure, left_out=left_out)
    if answer.opened is None:
        return shown
    name = hyphened(answer.opened.batch)
    document = {"id": answer.opened.batch, "plan": shown.document}
    recorded = recorded_shown(answer.opened.recorded, document, (name, *shown.said), style)
    said = f"print it: pourbook sheet {name}; pour it, cask by cask: pourbook pour {name}"
    return recorded._replace(notes=(*shown.notes, *recorded.notes, said)).warned(*shown.warnings)


def book_plan_shown(
    planned: "BookPlan", earlier: "Repeats | None", style: "HouseStyle", sure: "BatchSure | None" = None, *,
    left_out: bool, why: "WhyNot | None" = None,
) -> Shown:  # fmt: skip
    """A plan as a paper for the cellar: casks, parts beside their bounds, what the batch will be, and the proof.

    `earlier` are batches beside it, `sure` how sure it is, where that was asked, and `why` why there is none.
    """
    out = left_out_words(planned.candidates.left_out) if left_out else ()
    head = {"follows": planned.recipe.aims.follows, "on": written(planned.recipe.on_us)}
    last = _chosen_document(planned.candidates)
    found = planned.found
    if isinstance(found, OutOfTime):
        shown = out_of_time_shown(found, style)
        return Shown({**head, **shown.document, **last}, (*shown.said, *out))
    if found is None:
        if not planned.candidates.found:
            none = "no cask qualifies" + ("" if left_out else ": --left-out says why of each")
            return Shown({**head, **(why_not_document(why, "id") if why else {}), **last}, (none, *out))
        none = "no choice of the casks that qualify keeps every demand"
        told = tuple(why_not_lines(why, style, hyphened)) if why else ()
        return Shown({**head, **(why_not_document(why, "id") if why else {}), **last}, (none, *told, *out))
    document = {
        **head,
        **plan_document(found),
        "casks": [_cask_document(one, planned) for one in planned.taken],
        **_will_be_document(planned),
        "parts": _parts_document(planned, found),
        "to_shift": list(planned.to_shift),
        "questions": [one.said for one in planned.questions],
        "earlier": _earlier_document(earlier) if earlier else [],
        **({"how_sure": how_sure_document(sure)} if sure else {}),
        **last,
    }
    said = [
        f"{readable(planned.recipe.aims.follows)}, to be pulled on {day_shown(planned.recipe.on_us, style.zone)}",
        "",
        *_casks(planned, style),
        "",
        *_parts(planned, found, style),
        "",
        *aligned(figure_rows(planned, found, style)),
        *(("", *_earlier(earlier, planned, style)) if earlier else ()),
        *(("", *how_sure_lines(sure, style)) if sure else ()),
        *(("", *out) if out else ()),
    ]
    heels = heel_words(planned.will_be.heels) if planned.will_be else ()
    elsewhere = (
        f"{hyphened(cask)} is in the plan of {several(batches)} as well, and has still to give"
        for cask, batches in planned.elsewhere.items()
    )
    warnings = (*(f"{one.said}; {one.remedy}" for one in planned.questions), *heels, *elsewhere)
    return Shown(document, tuple(said), how_sure_notes(sure, style) if sure else (), warnings)


# -- for programs ------------------------------------------------------------------------


def _cask_document(one: "TakenFrom", planned: "BookPlan") -> dict[str, Any]:
    cask, candidate = one.candidate.cask, one.candidate
    return {
        "id": cask.ref,
        "ref": candidate.view.ref,
        "component": cask.component,
        "place": cask.place,
        "volume_l_20c": one.volume_l,
        "whole": one.whole,
        "left_l_20c": one.left_l,
        "expected_l_20c": cask.volume_l,
        "expected_by": candidate.expected.by,
        "strength_20c": cask.strength_vol,
        "wood_days": cask.wood_days,
        "cost_per_lpa": cask.cost_per_lpa,
        "planned_for": list(planned.elsewhere.get(cask.ref, ())),
    }


def _will_be_document(planned: "BookPlan") -> dict[str, Any]:
    will_be = planned.will_be
    assert will_be is not None
    return {
        "strength_20c": planned.recipe.recipe.target.strength_vol,
        "youngest_days": None if will_be.youngest is None else will_be.youngest.wood_us // _DAYS_US,
        "mean_days": will_be.mean_days,
        "cost": will_be.cost,
        "attributes": will_be.attributes,
    }


def _parts_document(planned: "BookPlan", found: Plan) -> list[dict[str, Any]]:
    return [
        {
            "component": one.name,
            "fraction": found.fractions[one.name],
            "aim": one.part.part / 100.0,
            "low": (one.part.low or 0.0) / 100.0,
            "high": (100.0 if one.part.high is None else one.part.high) / 100.0,
            "tolerance": one.tolerance,
        }
        for one in planned.recipe.aims.parts
    ]


def _chosen_document(chosen: "Candidates") -> dict[str, Any]:
    return {
        "candidates": len(chosen.found),
        "left_out": [
            {"id": one.cask, "component": one.kind, "why": [why._asdict() for why in one.why]}
            for one in chosen.left_out
        ],
    }


def _earlier_document(found: "Repeats") -> list[dict[str, Any]]:
    return [
        {
            "id": one.batch,
            "shifted": found.plan.shifted(one),
            "casks_in_common": len(found.plan.casks & one.casks),
            "fractions": dict(one.fractions),
            "strength_before": one.strength_before,
            "strength_20c": one.strength,
            "youngest_days": None if one.youngest is None else one.youngest.wood_us // _DAYS_US,
            "mean_days": one.mean_days,
            "cost_per_lpa": one.cost_per_lpa,
            "attributes": dict(one.attributes),
        }
        for one in found.earlier
    ]


# -- for people --------------------------------------------------------------------------


def _casks(planned: "BookPlan", style: "HouseStyle") -> tuple[str, ...]:
    return listed(
        planned.taken,
        ("take", lambda one: "whole" if one.whole else "part"),
        ("cask", lambda one: at_sight(one.candidate.cask.ref, one.candidate.called)),
        ("place", lambda one: one.candidate.cask.place),
        ("for", lambda one: one.candidate.cask.component),
        (" % vol", lambda one: strength_shown(one.candidate.cask.strength_vol, style.mark)),
        (" years", lambda one: _years(one.candidate, style)),
        (" l at 20 °C", lambda one: style.shown(one.volume_l, 2)),
        (" of l", lambda one: style.shown(one.candidate.cask.volume_l, 2)),
        (" left l", lambda one: "" if one.whole else style.shown(one.left_l, 2)),
        ("expected by", lambda one: one.candidate.expected.by),
    )


def _years(one: "Candidate", style: "HouseStyle") -> str:
    age = age_of(one.age.youngest, style.zone)
    return UNKNOWN if age is None else str(age.years)


def _parts(planned: "BookPlan", found: Plan, style: "HouseStyle") -> tuple[str, ...]:
    rows = _parts_document(planned, found)
    basis = "pure alcohol" if planned.recipe.aims.basis == "alcohol" else "volume"
    return listed(
        rows,
        ("part", lambda one: one["component"]),
        (f" % by {basis}", lambda one: percent(one["fraction"], style.mark)),
        (" aimed at", lambda one: percent(one["aim"], style.mark)),
        (" least", lambda one: percent(one["low"], style.mark)),
        (" most", lambda one: percent(one["high"], style.mark)),
        ("tolerance", lambda one: _TOLERANCE[one["tolerance"]]),
    )


def figure_rows(planned: "BookPlan", found: Plan, style: "HouseStyle") -> list[tuple[str, str]]:
    """What a plan comes to: the name of each figure, and the figure in words."""
    shown, recipe, will_be = style.shown, planned.recipe.recipe, planned.will_be
    assert will_be is not None
    target = recipe.target
    cost = UNKNOWN if will_be.cost is None else f"{shown(will_be.cost, 2)} {style.settings['currency']}".rstrip()
    lines = [
        ("casks", _opened(planned)),
        ("before water", f"{strength_shown(found.strength_before, style.mark)} % vol"),
        ("water", f"{shown(found.water_l, 2)} l to {strength_shown(target.strength_vol, style.mark)} % vol"),
        ("batch", f"{shown(found.volume_l, 2)} l{_losses(planned, style)}; {_wanted(planned, style)}"),
        ("youngest", f"{age_text(age_of(will_be.youngest, style.zone))} in wood"),
        ("mean age", f"{_mean(will_be.mean_days)} by pure alcohol, which is no age statement"),
        ("spirit", f"{cost} by what it cost, before evaporation{', the heel not counted' if recipe.heel else ''}"),
        ("objective", proof_words(found, style)),
        ("expected", _expected(planned, style)),
    ]
    if planned.recipe.heel and recipe.heel:
        heel = f"{shown(recipe.heel.volume_l, 2)} l of {hyphened(planned.recipe.heel)} at "
        lines.insert(0, ("heel", f"{heel}{strength_shown(recipe.heel.strength_vol, style.mark)} % vol, all of it"))
    if planned.to_shift:
        lines.append(("to shift", f"{counted(len(planned.to_shift), 'cask')}: {_some(planned.to_shift)}"))
    if will_be.attributes:
        words = ", ".join(f"{word} {shown(mean, 1)}" for word, mean in list(will_be.attributes.items())[:8])
        lines.append(("notes", f"{words} (mean of the casks that have the word)"))
    return lines


def _losses(planned: "BookPlan", style: "HouseStyle") -> str:
    """As they are asked: of what is filled, while the planner counts them in the reduced batch."""
    recipe, asked = planned.recipe.recipe, planned.asked
    losses = sum(recipe.losses.values())
    if not losses:
        return ""
    told = asked.bottles.losses if asked.bottles else asked.losses
    if isinstance(told, Amount):
        return f" after losses of {told.typed} in {style.shown(recipe.target.volume_l, 2)} l"
    return f" after losses of {style.shown(100.0 * losses / (100.0 - losses), 2)} % of what is filled"


def _some(casks: Sequence[str]) -> str:
    more = f" and {len(casks) - _MOST_NAMED} more" if len(casks) > _MOST_NAMED else ""
    return ", ".join(map(hyphened, casks[:_MOST_NAMED])) + more


def _opened(planned: "BookPlan") -> str:
    parts = sum(not one.whole for one in planned.taken)
    left = f", {parts} of them not emptied" if parts else ", all emptied"
    return f"{counted(len(planned.taken), 'cask')} of {len(planned.candidates.found)} that qualify{left}"


def _wanted(planned: "BookPlan", style: "HouseStyle") -> str:
    target = planned.recipe.recipe.target
    ends = " to ".join(style.shown(end, 2) for end in (target.volume_low_l or 0.0, target.volume_high_l or 0.0))
    return f"{style.shown(target.volume_l, 2)} l aimed at, {ends} l will do"


def _mean(days: float | None) -> str:
    if days is None:
        return UNKNOWN
    years = int(days / _YEAR_DAYS)
    return age_text(Age(years, int(days - years * _YEAR_DAYS)))


def _expected(planned: "BookPlan", style: "HouseStyle") -> str:
    """By what casks are expected to hold what they give."""
    by = [one.candidate.expected.by for one in planned.taken]
    said = []
    if own := by.count("evaporation"):
        said.append(f"{own} by the cask's own evaporation")
    if (usual := by.count("usual loss")) and (loss := planned.candidates.usual):
        whose = f"the median of {counted(loss.casks, 'cask')}" if loss.casks else "a plain figure, no cask has a rate"
        said.append(f"{usual} by the usual loss of {style.shown(100 * loss.yearly, 2)} % a year ({whose})")
    if as_booked := by.count("book"):
        said.append(f"{as_booked} by the book")
    return ", ".join(said) or "no cask"


def left_out_words(left_out: "Iterable[CaskLeftOut]") -> tuple[str, ...]:
    """Every cask that does not qualify, and why."""
    return listed(
        left_out,
        ("left out", lambda one: at_sight(one.cask, one.called)),
        ("as", lambda one: one.kind),
        ("because", lambda one: "; ".join(why.said for why in one.why)),
    )


def _earlier(found: "Repeats", planned: "BookPlan", style: "HouseStyle") -> Iterator[str]:
    """The plan beside earlier batches, a line for each measure."""
    heads = ("beside earlier batches", " plan", *(f" {hyphened(one.batch)}" for one in found.earlier))
    yield from table(heads, list(earlier_rows(found, planned, style)))
    far = [hyphened(one.batch) for one in found.earlier if found.plan.shifted(one) >= ANOTHER_DRINK]
    if far:
        yield f"ten parts in a hundred or more are shifted from {', '.join(far)}: that is another drink"


def earlier_rows(found: "Repeats", planned: "BookPlan", style: "HouseStyle") -> Iterator[list[str]]:
    """A plan and earlier batches, a row for each measure: its words, the plan's figure, then one of each batch."""
    columns = (found.plan, *found.earlier)
    for name in (*(one.name for one in planned.recipe.aims.parts), ""):
        if any(one.fractions.get(name) for one in columns):
            row = [percent(one.fractions.get(name, 0.0), style.mark) for one in columns]
            yield [f"% {name or 'of none of these'}", *row]
    yield ["parts shifted %", "", *(percent(found.plan.shifted(one), style.mark) for one in found.earlier)]
    yield ["% vol before water", *(strength_shown(one.strength_before, style.mark) for one in columns)]
    yield ["% vol", *(strength_shown(one.strength, style.mark) for one in columns)]
    yield ["youngest, years", *(_completed(one, style) for one in columns)]
    yield ["mean, years", *(_figure(one.mean_days, _YEAR_DAYS, style) for one in columns)]
    yield [f"{style.settings['currency']}/LPA".lstrip("/"), *(_figure(one.cost_per_lpa, 1.0, style) for one in columns)]
    yield ["casks in common", "", *(str(len(found.plan.casks & one.casks)) for one in found.earlier)]
    words = [word for word in found.plan.attributes if any(word in one.attributes for one in found.earlier)]
    for word in words:
        yield [word, *(_figure(one.attributes.get(word), 1.0, style) for one in columns)]


def _completed(one: "Measured", style: "HouseStyle") -> str:
    age = age_of(one.youngest, style.zone)
    return "–" if age is None else str(age.years)


def _figure(value: float | None, of: float, style: "HouseStyle") -> str:
    return "–" if value is None else style.shown(value / of, 2)
