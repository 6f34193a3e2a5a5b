"""An instrument described in words, or called so in the book."""

from pourbook.book.core import BookCore
from pourbook.errors import Malformed, Unknown
from pourbook.gauging.house_instruments import instrument_of
from pourbook.house_style import HouseStyle
from pourbook.uncertainty.instrument_errors import InstrumentErrors
from pourbook.uncertainty.wording import Measured, read_instrument

__all__ = ["errors_of"]


def errors_of(
    book: BookCore | None, style: HouseStyle, text: str, measures: Measured, about: float = 0.0
) -> InstrumentErrors:
    """The errors of an instrument: a class, what a certificate says, or a name in the book.

    `about` is what it reads, for the class of a balance.

    Raises:
        Malformed: an unknown instrument, or one without a permissible error.
    """
    try:
        return read_instrument(style.pointed(text), measures, about)
    except Malformed as refusal:
        try:
            view = book.show(text) if book else None
        except (Unknown, Malformed):
            view = None
        if view is None:
            raise refusal from None
    known = instrument_of(view.id, view.facts)
    if not known.errors:
        raise Malformed(
            f"{known.name} has no permissible error recorded", f"enter it: pourbook instrument '{text}' --mpe …"
        )
    return read_instrument(known.errors, measures, about, name=text)
