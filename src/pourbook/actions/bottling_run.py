"""A bottling run: begun, added to, changed to another vat, ended. Whatever is counted stands in the book at once.

Liquid is poured when a vat is done with, by the mean of the fills measured by then: bottles hold what they hold, and
what the label says is another figure. Losses on the line leave the vat when they are recorded.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> filled = Pour("fill", (Move("origin", "B000001Y", read_amount("100 l"), read_strength("46")),))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (Item("B000001Y", {}), filled)))
>>> lot = begin_bottling(book, how, "B000001Y", Begun(read_amount("700 ml"))).lot
>>> _ = add_to_bottling(book, how, lot, Added(Tally(filled=130, broken=1)))
>>> _ = measure_fills(book, how, lot, Measured(("701 ml", "703 ml")))
>>> run = end_bottling(book, how, lot, Rest(read_amount("8.7 l"))).run
>>> f"{run.lots[0].actual.litres:.2f} l, {run.lots[0].overfill.litres:.2f} l of it overfill", run.lots[0].made.loose
('91.26 l, 0.26 l of it overfill', 129)
>>> f"{run.vats[0].difference.litres:.2f} l missing"
'0.04 l missing'
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.actions.movement import Status, record, told
from pourbook.alcoholometry.apparent import composition_of_liquid, density_of
from pourbook.alcoholometry.volumes import mass_mg_in_air, mass_mg_of_volume, pure_alcohol_ml, strength_20c, volume_ml
from pourbook.batches.bottling import bottled
from pourbook.book.bottling_rules import OF_CHANGES, OF_ENDS, ChangeCase, EndCase
from pourbook.book.bottling_runs import Count, Tally, counts, fills, lots_of_run
from pourbook.book.entries import Counted, Entry, Facts, Fills, Gauge, Item, Move, Pour
from pourbook.book.items import ledger
from pourbook.book.journal import entry_of, line_of
from pourbook.book.rules import confirmed
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Malformed, NotThere, Refused
from pourbook.gauging.as_typed import kept_amount
from pourbook.gauging.average_contents import spread
from pourbook.liquid import EMPTY, Liquid
from pourbook.numerals import read_decimal
from pourbook.quantities import Amount, in_bottles, read_amount
from pourbook.queries.bottling.run import BottlingRun, bottling_run
from pourbook.words.figure_words import strength_shown

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.book.items import ItemView

__all__ = [
    "Added", "Begun", "Measured", "Rest", "RunRecorded", "add_to_bottling", "begin_bottling", "change_vat",
    "end_bottling", "measure_fills",
]  # fmt: skip


class Begun(NamedTuple):
    """A lot that is to be filled: the nominal `size` of its bottles, and `facts` as of `bottle`.

    `beside` is a lot of a run under way that it is filled with, in another size; empty begins a run.
    """

    size: Amount
    facts: Mapping[str, str] = {}
    beside: str = ""


class Added(NamedTuple):
    """What is added to a run.

    Attributes:
        counted: bottles since they were counted last.
        kept: of those retained, place and until (a day); of those destroyed, witness.
        losses: of the vat, by kind: filter, soakage, spill …
        purge: ran through the line and not into bottles, and how much of it went back into the vat.
        goods: dry goods used from now on, by the name of the fact; what was counted had those before.
    """

    counted: Tally = Tally()
    kept: Mapping[str, Any] = {}
    losses: Sequence[tuple[str, Amount]] = ()
    purge: tuple[Amount, Amount | None] | None = None
    goods: Mapping[str, str] = {}


class Measured(NamedTuple):
    """What was read of bottles: volumes, or weights of full bottles in air where a tare is given.

    Attributes:
        readings: of each bottle, with its unit; a weight may have its own tare: "1182.4 g/478.2 g".
        tare: of an empty bottle with its closure, where it was weighed so.
        temperature_c: of the liquid.
    """

    readings: tuple[str, ...]
    tare: Amount | None = None
    temperature_c: float = 20.0


class Rest(NamedTuple):
    """What a vat has `left` at `temperature_c` (None: not measured, or it `empties`); `kind` of loss of the rest."""

    left: Amount | None = None
    temperature_c: float = 20.0
    empties: bool = False
    kind: str = ""


_UNKNOWN = Rest()


class RunRecorded(NamedTuple):
    """A `lot`, how its `run` stands, and what was `recorded`."""

    lot: str
    run: BottlingRun
    recorded: "Recorded"


def begin_bottling(
    book: "BookCore", how: Happening, vat: str, begun: Begun, status: Status | None = None
) -> RunRecorded:  # fmt: skip
    """Begin to fill a lot from a vat: a run of its own, or a further size of one under way.

    Raises:
        NotThere: the vat is empty.
        Refused: the run is filled from another vat.
    """
    with how.transaction(book):
        view, lot = book.show(vat), book.next_id("lot")
        if not view.holding.ethanol_mg:
            raise NotThere(f"{hyphened(view.id)} holds no spirit", "check the identifier")
        run = lot
        if begun.beside:
            run, filled_from = _under_way(book, begun.beside)
            if filled_from != view.id:
                raise Refused(
                    f"{hyphened(run)} is filled from {hyphened(filled_from)}, not {hyphened(view.id)}",
                    "begin a run of its own: leave --with out",
                )
        facts = {"name": view.facts.get("name"), **begun.facts, "size_ml": f"{float(begun.size.volume_ml):g}"}
        facts |= {"labelled_strength": strength_shown(view.strength_20c), "run": run, "filling_from": view.id}
        return _answer(book, lot, record(book, how, status, Item(lot, told(facts))))


def add_to_bottling(book: "BookCore", how: Happening, lot: str, added: Added) -> RunRecorded:
    """Add to a run what was counted, lost on the line, or taken of dry goods since.

    Raises:
        Malformed: nothing is added, or bottles were destroyed and nobody is said to have seen it.
        Refused: the lot is not being filled, or more bottles are gone than were filled.
    """
    with how.transaction(book):
        view = book.show(lot)
        run, vat = _under_way(book, view.id)
        entries: list[Entry] = []
        if any(added.counted):
            entries.append(Counted(view.id, vat, *added.counted, **told(added.kept)))
        if added.goods:
            entries.append(Facts(view.id, added.goods))
        lost = tuple(_lost(vat, kind, amount, run) for kind, amount in added.losses)
        if added.purge:
            lost += tuple(_purged(vat, *added.purge, run))
        if lost:
            entries.append(Pour("bottle", lost))
        if not entries:
            raise Malformed("nothing was added", "say what was counted or lost: --filled, --broken, --loss, --purge …")
        return _answer(book, view.id, record(book, how, None, *entries))


def measure_fills(book: "BookCore", how: Happening, lot: str, measured: Measured) -> RunRecorded:
    """Record what bottles of a lot were found to hold, in mL at 20 °C by the strength that the book has.

    Raises:
        Malformed: a reading is neither a volume nor a weight with a tare.
        ToConfirm: a bottle holds a fifth more or less than its label says.
    """
    with how.transaction(book):
        view = book.show(lot)
        filled_from = view.facts.get("filling_from")
        liquid = (book.show(filled_from) if filled_from else view).holding.liquid
        if not liquid.mass_mg:
            raise NotThere(
                f"{hyphened(view.id)} holds nothing whose density is known", "measure before the vat is empty"
            )
        mark, celsius = book.settings["decimal_mark"], measured.temperature_c
        contents = tuple(
            round(_content_ml(text, measured.tare, liquid, celsius, mark) * 1000) for text in measured.readings
        )
        tare = kept_amount(measured.tare) if measured.tare else ""
        at = f"{celsius:.6g} C" if celsius != 20.0 else ""  # noqa: RUF100
        entry = Fills(view.id, contents, tuple(" ".join(text.split()) for text in measured.readings), tare, at)
        return _answer(book, view.id, record(book, how, None, entry))


def change_vat(
    book: "BookCore", how: Happening, lot: str, vat: str, rest: Rest = _UNKNOWN, status: Status | None = None
) -> RunRecorded:  # fmt: skip
    """Go on filling the lots of a run from another vat: what the one before gave is poured, and its rest measured.

    Raises:
        NotThere: the next vat is empty, or the one before holds less than was filled.
        ToConfirm: the vats differ in strength, or more is missing than the house tolerates.
    """
    with how.transaction(book):
        view, following = book.show(lot), book.show(vat)
        run, before = _under_way(book, view.id)
        if not following.holding.ethanol_mg:
            raise NotThere(f"{hyphened(following.id)} holds no spirit", "check the identifier")
        if before == following.id:
            raise Refused(f"{hyphened(view.id)} is filled from {hyphened(before)} already", "name the next vat")
        strengths = strength_20c(book.show(before).holding.liquid) or 0.0, following.strength_20c or 0.0
        confirmed(OF_CHANGES, ChangeCase(view.id, *strengths, book.settings["decimal_mark"]), by_person=how.confirm)
        goes_on = [Facts(one.id, {"filling_from": following.id}) for one in _filling(book, run)]
        return _answer(book, view.id, record(book, how, status, *_poured(book, how, run, before, rest), *goes_on))


def end_bottling(
    book: "BookCore", how: Happening, lot: str, rest: Rest = _UNKNOWN, status: Status | None = None
) -> RunRecorded:  # fmt: skip
    """End a run: what was filled is poured, what is left in the vat is measured, and what differs is explained.

    Raises:
        Refused: nothing was filled.
        NotThere: the vat holds less than was filled.
        ToConfirm: more is missing than the house tolerates (the setting `bottling_difference`).
    """
    with how.transaction(book):
        view = book.show(lot)
        run, vat = _under_way(book, view.id)
        lots = _filling(book, run)
        filled = {one.id: sum(count.tally.of_the_lot for count in counts(book.store, one.id)) for one in lots}
        if not any(filled.values()):
            raise Refused(
                f"no bottle of {hyphened(run)} was counted", "count them: pourbook bottling add LOT --filled NUMBER"
            )
        ends = [
            Facts(one.id, {"filling_from": "", **({"bottles": str(filled[one.id])} if filled[one.id] else {})})
            for one in lots
        ]
        return _answer(book, view.id, record(book, how, status, *_poured(book, how, run, vat, rest), *ends))


# -- what the actions share ----------------------------------------------------------------


def _answer(book: "BookCore", lot: str, recorded: "Recorded") -> RunRecorded:
    return RunRecorded(lot, bottling_run(book, lot), recorded)


def _under_way(book: "BookCore", lot: str) -> tuple[str, str]:
    """The run of a lot, and what it is filled from."""
    view = book.show(lot)
    if "filling_from" not in view.facts:
        raise Refused(f"{hyphened(view.id)} is not being filled", "begin a run: pourbook bottling begin BATCH --size …")
    return view.facts["run"], view.facts["filling_from"]


def _filling(book: "BookCore", run: str) -> "list[ItemView]":
    views = [book.show(lot) for lot in lots_of_run(book.store, run)]
    return [view for view in views if "filling_from" in view.facts]


def _lost(vat: str, kind: str, amount: Amount | None, run: str, **more: str | int) -> Move:
    return Move(vat, "loss", amount, facts={"disposition": kind, "run": run, **more})


def _purged(vat: str, purged: Amount, back: Amount | None, run: str) -> Iterator[Move]:
    """What of a purge did not go back into the vat is lost on the line."""
    if back is None:
        yield _lost(vat, "line", purged, run)
    elif purged.dimension == back.dimension == "volume" and purged.volume_ml == back.volume_ml:
        raise Malformed("all of the purge went back, so nothing was lost", "leave the purge out")
    else:
        told_of = {"purged": kept_amount(purged), "back": kept_amount(back)}
        yield _lost(vat, "line", purged.less(back), run, **told_of)


def _content_ml(text: str, tare: Amount | None, liquid: Liquid, celsius: float, mark: str) -> float:
    """What a bottle holds at 20 °C, by what was read of it."""
    gross_text, slash, own = text.partition("/")
    gross = read_amount(gross_text, "g" if tare or slash else "ml", mark)
    empty = read_amount(own, "g", mark) if slash else tare
    mass_mg = liquid.mass_mg
    if gross.dimension == "volume":
        if empty is not None:
            raise Malformed(f"'{text}' is a volume, and a tare belongs to weights", "leave the tare out")
        fraction, extract = composition_of_liquid(liquid)
        mass_mg = mass_mg_of_volume(float(gross.volume_ml), fraction, celsius, extract)
    elif empty is None:
        raise Malformed(f"'{text}' is a weight without a tare", "give --tare, or write it as GROSS/TARE")
    else:
        # As displayed in air; what displaces air is the liquid, as glass stands on both sides.
        mass_mg = mass_mg_in_air((gross.mass_mg - empty.mass_mg), density_of(composition_of_liquid(liquid), celsius))
    return volume_ml(liquid) * mass_mg / liquid.mass_mg


def _poured(book: "BookCore", how: Happening, run: str, vat: str, rest: Rest) -> Iterator[Entry]:
    """What a vat gave since it was begun with: into lots, of them lost, and what its rest differs by."""
    held = book.show(vat).holding.liquid
    moves, gone = [], list[Move]()
    for view in _filling(book, run):
        done = _last_pour(book, vat, view.id)
        here = [count for count in counts(book.store, view.id) if count.vat == vat and count.entry > done]
        bottles = sum(count.tally.of_the_lot for count in here)
        if bottles:
            liquid = bottled(held, bottles, _mean_ml(book, view))
            moves.append(Move(vat, view.id, liquid.mass_mg, facts={"bottles": bottles, "run": run}))
            gone += _gone(view.id, here, run)
    if moves:
        yield Pour("bottle", tuple(moves))
    if gone:
        yield Pour("loss", tuple(gone))
    left = held.mass_mg - sum(move.amount for move in moves if isinstance(move.amount, int))
    yield from _rested(book, how, run, vat, rest, held.scaled(max(left, 0)))


def _mean_ml(book: "BookCore", view: "ItemView") -> float:
    """By the bottles measured; by the label where none were."""
    contents = [one for read in fills(book.store, view.id) for one in read.contents_ml]
    return spread(contents)[0] if contents else float(read_decimal(view.facts["size_ml"]))


def _last_pour(book: "BookCore", vat: str, lot: str) -> int:
    """The entry in which a vat was poured into a lot last; 0 where it never was. What was counted before is in it."""
    lines = (
        (row.entry, line_of(entry_of(book.store, row.entry).entry["body"], row.line))
        for row in ledger(book.store, key_of(lot))
    )
    return max((entry for entry, line in lines if line.get("from") == vat), default=0)


_GONE = {"broken": "spill", "destroyed": "destruction", "sampled": "sample"}
"""Kinds of loss of what was counted."""


def _gone(lot: str, here: "Sequence[Count]", run: str) -> Iterator[Move]:
    """Bottles of a lot whose liquid is lost, by what became of them."""
    for name, kind in _GONE.items():
        of_witness: dict[str, int] = {}
        for one in here:
            if bottles := getattr(one.tally, name):
                of_witness[one.witness] = of_witness.get(one.witness, 0) + bottles
        for witness, bottles in of_witness.items():
            about = {"witness": witness} if witness and kind == "destruction" else {}
            yield Move(lot, "loss", in_bottles(bottles), facts={"disposition": kind, "run": run, **about})


def _rested(book: "BookCore", how: Happening, run: str, vat: str, rest: Rest, expected: Liquid) -> Iterator[Entry]:
    """What is left is gauged, or lost with the run; asked about where it differs by more than the house tolerates."""
    if rest.left is None and not rest.empties:
        if rest.kind:
            raise Malformed("a kind of loss, and nothing was measured", "give --left, or --empties")
        return
    left = _left(rest, expected)
    missing_ml = pure_alcohol_ml(expected) - pure_alcohol_ml(left)
    case = EndCase(
        vat,
        _left_it_ml(book, run, vat, expected) + missing_ml,
        missing_ml,
        _tolerated(book),
        rest.kind,
        book.settings["decimal_mark"],
    )
    confirmed(OF_ENDS, case, by_person=how.confirm)
    if rest.left is not None:
        facts = told({"run": run, "disposition": rest.kind})
        yield Gauge(vat, rest.left, None, rest.temperature_c, facts=facts)
    elif expected.mass_mg:
        yield Pour("bottle", (_lost(vat, rest.kind or "line", None, run, rest=1),))


def _tolerated(book: "BookCore") -> float:
    return float(read_decimal(book.settings["bottling_difference"]))


def _left(rest: Rest, expected: Liquid) -> Liquid:
    """What was measured, as strong as the book has it."""
    if rest.left is None or not rest.left.value:
        return EMPTY
    if not expected.mass_mg:
        raise Refused(
            "the vat is empty by the book, and something is left in it", "check the counts and the fills measured"
        )
    made_of = composition_of_liquid(expected)
    if rest.left.dimension != "volume":
        return expected.scaled(round(rest.left.mass_mg))
    return expected.scaled(
        mass_mg_of_volume(
            float(rest.left.volume_ml), made_of.mass_fraction, rest.temperature_c, made_of.extract_per_mass
        )
    )


def _left_it_ml(book: "BookCore", run: str, vat: str, expected: Liquid) -> float:
    """Pure alcohol that left a vat in a run, known losses included: before, and with what is poured now."""
    now_ml = pure_alcohol_ml(book.show(vat).holding.liquid) - pure_alcohol_ml(expected)
    before = next((one for one in bottling_run(book, run).vats if one.view.id == vat), None)
    if before is None:
        return now_ml
    return now_ml + 1000 * (before.bottles.lpa + sum(lost.lpa for lost in before.losses.values()))
