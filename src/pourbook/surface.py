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

    from pourbook.actions.correcting import Closed, Corrected, Correction
    from pourbook.actions.enter_printer import PrinterChanges, PrinterEntered
    from pourbook.actions.entering import Entered, HouseKind
    from pourbook.actions.happening import Happening
    from pourbook.actions.item_facts import Stated
    from pourbook.actions.label_run import LabelOrder, LabelRun
    from pourbook.actions.numbers_outside import Gtins, GtinSet, UnitsNumbered
    from pourbook.actions.reserve import Reserved
    from pourbook.actions.safekeeping import BackedUp
    from pourbook.book.logged import Logged
    from pourbook.book.recorded import Recorded
    from pourbook.gauging.gauge_uncertainty import UncertainFigures
    from pourbook.lineage.bases import Basis
    from pourbook.lineage.graph import Ancestry
    from pourbook.quantities import Strength
    from pourbook.queries.gauges.cask_evaporation import Evaporations
    from pourbook.queries.items.item_card import ItemCard
    from pourbook.queries.items.what_was_scanned import Scanned, Seen
    from pourbook.queries.journal.verification import Checked, Evidence
    from pourbook.queries.labels.print_log import PrintRun, Reservation
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

    # -- labels and codes --------------------------------------------------------------

    def label_run(self, order: "LabelOrder") -> "LabelRun":
        """A run of labels, drawn and read back: `pourbook.actions.label_run.label_run`."""
        from pourbook.actions.label_run import label_run

        return label_run(self, order)

    def reserve(self, how: "Happening", kind: str, count: int) -> "Reserved":
        """Set numbers aside: `pourbook.actions.reserve.reserve`."""
        from pourbook.actions.reserve import reserve

        return reserve(self, how, kind, count)

    def reserved(self) -> "tuple[Reservation, ...]":
        """What became of numbers set aside: `pourbook.queries.labels.print_log.reserved`."""
        from pourbook.queries.labels.print_log import reserved

        return reserved(self)

    def print_log(
        self, item: str = "", since_us: int | None = None, until_us: int | None = None
    ) -> "tuple[PrintRun, ...]":
        """The runs of labels: `pourbook.queries.labels.print_log.print_log`."""
        from pourbook.queries.labels.print_log import print_log

        return print_log(self, item, since_us, until_us)

    def enter_printer(self, how: "Happening", name: str, changes: "PrinterChanges") -> "PrinterEntered":
        """Enter a printer, or change it: `pourbook.actions.enter_printer.enter_printer`."""
        from pourbook.actions.enter_printer import enter_printer

        return enter_printer(self, how, name, changes)

    def forget_printer(self, how: "Happening", name: str) -> "PrinterEntered":
        """Remove a printer: `pourbook.actions.enter_printer.forget_printer`."""
        from pourbook.actions.enter_printer import forget_printer

        return forget_printer(self, how, name)

    def set_gtin(self, how: "Happening", lot: str, given: "Gtins") -> "GtinSet":
        """Give a lot its GTINs: `pourbook.actions.numbers_outside.set_gtin`."""
        from pourbook.actions.numbers_outside import set_gtin

        return set_gtin(self, how, lot, given)

    def number_cases(self, how: "Happening", lot: str, count: int, bottles: int) -> "UnitsNumbered":
        """Number cases: `pourbook.actions.numbers_outside.number_cases`."""
        from pourbook.actions.numbers_outside import number_cases

        return number_cases(self, how, lot, count, bottles)

    def number_pallets(self, how: "Happening", lot: str, count: int, cases: int, bottles: int) -> "UnitsNumbered":
        """Number pallets: `pourbook.actions.numbers_outside.number_pallets`."""
        from pourbook.actions.numbers_outside import number_pallets

        return number_pallets(self, how, lot, count, cases, bottles)

    def what_was_scanned(self, text: str) -> "Scanned":
        """What a scan is: `pourbook.queries.items.what_was_scanned.what_was_scanned`."""
        from pourbook.queries.items.what_was_scanned import what_was_scanned

        return what_was_scanned(text, self)

    def codes_seen(self, data: bytes, name: str) -> "tuple[Seen, ...]":
        """The codes in a picture or a PDF: `pourbook.queries.items.what_was_scanned.codes_seen`."""
        from pourbook.queries.items.what_was_scanned import codes_seen

        return codes_seen(data, name, self)

    # -- the house and its items -------------------------------------------------------

    def change_settings(self, how: "Happening", settings: "Mapping[str, str]") -> "Recorded":
        """Change settings: `pourbook.actions.house_settings.change_settings`."""
        from pourbook.actions.house_settings import change_settings

        return change_settings(self, how, settings)

    def enter(
        self, how: "Happening", kind: "HouseKind", name: str, facts: "Mapping[str, str] | None" = None,
        given: str | None = None,
    ) -> "Entered":  # fmt: skip
        """A person, a place or an instrument, new or known: `pourbook.actions.entering.enter`."""
        from pourbook.actions.entering import enter

        return enter(self, how, kind, name, facts, given)

    def set_facts(self, how: "Happening", item: str, facts: "Mapping[str, str]") -> "Stated":
        """Set facts of an item: `pourbook.actions.item_facts.set_facts`."""
        from pourbook.actions.item_facts import set_facts

        return set_facts(self, how, item, facts)

    def move_items(self, how: "Happening", items: "Sequence[str]", place: str) -> "Stated":
        """Move items to a place: `pourbook.actions.item_facts.move_items`."""
        from pourbook.actions.item_facts import move_items

        return move_items(self, how, items, place)

    def note(self, how: "Happening", item: str, text: str) -> "Stated":
        """Record a note: `pourbook.actions.item_facts.note`."""
        from pourbook.actions.item_facts import note

        return note(self, how, item, text)

    def hold(self, how: "Happening", items: "Sequence[str]") -> "Stated":
        """Put items on hold: `pourbook.actions.item_facts.hold`."""
        from pourbook.actions.item_facts import hold

        return hold(self, how, items)

    def release(self, how: "Happening", items: "Sequence[str]") -> "Stated":
        """Release items from hold: `pourbook.actions.item_facts.release`."""
        from pourbook.actions.item_facts import release

        return release(self, how, items)

    # -- correcting --------------------------------------------------------------------

    def void(self, how: "Happening", number: int) -> "Corrected":
        """Void an entry: `pourbook.actions.correcting.void`."""
        from pourbook.actions.correcting import void

        return void(self, how, number)

    def replace(self, how: "Happening", number: int, correction: "Correction") -> "Corrected":
        """Replace a pour or a gauge: `pourbook.actions.correcting.replace`."""
        from pourbook.actions.correcting import replace

        return replace(self, how, number, correction)

    def close_period(self, how: "Happening") -> "Closed":
        """Close a period: `pourbook.actions.correcting.close_period`."""
        from pourbook.actions.correcting import close_period

        return close_period(self, how)
