"""Vats and bottles: open a batch, scale a trial up to one, dump casks into it, bottle it."""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.movement import Moved, Status, moved, record, told
from pourbook.actions.new_item import new_item
from pourbook.alcoholometry.apparent import composition_of_liquid
from pourbook.batches.bottling import bottled
from pourbook.batches.dumping import in_vat, shared_out
from pourbook.batches.scale_up import to_pour
from pourbook.bench.trials import WATER
from pourbook.book.consequences import Recorded
from pourbook.book.entries import Facts, Gauge, Item, Move, Pour, Recipe, RecipePart
from pourbook.book.gauge_rules import OF_VATS, VatCase
from pourbook.book.items import ItemView
from pourbook.book.lineages import pending_in
from pourbook.book.rules import confirmed
from pourbook.book.search import stated
from pourbook.codes.identifiers import hyphened, key_of, readable
from pourbook.errors import Refused, answered
from pourbook.gauging.as_typed import kept_amount, kept_strength
from pourbook.quantities import Amount, Strength
from pourbook.queries.trials.batch_plan import BatchPlan, Wanted, batch_plan
from pourbook.words.figure_words import strength_shown

if TYPE_CHECKING:
    from pourbook.batches.bottles_wanted import BottlesWanted
    from pourbook.book.core import BookCore

__all__ = [
    "Bottled", "Bottling", "ScaledUp", "VatReading", "bottle", "dump", "open_batch", "open_planned", "plan_anew",
    "plan_batch", "scale_up",
]  # fmt: skip


class ScaledUp(NamedTuple):
    """A batch that was opened as planned, poured or yet to be poured, and what was recorded."""

    batch: str
    planned: BatchPlan
    recorded: Recorded


class VatReading(NamedTuple):
    """The total that a vat measured of all that was dumped into it, and its strength; None keeps that of the casks.

    `temperature_c` is that of a volume; `kind` says where what is missing went, a word of `DISPOSITIONS`.
    """

    total: Amount
    strength: Strength | None = None
    temperature_c: float = 20.0
    kind: str = ""


class Bottling(NamedTuple):
    """Bottles to be filled, with the nominal size of each.

    `facts` are ref, name, lot_mark, closure, bottle_lot, label, carton. `losses` on the way are kinds with amounts,
    None for all; where bottling empties the vat, the rest was lost on the line.
    """

    bottles: int
    size: Amount
    facts: Mapping[str, str] = {}
    losses: Sequence[tuple[str, Amount | None]] = ()
    empties: bool = False


class Bottled(NamedTuple):
    """A lot that was bottled: how many bottles, the batch before and its pending entries, what was recorded."""

    lot: str
    bottles: int
    batch: ItemView
    pending: tuple[int, ...]
    recorded: Recorded


def open_batch(
    book: "BookCore", how: Happening, facts: Mapping[str, str], given: str | None = None, status: Status | None = None
) -> Moved:
    """Open a batch: a body of spirit outside casks (a vatting, a tank, a tanker's load).

    `facts` are ref, name, place, and the trial that it follows; `given` is the identifier on a label printed ahead,
    None takes the next number.
    """
    with how.transaction(book):
        batch = new_item(book, "batch", given)
        follows = {"follows": book.find(facts["follows"])} if facts.get("follows") else {}
        return moved(book, batch, record(book, how, status, Item(batch, {**facts, **follows})))


def scale_up(
    book: "BookCore", how: Happening, blend: str, wanted: Wanted, facts: Mapping[str, str] | None = None,
    status: Status | None = None,
) -> ScaledUp:  # fmt: skip
    """Open a batch and pour into it what `batch_plan` says; `facts` are its ref and name."""
    with how.transaction(book):
        planned = batch_plan(book, blend, wanted)
        answered(planned.asked, by_person=how.confirm)
        batch = book.next_id("batch")
        moves = tuple(
            Move(pull.source, batch, pull.liquid.mass_mg, facts={"role": pull.component}) for pull in planned.plan.pulls
        )
        reduced = {"target_strength": kept_strength(wanted.to_strength)} if wanted.to_strength else {}
        own = [_own_recipe(book, hyphened(batch), planned)] if planned.kinds else []
        plan = {"plan": own[0].name} if own else {}
        opened = Item(batch, {**(facts or {}), **reduced, **plan, "follows": planned.follows})
        return ScaledUp(batch, planned, record(book, how, status, *own, opened, Pour("vat", moves)))


def plan_batch(
    book: "BookCore", how: Happening, blend: str, wanted: Wanted, facts: Mapping[str, str] | None = None,
    status: Status | None = None,
) -> ScaledUp:  # fmt: skip
    """Open a batch with what `batch_plan` says as its plan, to be poured cask by cask; `facts` are its ref and name.

    The plan is a recipe of the batch's own: litres of each source, rounded up, so that there is enough.
    """
    with how.transaction(book):
        planned = batch_plan(book, blend, wanted)
        answered(planned.asked, by_person=how.confirm)
        return open_planned(book, how, planned, facts, status)


def open_planned(
    book: "BookCore", how: Happening, planned: BatchPlan, facts: Mapping[str, str] | None = None,
    status: Status | None = None,
) -> ScaledUp:  # fmt: skip
    """Open a batch with a plan that was made before; `facts` are its ref and name, and what else is kept of it."""
    batch, mark, wanted = book.next_id("batch"), book.settings["decimal_mark"], planned.wanted
    reduced_to = wanted.to_strength
    opened = {
        **(facts or {}),
        "follows": planned.follows,
        "plan": hyphened(batch),
        "total": _total(planned, mark),
        "target_strength": "" if reduced_to is None else kept_strength(reduced_to),
        "fills": _fills(wanted.bottles, mark) if wanted.bottles else "",
    }
    entries = _own_recipe(book, hyphened(batch), planned), Item(batch, told(opened))
    return ScaledUp(batch, planned, record(book, how, status, *entries))


