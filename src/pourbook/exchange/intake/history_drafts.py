"""The rows of a history as drafts, one after the other; and what the book refuses of them, row by row.

Items come first, then pours in the order they happened. A refusal ends nothing: what can still be
tried is tried, so that one import names as many rows as it can. A refusal that only follows from
an earlier one (nothing can be poured from a cask whose filling was refused) is left out.
"""

import json
from collections.abc import Iterator, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from pourbook.book.entries import Draft, Gauge, Imported, Item, Move, Pour
from pourbook.book.fold import PPB
from pourbook.book.logged import entry_of
from pourbook.codes.identifiers import hyphened, kind_of
from pourbook.errors import Fault, Held, InTheWay, NotThere, OutOfRange, PeriodClosed, PourbookError, ToConfirm
from pourbook.exchange.intake.history_rows import ALL, GAUGE
from pourbook.exchange.intake.intake import NewNumbers, Progress
from pourbook.exchange.intake.staging import StagedItem, StagedPour, Staging, Terms
from pourbook.exchange.tables.columns import Faults, Readers
from pourbook.liquid import Liquid
from pourbook.quantities import Strength
from pourbook.times import DAY_US, written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["Drafts"]

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


class Drafts:
    """What was put aside, on its way into the book."""

    def __init__(
        self, book: "BookCore", staged: Staging, readers: Readers, files: tuple[str, str], *, spirit_of_target: bool
    ) -> None:
        """Begin.

        Args:
            book: into which.
            staged: sound rows.
            readers: of the house.
            files: names of the items and the pours, as faults name them.
            spirit_of_target: whether an origin is the spirit that its target is said to hold.
        """
        self._book = book
        self._staged = staged
        self._readers = readers
        self._items_file, self._pours_file = files
        self._spirit_of_target = spirit_of_target
        self._row: StagedItem | StagedPour | None = None
        self._tainted: set[str] = set()
        self._refusals: list[tuple[StagedItem | StagedPour | None, PourbookError]] = []
        self._verb = lru_cache(_verb)
        self._move = lru_cache(1 << 14)(self._made_move)
        self._gauge = lru_cache(1 << 14)(self._made_gauge)
        self._person = lru_cache(1 << 12)(self._looked_up)

    # -- drafts ------------------------------------------------------------------------

    def in_order(self, files: Mapping[str, str], who: str, progress: Progress | None) -> Iterator[Draft]:
        """Items first, then pours in the order they happened, then the import itself.

        Args:
            files: file name to SHA-256.
            who: imports.
            progress: is told how many pours are done.
        """
        self._staged.identify(NewNumbers(self._book).take)
        now_us = self._book.clock()
        for item in self._staged.items():
            self._row = item
            happened_us = now_us if item.happened_us is None else item.happened_us
            yield Draft(Item(item.id, json.loads(item.facts)), happened_us, who)
        total = self._staged.count("pour")
        for done, pour in enumerate(self._staged.pours()):
            self._row = pour
            if progress and done % _EVERY == 0:
                progress(done, total)
            if pour.source in self._tainted:
                self._tainted.add(pour.target)
            if pour.target in (GAUGE, "loss"):
                read = self._gauge(pour.terms, pour.target)
                if read:
                    yield Draft(read[1]._replace(id=pour.source), pour.happened_us, read[0], pour.reason)
            if pour.target != GAUGE:
                yield self._pour(pour)
        self._row = None
        yield Draft(Imported(files, self._staged.count("item"), total), now_us, who)
        if progress:
            progress(total, total)

    def _pour(self, row: StagedPour) -> Draft:
        who, move = self._move(row.terms, row.target == "loss")
        move = move._replace(source=row.source, target=row.target)
        if row.source == "origin" and self._spirit_of_target and row.target_spirit:
            move = move._replace(facts={**move.facts, "spirit": row.target_spirit})
        verb = self._verb(row.source_kind, row.target_kind)
        return Draft(Pour(verb, (move,)), row.happened_us, who, row.reason)

    def _made_move(self, number: int, lost: bool) -> tuple[str, Move]:
        """Who poured by these terms, and the move without its ends."""
        terms, readers = self._staged.terms(number), self._readers
        quantity, unit = terms.quantity or "", terms.unit or ""
        amount = None if quantity.lower() == ALL else readers.amount(quantity, unit)
        composition = None
        if terms.ethanol_mg is not None and amount is not None:
            composition = Liquid(round(amount.mass_mg), terms.ethanol_mg, terms.extract_mg or 0)
        move = Move(
            "",
            "",
            amount,
            None if lost else self._strength(terms),
            self._temperature_c(terms),
            received=readers.amount(terms.received, unit) if terms.received else None,
            composition=composition,
            facts=json.loads(terms.facts) if terms.facts else {},
        )
        return self._person(terms.who), move

    def _made_gauge(self, number: int, target: str) -> tuple[str, Gauge] | None:
        """By whom, and a gauge of any item: a row of its own, or the strength read just before a loss."""
        terms = self._staged.terms(number)
        if target != GAUGE:
            read = Gauge("", None, self._strength(terms), 20.0) if terms.strength else None
        else:
            unit = terms.unit or ""
            read = Gauge(
                "",
                self._readers.amount(terms.quantity, unit, True) if terms.quantity else None,
                self._strength(terms),
                self._temperature_c(terms),
                json.loads(terms.facts) if terms.facts else {},
                None if terms.ethanol_ppb is None else terms.ethanol_ppb / PPB,
                None if terms.extract_ppb is None else terms.extract_ppb / PPB,
            )
        return (self._person(terms.who), read) if read else None

    def _strength(self, terms: Terms) -> Strength | None:
        return self._readers.strength(terms.strength) if terms.strength else None

    def _temperature_c(self, terms: Terms) -> float:
        return self._readers.temperature_c(terms.temperature) if terms.temperature else 20.0

    def _looked_up(self, who: str) -> str:
        """A person's identifier where the name is that of a person known; else the name."""
        found = self._staged.person(who)
        if found is None:
            try:
                found = self._book.find(who)
            except PourbookError:
                return who
        return found if kind_of(found) == "person" else who

    # -- refusals ----------------------------------------------------------------------

    def refused(self, _draft: Draft, refusal: PourbookError) -> None:
        """Remember a refusal; what only follows from an earlier one is left out."""
        row = self._row
        if isinstance(row, StagedPour):
            told_already = bool(self._refusals) and self._refusals[-1][0] is row
            if row.source in self._tainted or told_already:
                return
            self._tainted.add(row.target)
        self._refusals.append((row, refusal))

    def in_the_way(self, refusal: InTheWay) -> None:
        """Remember that entries recorded earlier could no longer have happened."""
        if not self._refusals:
            self._refusals.append((None, refusal))

    def faults(self) -> Faults:
        """What was refused, by rows."""
        found: list[Fault] = []
        for row, refusal in self._refusals:
            if isinstance(row, StagedPour):
                found.append(self._fault_of_pour(row, refusal, hinted=len(found) < _HINTED))
            elif isinstance(row, StagedItem):
                found.append(Fault(self._items_file, row.number, "made", "", refusal.message, refusal.remedy))
            elif isinstance(refusal, InTheWay) and refusal.entries:
                found += [self._fault_of_entry(number) for number in refusal.entries[:_HINTED]]
            else:
                raise refusal
        faults = Faults()
        for fault in sorted(found):
            faults.add(fault)
        return faults

    def _fault_of_pour(self, row: StagedPour, refusal: PourbookError, *, hinted: bool) -> Fault:
        problem, remedy = refusal.message, refusal.remedy
        source_name, target_name = self._staged.names(row.number)
        for identifier, name in ((row.source, source_name), (row.target, target_name)):
            if identifier[0].isupper():  # an identifier, which only this import would have given
                problem = problem.replace(hyphened(identifier), f"'{name}'").replace(identifier, f"'{name}'")
        column, value = "", ""
        if isinstance(refusal, NotThere | ToConfirm):
            column, value = "quantity", self._staged.terms(row.terms).quantity or ""
            remedy = "check the names, the amount, its unit, and when each pour happened"
            later = self._staged.later_inflows(row.number, DAY_US) if hinted else []
            if later:
                rows = f"{'rows' if len(later) > 1 else 'row'} {', '.join(str(number) for number in later)}"
                problem = f"{problem}; {rows} of the same time or day, by the order of the file, only fill it later"
                remedy = f"write the time of day in this row and in {rows}"
        elif isinstance(refusal, PeriodClosed | OutOfRange):
            column, value = "happened", written(row.happened_us)
        elif isinstance(refusal, Held):
            at_source = f"'{source_name}'" in problem
            column, value = ("source", source_name) if at_source else ("target", target_name)
        return Fault(self._pours_file, row.number, column, value, problem, remedy)

    def _fault_of_entry(self, number: int) -> Fault:
        """An entry of the book that could no longer have happened: the row that is in its way."""
        logged = entry_of(self._book.store, number)
        body = logged.entry["body"]
        ends = [end for line in body.get("lines", [body]) for end in map(line.get, ("from", "to", "item"))]
        row = self._staged.last_touch([end for end in ends if end], logged.happened_us)
        return Fault(
            self._pours_file,
            row or 0,
            "",
            "",
            f"with it, entry {number} of the book ({written(logged.happened_us)}) would no longer be possible",
            "check the amounts before it, or correct that entry first",
        )


def _verb(source: str, target: str) -> str:
    """The trade's word for a pour between two kinds of ends."""
    return _VERB_OF_TARGET.get(target) or _VERB_OF_SOURCE.get(source) or _VERBS.get((source, target)) or "pour"
