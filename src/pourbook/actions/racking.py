"""Rack a leaking cask into a sound one: what arrived, what leaked, a note, and what it changes, in one action.

>>> from pourbook import Book
>>> from pourbook.actions.casks import Filling, take_in_cask
>>> from pourbook.quantities import read_amount, read_strength
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> _ = take_in_cask(book, how, {"ref": "Q 31"}, Filling(read_amount("200 l"), read_strength("63.5")))
>>> _ = take_in_cask(book, how, {"ref": "Q 40"})
>>> racking = RackingByScan(book, how)
>>> *_, done = [racking.scan(line) for line in ("Q 31", "Q 40", "180 l")]
>>> f"{done.racked.outlook.into.volume_ml_20c:.0f} ml", f"{done.racked.leaked_ml:.0f} ml leaked"
('180000 ml', '20000 ml leaked')
"""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.correcting import void_all
from pourbook.actions.happening import Happening
from pourbook.actions.line_by_line import LineByLine
from pourbook.actions.line_scanned import TEMPERATURE, reads
from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.consequences import Recorded
from pourbook.book.entries import Entry, Facts, Hold, Move, Note, Pour
from pourbook.book.holds import holders
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.errors import Malformed, PourbookError, Question, Refused, answered
from pourbook.house_style import HouseStyle
from pourbook.quantities import Amount, Strength
from pourbook.queries.warehouse.racking import Outlook, racking_outlook

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["InRacking", "Racked", "Racking", "RackingByScan", "RackingLine", "rack"]


class Racking(NamedTuple):
    """What arrived in the sound cask.

    Attributes:
        arrived: as measured there; None where it was not: all that the book has goes over.
        strength: of what arrived, as read; None keeps that of the book.
        temperature_c: of a volume.
        about: what was found on the leaking cask.
    """

    arrived: Amount | None = None
    strength: Strength | None = None
    temperature_c: float = 20.0
    about: str = "leaking"


class Racked(NamedTuple):
    """A leaking cask that was racked.

    Attributes:
        outlook: both casks as they are now, and what it changed: wood, kind, plans that wanted the leaking one.
        leaked_ml: booked as leaked, at 20 °C.
        is_measured: whether what arrived was.
        recorded: what was recorded.
    """

    outlook: Outlook
    leaked_ml: float
    is_measured: bool
    recorded: Recorded


def rack(book: "BookCore", how: Happening, leaker: str, into: str, racking: Racking) -> Racked:
    """Rack all of a leaking cask into another: what the book has beyond what arrived is lost as a leak.

    A hold on the leaking cask goes with its spirit.

    Raises:
        ToConfirm: the other is not empty, the leaking one is on hold, or a rule of liquid asks.
        Refused: the leaking one holds nothing.
    """
    how = how._replace(reason=how.reason or racking.about)
    with how.transaction(book):
        outlook = racking_outlook(book, leaker, into)
        here, there = outlook.leaker, outlook.into
        if not here.holding.mass_mg:
            raise Refused(f"{hyphened(here.id)} holds nothing by the book", "gauge it first, if there is spirit in it")
        answered(_asked(outlook), by_person=how.confirm)
        recall = holders(book.store, key_of(here.id)).recall
        move = Move(here.id, there.id, racking.arrived, racking.strength, racking.temperature_c)
        recorded = how.record(book, *_around(outlook, racking, Pour("rack", (move,))))
        left = book.show(here.id).holding
        if left.mass_mg:
            leak = Move(here.id, "loss", None, facts={"disposition": "leak"})
            recorded = recorded.and_then(how.record(book, Pour("loss", (leak,))))
        if "held" in here.facts:
            recorded = recorded.and_then(how.record(book, Hold(there.id, held=True, recall=recall)))
        now = outlook.after(book.show(here.id), book.show(there.id))
        return Racked(now, volume_ml(left.liquid), racking.arrived is not None, recorded)


def _asked(outlook: Outlook) -> list[Question]:
    here, there = outlook.leaker, outlook.into
    found = []
    if outlook.is_mixed:
        found.append(
            Question(
                "not-empty",
                f"{hyphened(there.id)} is not empty: two bodies of spirit become one",
                "scan an empty cask.",
                {"held_mg": there.holding.mass_mg},
            )
        )
    if "held" in here.facts:
        found.append(
            Question(
                "leaking-and-held",
                f"{hyphened(here.id)} is on hold, and so will be what it goes into",
                "tell whoever put it on hold.",
                {"item": here.id},
            )
        )
    return found


