"""Pour into an item line by line, as a scanner sends them: a source, an amount, the next one.

Every pour is recorded at once; what was poured, the plan and what is still to go are read from the book. What no book
can know (the glass in hand, the last question, what the balance showed) is one value, `PouringSession.in_hand`: with it
a page, a loop over a scanner's lines or a script goes on where it stopped.

>>> from pourbook import Book, Item
>>> book, how = Book.create(":memory:", house="Quillmere"), Happening("M. Aldane")
>>> trial = book.next_id("trial")
>>> _ = how.record(book, Item(trial, {}))
>>> session = PouringSession(book, how, trial)
>>> session.scan("water").in_hand.source, f"{session.scan('7 ml').target.view.volume_ml_20c:.1f} ml"
('water', '7.0 ml')
>>> session.scan("water 7 ml").in_hand.asked.amount.typed, session.scan("done").done
('7 ml', True)
"""

import re
from decimal import Decimal
from functools import partial
from typing import TYPE_CHECKING, Any

from pourbook.actions.happening import Happening
from pourbook.actions.line_by_line import LineByLine, Signal
from pourbook.actions.line_scanned import AmountTyped, InHand, SamePour, Scanned, met, reads
from pourbook.actions.on_a_balance import changed_by, grams_of, in_air_g
from pourbook.actions.pouring import AS_POURED, OUTSIDE, PourDetails, pour, pour_called, source_and_amount, source_named
from pourbook.bench.beside_plan import to_take
from pourbook.book.journal import journal
from pourbook.codes.identifiers import kind_of, read
from pourbook.errors import Malformed, PourbookError, ToConfirm
from pourbook.gauging.as_typed import amount_again, poured_again
from pourbook.gauging.what_was_read import WhatWasRead
from pourbook.house_style import HouseStyle
from pourbook.liquid import EMPTY
from pourbook.quantities import Amount, read_amount
from pourbook.queries.casks.expected_content import below_book_ml
from pourbook.queries.items.called import called
from pourbook.queries.items.item_card import Held, held_now
from pourbook.queries.traces.heel_age import heel_beside
from pourbook.queries.trials.bounds_kept import bounds_kept
from pourbook.queries.trials.pull_guard import before_it_flows, has_plan
from pourbook.queries.trials.rules_kept import rules_kept
from pourbook.queries.trials.targets import for_source, remaining, targets
from pourbook.queries.trials.to_come import to_come

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.bench.beside_plan import Rest, Target
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.book.journal import Logged

__all__ = ["PouringSession"]

_LEFT = re.compile(r"(?:(?P<glass>.+)\s+)?(?:left\s+(?P<amount>.+)|(?<!and )empty)", re.IGNORECASE)
_LOST = re.compile(r"(?:(?P<glass>.+)\s+)?(?P<word>spilled|tasted)(?:\s+(?P<amount>.+))?", re.IGNORECASE)
_ZERO = re.compile(r"zero\s+(?P<shown>.+)", re.IGNORECASE)
_DISPOSITION = {"spilled": "spill", "tasted": "tasting"}
_BEGINS_NUMBERS = "0123456789.,+-−"


