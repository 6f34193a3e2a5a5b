"""What the papers of a tasting session say: ballots and labels by code alone, the sealed pour sheet, the report."""

from collections import Counter
from itertools import groupby
from typing import TYPE_CHECKING, Any

from pourbook.bench.serving import TESTS
from pourbook.book.house_words import house_words
from pourbook.book.sessions import Opened, called_assessor, key_to, session_named
from pourbook.book.settings import scale
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Refused
from pourbook.labels.label import Label
from pourbook.papers.ballots import BallotForm, Ballots, Own, Scale
from pourbook.papers.pour_sheet import Poured, PourSheet, Tray
from pourbook.papers.session_paper import SessionPaper
from pourbook.paperwork.imprint import imprint_of
from pourbook.queries.items.called import at_sight, called
from pourbook.queries.tastings.session_plan import in_a_glass, need_of
from pourbook.queries.tastings.session_report import session_report
from pourbook.queries.traces.brought import brought
from pourbook.times import day_shown
from pourbook.words.session_words import alcohol_words, brings_words

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.entries import Session

__all__ = ["ballots_of", "glass_labels_of", "pour_sheet_of", "session_paper_of"]


def ballots_of(book: "BookCore", name: str) -> Ballots:
    """The ballots of a session, by code alone.

    Raises:
        Unknown: nothing goes by that name.
        Refused: it is closed.
    """
    opened = _open(book, name)
    session, settings = opened.session, book.settings
    intensity, liking, score = (Scale(*scale(settings, f"{name}_scale")) for name in ("intensity", "liking", "score"))
    form = BallotForm(intensity, liking, score, session.asks, TESTS[session.test].picks if session.test else 0)
    own = tuple(
        Own(called_assessor(book.store, flight.assessor), tuple(glass.code for glass in flight.glasses))
        for flight in key_to(book.store, opened)[0]
    )
    return Ballots(
        **_head(book, opened), form=form, own=own, rest_min=session.rest_min, swallowed=session.swallowed,
        seal=session.seal, words=_words(book),
    )  # fmt: skip


def glass_labels_of(book: "BookCore", name: str) -> list[Label]:
    """A label for each glass of a session, with its code and nothing else, by code.

    Raises:
        Unknown: nothing goes by that name.
        Refused: it is closed.
    """
    flights, _ = key_to(book.store, _open(book, name))
    codes = sorted(glass.code for flight in flights for glass in flight.glasses)
    return [Label("glass", code, code, caution="") for code in codes]


def pour_sheet_of(book: "BookCore", name: str) -> PourSheet:
    """The sealed sheet for whoever pours: the only paper of an open session that links a code with an item.

    Raises:
        Unknown: nothing goes by that name.
        Refused: it is closed.
        PourbookError: an item is empty or on hold.
    """
    opened = _open(book, name)
    session = opened.session
    flights, _ = key_to(book.store, opened)
    names = called(book.store, session.ids)
    counts = Counter(glass.item for flight in flights for glass in flight.glasses)
    needs = [need_of(book, item, counts[item], *in_a_glass(session)) for item in session.ids]
    return PourSheet(
        **_head(book, opened),
        items=tuple(
            Poured(
                hyphened(one.item.id), one.called, one.glasses, one.glass.spirit_ml, one.glass.water_ml,
                one.item.strength_20c,
            )
            for one in needs
        ),
        trays=tuple(
            Tray(
                called_assessor(book.store, flight.assessor),
                tuple((one.code, hyphened(one.item), names.get(one.item, "")) for one in flight.glasses),
            )
            for flight in flights
        ),
        seal=session.seal,
        alcohol=_alcohol(book, session),
    )  # fmt: skip


def session_paper_of(book: "BookCore", name: str) -> SessionPaper:
    """The report of a session that was closed.

    Raises:
        Unknown: nothing goes by that name.
        Refused: it is still open.
    """
    found = session_report(book, name)
    opened = found.card.opened
    head = _head(book, opened)
    named = {item: at_sight(item, found.card.called.get(item, "")) for item in opened.session.ids}
    return SessionPaper(
        head["imprint"], head["id"], head["code"], found, named, head["date"], head["glass"],
        _alcohol(book, opened.session), head["brings"],
    )  # fmt: skip


def _open(book: "BookCore", name: str) -> Opened:
    opened = session_named(book.store, name)
    if not opened.is_open:
        raise Refused(f"session '{opened.session.name}' is closed", "print its report: pourbook session report")
    return opened


def _head(book: "BookCore", opened: Opened) -> dict[str, Any]:
    """What all papers of a session begin with."""
    session, number = opened.session, opened.entry.number
    reduced = f", reduced to {session.strength}" if session.strength else ""
    return {
        "imprint": imprint_of(book),
        "session": session.name,
        "id": f"SESSION-{number}",
        "code": f"SESSION{number}",
        "date": day_shown(opened.entry.happened_us, book.zone),
        "glass": f"{session.amount}{reduced}",
        "brings": brings_words(brought(book, session.ids)),
    }


def _alcohol(book: "BookCore", session: "Session") -> str:
    settings = book.settings
    words = alcohol_words(session.alcohol_mg, settings["standard_drink"], settings["decimal_mark"])
    return f"Offered to each: {words}."


def _words(book: "BookCore") -> tuple[str, ...]:
    """The words of the house, a line for each group."""
    words = sorted((one.group, one.word) for one in house_words(book.store).words if not one.gone)
    groups = groupby(words, lambda pair: pair[0])
    return tuple(f"{group or 'others'}: {', '.join(word for _, word in found)}" for group, found in groups)
