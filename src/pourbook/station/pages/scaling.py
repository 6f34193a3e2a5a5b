"""A trial, batch or recipe scaled up to casks that its trace finds, or that are named: reckoned, opened or poured."""

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING

from starlette.responses import Response

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.codes.identifiers import readable
from pourbook.errors import Malformed
from pourbook.queries.plans.typed import bottles_wanted, heel_wanted
from pourbook.queries.trials.batch_plan import Wanted, batch_plan
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

if TYPE_CHECKING:
    from pourbook.actions.vats import ScaledUp
    from pourbook.queries.trials.batch_plan import BatchPlan

__all__ = ["routes"]

routes = Routes()

_FIELDS = ("what", "total", "final", "bottles", "losses", "to_strength", "uses", "make_up", "heel", "heel_amount")


@routes.page("/scale-up")
def form(visit: Visit) -> Response:
    """What is wanted, and, once that is said, the casks and how much of each."""
    typed = {name: visit.query.get(name, "").strip() for name in _FIELDS}
    is_asked = bool(typed["what"] and (typed["total"] or typed["final"] or typed["bottles"]))
    found = batch_plan(visit.book, typed["what"], _wanted(visit, typed)) if is_asked else None
    whole = found.plan.whole if found else None
    return visit.page(
        "plans/scale_up.html", typed=typed, found=found, readable=readable, poured_ml=_poured_ml(found),
        makes=None if whole is None else (volume_ml(whole), strength_20c(whole)),
    )  # fmt: skip


def _poured_ml(found: "BatchPlan | None") -> float:
    return sum(pull.volume_ml for pull in found.plan.pulls) if found else 0.0


def _wanted(visit: Visit, typed: Mapping[str, str]) -> Wanted:
    style = visit.style
    bottles = tuple(part.strip() for part in typed["bottles"].split(";") if part.strip())
    return Wanted(
        style.amount(typed["total"]) if typed["total"] else None,
        style.amount(typed["final"]) if typed["final"] else None,
        dict(_use(line) for line in typed["uses"].splitlines() if line.strip()),
        heel_wanted(style, typed["heel"], typed["heel_amount"] or "all") if typed["heel"] else None,
        style.strength(typed["to_strength"]) if typed["to_strength"] else None,
        bottles_wanted(style, bottles, typed["losses"] or None),
        bool(typed["make_up"]),
    )


def _use(line: str) -> tuple[str, list[str]]:
    component, equals, casks = line.partition("=")
    if not equals:
        raise Malformed(f"'{line.strip()}' names no casks", "write it like: Oak base=C-000004-B, C-000005-9")
    return component.strip(), [one.strip() for one in casks.split(",") if one.strip()]


@routes.deed("/scale-up", "plan_batch")
def opened(visit: Visit) -> Response:
    """Open the batch with this plan, to be poured cask by cask."""
    from pourbook.actions.vats import plan_batch

    return _recorded(visit, plan_batch, "pull", visit.gettext("The batch is open; nothing is poured yet."))


@routes.deed("/scale-up/poured", "scale_up")
def poured(visit: Visit) -> Response:
    """Open the batch, and record that all of it was poured as planned."""
    from pourbook.actions.vats import scale_up

    return _recorded(visit, scale_up, "plan", visit.gettext("The batch is recorded as poured."))


def _recorded(visit: Visit, act: "Callable[..., ScaledUp]", page: str, said: str) -> Response:
    typed = {name: visit.typed(name) for name in _FIELDS}
    facts = {name: text for name in ("ref", "name") if (text := visit.typed(name))}
    blend = visit.needed("what", visit.gettext("Recipe, trial or batch"))
    answer = act(visit.book, visit.how, blend, _wanted(visit, typed), facts)
    return visit.to(f"/item/{answer.batch}/{page}", said)
