"""The rows of a history as drafts, one after the other; and what the book refuses of them, row by row.

Words and items come first, then pours in the order they happened, then notes and tastings. A refusal ends nothing: what
can still be tried is tried, so that one import names as many rows as it can. A refusal that only follows from an
earlier one (nothing can be poured from a cask whose filling was refused) is left out.
"""

import json
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import TYPE_CHECKING

from pourbook.book.entries import Draft, Item, Note, Pour
from pourbook.book.import_staging import StagedItem, StagedNote, StagedPour, Staging
from pourbook.book.journal import entry_of
from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.errors import Fault, Held, InTheWay, NotThere, OutOfRange, PeriodClosed, PourbookError, ToConfirm
from pourbook.exchange.intake.comparing import InAll, Row, poured
from pourbook.exchange.intake.history_rows import Noted, Terms
from pourbook.exchange.intake.intake import NextId, Progress, remedy_of
from pourbook.exchange.intake.tasting_tables import TastedRow, WordRow, new_words
from pourbook.exchange.tables.columns import Faults
from pourbook.exchange.tables.taken import Surveyed
from pourbook.times import DAY_US, written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["HistoryIntake"]

_EVERY = 2_000
_HINTED = 200
_VERBS = {
    ("cask", "cask"): "rack",
    ("cask", "batch"): "dump",
    ("batch", "batch"): "heel",
    ("batch", "cask"): "fill",
}
_VERB_OF_SOURCE = {"origin": "fill", "water": "reduce", "return": "return"}
_VERB_OF_TARGET = {"loss": "loss", "despatch": "despatch", "vial": "draw", "lot": "bottle"}
_Row = StagedItem | StagedPour | StagedNote | WordRow


