"""Everything in a group's book that follows from its sites' journals, derived in a scratch book and put in place."""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from pourbook.book.altered import altered, put_right
from pourbook.book.contents import LINES
from pourbook.book.copying import bring
from pourbook.book.fold import line_number
from pourbook.book.group_checked import chain_faults
from pourbook.book.groups import ASK_THE_SITE, group_head, sites, survey_of, translation
from pourbook.book.journal import canonical, lines_of, parsed
from pourbook.book.rebuilding import PROJECTIONS, NotFollowed, rebuild, standing
from pourbook.book.refold import Refold
from pourbook.book.site_numbers import of_site
from pourbook.book.site_translation import Together
from pourbook.book.store import Store
from pourbook.errors import Damaged, NotThere

__all__ = ["derive", "repair_group"]

_ENTRY = ("number", "kind", "happened", "place", "gone", "bytes", "hash")


def repair_group(store: Store) -> int:
    """Derive everything again from the sites' journals; how many entries they have.

    Raises:
        Damaged: one of those does not agree with its hashes.
    """
    for one in sites(store):
        for fault in chain_faults(store, one):
            raise Damaged(fault.problem, fault.remedy)
    with store.transaction():
        put_right(store, altered(store))
        derive(store)
    return group_head(store)[0]


def derive(store: Store) -> None:
    """Put everything that follows from the sites' journals in place, in a transaction of the store.

    Raises:
        Damaged: a site's journal cannot be followed.
    """
    _, met = survey_of(store)
    with _derived(store, met.together) as scratch:
        store.execute("DELETE FROM composition")
        bring(scratch, store, ("entry", *PROJECTIONS))


@contextmanager
def _derived(store: Store, together: Together) -> Iterator[Store]:
    """A scratch book that holds the translated entries and all that follows from them."""
    scratch = Store.scratch()
    try:
        with scratch.transaction(), _told_of_its_site(store):
            rows = translation(store, together)
            scratch.insert_many("entry", _ENTRY, ((*row[:3], row[0], 0, *row[3:]) for row in rows))
            for number, (gone, place) in standing(scratch).items():
                scratch.execute("UPDATE entry SET gone = ?, place = ? WHERE number = ?", (gone, place, number))
            overdrawn: dict[int, dict[str, Any]] = {}
            rebuild(scratch, apply=lambda fold, *entry: _apply(fold, overdrawn, *entry))
            _mark(scratch, overdrawn)
        yield scratch
    finally:
        scratch.close()


@contextmanager
def _told_of_its_site(store: Store) -> Iterator[None]:
    """What cannot be followed is an entry of a site: people find it there by its number there."""
    try:
        yield
    except NotFollowed as error:
        code, number = of_site(error.entry)
        for one in sites(store):
            if one.code == code:
                problem = f"the journal of site {one.name} cannot be followed beyond its entry {number}: {error.why}"
                raise Damaged(problem, ASK_THE_SITE) from error
        raise


def _apply(
    fold: Refold, overdrawn: dict[int, dict[str, Any]], kind: str, body: dict[str, Any], number: int, happened: int,
    place: int,
) -> None:  # fmt: skip
    """Apply an entry; lines that take more than is there take it all the same, and are marked."""
    for index, line in enumerate(lines_of(body)):
        key = (happened, place * LINES + index)
        try:
            fold.apply(kind, line, line_number(number, index), key)
        except NotThere:
            if kind == "gauge":
                raise
            body["lines"][index] = {**line, "beyond": 1, "overdrawn": 1}
            overdrawn[number] = body
            fold.apply(kind, body["lines"][index], line_number(number, index), key)


def _mark(scratch: Store, overdrawn: Mapping[int, dict[str, Any]]) -> None:
    for number, body in overdrawn.items():
        ((text,),) = scratch.query("SELECT bytes FROM entry WHERE number = ?", (number,))
        told = canonical(parsed(text) | {"body": body}).decode()
        scratch.execute("UPDATE entry SET bytes = ? WHERE number = ?", (told, number))
