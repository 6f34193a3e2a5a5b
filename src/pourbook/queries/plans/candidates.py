"""Casks that qualify for a plan, and why every other one is left out.

A cask is taken for the first kind that it is of, that with the most conditions first. What it gives is what it should
hold on the day, and its age is that of the day.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import strength_20c, volume_ml
from pourbook.book.contents import EVER
from pourbook.book.items import ItemView, on_hand
from pourbook.book.last_measured import last_measured
from pourbook.book.lineages import pending_states
from pourbook.codes.identifiers import key_of
from pourbook.errors import Malformed
from pourbook.lineage.ages import WoodAge, age_of
from pourbook.numerals import read_decimal
from pourbook.planning.casks import Cask
from pourbook.queries.casks.choosing import SpiritIn, latest_fill, spirit_in
from pourbook.queries.casks.expected_content import ExpectedContent, UsualLoss, expected_with_usual
from pourbook.queries.items.called import called_view
from pourbook.queries.plans.noted_of_casks import NotedOf, noted_of_casks
from pourbook.queries.trials.components import LayIn, Misfit, of_another_age, of_another_kind
from pourbook.queries.warehouse.reach import shifts_of
from pourbook.texts import lookup_form
from pourbook.times import DAY_US
from pourbook.warehouse.places import lies_in, steps

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Component

__all__ = [
    "DESPITE", "GAUGED_WITHIN_DAYS", "Candidate", "Candidates", "CaskLeftOut", "Choice", "KindWanted", "candidates_of",
    "cost_per_lpa", "days_in_wood", "held_last", "misfits_of",
]  # fmt: skip

GAUGED_WITHIN_DAYS = 1096
"""How old the measurement of a cask may be, where nobody says: three years, common practice, no source."""

DESPITE = ("fault", "pending", "old-gauge")
"""What a person may overlook in a cask."""


class Choice(NamedTuple):
    """Which casks may be chosen beside being of a kind; what is left as it is does not narrow it.

    Attributes:
        only: these casks alone, as somebody names them.
        without: not these.
        spirit: whole words of the spirit.
        wood: of the wood.
        previous: of what the wood held before.
        place: where it lies: a building, or a row of it.
        least_years: completed years in wood, at least; unknown is not enough.
        most_years: at most.
        least_days: days in wood, at least; unknown is not enough.
        gauged_within_days: how long ago its contents were measured, at most.
        despite: what is overlooked, of `DESPITE`.
        needs_cost: whether its cost must be known.
    """

    only: tuple[str, ...] = ()
    without: tuple[str, ...] = ()
    spirit: str = ""
    wood: str = ""
    previous: str = ""
    place: str = ""
    least_years: int = 0
    most_years: int | None = None
    least_days: int = 0
    gauged_within_days: int = GAUGED_WITHIN_DAYS
    despite: frozenset[str] = frozenset()
    needs_cost: bool = False


class KindWanted(NamedTuple):
    """A kind of spirit that a part is of; `is_alike` where it is that of a cask, whose words must be the very same."""

    kind: "Component"
    is_alike: bool = False

    @property
    def conditions(self) -> int:
        """How many it has."""
        kind = self.kind
        return sum(map(bool, (kind.spirit, kind.wood, kind.previous, kind.min_age, kind.max_age is not None)))


class Candidate(NamedTuple):
    """A cask that qualifies.

    Attributes:
        cask: as the planner takes it; its ref is the identifier.
        view: the cask and what the book has in it.
        called: what it is called beside its identifier.
        lay_in: spirit, wood and what that held before.
        age: of the spirit, on the day.
        expected: what it should hold on the day.
        measured_days: for how many days its contents will not have been measured by then; None where they never were.
        noted: what notes say of it; None where there are none.
    """

    cask: Cask
    view: ItemView
    called: str
    lay_in: LayIn
    age: WoodAge
    expected: ExpectedContent
    measured_days: int | None
    noted: NotedOf | None


class CaskLeftOut(NamedTuple):
    """A cask that does not qualify.

    Attributes:
        cask: its identifier.
        called: what it is called beside it.
        kind: the kind that it came nearest to.
        why: all that keeps it out.
    """

    cask: str
    called: str
    kind: str
    why: tuple[Misfit, ...]


class Candidates(NamedTuple):
    """The casks that qualify for kinds on a day, and those that do not.

    Attributes:
        on_us: the day.
        found: those that qualify, by number.
        left_out: those that do not.
        usual: the yearly loss of casks without one of their own.
    """

    on_us: int
    found: tuple[Candidate, ...]
    left_out: tuple[CaskLeftOut, ...]
    usual: UsualLoss | None

    @property
    def casks(self) -> tuple[Cask, ...]:
        """As the planner takes them."""
        return tuple(one.cask for one in self.found)


class _Known(NamedTuple):
    """All that is asked of a cask."""

    view: ItemView
    lay_in: LayIn
    spirit: SpiritIn
    years: int | None
    expected: ExpectedContent
    measured_days: int | None
    is_pending: bool
    noted: NotedOf | None
    shifts: int


def candidates_of(
    book: "BookCore", kinds: Sequence[KindWanted], choice: Choice | None = None, on_us: int | None = None
) -> Candidates:
    """The casks of these kinds that qualify on a day (by default, now), and why any other is left out.

    Raises:
        Unknown: a cask that is named is not in the book.
        Malformed: what is to be overlooked is not of `DESPITE`.
    """
    wanted, day_us = _looked_up(book, choice or Choice()), book.clock() if on_us is None else on_us
    ordered = sorted(kinds, key=lambda one: (-one.conditions, one.kind.name))
    found, left_out = list[Candidate](), list[CaskLeftOut]()
    with book.store.snapshot():
        views = list(on_hand(book.store, None, "cask"))
        expected, usual = expected_with_usual(book, [view.id for view in views], day_us)
        for one in _known(book, views, expected, day_us):
            called = called_view(book.store, one.view)
            nearest, why = min(((kind, misfits_of(kind, one.lay_in, one.years)) for kind in ordered), key=_how_far)
            if why := (*why, *_unwanted(one, wanted)):
                left_out.append(CaskLeftOut(one.view.id, called, nearest.kind.name, why))
            else:
                cask = _cask(one, nearest.kind.name)
                told = one.spirit.age, one.expected, one.measured_days, one.noted
                found.append(Candidate(cask, one.view, called, one.lay_in, *told))
    return Candidates(day_us, tuple(found), tuple(left_out), usual)


def misfits_of(wanted: KindWanted, lay_in: LayIn, years: int | None) -> tuple[Misfit, ...]:
    """All that keeps spirit in its wood, of so many completed years, from being of a kind."""
    unlike = _unlike(wanted.kind, lay_in) if wanted.is_alike else of_another_kind(wanted.kind, lay_in)
    return (*unlike, *of_another_age(wanted.kind, years))


def _how_far(judged: tuple[KindWanted, tuple[Misfit, ...]]) -> int:
    return len(judged[1])


def held_last(lay_in: LayIn) -> str:
    """What a cask held last before what lies in it, without what stands behind a comma: when, how it was treated."""
    return lay_in.previous[-1].partition(",")[0].strip() if lay_in.previous else ""


def _unlike(kind: "Component", lay_in: LayIn) -> Iterator[Misfit]:
    """What tells spirit in its wood from that of a cask: the same words, in any case."""
    found = {"spirit": lay_in.spirit, "wood": lay_in.wood, "previous": held_last(lay_in)}
    for what, text in found.items():
        wanted = getattr(kind, what)
        if lookup_form(wanted) != lookup_form(text):
            yield Misfit(what, wanted or "none", text)


def _looked_up(book: "BookCore", choice: Choice) -> Choice:
    if wrong := sorted(choice.despite - set(DESPITE)):
        raise Malformed(f"'{wrong[0]}' cannot be overlooked", f"write one of: {', '.join(DESPITE)}")
    named, without = (tuple(map(book.find, names)) for names in (choice.only, choice.without))
    return choice._replace(only=named, without=without)


def _known(
    book: "BookCore", views: Sequence[ItemView], expected: Mapping[str, ExpectedContent], on_us: int
) -> Iterator[_Known]:
    fills = {view.id: latest_fill(book.store, view) for view in views}
    noted = noted_of_casks(book, {cask: fill.begun_us for cask, fill in fills.items()})
    pending, shifts = pending_states(book.store), shifts_of(book)
    for view in views:
        fill, spirit = fills[view.id], spirit_in(book.store, view, on_us)
        lay_in = LayIn(fill.spirit, view.facts.get("wood", ""), fill.before)
        completed = age_of(spirit.age.youngest, book.zone)
        measured = last_measured(book.store, key_of(view.id), (EVER, 0))
        yield _Known(
            view, lay_in, spirit, None if completed is None else completed.years, expected[view.id],
            None if measured is None else max(0, on_us - measured.happened_us) // DAY_US,
            bool(pending.get(view.holding.state)), noted.get(view.id), shifts.get(view.id, 0),
        )  # fmt: skip


def _cask(one: _Known, kind: str) -> Cask:
    liquid = one.expected.liquid
    return Cask(
        one.view.id, kind, volume_ml(liquid) / 1000.0, strength_20c(liquid) or 0.0,
        days_in_wood(one.spirit.age), cost_per_lpa(one.spirit), "", one.view.facts.get("place", ""), float(one.shifts),
        one.noted.words if one.noted else {},
    )  # fmt: skip


def days_in_wood(age: WoodAge) -> int | None:
    """Whole days of the youngest spirit; None where that is unknown."""
    return None if age.youngest_us is None else age.youngest_us // DAY_US


def cost_per_lpa(spirit: SpiritIn) -> float | None:
    """Of what it was made from, evaporation not counted; None where that of any spirit in it is not known."""
    cost = 0.0
    for share, told in spirit.origins:
        if "cost" not in told:
            return None
        cost += share * float(read_decimal(str(told["cost"]).replace(",", ".")))
    return cost if spirit.origins else None


def _unwanted(one: _Known, wanted: Choice) -> Iterator[Misfit]:
    """What keeps a cask out whatever kind it is of."""
    if not one.view.holding.ethanol_mg:
        yield Misfit("empty")
    if held := one.view.facts.get("held"):
        yield Misfit("held", found=held)
    if (wanted.only and one.view.id not in wanted.only) or one.view.id in wanted.without:
        yield Misfit("not-named")
    yield from of_another_kind(_narrowed(wanted), one.lay_in)
    yield from of_another_age(_narrowed(wanted), one.years)
    lain = days_in_wood(one.spirit.age)
    if wanted.least_days and (lain is None or lain < wanted.least_days):
        yield Misfit("days", str(wanted.least_days), "" if lain is None else str(lain))
    if wanted.needs_cost and cost_per_lpa(one.spirit) is None:
        yield Misfit("cost")
    place = one.view.facts.get("place", "")
    if wanted.place and not lies_in(steps(place), steps(wanted.place)):
        yield Misfit("place", wanted.place, place)
    if one.noted and one.noted.faults and "fault" not in wanted.despite:
        yield Misfit("fault", found=", ".join(one.noted.faults))
    if one.is_pending and "pending" not in wanted.despite:
        yield Misfit("pending")
    days = one.measured_days
    if (days is None or days > wanted.gauged_within_days) and "old-gauge" not in wanted.despite:
        yield Misfit("old-gauge", str(wanted.gauged_within_days), "" if days is None else str(days))


def _narrowed(wanted: Choice) -> "Component":
    from pourbook.book.entries import Component

    return Component("", wanted.spirit, wanted.wood, wanted.previous, wanted.least_years, wanted.most_years)
