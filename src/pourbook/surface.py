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
    from collections.abc import Sequence

    from pourbook.actions.composing import Composed, RecipeWritten, TrialFacts
    from pourbook.actions.happening import Happening
    from pourbook.actions.pouring import PourDetails, Poured
    from pourbook.actions.pouring_session import InHand, PouringSession
    from pourbook.actions.safekeeping import BackedUp
    from pourbook.book.entries import RecipePart
    from pourbook.book.logged import Logged
    from pourbook.gauging.gauge_uncertainty import UncertainFigures
    from pourbook.lineage.bases import Basis
    from pourbook.lineage.graph import Ancestry
    from pourbook.quantities import Amount, Strength
    from pourbook.queries.gauges.cask_evaporation import Evaporations
    from pourbook.queries.items.item_card import ItemCard
    from pourbook.queries.journal.verification import Checked, Evidence
    from pourbook.queries.traces.trace_answer import Trace
    from pourbook.queries.traces.why import Reason
    from pourbook.queries.trials.comparison import Comparison
    from pourbook.queries.trials.revisions import Revisions
    from pourbook.queries.trials.trial_plan import RecipeCard
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

    def recipe_card(self, name: str) -> "RecipeCard":
        """A recipe: `pourbook.queries.trials.trial_plan.recipe_card`."""
        from pourbook.queries.trials.trial_plan import recipe_card

        return recipe_card(self, name)

    def compare(self, first: str, second: str, at_us: int | None = None) -> "Comparison":
        """Two trials side by side: `pourbook.queries.trials.comparison.compare`."""
        from pourbook.queries.trials.comparison import compare

        return compare(self, first, second, at_us)

    def revisions(self, text: str) -> "Revisions":
        """What a trial was revised from, and into: `pourbook.queries.trials.revisions.revisions`."""
        from pourbook.queries.trials.revisions import revisions

        return revisions(self, text)

    def write_recipe(
        self, how: "Happening", name: str, parts: "Sequence[RecipePart]", revised_from: str = ""
    ) -> "RecipeWritten":
        """Write a recipe: `pourbook.actions.composing.write_recipe`."""
        from pourbook.actions.composing import write_recipe

        return write_recipe(self, how, name, parts, revised_from)

    def compose_trial(
        self, how: "Happening", total: "Amount", recipe: str = "", parts: "Sequence[RecipePart]" = (),
        about: "TrialFacts | None" = None,
    ) -> "Composed":  # fmt: skip
        """Give a trial a number and lay out what to pour: `pourbook.actions.composing.compose_trial`."""
        from pourbook.actions.composing import TrialFacts, compose_trial

        return compose_trial(self, how, total, recipe, parts, about or TrialFacts())

    def pour(
        self, how: "Happening", target: str, pours: "Sequence[tuple[str, Amount | None]]",
        details: "PourDetails | None" = None,
    ) -> "Poured":  # fmt: skip
        """Pour into an item, all at once: `pourbook.actions.pouring.pour`."""
        from pourbook.actions.pouring import PourDetails, pour

        return pour(self, how, target, pours, details or PourDetails())

    def pouring_session(
        self, how: "Happening", target: str, details: "PourDetails | None" = None, in_hand: "InHand | None" = None, *,
        balance: bool = False,
    ) -> "PouringSession":  # fmt: skip
        """Pour into an item line by line: `pourbook.actions.pouring_session.PouringSession`."""
        from pourbook.actions.pouring import PourDetails
        from pourbook.actions.pouring_session import PouringSession

        return PouringSession(self, how, target, details or PourDetails(), in_hand, balance=balance)

    def repair(self) -> int:
        """Rebuild every table from the journal: `pourbook.actions.safekeeping.repair`."""
        from pourbook.actions.safekeeping import repair

        return repair(self)

    def backup(self, path: str) -> "BackedUp":
        """Write a checked copy: `pourbook.actions.safekeeping.backup`."""
        from pourbook.actions.safekeeping import backup

        return backup(self, path)
