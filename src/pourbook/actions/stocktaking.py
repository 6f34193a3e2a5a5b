"""Take stock by scan: begin, scan whatever is there, end. Every scan is in the book at once, so any station goes on.

Nothing is written off: what is missing is told, and stays due until it is seen, moved, poured from or written off.

>>> from pourbook import Book
>>> from pourbook.actions.casks import Filling, take_in_cask
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> for number in (1, 2, 3):
...     facts = {"ref": f"Q {number}", "place": f"Row 3/{number}" if number < 3 else "Row 4/1"}
...     _ = take_in_cask(book, how, facts, Filling(read_amount("200 l"), read_strength("63.5")))
>>> _ = open_stocktake(book, how, "May", "Row 3")
>>> walk = StocktakeRound(book, how, "May")
>>> [one.met.state for one in map(walk.scan, ("q1", "q3")) if one.met]
['found', 'extra']
>>> ended = end_stocktake(book, how, "May", move=True)
>>> ended.card.result.missing, ended.moved, book.show("Q 3").facts["place"]
(('C000002F',), ('C000003D',), 'Row 3')
"""

from typing import TYPE_CHECKING, Literal, NamedTuple

from pourbook.actions.correcting import void
from pourbook.actions.happening import Happening
from pourbook.actions.item_facts import move_items
from pourbook.actions.line_by_line import LineByLine
from pourbook.book.consequences import Recorded
from pourbook.book.entries import Facts, Seen, Stocktake
from pourbook.book.items import ItemView
from pourbook.book.stocktakes import Sighting, seen_before, stocktake_named
from pourbook.codes.identifiers import LIQUID_KINDS, hyphened, kind_of
from pourbook.errors import Ambiguous, Malformed, Mistyped, PourbookError, Refused, Unknown
from pourbook.numerals import a_or_an
from pourbook.queries.warehouse.stocktake import StocktakeCard, belongs, expected_at, stocktake_card
from pourbook.queries.warehouse.walk import the_walk
from pourbook.warehouse.places import lies_in, steps

if TYPE_CHECKING:
    from pourbook.actions.print_paper import Output, Printed
    from pourbook.book.core import BookCore

__all__ = [
    "Ended", "InStocktake", "Met", "Opened", "StocktakeLine", "StocktakeRound", "end_stocktake", "open_stocktake",
    "print_stocktake",
]  # fmt: skip

State = Literal["found", "extra", "emptied", "again", "illegible", "unknown"]


class Opened(NamedTuple):
    """A stocktake that was begun, how many items are `expected` there by the book, and what was recorded."""

    stocktake: Stocktake
    expected: int
    recorded: Recorded


class Ended(NamedTuple):
    """The `card` of a stocktake that ended, items `moved` in the book to where they were seen, what was recorded."""

    card: StocktakeCard
    moved: tuple[str, ...]
    recorded: Recorded


def open_stocktake(book: "BookCore", how: Happening, name: str, place: str = "") -> Opened:
    """Begin a stocktake at a place, in words or by its tag; an empty one is the whole house.

    Raises:
        Refused: a stocktake has that name.
    """
    with how.transaction(book):
        begun = Stocktake(name, _place(book, place) if place else "")
        return Opened(begun, len(expected_at(book, begun.place)), how.record(book, begun))


def end_stocktake(book: "BookCore", how: Happening, name: str, *, move: bool = False) -> Ended:
    """End a stocktake: what was found is recorded; with `move`, what was seen elsewhere is there from now on.

    Raises:
        Unknown: no such stocktake.
        Refused: nothing was seen in it, or it has ended.
    """
    with how.transaction(book):
        card = stocktake_card(book, name)
        if not card.seen:
            raise Refused(f"nothing was scanned in the stocktake '{name}'", "scan: pourbook stocktake scan NAME")
        to_move = [one for one in card.result.extra if one.seen_at] if move else []
        moves = [Facts(one.item, {"place": one.seen_at}) for one in to_move]
        recorded = how.record(book, card.result, *moves)
        return Ended(stocktake_card(book, name), tuple(one.item for one in to_move), recorded)


def _place(book: "BookCore", text: str) -> str:
    """A place in words, or what is written on the tag that was scanned."""
    try:
        item = book.find(text)
    except (Unknown, Mistyped, Ambiguous):
        return text
    return book.show(item).ref if kind_of(item) == "place" else text