class PouringSession(LineByLine[InHand, Scanned]):
    """Pours into one `target`; a refused line changes nothing, and the next one is taken."""

    def __init__(
        self, book: "BookCore", how: Happening, target: str, details: PourDetails = AS_POURED,
        in_hand: InHand | None = None, *, balance: bool = False,
    ) -> None:  # fmt: skip
        """Begin, or go on with what an earlier session had `in_hand`.

        With `balance`, amounts are what a balance shows that is not tared between pours, in g.

        Raises:
            PourbookError: no such item, or a dry run.
        """
        if how.dry_run:
            raise Malformed("a scanning session cannot be a dry run", "name the pours: SOURCE AMOUNT …")
        super().__init__(book, how, in_hand or InHand(book.head()[0]))
        self._details, self._balance = details, balance
        self._style = HouseStyle(book.settings)
        self.target = book.find(target)
        self._put_away = ""

    def begin(self) -> Scanned:
        """The target and the whole of its plan, before the first line."""
        return self._now(whole=True)._replace(in_hand=self.in_hand)

    def scan(self, text: str, *, confirm: bool = False) -> Scanned:
        """Take a line: a source, an amount, both, or a word.

        The words: `left 12 ml`, `empty`, `spilled 3 ml`, `tasted 5 ml`, `undo`, `zero 182.4`, `again`, `confirm`, `?`,
        `replan` and `accept` for a batch, `done`.

        With `confirm`, whatever the rules of the book ask about this line is answered with yes.
        """
        word, self._put_away = text.strip().lower(), ""
        lets_go = self.in_hand.asked if word and word not in ("again", "confirm", "?") else None
        if lets_go:
            self._keep(asked=None, refused=self.in_hand.refused + 1)
        answer = super().scan(text, confirm=confirm)
        signal: Signal = "repeated" if answer.in_hand.asked and self._has_plan else answer.signal
        return answer._replace(let_go=lets_go, put_away=self._put_away, signal=signal)

    def _refused(self, refusal: PourbookError) -> Scanned:
        return Scanned(refused=refusal, signal=met(refusal) if self._has_plan else "")

    @property
    def _has_plan(self) -> bool:
        return has_plan(self._book, self.target)

    def _answer(self, line: str) -> Scanned:
        word, source = line.lower(), self.in_hand.source
        if not line:
            return Scanned()
        if word in ("done", "end"):
            return self._end()
        if word == "again":
            asked = self.in_hand.asked
            if asked is None:
                raise Malformed("'again' answers a question, and none was asked", "scan a glass, then the amount")
            self._keep(let_through=asked.source)
            answer = self._pour(asked.source, self._typed(asked.line))
            self._keep(asked=None)
            return answer
        if word == "?":
            return self._now(whole=True)
        if word in ("replan", "accept"):
            return self._planned_again() if word == "replan" else self._accepted()
        lacks_tare = self._balance and self.in_hand.balance_g is None
        read_shown = self._grams if self._balance else self._typed
        if lacks_tare and reads(read_shown, line):
            self._keep(balance_g=self._grams(line))
            return Scanned(zero_g=self.in_hand.balance_g)
        if source and (reads(read_shown, line) or word.startswith("gross ")):
            return self._amount(source, line)
        if reads(self._named, line):
            return self._open(self._named(line))
        if word == "undo":
            return self._undo()
        if left := _LEFT.fullmatch(line):
            return self._gauged(left["glass"] or "", left["amount"] or "0")
        if lost := _LOST.fullmatch(line):
            return self._lost(lost["glass"] or "", lost["word"].lower(), lost["amount"] or "")
        if self._balance and (zero := _ZERO.fullmatch(line)):
            self._keep(balance_g=self._grams(zero["shown"]))
            return Scanned(zero_g=self.in_hand.balance_g)
        if pair := source_and_amount(self._book, line):
            return self._both(*pair)
        # Neither: a number is an amount, whatever is wrong with it; anything else is a name.
        if line[0] in _BEGINS_NUMBERS or word == "all":
            if source or lacks_tare:
                read_shown(line)
            if word == "all" or any(reads(partial(_ml, mark=mark), line) for mark in ".,"):
                raise Malformed(f"'{line}' is an amount, but no glass was scanned", "scan a glass first")
        self._keep(source="", glass="")  # the glass in hand is no longer known
        first = line.split(maxsplit=1)[0]
        return self._open(self._named(line if read(first) is None else first))

    def _named(self, text: str) -> str:
        return source_named(self._book, text)

    def _typed(self, text: str) -> AmountTyped:
        return AmountTyped.of(text, self._style)

    def _now(self, *, whole: bool = False) -> Scanned:
        """The glass in hand, the target, and how it stands beside its plan; the whole of it with cost and age."""
        source, book = self.in_hand.source, self._book
        target, blend = held_now(book, self.target), None
        if whole and target.view.holding.ethanol_mg:
            from pourbook.queries.traces.trace import trace_back

            blend = trace_back(book, self.target)
        planned = targets(book, self.target) if whole or source else ()
        beside_plan = planned if whole else for_source(book, planned, source)
        answer = Scanned(
            glass=held_now(book, source) if source not in ("", *OUTSIDE) else None, target=target,
            beside_plan=beside_plan, rests=self._rests(planned), blend=blend, at_c=self._details.temperature_c,
        )  # fmt: skip
        if whole:
            return answer._replace(called=called(book.store, (one.component for one in beside_plan)))
        if not source or not beside_plan:
            return answer
        first, glass = beside_plan[0], answer.glass
        until_g, within_g = self._until_g(glass, first.to_go_ml), self._within_g(glass, *first.more_ml)
        expected = below_book_ml(book, source, self._how.moment(book)) if glass and self._has_plan else None
        own = to_take(first, answer.rests)
        return answer._replace(take=own, until_g=until_g, within_g=within_g, expected_ml=expected)

    def _end(self) -> Scanned:
        self._take("")
        beside = targets(self._book, self.target) if self._poured() else ()
        to_go = tuple(target for target in beside if target.to_go_ml)
        is_amid = bool(to_go) and self._has_plan  # casks are still closed: parts are not what they will be
        bounds = bounds_kept(self._book, self.target) if beside and not is_amid else ()
        kept = () if is_amid else rules_kept(self._book, self.target)
        answer = self._now()._replace(done=True, beside_plan=to_go, bounds=bounds, broken=kept)
        return answer._replace(rests=self._rests(beside))

    def _planned_again(self) -> Scanned:
        """A new plan for casks that are still closed, shown only: `accept` keeps it."""
        from pourbook.queries.plans.again import plan_again

        self._keep(new_plan=plan_again(self._book, self.target))
        return Scanned(new_plan=self.in_hand.new_plan)

    def _accepted(self) -> Scanned:
        from pourbook.actions.planning import keep_new_plan

        if self.in_hand.new_plan is None:
            raise Malformed("'accept' keeps a new plan, and none was made", "type: replan")
        recorded = keep_new_plan(self._book, self._now_and_here, self.in_hand.new_plan).recorded
        self._keep(new_plan=None)
        return self._now(whole=True)._replace(recorded=recorded)

    # -- glasses ---------------------------------------------------------------------------

    def _take(self, source: str) -> None:
        if source != self.in_hand.source:
            self._put_away = self.in_hand.source
        self._keep(source=source, glass=self.in_hand.glass if source in ("", *OUTSIDE) else source)

    def _open(self, source: str) -> Scanned:
        """Take a source in hand; where its batch has a plan without it, that is asked about first, with empty hands."""
        self._put_in_hand(source)
        met: Signal = "good" if self._has_plan and not self.in_hand.let_through else ""
        return self._now()._replace(signal=met, heels=heel_beside(self._book, self.target, source))

    def _put_in_hand(self, source: str) -> None:
        if source != self.in_hand.source:
            self._take("")
        asked = before_it_flows(self._book, self.target, source)
        if asked and not self._confirms:
            raise ToConfirm(asked)
        self._take(source)
        self._keep(let_through=source if asked else "")

    def _gauged(self, named: str, amount: str) -> Scanned:
        """What a glass really holds: the one named, or the last one scanned."""
        glass = self._named(named) if named else self.in_hand.glass
        if glass in ("", *OUTSIDE):
            raise Malformed("no glass was scanned", "scan it, then 'left 12 ml', or 'empty'")
        self._take(glass)
        left = self._style.amount(amount, allow_zero=True)
        recorded = self._gauge(glass, WhatWasRead(amount=left, temperature_c=self._details.temperature_c))
        answer = self._now()._replace(recorded=recorded)
        self._keep(source="")
        return answer

    def _gauge(self, item: str, read_so: WhatWasRead) -> "Recorded":
        from pourbook.actions.gauge import gauge

        told = {"disposition": "unexplained"} if self._confirms else {}  # who knows more says spilled or tasted
        return gauge(self._book, self._now_and_here, item, read_so, told=told).recorded

    # -- amounts ---------------------------------------------------------------------------

    def _both(self, source: str, text: str) -> Scanned:
        """A source and an amount; a glass in hand stays there while water is poured beside it."""
        kept = self.in_hand.source if source in OUTSIDE else ""
        if kept:
            self._keep(source="")
        self._put_in_hand(source)
        answer = self._amount(source, text)
        self._keep(source=kept)
        return answer

    def _amount(self, source: str, text: str) -> Scanned:
        """An amount from a source; a refused one leaves the source in hand."""
        if self._balance:
            return self._weighed(source, self._grams(text))
        typed = self._typed(text)
        if typed.amount is not None and (source, typed.amount[1:]) in self._poured():
            self._keep(asked=SamePour(source, typed.amount, text), source="")
            return Scanned()
        return self._pour(source, typed)

    def _pour(self, source: str, typed: AmountTyped) -> Scanned:
        told = self._details
        celsius = told.temperature_c if typed.temperature_c is None else typed.temperature_c
        is_let_through = self.in_hand.let_through == source
        details = told._replace(
            temperature_c=celsius, facts={**told.facts, **typed.facts}, is_let_through=is_let_through
        )
        with self._how.transaction(self._book):
            gauged = self._gauge_whole(source, typed, celsius).numbers if typed.empties else ()
            amount = None if typed.empties else typed.amount
            poured = pour(self._book, self._now_and_here, self.target, [(source, amount)], details)
        self._said = pour_called(self._book, source, typed.amount)
        self._keep(source="", gauged={**self.in_hand.gauged, **dict.fromkeys(poured.recorded.numbers, tuple(gauged))})
        beside_plan = for_source(self._book, poured.beside_plan, source)
        left = self._rests(poured.beside_plan)
        coming = to_come(self._book, self.target, poured.beside_plan) if self._has_plan else None
        return Scanned(
            target=poured.target, beside_plan=beside_plan, rests=left, to_come=coming, recorded=poured.recorded,
            broken=poured.broken, heels=poured.heels,
        )  # fmt: skip

    def _gauge_whole(self, source: str, typed: AmountTyped, celsius: float) -> "Recorded":
        if source in OUTSIDE:
            raise Malformed(f"{source} comes from outside and cannot be emptied", "write how much: 12.5 ml")
        gross, tare = typed.weighed or (None, None)
        amount = None if typed.weighed else typed.amount
        return self._gauge(source, WhatWasRead(amount, gross, tare, temperature_c=celsius))

    def _rests(self, beside_plan: "Sequence[Target]") -> "tuple[Rest, ...]":
        """What remains to be poured into a batch."""
        return remaining(self._book, self.target, beside_plan) if kind_of(self.target) == "batch" else ()

    def _poured(self) -> "set[tuple[str, Any]]":
        """Sources and amounts poured into the target since the session began."""
        return {
            (line["from"], (amount := poured_again(line)) and amount[1:])
            for entry in self._entries()
            if entry.kind == "pour" and not entry.gone
            for line in entry.entry["body"]["lines"]
            if line["to"] == self.target
        }

    def _entries(self) -> "list[Logged]":
        """What was recorded of the target since the session began."""
        return [
            entry
            for entry in journal(self._book.store, self.in_hand.since + 1)
            if any(self.target in (line.get("to"), line.get("from")) for line in entry.entry["body"].get("lines", ()))
        ]

    # -- what went wrong -------------------------------------------------------------------

    def _lost(self, named: str, word: str, text: str) -> Scanned:
        """What was spilled or tasted of a glass, or of the target; on a balance, what it shows since."""
        from pourbook.actions.leaving import Leaving, lose

        item = self._named(named) if named else self.target
        if not text:
            raise Malformed(f"'{word}' needs the amount", f"write: {word} 3 {'g' if self._balance else 'ml'}")
        shown_g = None
        if self._balance and item == self.target:
            shown_g = self._grams(text)
            amount: Amount | None = self._change(shown_g, -1)
        else:
            amount = self._style.amount_or_all(text)
        lost = lose(self._book, self._now_and_here, item, Leaving(amount), _DISPOSITION[word])
        if shown_g is not None:
            self._keep(balance_g=shown_g)
        return self._now()._replace(recorded=lost.recorded)

    def _undo(self) -> Scanned:
        """The last pour of this session was a mistake: it is voided, with what emptied its source, and stays readable.

        The liquid is thought to be in the glass still: on a balance, the next reading is of the same pour, put right.
        """
        from pourbook.actions.correcting import void_all

        entry = next((one for one in reversed(self._entries()) if one.kind == "pour" and not one.gone), None)
        if entry is None:
            raise Malformed("nothing was poured in this session that could be undone", "see: pourbook void --help")
        how = self._now_and_here
        how = how._replace(reason=how.reason or "undone at the bench")
        recorded = void_all(self._book, how, (entry.number, *self.in_hand.gauged.get(entry.number, ())))
        (line,) = entry.entry["body"]["lines"]
        if self._balance and self.in_hand.balance_g is not None:
            poured_g = grams_of(amount_again(line["typed"]["amount"]))
            undone_g = poured_g if line["to"] == self.target else -poured_g
            self._keep(balance_g=self.in_hand.balance_g - undone_g)
        self._keep(source="")
        return self._now()._replace(recorded=recorded)

    # -- a balance -------------------------------------------------------------------------

    def _grams(self, text: str) -> Decimal:
        shown = self._style.amount(text, "g air", allow_zero=True)
        if shown.dimension == "volume":
            raise Malformed(f"'{text}' is a volume; a balance shows a mass", "give grams")
        return grams_of(shown)

    def _weighed(self, source: str, now: Decimal) -> Scanned:
        answer = self._pour(source, AmountTyped(self._change(now, 1)))
        self._keep(balance_g=now)
        return answer

    def _change(self, now: Decimal, sign: int) -> Amount:
        change_g = changed_by(self.in_hand.balance_g, now, sign, self._style.mark, confirmed=self._confirms)
        return self._style.amount(f"{change_g} g air".replace(".", self._style.mark))

    def _until_g(self, glass: "Held | None", to_go_ml: float) -> Decimal | None:
        """What the balance will show once that is poured as well."""
        if not self._balance or self.in_hand.balance_g is None or not to_go_ml:
            return None
        return self.in_hand.balance_g + in_air_g(to_go_ml, glass.view.holding.liquid if glass else EMPTY)

    def _within_g(self, glass: "Held | None", least_ml: float, most_ml: float) -> tuple[Decimal, Decimal] | None:
        """Between what it shows while no less and no more than that is poured."""
        low_g, high_g = self._until_g(glass, least_ml) or self.in_hand.balance_g, self._until_g(glass, most_ml)
        return None if low_g is None or high_g is None else (low_g, high_g)


def _ml(text: str, mark: str) -> Amount:
    return read_amount(text, "ml", mark, allow_zero=True)
