"""A batch brought down to its strength: the plan of its steps, water that went in, rests, what is next."""

from starlette.responses import Response

from pourbook.alcoholometry.volumes import displayed_mg, strength_20c, volume_ml
from pourbook.errors import Malformed
from pourbook.queries.items.batches_listed import batch_line
from pourbook.station.pages.plan_form import counted_in
from pourbook.station.routing import Routes
from pourbook.station.visit import Visit

__all__ = ["routes"]

routes = Routes()


@routes.page("/item/{item}/reduce")
def reducing(visit: Visit) -> Response:
    """Steps planned beside those done, and the next one."""
    found = visit.book.reducing(visit.item("batch"))
    steps = [(step, [one for one in found.done if found.step_of(one) == step]) for step in found.planned]
    others = [one for one in found.done if found.step_of(one) is None]
    next_step = found.ahead[0] if found.ahead else None
    water = None if next_step is None else (next_step.water.mass_mg / 1e6, volume_ml(next_step.water))
    back = found.spirit_back
    return visit.page(
        "batches/reduce.html", found=found, view=found.view, steps=steps, others=others, next=next_step, water=water,
        back=None if back is None else (volume_ml(back), strength_20c(found.first)), kg=lambda one: one.mass_mg / 1e6,
        is_pouring=batch_line(visit.book, found.view.id).stage == "pouring", now_us=visit.book.clock(),
        on_scale=None if next_step is None else displayed_mg(next_step.water) / 1e6,
    )  # fmt: skip


@routes.deed("/item/{item}/reduce", "plan_reduction")
def planned(visit: Visit) -> Response:
    """State the strength to be reached, and where it rests on the way."""
    from pourbook.actions.reducing import ReductionPlan

    batch, style = visit.item("batch"), visit.style
    target = style.strength(visit.needed("to", visit.gettext("To be reduced to")))
    via = tuple(style.strength(text) for text in visit.typed("via").split(";") if text.strip())
    steps = counted_in(visit, "steps") if visit.typed("steps") else None
    if steps is not None and not 1 <= steps <= 100:
        raise Malformed(f"{steps} steps are none, or too many", "give 1 to 100")
    rest_days = counted_in(visit, "rest_days") if visit.typed("rest_days") else 0
    visit.book.plan_reduction(visit.how, batch, ReductionPlan(target, steps, via, rest_days))
    return visit.to(f"/item/{batch}/reduce", visit.gettext("The steps are planned."))


@routes.deed("/item/{item}/water", "add_water")
def water_added(visit: Visit) -> Response:
    """Book water that went in."""
    batch, style = visit.item("batch"), visit.style
    water = style.amount(visit.needed("water", visit.gettext("Water that went in")), visit.typed("unit") or "kg")
    about = visit.typed("about")
    visit.book.add_water(
        visit.how, batch, water, style.celsius(visit.typed("temperature") or None), {"about": about} if about else {}
    )  # fmt: skip
    return visit.to(f"/item/{batch}/reduce", visit.gettext("The water is booked. Gauge the batch once it is mixed."))
