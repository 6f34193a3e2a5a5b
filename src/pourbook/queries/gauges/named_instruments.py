"""An instrument described in words, or called so in the book."""

from collections.abc import Sequence
from typing import NamedTuple

from pourbook.book.core import BookCore
from pourbook.book.entries import UsedInstrument
from pourbook.book.items import facts, first_facts
from pourbook.codes.identifiers import key_of
from pourbook.errors import Malformed, Unknown
from pourbook.gauging.house_instruments import Instrument, instrument_of, overdue_since
from pourbook.house_style import HouseStyle
from pourbook.times import day_shown
from pourbook.uncertainty.instrument_errors import InstrumentErrors
from pourbook.uncertainty.wording import Measured, read_instrument

__all__ = ["NamedInstruments", "errors_of", "named_instruments"]


class NamedInstruments(NamedTuple):
    """Instruments that a person named: those known to the book, all used as a gauge keeps them, and unknown names."""

    known: tuple[Instrument, ...]
    used: tuple[UsedInstrument, ...]
    unknown: tuple[str, ...]


def named_instruments(book: BookCore, names: Sequence[str], at_us: int) -> NamedInstruments:
    """Instruments as they were at a moment: certificate, and since when overdue; `Refused` for another kind of item."""
    known: list[Instrument] = []
    used: list[UsedInstrument] = []
    unknown: list[str] = []
    for name in names:
        try:
            identifier = book.find(name)
        except Unknown:
            unknown.append(name)
            used.append(UsedInstrument(name))
            continue
        key = key_of(identifier)
        # One entered later is the same instrument: it is described by what it was entered with.
        one = instrument_of(identifier, facts(book.store, key, at_us) or first_facts(book.store, key))
        known.append(one)
        overdue = overdue_since(one, day_shown(at_us, book.zone))
        used.append(UsedInstrument(one.name, identifier, one.certificate, overdue))
    return NamedInstruments(tuple(known), tuple(used), tuple(unknown))


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
