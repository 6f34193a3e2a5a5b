"""A bottling run: bottles counted, what they hold, and where the rest of what left the vat went.

Actual contents balance the mass; nominal contents, at the strength on the label, are what duty and label go by. What
differs between them is overfill.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.actions.bottling_run import Begun, begin_bottling
>>> from pourbook.actions.happening import Happening
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> filled = Pour("fill", (Move("origin", "B000001Y", read_amount("100 l"), read_strength("46")),))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item("B000001Y", {}), filled)))
>>> run = begin_bottling(book, Happening("M. Aldane"), "B000001Y", Begun(read_amount("700 ml"))).run
>>> run.id, run.under_way, [lot.view.id for lot in run.lots]
('L000001C', True, ['L000001C'])
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import fsum
from typing import TYPE_CHECKING, NamedTuple

from pourbook.alcoholometry.volumes import pure_alcohol_ml, volume_ml
from pourbook.book.bottles import bottle_count
from pourbook.book.bottling_runs import Tally, counts, fills, lots_of_run, runs_under_way, tally
from pourbook.book.items import ItemView, ledger
from pourbook.book.journal import entry_of, line_of
from pourbook.book.recall_scope import DRY_GOODS
from pourbook.book.search import stated
from pourbook.book.trade_numbers import units_of
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Refused
from pourbook.gauging.average_contents import CONTENTS_RULES, Judged, judged, spread
from pourbook.liquid import EMPTY, Liquid
from pourbook.numerals import read_decimal
from pourbook.queries.journal.movements import movements

if TYPE_CHECKING:
    from pourbook.book.bottles import BottleCount
    from pourbook.book.bottling_runs import Count
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = [
    "BottlesMade", "BottlingRun", "Good", "Kept", "LotOfRun", "Measure", "Stretch", "VatOfRun", "bottling_run",
    "bottling_runs",
]  # fmt: skip


class Measure(NamedTuple):
    """Litres at 20 °C, and litres of pure alcohol in them."""

    litres: float
    lpa: float


class BottlesMade(NamedTuple):
    """Where all bottles of a lot are: every one that was `filled` is in one of them.

    `packed` are in cases, `loose` the rest of those in the house; `retained` are kept back. `gone` is by what became of
    them: broken, destroyed, sampled, and other losses after the run. `out` are with customers.
    """

    filled: int
    packed: int
    loose: int
    retained: int
    gone: Mapping[str, int]
    out: int


class Stretch(NamedTuple):
    """Bottles of a lot, `first` to `last` by the counter, that one `vat` filled; counted `from_us` `to_us`."""

    vat: str
    first: int
    last: int
    from_us: int
    to_us: int


class Good(NamedTuple):
    """What of a `kind` of dry goods was used (`text`) `from_us` on, and how many `after_bottles` that was."""

    kind: str
    text: str
    from_us: int
    after_bottles: int


class Kept(NamedTuple):
    """So many `bottles` kept back as reference: at a `place`, `until` a day (ISO); empty where nobody said."""

    bottles: int
    place: str
    until: str


class LotOfRun(NamedTuple):
    """A lot of a run.

    Attributes:
        view: the lot as it is now.
        size_ml: nominal content of a bottle.
        tolerable_ml: how much a bottle may lack by the house's rule of contents; None without one.
        counted: what was counted, in all.
        stretches: which bottles each vat filled.
        measured: how many bottles were measured.
        mean_ml: of what they hold; None where none were measured.
        sd_ml: standard deviation of it; None of fewer than two.
        judged: by the house's rule of contents; None without one, or where nothing was measured or counted.
        actual: what is in the bottles that were filled, as the book has it; what they will hold while a vat is open.
        nominal: so many bottles of the size on the label at the strength on it.
        made: where they are.
        goods: dry goods, in order of time.
        kept: reference samples.
    """

    view: ItemView
    size_ml: float
    tolerable_ml: float | None
    counted: Tally
    stretches: tuple[Stretch, ...]
    measured: int
    mean_ml: float | None
    sd_ml: float | None
    judged: Judged | None
    actual: Measure
    nominal: Measure
    made: BottlesMade
    goods: tuple[Good, ...]
    kept: tuple[Kept, ...]

    @property
    def overfill(self) -> Measure:
        """What is in the bottles beyond their label; below zero where it is less."""
        return Measure(self.actual.litres - self.nominal.litres, self.actual.lpa - self.nominal.lpa)


class VatOfRun(NamedTuple):
    """What left a vat in a run, and what it has left.

    Attributes:
        view: the vat as it is now.
        bottles: went into bottles.
        losses: by kind.
        difference: what was missing when the rest was measured, or lost unmeasured as the rest; below zero where more
            was there; None while nobody measured.
        left: in it after the run, as far as it was measured; else by the book now.
        is_measured: whether it was.
        to_pour: bottles counted that are still in it by the book.
    """

    view: ItemView
    bottles: Measure
    losses: Mapping[str, Measure]
    difference: Measure | None
    left: Measure
    is_measured: bool
    to_pour: int


class BottlingRun(NamedTuple):
    """A run: the `id` of its first lot, whether it is `under_way`, its `lots` and the `vats` it was filled from."""

    id: str
    under_way: bool
    lots: tuple[LotOfRun, ...]
    vats: tuple[VatOfRun, ...]


def bottling_run(book: "BookCore", lot: str) -> BottlingRun:
    """The run that a lot belongs to.

    Raises:
        PourbookError: no such item.
        Refused: it was not bottled in a run.
    """
    view = book.show(lot)
    run = view.facts.get("run", "")
    if not run:
        raise Refused(
            f"{hyphened(view.id)} was not bottled in a run", "begin one: pourbook bottling begin BATCH --size …"
        )
    return _run(book, run)


def bottling_runs(book: "BookCore") -> list[BottlingRun]:
    """Every run under way."""
    return [_run(book, run) for run in runs_under_way(book.store)]


def _run(book: "BookCore", run: str) -> BottlingRun:
    store = book.store
    views = [book.show(lot) for lot in lots_of_run(store, run)]
    counted = {view.id: counts(store, view.id) for view in views}
    filling = [view.facts["filling_from"] for view in views if "filling_from" in view.facts]
    vats = dict.fromkeys([one.vat for of_lot in counted.values() for one in of_lot] + filling)
    vats |= dict.fromkeys(vat for view in views for vat in _ever_filled_from(store, view.id))
    lots = tuple(_lot(book, view, counted[view.id]) for view in views)
    return BottlingRun(run, bool(filling), lots, tuple(_vat(book, run, vat, counted) for vat in vats))


def _ever_filled_from(store: "Store", lot: str) -> list[str]:
    return [fact.value for fact in stated(store, ("filling_from",), (key_of(lot),)) if fact.value]


def _measure(liquid: Liquid) -> Measure:
    return Measure(volume_ml(liquid) / 1000, pure_alcohol_ml(liquid) / 1000)


def _sum(liquids: Iterable[Liquid]) -> Measure:
    """Litres are added, each as it was: what is in bottles does not mix."""
    measures = [_measure(liquid) for liquid in liquids]
    return Measure(fsum(one.litres for one in measures), fsum(one.lpa for one in measures))


# -- a lot --------------------------------------------------------------------------------


def _lot(book: "BookCore", view: ItemView, counted: "Sequence[Count]") -> LotOfRun:
    store, size_ml = book.store, float(read_decimal(view.facts["size_ml"]))
    whole = tally(counted) if counted else Tally()
    contents = [one for read in fills(store, view.id) for one in read.contents_ml]
    mean_ml, sd_ml = spread(contents) if contents else (None, None)
    there = bottle_count(store, view.id)
    poured = there.filled if there else 0
    to_pour = max(0, whole.of_the_lot - poured) if "filling_from" in view.facts else 0
    filled = poured + to_pour
    label = float(read_decimal(view.facts.get("labelled_strength", "0")))
    nominal_l = filled * size_ml / 1000
    rule = CONTENTS_RULES.get(book.settings["contents_rule"])
    return LotOfRun(
        view, size_ml, rule and rule.tolerable_ml(size_ml), whole, _stretches(counted), len(contents), mean_ml, sd_ml,
        judged(rule, size_ml, filled, contents) if rule and contents and filled else None,
        _actual(store, view.id, to_pour * (mean_ml or size_ml) / 1000, label),
        Measure(nominal_l, nominal_l * label / 100),
        _made(store, view.id, filled, whole, there),
        tuple(_goods(store, view.id, counted)),
        tuple(Kept(one.tally.retained, one.place, one.until) for one in counted if one.tally.retained),
    )  # fmt: skip


def _actual(store: "Store", lot: str, to_pour_l: float, label: float) -> Measure:
    """What was poured into a lot, and what will be when its vat is done with."""
    into = _sum(one.liquid for one in movements(store, (key_of(lot),)) if one.what == "in" and one.how != "return")
    return Measure(into.litres + to_pour_l, into.lpa + to_pour_l * label / 100)


def _made(store: "Store", lot: str, filled: int, whole: Tally, there: "BottleCount | None") -> BottlesMade:
    during = {"broken": whole.broken, "destroyed": whole.destroyed, "sampled": whole.sampled}
    lost = max(there.lost if there else 0, whole.gone)
    gone = {**during, "otherwise": lost - whole.gone}
    out = there.with_customers if there else 0
    packed = sum(one.bottles for one in units_of(store, lot) if one.unit == "case")
    loose = filled - lost - whole.retained - packed
    return BottlesMade(filled, packed, loose, whole.retained, {name: one for name, one in gone.items() if one}, out)


def _stretches(counted: "Sequence[Count]") -> tuple[Stretch, ...]:
    found: list[Stretch] = []
    last = 0
    for one in counted:
        if not one.tally.filled:
            continue
        if found and found[-1].vat == one.vat:
            found[-1] = found[-1]._replace(last=last + one.tally.filled, to_us=one.happened_us)
        else:
            found.append(Stretch(one.vat, last + 1, last + one.tally.filled, one.happened_us, one.happened_us))
        last += one.tally.filled
    return tuple(found)


def _goods(store: "Store", lot: str, counted: "Sequence[Count]") -> Iterator[Good]:
    facts = [fact for fact in stated(store, DRY_GOODS, (key_of(lot),)) if fact.value]
    for fact in sorted(facts, key=lambda fact: (fact.happened_us, fact.place)):
        after = sum(
            one.tally.filled for one in counted if (one.happened_us, one.entry) < (fact.happened_us, fact.place)
        )
        yield Good(fact.name, fact.value, fact.happened_us, after)


# -- a vat --------------------------------------------------------------------------------


def _vat(book: "BookCore", run: str, vat: str, counted: "Mapping[str, Sequence[Count]]") -> VatOfRun:
    store, view, key = book.store, book.show(vat), key_of(vat)
    rows = {
        row.line: (told, row.holding.liquid)
        for row in ledger(store, key)
        if (told := line_of(entry_of(store, row.entry).entry["body"], row.line)).get("facts", {}).get("run") == run
    }
    rest = [after for told, after in rows.values() if "item" in told or "rest" in told["facts"]]
    into, lost = dict[str, list[Liquid]](), dict[str, list[Liquid]]()
    poured = 0
    for one in movements(store, (key,)):
        if one.line not in rows:
            continue
        told = rows[one.line][0]
        kind = told["facts"].get("disposition", "")
        if one.what == "out":
            into.setdefault(told["to"], []).append(one.liquid)
            poured += int(told["facts"].get("bottles", 0))
        elif one.what == "gauge" or "rest" in told["facts"]:
            lost.setdefault("", []).append(one.liquid if one.what == "lost" else EMPTY - one.liquid)
        else:
            lost.setdefault(kind, []).append(one.liquid)
    here = [one.tally.of_the_lot for of_lot in counted.values() for one in of_lot if one.vat == vat]
    return VatOfRun(
        view,
        _sum(liquid for of_lot in into.values() for liquid in of_lot),
        {kind: _sum(liquids) for kind, liquids in lost.items() if kind},
        _sum(lost.get("", ())) if rest else None,
        _measure(rest[-1] if rest else view.holding.liquid),
        bool(rest),
        sum(here) - poured,
    )
