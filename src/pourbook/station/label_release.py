"""Labels made from a page: sent to a printer of the house, or kept as a PDF for whoever asked."""

from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.label_run import LabelOrder, LabelsPrinted
from pourbook.codes.identifiers import kind_of
from pourbook.errors import Malformed, OutOfRange, Refused
from pourbook.queries.labels.label_selection import selected
from pourbook.station.results import keep_result

if TYPE_CHECKING:
    from pourbook.station.visit import Visit

__all__ = ["MOST", "SENT", "Released", "release_labels", "released"]

MOST = 260
"""Labels of one run from a page: four sheets of the smallest; drawing and reading back takes seconds."""

SENT = "sent"
"""Stands in place of an address where the labels went to a printer."""


class Released(NamedTuple):
    """What was printed, and the key of the PDF that is kept; empty where it went to a printer."""

    printed: LabelsPrinted
    key: str

    @property
    def address(self) -> str:
        """Of the PDF; empty where there is none."""
        return f"/labels/file/{self.key}" if self.key else ""


def release_labels(visit: "Visit", template: str, items: tuple[str, ...], printer: str = "") -> Released:
    """Labels of items, one each.

    Raises:
        PourbookError: as `pourbook.actions.label_run.label_run`.
    """
    from pourbook.labels.templates import template as template_of

    return released(visit, LabelOrder(template_of(template), items, printer=printer))


def released(visit: "Visit", order: LabelOrder) -> Released:
    """A run of labels, released to its printer or kept as a PDF.

    Raises:
        OutOfRange: more than a page makes at once.
        PourbookError: as `pourbook.actions.label_run.label_run`.
    """
    too_many = OutOfRange(
        visit.gettext("more than {most} labels at once").format(most=MOST), visit.gettext("print them in several runs")
    )
    if order.wanted:
        if order.items:
            raise Malformed(visit.gettext("items are both named and chosen"), visit.gettext("print them in two runs"))
        kinds = (order.wanted.kind,) if order.wanted.kind else order.template.kinds
        order = order._replace(
            items=tuple(one for one in selected(visit.book, order.wanted) if kind_of(one) in kinds), wanted=None
        )
        if not order.items:
            raise Refused(visit.gettext("nothing matches"), visit.gettext("choose less narrowly, or name the items"))
    all_numbers = 0 if order.numbers else order.numbered  # which the run would count out before it is looked at
    if len(order.items) * order.prints_of_each > MOST or max(order.copies, all_numbers) > MOST:
        raise too_many
    run = visit.book.label_run(order)
    if len(run.labels) * run.order.prints_of_each > MOST:
        raise too_many
    if run.printer and run.printer.goes_to:
        return Released(run.send(visit.book, visit.how), "")
    keys: list[str] = []
    name = f"labels-{run.labels[0].id}.pdf"
    printed = run.write(visit.book, visit.how, name, lambda pdf: keys.append(keep_result(visit, pdf, name)))
    return Released(printed, keys[0])