def _around(outlook: Outlook, racking: Racking, pour: Pour) -> list[Entry]:
    """The pour with its note, the spirit's name on an empty cask, and before it the end of a hold."""
    here, there = outlook.leaker, outlook.into
    entries: list[Entry] = [Note(here.id, racking.about, "inspection")]
    spirit = here.facts.get("spirit", "")
    if not outlook.is_mixed and there.facts.get("spirit", "") != spirit:
        entries.append(Facts(there.id, {"spirit": spirit}, ("spirit",)))
    if "held" in here.facts:
        entries.append(Hold(here.id, held=False))
    return [*entries, pour]


class InRacking(NamedTuple):
    """What a racking by scan knows beside the book.

    Attributes:
        leaker: the leaking cask that was scanned.
        into: the cask that it is to go into.
        celsius: temperature of what arrived.
        strength: of what arrived, as typed.
        entries: of the last racking, the last first: what `undo` voids.
        to_confirm: a line that the rules of the book asked about.
        racked: how many casks were racked.
        refused: how many lines were not recorded.
    """

    leaker: str = ""
    into: str = ""
    celsius: str | None = None
    strength: str = ""
    entries: tuple[int, ...] = ()
    to_confirm: str = ""
    racked: int = 0
    refused: int = 0


class RackingLine(NamedTuple):
    """The answer to one line.

    Attributes:
        in_hand: what the racking knows now.
        done: it was the last line.
        refused: why nothing was recorded.
        outlook: once both casks are scanned: what racking the one into the other would change.
        racked: a cask that was racked by this line.
        undone: whether the last racking was voided.
    """

    in_hand: InRacking = InRacking()
    done: bool = False
    refused: PourbookError | None = None
    outlook: Outlook | None = None
    racked: Racked | None = None
    undone: bool = False


class RackingByScan(LineByLine[InRacking, RackingLine]):
    """Takes the leaking cask, the sound one, what was measured, and then the amount that arrived, or `all`."""

    def __init__(
        self, book: "BookCore", how: Happening, in_hand: InRacking | None = None, about: str = "leaking"
    ) -> None:
        """Begin, or go on with what an earlier one had `in_hand`.

        Raises:
            Malformed: it is a dry run.
        """
        if how.dry_run:
            raise Malformed("racking by scan cannot be a dry run", "name both: LEAKING INTO AMOUNT")
        super().__init__(book, how, in_hand or InRacking())
        self._style, self._about = HouseStyle(book.settings), about

    def _refused(self, refusal: PourbookError) -> RackingLine:
        return RackingLine(refused=refusal)

    def _answer(self, line: str) -> RackingLine:
        word = line.lower()
        if not line:
            return RackingLine()
        if word in ("done", "end"):
            return RackingLine(done=True)
        if word == "undo":
            return self._undo()
        if TEMPERATURE.fullmatch(line):
            self._style.celsius(line)
            self._keep(celsius=line)
            return RackingLine()
        if word == "all" or reads(self._style.amount, line):
            return self._rack(line)
        if reads(self._style.strength, line):
            self._keep(strength=line)
            return RackingLine()
        return self._scanned(line)

    def _scanned(self, line: str) -> RackingLine:
        item, hand = self._book.find(line), self.in_hand
        if not hand.leaker:
            self._keep(leaker=item)
            return RackingLine()
        outlook = racking_outlook(self._book, hand.leaker, item)
        if item == hand.leaker:
            raise Refused(f"{hyphened(item)} is the leaking cask itself", "scan the cask that it goes into")
        self._keep(into=item)
        return RackingLine(outlook=outlook)

    def _rack(self, line: str) -> RackingLine:
        hand, style = self.in_hand, self._style
        if not hand.into:
            raise Malformed("an amount, but not both casks were scanned", "scan the leaking cask, then the sound one")
        strength = style.strength(hand.strength) if hand.strength else None
        racking = Racking(style.amount_or_all(line), strength, style.celsius(hand.celsius), self._about)
        racked = rack(self._book, self._now_and_here, hand.leaker, hand.into, racking)
        entries = tuple(racked.recorded.numbers[::-1])
        self.in_hand = InRacking(entries=entries, racked=hand.racked + 1, refused=hand.refused)
        return RackingLine(racked=racked)

    def _undo(self) -> RackingLine:
        """The last racking was a mistake: all that it recorded is voided."""
        hand, how = self.in_hand, self._now_and_here
        if not hand.entries:
            raise Malformed("nothing was racked that could be undone", "see: pourbook void --help")
        said = how._replace(reason=how.reason or "undone while racking")
        void_all(self._book, said, hand.entries)
        self._keep(entries=(), racked=hand.racked - 1)
        return RackingLine(undone=True)
