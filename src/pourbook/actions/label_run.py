"""A run of labels: chosen, drawn, read back, released to a file or a printer, recorded as far as it came.

What a run did stands in the book, so that whoever drives it (a page, a scanner loop, a script) may go away and
another take it up: numbers reserved, labels printed, labels in doubt, and those that a stopped run left, which
`LabelOrder.rest_of` prints.

>>> from pourbook import Book, Draft, Reserve
>>> from pourbook.actions.happening import Happening
>>> from pourbook.labels.templates import template
>>> book = Book.create(":memory:", house="Quillmere")
>>> _ = book.record(Draft(Reserve(("V000001R",)), 0, "M. Aldane"))
>>> run = label_run(book, LabelOrder(template("vial-roll-30x15"), ("V-000001-R",)))
>>> printed = run.write(book, Happening("I. Farrow"), "vials.pdf", lambda pdf: None)
>>> printed.facts["readback"], printed.run.prints
('passed', {'V000001R': 1})
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Paper
from pourbook.book.label_prints import LABEL, STRENGTHS, UNIT_LABEL, label_prints, unit_prints
from pourbook.book.names import scanned
from pourbook.codes.identifiers import kind_of
from pourbook.errors import Malformed, OutOfRange, Refused, StoreError
from pourbook.labels.calibration import Calibration, Printer
from pourbook.labels.label import Label
from pourbook.labels.label_sheets import Printout
from pourbook.paperwork.house_printers import printer_of
from pourbook.paperwork.label_of import label_of, unit_label_of
from pourbook.paperwork.outside_marks import Lack, lacking
from pourbook.queries.items.labelled_strength import Disagreement, disagreement
from pourbook.queries.labels.label_selection import Wanted, selected
from pourbook.queries.labels.print_log import numbers_left, printable, ranges, rest_of_run

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.book.trade_numbers import Unit
    from pourbook.labels.label_layout import Template
    from pourbook.labels.label_printers import Sent

__all__ = ["LabelOrder", "LabelRun", "LabelsPrinted", "label_run"]

_SAME_DPI = 0.01
_SSCC_DIGITS = 18


class LabelOrder(NamedTuple):
    """What is to be printed. Exactly one of `items`, `wanted` and `rest_of` says of what.

    Attributes:
        template: of the labels.
        items: identifiers, names, reserved numbers; or SSCCs of cases and pallets.
        wanted: a selection instead of names.
        rest_of: the entry of a run that stopped half-way.
        contents: of a carton, as text; empty for what the book has.
        copies: of each label.
        numbered: how many cartons a run of one lot numbers, "1 of 66" and so on; 0 for none.
        numbers: those of them that are printed; empty for all.
        start: the first free place of the first sheet.
        printer: name of a printer of the house; empty for none.
        dpi: of the printer; its own, or 300, when None.
        readback: whether every symbol is read back before the run is released.
    """

    template: "Template"
    items: tuple[str, ...] = ()
    wanted: Wanted | None = None
    rest_of: int = 0
    contents: str = ""
    copies: int = 1
    start: int = 1
    printer: str = ""
    dpi: float | None = None
    readback: bool = True
    numbered: int = 0
    numbers: tuple[int, ...] = ()

    @property
    def prints_of_each(self) -> int:
        """How many labels there are of each key."""
        return len(self.numbers) if self.numbered else self.copies


class LabelRun(NamedTuple):
    """A run drawn for the calibration of its printer, and read back unless that was left out; it is released once.

    It holds its order, the labels, the keys (identifier or SSCC of each), how many prints there are of each key with
    this one, and the pages as PDF.
    """

    order: LabelOrder
    labels: list[Label]
    keys: tuple[str, ...]
    prints: dict[str, int]
    printer: Printer | None
    calibration: Calibration
    pdf: bytes = b""

    @property
    def printout(self) -> Printout:
        """The labels as they are printed, copies and numbers included."""
        order = self.order
        copies = [label for label in self.labels for _ in range(order.copies)]
        if order.numbered:
            copies = [replace(one, number=f"{n} of {order.numbered}") for one in copies for n in order.numbers]
        return Printout(copies, order.template, self.calibration, order.start)

    def pictures(self) -> Iterator[bytes]:
        """Each page as a PNG, one pixel to a dot, to look at; nothing is printed or recorded."""
        from pourbook.labels.raster import pictures, png

        return (png(picture, self.calibration.dpi) for picture in pictures(self.pdf, self.calibration.dpi))

    def write(self, book: "BookCore", how: "Happening", name: str, put: Callable[[bytes], None]) -> "LabelsPrinted":
        """Release the run as a PDF: the file and its entry are both there, or neither.

        `name` is that of the file, for the journal; `put` puts the whole file in its place.
        """
        facts = self.facts() | {"file": name} | ({"printer": self.printer.name} if self.printer else {})
        with how.transaction(book):
            recorded = how.record(book, self._paper(len(self.labels), facts))
            if not how.dry_run:
                put(self.pdf)
        return self._printed(book, how, recorded, facts)

    def send(self, book: "BookCore", how: "Happening") -> "LabelsPrinted":
        """Release the run to its printer, and record it as far as it came.

        Raises:
            Refused: a sheet for a thermal printer.
            ToConfirm: a glass is broken, lost or sent away; nothing was printed.
            StoreError: the printer took nothing; nothing was recorded.
        """
        from pourbook.labels.thermal import check_roll

        assert self.printer is not None, "the order named no printer"
        facts = self.facts() | {"printer": self.printer.name}
        if self.printer.address:
            check_roll(self.order.template)
        if how.dry_run:
            with how.transaction(book):
                return self._printed(book, how, how.record(book, self._paper(len(self.labels), facts)), facts)
        self._try(book, how, facts)
        sent = self._sent(self.printer)
        reached = sent.sent + sent.doubtful
        if not reached:
            raise StoreError(f"nothing was printed: {sent.why}", "check the output and the printer, then print again")
        facts["count"] = sent.sent
        if not sent.whole:
            facts |= {"of": len(self.labels) * self.order.prints_of_each, "stopped": sent.why}
            numbers = {"doubtful": self.order.numbers[sent.sent : reached], "rest": self.order.numbers[reached:]}
            facts |= {name: ranges(found) for name, found in numbers.items() if found}
        in_doubt, not_sent = self._copies(sent.sent, reached), self._copies(reached, None)
        kept = {"in_doubt": in_doubt, "not_sent": not_sent}
        facts |= {name: " ".join(keys) for name, keys in kept.items() if keys}
        recorded = how.record(book, self._paper(-(-reached // self.order.prints_of_each), facts))
        return self._printed(book, how, recorded, facts)._replace(in_doubt=in_doubt, not_sent=not_sent)

    def _try(self, book: "BookCore", how: "Happening", facts: dict[str, str | int]) -> None:
        """What the book would refuse or ask of the run, before anything is on paper."""
        trial = how._replace(dry_run=True)
        with trial.transaction(book):
            trial.record(book, self._paper(len(self.labels), facts))

    def _sent(self, printer: Printer) -> "Sent":
        from pourbook.labels.label_printers import media_of, send_to_port, send_to_queue
        from pourbook.labels.thermal import label_jobs

        template, printout = self.order.template, self.printout
        if printer.address:
            return send_to_port(label_jobs(self.pdf, printout, own_text=printer.own_text), printer.address)
        count = len(self.labels) * self.order.prints_of_each
        return send_to_queue(self.pdf, count, printer.queue, f"Labels: {template.title}", media_of(template.media))

    def _copies(self, first: int, end: int | None) -> tuple[str, ...]:
        printed = [key for key in self.keys for _ in range(self.order.prints_of_each)]
        return tuple(dict.fromkeys(printed[first:end]))

    def facts(self) -> dict[str, str | int]:
        """What the journal keeps of the run before it is released."""
        order, dpi = self.order, self.calibration.dpi
        facts: dict[str, str | int] = {
            "template": order.template.name,
            "dpi": int(dpi) if dpi == int(dpi) else f"{dpi:g}",
            "count": len(self.labels) * order.prints_of_each,
            "readback": "passed" if order.readback else "skipped",
        }
        facts |= {"numbered": order.numbered, "numbers": ranges(order.numbers)} if order.numbered else {}
        return facts | {name: value for name, value in (("start", order.start), ("copies", order.copies)) if value != 1}

    def _paper(self, reached: int, facts: dict[str, str | int]) -> Paper:
        strengths = {label.code: label.strength for label in self.labels[:reached]}
        ids = tuple(strengths)
        if not self._of_units:
            said = {STRENGTHS: "; ".join(strengths.values())} if any(strengths.values()) else {}
            return Paper(LABEL, ids, facts | said)
        return Paper(UNIT_LABEL, ids, facts | {"units": " ".join(dict.fromkeys(self.keys[:reached]))})

    @property
    def _of_units(self) -> bool:
        return self.keys[0].isdecimal()

    def _printed(
        self, book: "BookCore", how: "Happening", recorded: "Recorded", facts: dict[str, str | int]
    ) -> "LabelsPrinted":
        lots = [] if self._of_units else [label.code for label in self.labels if label.kind == "lot"]
        views = map(book.show, dict.fromkeys(lots))
        apart = ((view.id, disagreement(view.facts, view.strength_20c)) for view in views)
        return LabelsPrinted(
            self, recorded, facts, (), (),
            tuple(dict.fromkeys(lack for label in self.labels for lack in lacking(label, self.order.template))),
            tuple((lot, found) for lot, found in apart if found),
            0 if how.reason else sum(prints > 1 for prints in self.prints.values()),
            how.dry_run,
        )  # fmt: skip


class LabelsPrinted(NamedTuple):
    """What a run printed.

    Attributes:
        run: that was released.
        recorded: what the recording did.
        facts: what the journal keeps: template, dpi, count, readback, file or printer, what stopped it.
        in_doubt: identifiers or SSCCs of labels that the printer may or may not have.
        not_sent: those of labels that it does not have.
        lacks: why symbols that go outside carry our identifier instead.
        apart: lots whose strength on the label is not the book's.
        again: how many had been printed before, where no reason was given.
        dry_run: nothing was printed or recorded.
    """

    run: LabelRun
    recorded: "Recorded"
    facts: Mapping[str, str | int]
    in_doubt: tuple[str, ...]
    not_sent: tuple[str, ...]
    lacks: tuple[Lack, ...]
    apart: tuple[tuple[str, Disagreement], ...]
    again: int
    dry_run: bool


def label_run(book: "BookCore", order: LabelOrder) -> LabelRun:
    """Choose the labels, draw them for their printer, and read every symbol back.

    Raises:
        PourbookError: an item or printer is not in the book.
        Malformed: items are both named and selected, or mixed with single cases; another resolution than the
            printer's.
        Refused: nothing matches, a template does not suit an item, or a symbol does not read.
        OutOfRange: something does not fit, or lies where the printer cannot print.
    """
    from pourbook.labels.reach import check_reach
    from pourbook.labels.readback import read_back

    order = _numbered(book, order)
    run = LabelRun(order, *_labels(book, order), *_printer(book, order))
    pdf = run.printout.pdf()
    check_reach(run.printout)
    if order.readback:
        read_back(pdf, run.printout)
    return run._replace(pdf=pdf)


def _numbered(book: "BookCore", order: LabelOrder) -> LabelOrder:
    """An order whose numbers are settled; the rest of a numbered run goes on with what it left."""
    if order.rest_of:
        order = order._replace(**numbers_left(book, order.rest_of))
    if not order.numbered:
        if order.numbers:
            raise Malformed("--numbers needs to know how many cartons there are", "give --numbered, too")
        return order
    if order.copies > 1 or order.wanted or len(order.items) > 1:
        raise Malformed(
            "only cartons of one lot can be numbered, one copy each", "name one item and leave out --copies"
        )
    numbers = order.numbers or tuple(range(1, order.numbered + 1))
    if max(numbers) > order.numbered:
        raise OutOfRange(f"there is no {max(numbers)} of {order.numbered}", "give numbers up to the last one")
    return order._replace(numbers=numbers)


def _printer(book: "BookCore", order: LabelOrder) -> tuple[Printer | None, Calibration]:
    if not order.printer:
        return None, Calibration(order.dpi or 300.0)
    printer = printer_of(book.settings, order.printer)
    own = printer.calibration.dpi
    if order.dpi and abs(order.dpi / own - 1) > _SAME_DPI:
        raise Malformed(
            f"printer '{printer.name}' has {own:g} dpi, not {order.dpi:g}", "leave --dpi out, or name another printer"
        )
    return printer, printer.calibration


def _labels(book: "BookCore", order: LabelOrder) -> tuple[list[Label], tuple[str, ...], dict[str, int]]:
    """One label of each, their identifiers or SSCCs, and which print each is."""
    items = _chosen(book, order)
    units = [unit for item in items if (unit := _unit(book, item))]
    if units and len(units) < len(items):
        raise Malformed("labels of items and of single cases cannot share a run", "print them in two runs")
    if units:
        keys = tuple(unit.sscc for unit in units)
        before = unit_prints(book.store, (unit.lot for unit in units))
        labels = [unit_label_of(book, unit, _mark(before[unit.sscc])) for unit in units]
    else:
        keys = tuple(printable(book, item) for item in items)
        before = label_prints(book.store, keys)
        labels = [label_of(book, key, _mark(before[key])) for key in keys]
        if order.contents:
            labels = [replace(label, count=order.contents) for label in labels]
    return labels, keys, {key: before[key] + 1 for key in keys}


def _mark(before: int) -> str:
    return f"print {before + 1}" if before else ""


def _unit(book: "BookCore", item: str) -> "Unit | None":
    """The case or pallet that an SSCC names; None for anything else."""
    return scanned(book.store, item).unit if sum(map(str.isdigit, item)) >= _SSCC_DIGITS else None


def _chosen(book: "BookCore", order: LabelOrder) -> tuple[str, ...]:
    """The items that were named, or that match; of kinds that the template serves unless a kind was named."""
    if bool(order.items) + bool(order.wanted) + bool(order.rest_of) > 1:
        raise Malformed("items are both named and selected", "print them in two runs")
    if order.rest_of:
        return rest_of_run(book, order.rest_of)
    if order.wanted is None:
        return order.items
    kinds = (order.wanted.kind,) if order.wanted.kind else order.template.kinds
    found = tuple(one for one in selected(book, order.wanted) if kind_of(one) in kinds)
    if not found:
        raise Refused("nothing matches", "select less narrowly, or name the items")
    return found
