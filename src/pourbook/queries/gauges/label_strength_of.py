"""Whether the last gauge of an item allows a strength on its label."""

from decimal import Decimal

from pourbook.book.core import BookCore
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, Refused
from pourbook.numerals import shown
from pourbook.quantities import Strength
from pourbook.queries.gauges.last_gauge import last_gauge
from pourbook.queries.items.labelled_strength import stated_strength
from pourbook.uncertainty.labelling import LabelStrength, Rule, label_strength
from pourbook.uncertainty.propagation import Uncertain

__all__ = ["label_strength_of"]


def label_strength_of(
    book: BookCore, text: str, label: Strength | None, rule: Rule, confidence: float = 0.95
) -> LabelStrength:
    """Compare the strength of a batch or a lot by the book, with the ± of its last gauge, with a label.

    Without a label, it is what the lot is labelled with; `confidence` is the probability from which it is within.

    Raises:
        Refused: no gauge of the strength with a known ±.
        Malformed: no label is known.
    """
    view = book.show(text)
    gauge = last_gauge(book.store, view.id)
    known = gauge.strength if gauge else None
    if known is None or view.strength_20c is None:
        raise Refused(
            f"no gauge states the uncertainty of the strength of {hyphened(view.id)}",
            "gauge it with an instrument whose permissible error the book knows, or give --strength and --instrument",
        )
    stated = stated_strength(view.facts)
    if label is None and stated is not None:
        label = Strength(f"{stated} % vol", Decimal(shown(stated, 2)), "vol20")
    if label is None:
        raise Malformed("the strength on the label is not known", "give --label")
    extract = view.holding.extract_mg / view.volume_ml_20c
    return label_strength(Uncertain(view.strength_20c, known.sources), label, rule, confidence, extract)
