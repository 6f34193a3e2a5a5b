"""Whether the last gauge of an item allows a strength on its label."""

from dataclasses import replace
from decimal import Decimal

from pourbook.book.core import BookCore
from pourbook.book.journal import entry_of
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, Refused
from pourbook.numerals import shown
from pourbook.quantities import Strength
from pourbook.queries.gauges.last_gauge import last_gauge
from pourbook.queries.gauges.recorded_gauge import recorded_uncertainty
from pourbook.queries.items.labelled_strength import stated_strength
from pourbook.uncertainty.labelling import LabelStrength, Rule, label_strength
from pourbook.uncertainty.propagation import Uncertain

__all__ = ["label_strength_of"]


def label_strength_of(
    book: BookCore, text: str, label: Strength | None, rule: Rule, confidence: float = 0.95, at_us: int | None = None
) -> LabelStrength:
    """Compare the strength of a batch or a lot by the book, with the ± of its last gauge, with a label.

    Without a label, it is what the lot is labelled with; `confidence` is the probability from which it is within.

    Raises:
        Refused: no gauge of the strength with a known ±.
        Malformed: no label is known.
    """
    view = book.show(text, at_us)
    gauge = last_gauge(book.store, view.id, at_us)
    known = gauge.strength if gauge else None
    if gauge is None or known is None or view.strength_20c is None:
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
    by_instruments = replace(_read_again(book, gauge.entry, extract) or known, value=view.strength_20c)
    return label_strength(by_instruments, label, rule, confidence, extract)


def _read_again(book: BookCore, entry: int, extract: float) -> Uncertain | None:
    """The strength of a gauge with the errors of its instruments, each with its own law; the record keeps their sum."""
    logged = entry_of(book.store, entry)
    found = recorded_uncertainty(book.store, entry, logged.entry["body"], logged.happened_us, extract, 0.0)
    return found.figures.get("strength_20c")
