"""The book as a script or a notebook uses it: every action and every query on one object.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask = book.next_id("cask")
>>> _ = book.record(
...     Draft(Item(cask, {"ref": "Row 3/12", "wood": "virgin chestnut"}), 0, "M. Aldane"),
...     Draft(Pour("fill", (Move("origin", cask, read_amount("200 l"), read_strength("63.5")),)), 0, "M. Aldane"),
... )
>>> [(origin.how, origin.share) for origin in book.trace_back("Row 3/12").origins]
[('origin', 1.0)]
"""

from typing import TYPE_CHECKING

from pourbook.book.core import BookCore

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from pourbook.actions.casks import Drawn, Filling, Sample
    from pourbook.actions.happening import Happening
    from pourbook.actions.leaving import Leaving, Sent
    from pourbook.actions.movement import Moved, Status
    from pourbook.actions.safekeeping import BackedUp
    from pourbook.actions.vats import Bottled, Bottling, ScaledUp, VatReading
    from pourbook.book.logged import Logged
    from pourbook.gauging.gauge_uncertainty import UncertainFigures
    from pourbook.lineage.bases import Basis
    from pourbook.lineage.graph import Ancestry
    from pourbook.quantities import Strength
    from pourbook.queries.gauges.cask_evaporation import Evaporations
    from pourbook.queries.items.item_card import ItemCard
    from pourbook.queries.journal.verification import Checked, Evidence
    from pourbook.queries.traces.trace_answer import Trace
    from pourbook.queries.traces.why import Reason
    from pourbook.queries.trials.batch_plan import BatchPlan, Wanted
    from pourbook.uncertainty.labelling import LabelStrength, Rule

__all__ = ["Book"]