class HistoryIntake:
    """The `Intake` of a staged history; progress counts pours.

    With `spirit_of_target` (the pours have no column `spirit`), an origin is the spirit its target should hold.
    """

    notes: tuple[str, ...] = ()

    def __init__(
        self, book: "BookCore", staged: Staging, files: Mapping[str, str],
        progress: Progress | None = None, *, spirit_of_target: bool, tables: Mapping[str, Surveyed],
        words: Sequence[WordRow] = (),
    ) -> None:  # fmt: skip
        self.tables = tables
        self.items, self.pours = staged.count("item"), staged.count("pour")
        of_notes = {table: staged.count_notes(table) for table in ("notes", "tastings")}
        self.counts = {"items": self.items, "pours": self.pours, "words": len(words), **of_notes}
        self._words = words
        self._book, self._staged = book, staged
        self._files, self._progress = files, progress or (lambda *_: None)
        self._spirit_of_target = spirit_of_target
        self._row: _Row | None = None
        self._tainted: set[str] = set()
        self._refusals: list[tuple[_Row | None, PourbookError]] = []
        self._outside: Counter[tuple[str, int]] = Counter()
        self._terms = lru_cache(1 << 14)(self._terms_of)
        self._person = lru_cache(1 << 12)(self._looked_up)

    # -- drafts ------------------------------------------------------------------------

    def drafts(self, next_id: NextId, who: str, when_us: int) -> Iterator[Draft]:
        """Words and items first, then pours in the order they happened, then notes and tastings."""
        for word in new_words(self._book, self._words):
            self._row = word
            yield Draft(word.word, when_us, who)
        self._staged.identify(next_id)
        self._outside.clear()
        for item in self._staged.items():
            self._row = item
            happened_us = when_us if item.happened_us is None else item.happened_us
            yield Draft(Item(item.id, json.loads(item.facts)), happened_us, who)
        for done, pour in enumerate(self._staged.pours()):
            self._row = pour
            if done % _EVERY == 0:
                self._progress(done, self.pours)
            for end in (pour.source, pour.target):
                if end.islower():  # a word for outside; identifiers begin with a capital
                    self._outside[end, pour.terms] += 1
            if pour.source in self._tainted:
                self._tainted.add(pour.target)
            who, _, move, gauge, confirmed = self._terms(pour.terms)
            happened = pour.happened_us, who, pour.reason
            if gauge:
                yield Draft(gauge._replace(id=pour.source), *happened, confirmed=confirmed)
            if move:
                move = move._replace(source=pour.source, target=pour.target)
                if pour.source == "origin" and self._spirit_of_target and pour.target_spirit:
                    move = move._replace(facts={**move.facts, "spirit": pour.target_spirit})
                yield Draft(Pour(_verb(pour.source, pour.target), (move,)), *happened, confirmed=confirmed)
        for note in self._staged.notes():
            self._row = note
            said = self._staged.terms(note.terms)
            yield _of_note(note, said)._replace(who=self._person(said.who))
        self._row = None
        self._progress(self.pours, self.pours)

    def in_all(self, book: "BookCore", since_entry: int) -> tuple[InAll, ...]:
        """What crossed the house's border, as the file says and as the book has it."""
        moves = ((word, self._terms(number).move, count) for (word, number), count in self._outside.items())
        rows = (
            (word, Row("", 0, move.amount, move.strength)) for word, move, count in moves if move for _ in range(count)
        )
        return poured(book, since_entry, rows)

    def _terms_of(self, number: int) -> Terms:
        terms: Terms = self._staged.terms(number)
        return terms._replace(who=self._person(terms.who))

    def _looked_up(self, who: str) -> str:
        """The identifier of a known person; else the name."""
        found = self._staged.person(who)
        if found is None:
            try:
                found = self._book.find(who)
            except PourbookError:
                return who
        return found if kind_of(found) == "person" else who

    # -- refusals ----------------------------------------------------------------------

    def refused(self, refusal: PourbookError) -> None:
        """Remember a refusal, unless it only follows from an earlier one."""
        row = self._row
        if isinstance(row, StagedPour):
            told_already = bool(self._refusals) and self._refusals[-1][0] is row
            if row.source in self._tainted or told_already:
                return
            self._tainted.add(row.target)
        if row is not None or not self._refusals:
            self._refusals.append((row, refusal))

    def check(self) -> None:
        """Raise what was refused, by rows."""
        found: list[Fault] = []
        for row, refusal in self._refusals:
            if isinstance(row, StagedPour):
                found.append(self._fault_of_pour(row, refusal, hinted=len(found) < _HINTED))
            elif row is not None:
                table, column = ("items", "made") if isinstance(row, StagedItem) else (row.source, "")
                found.append(Fault(self._files[table], row.number, column, "", refusal.message, remedy_of(refusal)))
            elif isinstance(refusal, InTheWay) and refusal.entries:
                found += [self._fault_of_entry(number) for number in refusal.entries[:_HINTED]]
            else:
                raise refusal
        faults = Faults()
        for fault in sorted(found):
            faults.add(fault)
        faults.check("history")

    def _fault_of_pour(self, row: StagedPour, refusal: PourbookError, *, hinted: bool) -> Fault:
        problem, remedy = refusal.message, remedy_of(refusal)
        source_name, target_name = self._staged.names(row.number)
        for identifier, name in ((row.source, source_name), (row.target, target_name)):
            if identifier[0].isupper():  # an identifier, which only this import would have given
                problem = problem.replace(hyphened(identifier), f"'{name}'").replace(identifier, f"'{name}'")
        column, value = "", ""
        asked = [question.rule for question in refusal.questions] if isinstance(refusal, ToConfirm) else []
        if isinstance(refusal, NotThere) or "more-than-held" in asked:
            column, value = "quantity", self._terms(row.terms).quantity
            remedy = "check the names, the amount, its unit, and when each pour happened"
            later = self._staged.later_inflows(row.number, DAY_US) if hinted else []
            if later:
                rows = f"{'rows' if len(later) > 1 else 'row'} {', '.join(str(number) for number in later)}"
                problem = f"{problem}; the file fills it later, in {rows} of the same time or day"
                remedy = f"write the time of day in this row and in {rows}"
        elif isinstance(refusal, PeriodClosed | OutOfRange):
            column, value = "happened", written(row.happened_us)
        elif isinstance(refusal, Held):
            at_source = f"'{source_name}'" in problem
            column, value = ("source", source_name) if at_source else ("target", target_name)
        return Fault(self._files["pours"], row.number, column, value, problem, remedy)

    def _fault_of_entry(self, number: int) -> Fault:
        """The row that makes an entry of the book impossible."""
        logged = entry_of(self._book.store, number)
        body = logged.entry["body"]
        ends = [end for line in body.get("lines", [body]) for end in map(line.get, ("from", "to", "item"))]
        row = self._staged.last_touch([end for end in ends if end], logged.happened_us)
        problem = f"makes entry {number} of the book ({written(logged.happened_us)}) impossible"
        remedy = "check the amounts before it, or correct that entry first"
        return Fault(self._files["pours"], row or 0, "", "", problem, remedy)


def _of_note(row: StagedNote, said: Noted | TastedRow) -> Draft:
    """A row of notes or of tastings."""
    if isinstance(said, Noted):
        return Draft(Note(row.item, said.text, said.subject), row.happened_us, said.who, said.reason)
    note = said.note._replace(id=row.item)
    return Draft(note, row.happened_us, said.who, said.reason, confirmed=said.confirmed)


def _verb(source: str, target: str) -> str:
    """The trade's word for a pour from one end to the other."""
    source = kind_of(source) if source[0].isupper() else source
    target = kind_of(target) if target[0].isupper() else target
    return _VERB_OF_TARGET.get(target) or _VERB_OF_SOURCE.get(source) or _VERBS.get((source, target)) or "pour"
