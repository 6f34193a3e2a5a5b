"""What may be asked beside a plan: the next best plans, casks like one of it, and why the rest is left out."""

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from pourbook.documents.plans import plan_document
from pourbook.documents.shown import Shown, table

if TYPE_CHECKING:
    from pourbook.house_style import HouseStyle
    from pourbook.planning.alternatives import LikeCask
    from pourbook.planning.left_out import LeftOut
    from pourbook.planning.plan import Plan
    from pourbook.planning.recipe import Recipe

__all__ = ["others_rows", "with_left_out", "with_like_casks", "with_others"]

_Named = Callable[[str], str]


def with_others(
    shown: Shown, recipe: "Recipe", plans: "Sequence[Plan]", style: "HouseStyle", named: _Named = str
) -> Shown:
    """The answer with the next best plans beside the best, which is the first of them."""
    document = {**shown.document, "others": [plan_document(one) for one in plans[1:]]}
    if len(plans) == 1:
        return shown._replace(document=document, said=(*shown.said, "", "no other plan differs in more than one cask"))
    best = {take.ref for take in plans[0].takes}
    heads = ("beside the next best", *(f" {words}" for words in ("this plan", "second", "third")[: len(plans)]))
    said = [*table(heads, others_rows(recipe, plans, style))]
    for words, one in zip(("second", "third"), plans[1:], strict=False):
        opened = {take.ref for take in one.takes}
        new = ", ".join(named(take.ref) for take in one.takes if take.ref not in best)
        gone = ", ".join(named(take.ref) for take in plans[0].takes if take.ref not in opened)
        said.append(f"{words}: {new or 'no other cask'} instead of {gone or 'none'}")
    return shown._replace(document=document, said=(*shown.said, "", *said))


def others_rows(recipe: "Recipe", plans: "Sequence[Plan]", style: "HouseStyle") -> list[tuple[str, ...]]:
    """What plans come to, a row for each measure: its words, then a figure of each plan."""

    def row(words: str, value: "Callable[[Plan], float]", decimals: int) -> tuple[str, ...]:
        return (words, *(style.shown(value(one), decimals) for one in plans))

    return [
        row("objective", lambda one: one.objective, 4),
        row("casks opened", lambda one: len(one.takes), 0),
        row("of them not emptied", lambda one: sum(not take.whole for take in one.takes), 0),
        row("taken, l", lambda one: sum(take.volume_l for take in one.takes), 1),
        row("before water, % vol", lambda one: one.strength_before, 2),
        row("water, l", lambda one: one.water_l, 1),
        row("batch, l", lambda one: one.volume_l, 1),
        *(
            (f"{name}, %", *(style.shown(100.0 * one.fractions[name], 2) for one in plans))
            for name in recipe.components
        ),
    ]


def with_like_casks(
    shown: Shown, missing: str, likes: "Sequence[LikeCask]", style: "HouseStyle", named: _Named = str
) -> Shown:
    """The answer with casks like one of the plan, the likest first."""
    found = [{"ref": one.cask.ref, "apart": one.apart, "stands": one.stands} for one in likes]
    document = {**shown.document, "like": {"missing": missing, "casks": found}}
    rows = [
        (
            named(one.cask.ref),
            style.shown(one.cask.volume_l, 1),
            style.shown(one.cask.strength_vol, 2),
            style.shown(one.apart, 2),
            "the plan stands" if one.stands else "the plan does not stand",
        )
        for one in likes
    ]
    heads = (f"instead of {named(missing)}", " l at 20 °C", " % vol", " apart", "with the other casks")
    said = table(heads, rows) if rows else (f"no other cask is of the component of {named(missing)}",)
    return shown._replace(document=document, said=(*shown.said, "", *said))


def with_left_out(shown: Shown, left_out: "Iterable[LeftOut]") -> Shown:
    """The answer with every cask that is not opened, and why."""
    out = tuple(left_out)
    found = [{"ref": one.cask.ref, "reason": one.reason, "hold": one.cask.hold} for one in out]
    rows = [(one.cask.ref, one.cask.component, f"{one.reason}{_held(one.cask.hold)}") for one in out]
    said = table(("left out", "component", "because"), rows) if rows else ("no cask is left out",)
    return shown._replace(document={**shown.document, "left_out": found}, said=(*shown.said, "", *said))


def _held(hold: str) -> str:
    return f": {hold}" if hold else ""
