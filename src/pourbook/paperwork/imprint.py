"""Where and when a paper is printed: house, moment, and where the journal stands.

>>> from pourbook import Book
>>> book = Book.create(":memory:", house="Quillmere", clock=lambda: 0)
>>> imprint = imprint_of(book)
>>> imprint.house, imprint.printed, imprint.entries, len(imprint.head_hash)
('Quillmere', '1970-01-01 00:00 UTC', 1, 64)
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING

from pourbook.book.as_it_stood import NOW, AsOf
from pourbook.book.journal import entry_of
from pourbook.papers.page import Imprint
from pourbook.times import house_zone, moment_of, shown

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["imprint_of", "imprint_of_state"]


def imprint_of(book: "BookCore") -> Imprint:
    """The imprint of a paper printed from this book now."""
    moment_us = book.clock()
    return _imprint(book.settings, moment_us, "Printed", book.head(), _signed(book, moment_us), book)


def imprint_of_state(book: "BookCore", as_of: AsOf = NOW, settings: Mapping[str, str] | None = None) -> Imprint:
    """An imprint dated by the last entry, so the same state of the book gives the same paper.

    Of what was known after an earlier entry, dated by that one, under the settings of then and unsigned; or as of a
    moment.
    """
    last = entry_of(book.store, book.head_number() if as_of.known is None else as_of.known)
    settings = book.settings if settings is None else settings
    moment = "State of the book at" if as_of.known is None else f"As known at entry {as_of.known},"
    if as_of.at_us is not None:
        moment = f"As of {shown(as_of.at_us, house_zone(settings['zone']))}. {moment}"
    recorded_us = moment_of(last.entry["recorded"])
    signed = _signed(book, recorded_us) if as_of.known is None else ""
    group = book if as_of.known is None else None
    return _imprint(settings, recorded_us, moment, (last.number, last.hash), signed, group)


def _signed(book: "BookCore", dated_us: int) -> str:
    """Where the journal stands, signed with the key that the book was given; empty where it was given none."""
    if book.signer is None:
        return ""
    from pourbook.queries.journal.signed_heads import signed_head  # few papers are signed
    from pourbook.signing.heads import as_text

    return as_text(signed_head(book, book.signer(), dated_us))


def _imprint(
    settings: Mapping[str, str], moment_us: int, moment: str, head: tuple[int, str], signed: str,
    group: "BookCore | None",
) -> Imprint:  # fmt: skip
    of_group, names = _of_group(group) if group is not None and group.is_group else ("", ())
    printed = shown(moment_us, house_zone(settings["zone"]))
    stated = {name: settings[name] for name in ("address", "licence", "contact")}
    return Imprint(
        settings["house"], printed, head[0], head[1], settings["decimal_mark"], moment=moment,
        station=settings["station_address"], signed=signed, site=settings.get("site", ""),
        of_group=of_group, sites=names, **stated,
    )  # fmt: skip


def _of_group(book: "BookCore") -> tuple[str, tuple[str, ...]]:
    """Where a group stood, with the heads of its sites, and their names by code: an entry's hash is of one site."""
    from pourbook.book.groups import sites  # few books are of a group
    from pourbook.signing.heads import unsigned_text

    joined = sites(book.store)
    return unsigned_text(*book.head(), [one.head.hex() for one in joined]), tuple(one.name for one in joined)