class InStocktake(NamedTuple):
    """What a station knows beside the book.

    Attributes:
        name: of the stocktake.
        place: where it stands.
        extra: the item scanned last, where it was elsewhere by the book: what `here` moves.
        entries: of what was recorded last, the last first: what `undo` voids.
        to_confirm: a line that the rules of the book asked about.
        scanned: how many things were recorded here.
        refused: how many lines were not.
    """

    name: str
    place: str = ""
    extra: str = ""
    entries: tuple[int, ...] = ()
    to_confirm: str = ""
    scanned: int = 0
    refused: int = 0


class Met(NamedTuple):
    """What a scan met.

    Attributes:
        state: found, extra (elsewhere by the book), emptied (by the book), again (already scanned), illegible, unknown.
        view: the item; None where nobody knows which.
        text: what was scanned or said.
        before: where and when it was scanned already.
    """

    state: State
    view: ItemView | None
    text: str
    before: tuple[Sighting, ...] = ()


class StocktakeLine(NamedTuple):
    """The answer to one line.

    Attributes:
        in_hand: what the station knows now.
        done: it was the last line.
        refused: why nothing was recorded.
        met: what was scanned.
        at: the place that was scanned or named.
        missing: what the book has at the place and nobody has scanned yet, where that was asked.
        moved: the item that was moved here.
        undone: whether the last scan was taken back.
    """

    in_hand: InStocktake
    done: bool = False
    refused: PourbookError | None = None
    met: Met | None = None
    at: str = ""
    missing: tuple[ItemView, ...] | None = None
    moved: str = ""
    undone: bool = False