def plan_anew(
    book: "BookCore", how: Happening, batch: str, planned: BatchPlan, facts: Mapping[str, str] | None = None
) -> ScaledUp:
    """Give a batch another plan, with what went into it already; the one before stays as it was written."""
    store = book.store
    before = [one.value for one in stated(store, ("plan",), [key_of(batch)])]
    name = f"{hyphened(batch)} plan {len(before) + 1}"
    own = _own_recipe(book, name, planned)._replace(revised_from=before[-1])
    changed = {**(facts or {}), "plan": name, "total": _total(planned, book.settings["decimal_mark"])}
    known = book.show(batch).facts
    moved_on = {fact: value for fact, value in changed.items() if value != known.get(fact)}
    return ScaledUp(batch, planned, record(book, how, None, own, Facts(batch, moved_on)))


def _total(planned: BatchPlan, mark: str) -> str:
    total = sum(litres for litres, _ in to_pour(planned.plan).values())
    return f"{total:f} l".replace(".", mark)


def _own_recipe(book: "BookCore", name: str, planned: BatchPlan) -> Recipe:
    """Litres of each source, rounded up, with the kind of spirit that it was taken for."""
    mark, reduced_to = book.settings["decimal_mark"], planned.wanted.to_strength
    parts = [
        RecipePart(
            source, f"{litres:f}".replace(".", mark), ", ".join(map(readable, components)),
            stands_for=planned.kinds.get(source, ""),
        )
        for source, (litres, components) in to_pour(planned.plan).items()
        if source != WATER or reduced_to is None
    ]  # fmt: skip
    return Recipe(name, tuple(parts))


def _fills(bottles: "BottlesWanted", mark: str) -> str:
    """Bottles and losses as typed."""
    said = [f"{one.bottles} x {kept_amount(one.size)}" for one in bottles.sizes]
    if bottles.losses is not None:
        lost = bottles.losses
        said.append(f"losses {kept_amount(lost) if isinstance(lost, Amount) else f'{lost:f} %'.replace('.', mark)}")
    return "; ".join(said)


def dump(
    book: "BookCore", how: Happening, batch: str, casks: Sequence[str], read: VatReading | None = None,
    status: Status | None = None,
) -> Moved:  # fmt: skip
    """Dump casks whole into a batch.

    What the vat measured stands: each cask is gauged to its share of it, so that its difference from the book is
    its gain or loss.

    Raises:
        ToConfirm: the casks can hardly have given what the vat measured.
        Refused: the vat held something before, so that its strength is not that of the casks.
    """
    with how.transaction(book):
        target, sources = book.show(batch), [book.find(cask) for cask in casks]
        if read and read.strength is not None and target.holding.mass_mg:
            raise Refused(
                "the vat was not empty, so its strength is not that of the casks",
                "leave --strength out and gauge the batch once it is mixed",
            )
        gauges = _gauged_by_vat(book, how, sources, read) if read else []
        poured = Pour("dump", tuple(Move(cask, target.id, None) for cask in sources))
        return moved(book, target.id, record(book, how, status, *gauges, poured))


def _gauged_by_vat(book: "BookCore", how: Happening, casks: Sequence[str], read: VatReading) -> list[Gauge]:
    views = [book.show(cask, how.when_us) for cask in casks]
    holds = {view.id: view.holding.liquid for view in views}
    whole = in_vat(read.total, read.strength, read.temperature_c, holds)
    by_key = {key_of(cask): liquid for cask, liquid in holds.items()}
    mark, moment = book.settings["decimal_mark"], how.moment(book)
    case = VatCase(book.store, mark, moment, by_key, read.total, read.strength, whole, bool(read.kind))
    confirmed(OF_VATS, case, by_person=how.confirm)
    strength = {} if read.strength is None else {"strength": kept_strength(read.strength)}
    reading = {"vat_share": {"total": kept_amount(read.total), **strength}}
    return [
        Gauge(
            cask, share.mass_mg, None, reading=reading, facts=told({"disposition": read.kind}),
            mass_fraction=None if read.strength is None else composition_of_liquid(share).mass_fraction,
        )
        for cask, share in shared_out(whole, holds).items()
    ]  # fmt: skip


def bottle(book: "BookCore", how: Happening, batch: str, bottling: Bottling, status: Status | None = None) -> Bottled:
    """Bottle a batch as a lot: a number of bottles of a nominal content at 20 °C, and what was lost.

    Raises:
        Malformed: no bottles, or a size of zero.
        NotThere: the batch holds too little.
    """
    size_ml = float(bottling.size.volume_ml)
    with how.transaction(book):
        view = book.show(batch)
        liquid = bottled(view.holding.liquid, bottling.bottles, size_ml)
        lot = book.next_id("lot")
        facts = {"name": view.facts.get("name"), **bottling.facts, "bottles": str(bottling.bottles)}
        facts |= {"size_ml": f"{size_ml:g}", "labelled_strength": strength_shown(view.strength_20c)}
        moves = [Move(view.id, lot, liquid.mass_mg, facts={"bottles": bottling.bottles})]
        moves += [Move(view.id, "loss", amount, facts={"disposition": kind}) for kind, amount in bottling.losses]
        pending = pending_in(book.store, view.holding)
        recorded = record(book, how, status, Item(lot, told(facts)), Pour("bottle", tuple(moves)))
        if bottling.empties and book.show(view.id).holding.mass_mg:
            how.record(book, Pour("bottle", (Move(view.id, "loss", None, facts={"disposition": "line"}),)))
        return Bottled(lot, bottling.bottles, view, pending, recorded)