class Book(BookCore):
    """One house's record.

    Open it with `Book.open(path)`, preferably in a `with` statement; make one with `Book.create`. Each
    method here is an action or a query of the same name, with its arguments.
    """

    def trace_back(self, text: str, by: "Basis" = "alcohol", at_us: int | None = None) -> "Trace":
        """All that went into an item: `pourbook.queries.traces.trace.trace_back`."""
        from pourbook.queries.traces.trace import trace_back  # showing an item does without it

        return trace_back(self, text, by, at_us)

    def trace_forward(self, text: str, by: "Basis" = "alcohol", at_us: int | None = None) -> "Trace":
        """All that an item went into: `pourbook.queries.traces.trace.trace_forward`."""
        from pourbook.queries.traces.trace import trace_forward

        return trace_forward(self, text, by, at_us)

    def shares(self, text: str, by: "Basis" = "alcohol", at_us: int | None = None) -> "Ancestry":
        """The shares of `trace_back` alone, much faster: `pourbook.queries.traces.trace.shares`."""
        from pourbook.queries.traces.trace import shares

        return shares(self, text, by, at_us)

    def uncertainty(self, text: str) -> "UncertainFigures":
        """The ± of what an item holds: `pourbook.queries.gauges.uncertainty_through_pours.uncertainty`."""
        from pourbook.queries.gauges.uncertainty_through_pours import uncertainty

        return uncertainty(self, text)

    def label_strength(
        self, text: str, label: "Strength | None", rule: "Rule", confidence: float = 0.95
    ) -> "LabelStrength":
        """Whether an item may be so labelled: `pourbook.queries.gauges.label_strength_of.label_strength_of`."""
        from pourbook.queries.gauges.label_strength_of import label_strength_of

        return label_strength_of(self, text, label, rule, confidence)

    def evaporation(
        self, casks: "Sequence[str]" = (), on_us: int | None = None, at_us: int | None = None
    ) -> "Evaporations":
        """What casks lose: `pourbook.queries.gauges.cask_evaporation.evaporation`."""
        from pourbook.queries.gauges.cask_evaporation import evaporation

        return evaporation(self, casks, on_us, at_us)

    def why(
        self, text: str, of: str | int, by: "Basis" = "alcohol", at_us: int | None = None, *, forward: bool = False
    ) -> "Reason":
        """How a share comes about: `pourbook.queries.traces.why.why_share`."""
        from pourbook.queries.traces.why import why_share

        return why_share(self, text, of, by, at_us, forward=forward)

    def item_card(self, text: str, at_us: int | None = None, *, history: bool = False) -> "ItemCard":
        """An item with all that stands beside it: `pourbook.queries.items.item_card.item_card`."""
        from pourbook.queries.items.item_card import item_card

        return item_card(self, text, at_us, history=history)

    def entries_listed(
        self, first: int = 1, last: int = 1 << 62, item: str | None = None, until_us: int | None = None
    ) -> "list[Logged]":
        """Entries of the journal: `pourbook.queries.journal.entries_listed.entries_listed`."""
        from pourbook.queries.journal.entries_listed import entries_listed

        return entries_listed(self, first, last, item, until_us)

    def checked(self, evidence: "Evidence | None" = None) -> "Checked":
        """Every hash, every table, and the evidence: `pourbook.queries.journal.verification.checked`."""
        from pourbook.queries.journal.verification import checked

        return checked(lambda: self, evidence)

    def repair(self) -> int:
        """Rebuild every table from the journal: `pourbook.actions.safekeeping.repair`."""
        from pourbook.actions.safekeeping import repair

        return repair(self)

    def backup(self, path: str) -> "BackedUp":
        """Write a checked copy: `pourbook.actions.safekeeping.backup`."""
        from pourbook.actions.safekeeping import backup

        return backup(self, path)

    # -- casks, vats, bottles ----------------------------------------------------------

    def take_in_cask(
        self, how: "Happening", facts: "Mapping[str, str]", filling: "Filling | None" = None,
        given: str | None = None, status: "Status | None" = None,
    ) -> "Moved":  # fmt: skip
        """Take a cask into the book: `pourbook.actions.casks.take_in_cask`."""
        from pourbook.actions.casks import take_in_cask

        return take_in_cask(self, how, facts, filling, given, status)

    def fill(self, how: "Happening", item: str, filling: "Filling", status: "Status | None" = None) -> "Moved":
        """Fill spirit from outside: `pourbook.actions.casks.fill`."""
        from pourbook.actions.casks import fill

        return fill(self, how, item, filling, status)

    def draw(self, how: "Happening", source: str, sample: "Sample", status: "Status | None" = None) -> "Drawn":
        """Draw a sample: `pourbook.actions.casks.draw`."""
        from pourbook.actions.casks import draw

        return draw(self, how, source, sample, status)

    def lose(
        self, how: "Happening", item: str, what: "Leaving", kind: str, facts: "Mapping[str, str] | None" = None
    ) -> "Moved":
        """Record a loss: `pourbook.actions.leaving.lose`."""
        from pourbook.actions.leaving import lose

        return lose(self, how, item, what, kind, facts)

    def despatch(
        self, how: "Happening", item: str, what: "Leaving", customer: str, facts: "Mapping[str, str] | None" = None
    ) -> "Sent":
        """Send something to a customer: `pourbook.actions.leaving.despatch`."""
        from pourbook.actions.leaving import despatch

        return despatch(self, how, item, what, customer, facts)

    def take_back(
        self, how: "Happening", lot: str, count: int, customer: str, facts: "Mapping[str, str] | None" = None
    ) -> "Sent":
        """Take bottles back: `pourbook.actions.leaving.take_back`."""
        from pourbook.actions.leaving import take_back

        return take_back(self, how, lot, count, customer, facts)

    def open_batch(
        self, how: "Happening", facts: "Mapping[str, str]", given: str | None = None, status: "Status | None" = None
    ) -> "Moved":
        """Open a batch: `pourbook.actions.vats.open_batch`."""
        from pourbook.actions.vats import open_batch

        return open_batch(self, how, facts, given, status)

    def batch_plan(self, trial: str, wanted: "Wanted") -> "BatchPlan":
        """A trial scaled up, as a plan: `pourbook.queries.trials.batch_plan.batch_plan`."""
        from pourbook.queries.trials.batch_plan import batch_plan

        return batch_plan(self, trial, wanted)

    def scale_up(
        self, how: "Happening", trial: str, wanted: "Wanted", facts: "Mapping[str, str] | None" = None,
        status: "Status | None" = None,
    ) -> "ScaledUp":  # fmt: skip
        """Open a batch and pour a trial scaled up: `pourbook.actions.vats.scale_up`."""
        from pourbook.actions.vats import scale_up

        return scale_up(self, how, trial, wanted, facts, status)

    def dump(
        self, how: "Happening", batch: str, casks: "Sequence[str]", read: "VatReading | None" = None,
        status: "Status | None" = None,
    ) -> "Moved":  # fmt: skip
        """Dump casks into a batch: `pourbook.actions.vats.dump`."""
        from pourbook.actions.vats import dump

        return dump(self, how, batch, casks, read, status)

    def bottle(self, how: "Happening", batch: str, bottling: "Bottling", status: "Status | None" = None) -> "Bottled":
        """Bottle a batch as a lot: `pourbook.actions.vats.bottle`."""
        from pourbook.actions.vats import bottle

        return bottle(self, how, batch, bottling, status)