class StocktakeRound(LineByLine[InStocktake, StocktakeLine]):
    """Takes what a station scans: a place, whatever lies there, `illegible`, `here`, `undo`, `?`, `done`."""

    def __init__(self, book: "BookCore", how: Happening, name: str, in_hand: InStocktake | None = None) -> None:
        """Begin, or go on with what an earlier one had `in_hand`.

        Raises:
            Malformed: it is a dry run.
            Unknown: no such stocktake.
            Refused: it has ended.
        """
        if how.dry_run:
            raise Malformed("a stocktake by scan cannot be a dry run", "leave --dry-run out")
        taken = stocktake_named(book.store, name)
        if taken.end is not None:
            raise Refused(f"the stocktake '{name}' has ended", "begin another: pourbook stocktake open NAME")
        begun = taken.stocktake
        super().__init__(book, how, in_hand or InStocktake(begun.name, begun.place))

    def _refused(self, refusal: PourbookError) -> StocktakeLine:
        return StocktakeLine(self.in_hand, refused=refusal)

    def _answer(self, line: str) -> StocktakeLine:
        word, _, rest = line.partition(" ")
        word, rest, answer = word.lower(), rest.strip(), StocktakeLine(self.in_hand)
        if not line:
            return answer
        if line.lower() in ("done", "end"):
            return answer._replace(done=True)
        if line.lower() == "undo":
            return self._undo()
        if line == "?":
            return answer._replace(missing=self._still_missing(self.in_hand.place))
        if line.lower() == "here":
            return self._here()
        if word == "at" and rest:
            return self._at(_place(self._book, rest))
        if word == "illegible":
            return self._illegible(rest)
        return self._scanned(line)

    def _at(self, place: str) -> StocktakeLine:
        self._keep(place=place, extra="")
        return StocktakeLine(self.in_hand, at=place)

    def _scanned(self, line: str) -> StocktakeLine:
        try:
            item = self._book.find(line)
        except Unknown:
            unknown = Seen(self.in_hand.name, place=self.in_hand.place, code=line)
            return self._see(Met("unknown", None, line), unknown)
        if kind_of(item) == "place":
            return self._at(self._book.show(item).ref)
        if kind_of(item) not in LIQUID_KINDS:
            raise Refused(f"{hyphened(item)} is {a_or_an(kind_of(item))}", "scan a place, or what lies there")
        return self._met(item, line, self.in_hand.place)

    def _met(self, item: str, text: str, place: str, *, illegible: bool = False) -> StocktakeLine:
        """An item at a place: found, elsewhere by the book, empty by the book, or scanned already."""
        with self._now_and_here.transaction(self._book):  # another station may be scanning the same
            return self._as_met(self._book.show(item), text, place, illegible=illegible)

    def _as_met(self, view: ItemView, text: str, place: str, *, illegible: bool) -> StocktakeLine:
        hand = self.in_hand
        before = tuple(seen_before(self._book.store, hand.name, view.id))
        if any(belongs(one.seen.place, place) for one in before) and not illegible:
            self._keep(extra="")
            return StocktakeLine(self.in_hand, met=Met("again", view, text, before))
        is_here = belongs(view.facts.get("place", ""), place)
        state: State = "found" if is_here else "extra"
        if not view.holding.mass_mg:
            state = "emptied"
        if illegible:
            state = "illegible"
        met = Met(state, view, text, before)
        return self._see(met, Seen(hand.name, view.id, place, illegible=illegible), extra="" if is_here else view.id)

    def _illegible(self, what: str) -> StocktakeLine:
        """A label that cannot be read: of an item that is named, or of whatever alone is still missing at a place."""
        place = self.in_hand.place
        if what:
            try:
                item = self._book.find(what)
            except (Unknown, Mistyped):
                item = ""
            if item and kind_of(item) in LIQUID_KINDS:
                return self._met(item, what, place, illegible=True)
            place = _place(self._book, what)
        if not place:
            raise Malformed("illegible, but where?", "write the place: illegible Row 3/12")
        missing = self._still_missing(place)
        if len(missing) == 1:
            return self._met(missing[0].id, what, place, illegible=True)
        return self._see(Met("illegible", None, place), Seen(self.in_hand.name, place=place, illegible=True))

    def _still_missing(self, place: str) -> tuple[ItemView, ...]:
        """What lies at a place by the book, within that of the stocktake, and was not scanned yet."""
        card = stocktake_card(self._book, self.in_hand.name)
        there = [card.views[item] for item in card.result.missing]
        within = steps(place)
        found = [one for one in there if lies_in(steps(one.facts.get("place", "")), within)]
        return tuple(the_walk(self._book).ordered(found, lambda one: one.facts.get("place", ""), lambda one: one.ref))

    def _see(self, met: Met, seen: Seen, extra: str = "") -> StocktakeLine:
        recorded = self._now_and_here.record(self._book, seen)
        self._keep(extra=extra, entries=tuple(recorded.numbers), scanned=self.in_hand.scanned + 1)
        return StocktakeLine(self.in_hand, met=met)

    def _here(self) -> StocktakeLine:
        """What was scanned last is elsewhere by the book, and is here from now on."""
        hand = self.in_hand
        if not hand.extra:
            raise Malformed("'here' moves what was scanned last, and that is where the book has it", "scan it again")
        if not hand.place:
            raise Malformed("'here', but where?", "write the place first: at Row 3/12")
        moved = move_items(self._book, self._now_and_here, [hand.extra], hand.place)
        self._keep(extra="", entries=(*moved.recorded.numbers, *hand.entries))
        return StocktakeLine(self.in_hand, moved=hand.extra)

    def _undo(self) -> StocktakeLine:
        hand = self.in_hand
        if not hand.entries:
            raise Malformed("nothing was scanned that could be taken back", "see: pourbook void --help")
        how = self._now_and_here
        said = how._replace(reason=how.reason or "undone in the stocktake")
        with said.transaction(self._book):
            for number in hand.entries:
                void(self._book, said, number)
        self._keep(extra="", entries=(), scanned=hand.scanned - 1)
        return StocktakeLine(self.in_hand, undone=True)


def print_stocktake(
    book: "BookCore", how: Happening, name: str, output: "Output | None" = None
) -> "tuple[StocktakeCard, Printed]":
    """Print a stocktake as it stands, or as it ended; the stocktake itself stands beside the paper.

    Raises:
        PourbookError: no such stocktake, or the file cannot be written; nothing is recorded.
    """
    from pourbook.actions import print_paper
    from pourbook.book.entries import Paper
    from pourbook.papers.stocktake_paper import StocktakePaper, stocktake_paper
    from pourbook.paperwork.imprint import imprint_of
    from pourbook.paperwork.unset_characters import unset_on

    output = output or print_paper.Output()
    with how.transaction(book):
        card = stocktake_card(book, name)
        values = StocktakePaper(imprint_of(book), card, book.zone)
        targets = print_paper.paper_targets(book, output, f"stocktake-{card.taken.begun.number}.pdf")
        files = dict.fromkeys(targets, stocktake_paper(values, output.size or book.settings["paper"]))
        facts = print_paper.stood(values.imprint) | {"stocktake": card.taken.stocktake.name}
        facts |= {"found": len(card.result.found), "missing": len(card.result.missing)}
        paper = Paper("stocktake", card.result.missing, facts)
        recorded = print_paper.kept(book, how, paper, files, output)
    return card, print_paper.Printed(files, "", facts, (), unset_on(values), recorded)
