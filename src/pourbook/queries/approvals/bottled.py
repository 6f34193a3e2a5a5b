"""A lot as it was bottled in a run: whether what left each vat is explained, and what its bottles hold."""

from collections.abc import Iterator
from typing import TYPE_CHECKING

from pourbook.book.entries import Ground
from pourbook.numerals import read_decimal

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.items import ItemView
    from pourbook.queries.bottling.run import LotOfRun, VatOfRun

__all__ = ["bottled_grounds"]

_STANDS = {"passes": "met", "fails": "not met"}


def bottled_grounds(book: "BookCore", lot: "ItemView") -> Iterator[Ground]:
    """The balance of the run of a lot, vat by vat, and its contents by the house's rule; none without a run.

    A run under way is not balanced yet: its balance is unknown, and has no figure.
    """
    if not lot.facts.get("run"):
        return
    from pourbook.queries.bottling.run import bottling_run  # many houses bottle without one

    run = bottling_run(book, lot.id)
    most = float(read_decimal(book.settings["bottling_difference"]))
    yield from (_balance(vat, most, under_way=run.under_way) for vat in run.vats)
    own = next(one for one in run.lots if one.view.id == lot.id)
    if own.judged is not None:
        yield _contents(own)


def _balance(vat: "VatOfRun", most: float, *, under_way: bool) -> Ground:
    if under_way or vat.difference is None:
        return Ground("balance", vat.view.id, "unknown")
    left_it = vat.bottles.lpa + sum(one.lpa for one in vat.losses.values()) + vat.difference.lpa
    part = 100 * vat.difference.lpa / left_it if left_it else 0.0
    told = {"actual": f"{part:.2f}", "lpa": f"{vat.difference.lpa:.3f}", "low": f"{-most:g}", "high": f"{most:g}"}
    return Ground("balance", vat.view.id, "met" if abs(part) <= most else "not met", told)


def _contents(own: "LotOfRun") -> Ground:
    judged = own.judged
    assert judged is not None
    least = judged.least_mean_ml if judged.least_mean_ml is not None else judged.nominal_ml
    told = {"actual": f"{judged.mean_ml:.2f}", "low": f"{least:.2f}", "rule": judged.rule}
    told |= {"measured": str(judged.measured), "defective": str(judged.defective)}
    return Ground("contents", "", _STANDS.get(judged.result, "unknown"), told)
