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

from typing import TYPE_CHECKING, Literal

from pourbook.book.core import BookCore

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pourbook.actions.declare import DeclaredAccount
    from pourbook.actions.happening import Happening
    from pourbook.actions.print_paper import Output, Printed
    from pourbook.actions.recall import Recalled, RecallPlan, Released
    from pourbook.actions.safekeeping import BackedUp
    from pourbook.book.logged import Logged
    from pourbook.book.scope import Suspect
    from pourbook.gauging.gauge_uncertainty import UncertainFigures
    from pourbook.lineage.bases import Basis
    from pourbook.lineage.graph import Ancestry
    from pourbook.quantities import Strength
    from pourbook.queries.accounts.account import Period
    from pourbook.queries.accounts.declared import PeriodAccount, Rounding
    from pourbook.queries.gauges.cask_evaporation import Evaporations
    from pourbook.queries.items.item_card import ItemCard
    from pourbook.queries.journal.verification import Checked, Evidence
    from pourbook.queries.recalls import recalls as recalling
    from pourbook.queries.traces.trace_answer import Trace
    from pourbook.queries.traces.why import Reason
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

    # -- recalls, accounts, papers -----------------------------------------------------------

    def affected(
        self, suspects: "Sequence[Suspect]", until_us: int | None = None, threshold: float = 0.0,
        *, since_check: bool = False,
    ) -> "recalling.Finding":  # fmt: skip
        """All that suspects reach: `pourbook.queries.recalls.recalls.finding`."""
        from pourbook.book.lineages import EVER
        from pourbook.queries.recalls.recalls import finding

        until = EVER if until_us is None else until_us
        return finding(self.store, suspects, until, threshold, since_check=since_check)

    def recalls(self) -> "list[recalling.Recalled]":
        """The recalls of the journal: `pourbook.queries.recalls.recalls.recalls`."""
        from pourbook.queries.recalls.recalls import recalls

        return recalls(self.store)

    def recall_compared(self, number: int) -> "recalling.Compared":
        """A recall as it was found, and its figures now: `pourbook.queries.recalls.recalls.recall_compared`."""
        from pourbook.queries.recalls.recalls import recall_compared

        return recall_compared(self.store, number)

    def recall(self, how: "Happening", plan: "RecallPlan", report: "Output | None" = None) -> "Recalled":
        """Find, hold, record and print: `pourbook.actions.recall.recall`."""
        from pourbook.actions.recall import recall

        return recall(self, how, plan, report)

    def release_recall(self, how: "Happening", number: int) -> "Released":
        """End the holds of a recall: `pourbook.actions.recall.release_recall`."""
        from pourbook.actions.recall import release_recall

        return release_recall(self, how, number)

    def account(self, period: "Period") -> "PeriodAccount":
        """The account of a period: `pourbook.queries.accounts.declared.account_of_period`."""
        from pourbook.queries.accounts.declared import account_of_period

        return account_of_period(self, period)

    def declare(self, how: "Happening", period: "Period", rule: "Rounding") -> "DeclaredAccount":
        """Freeze the figures of an account: `pourbook.actions.declare.declare`."""
        from pourbook.actions.declare import declare

        return declare(self, how, period, rule)

    def print_period(
        self, how: "Happening", period: "Period", output: "Output", rule: "Rounding | None" = None
    ) -> "DeclaredAccount":
        """Print the account of a period, and declare it: `pourbook.actions.declare.print_period`."""
        from pourbook.actions.declare import print_period

        return print_period(self, how, period, output, rule)

    def print_sheet(self, how: "Happening", trial: str, output: "Output") -> "Printed":
        """Print the bench sheet of a trial: `pourbook.actions.print_paper.print_sheet`."""
        from pourbook.actions.print_paper import print_sheet

        return print_sheet(self, how, trial, output)

    def print_dossier(
        self, how: "Happening", lot: str, output: "Output", people: Literal["codes", "names"] = "codes"
    ) -> "Printed":
        """Print the dossier of a lot: `pourbook.actions.print_paper.print_dossier`."""
        from pourbook.actions.print_paper import print_dossier

        return print_dossier(self, how, lot, output, people)
