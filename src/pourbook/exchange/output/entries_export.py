"""Entries of a site's book as a file that a group's book takes in: JSON lines, each entry as it was chained.

| line    | holds                                                                                       |
|---------|---------------------------------------------------------------------------------------------|
| first   | `entries` ("pourbook 1"), house, site, numbers, `after` (the last entry left out), its hash |
| others  | an entry: the very text that its hash is made of                                            |
| last    | `end` (how many entries), number and head of the last, `signed` (a signed head) if it has   |
|         | one, `names` (of people: reference, salt, name, person it is told of) if they are to        |
|         | travel, else `sites` (the same of sites that have keys) if there are any, `withdrawn`       |
|         | (references of people who were withdrawn) if there are any                                  |

>>> import io
>>> from pourbook import Book
>>> file = io.StringIO()
>>> with Book.create(":memory:", house="Quillmere", site="A", numbers="1-99999") as book:
...     write_entries(book, file)
1
>>> file.getvalue().splitlines()[0]
'{"entries": "pourbook 1", "house": "Quillmere", "site": "A", "numbers": "1-99999", "after": 0, "after_hash": ""}'
"""

import json
from typing import TYPE_CHECKING, TextIO

from pourbook.book.coded_names import names_of_people, names_of_sites, withdrawn_from
from pourbook.book.journal import hash_of, is_group, last_entry
from pourbook.book.site_journals import texts_after
from pourbook.errors import OutOfRange, Refused
from pourbook.queries.journal.signed_heads import signed_head

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["FORM", "write_entries"]

FORM = "pourbook 1"
"""Begins the first line, and tells how the rest is written."""

_AT_A_SITE = "export the entries of a site's own book"


def write_entries(book: "BookCore", file: TextIO, after: int = 0, *, names: bool = False) -> int:
    """Write the entries after one, all of one state of the book; how many.

    People stand by references in them; with `names`, what these stand for is told at the end. Where the book has a
    signer, its head is signed there.

    Raises:
        Refused: the book belongs to no site, or to a group.
        OutOfRange: the journal ends before that entry.
    """
    store = book.store
    with store.snapshot():
        told = book.settings
        if is_group(store):
            raise Refused("this is the book of a group, which only repeats what its sites recorded", _AT_A_SITE)
        if not told["site"]:
            remedy = "name it: pourbook settings --set site=A --set numbers=1-99999"
            raise Refused("this book belongs to no site", remedy)
        last, head = last_entry(store)
        if not 0 <= after <= last:
            raise OutOfRange(f"the journal has no entry {after}", f"it ends with entry {last}")
        begin = {name: told[name] for name in ("house", "site", "numbers")}
        after_hash = hash_of(store, after) if after else ""
        _line(file, {"entries": FORM, **begin, "after": after, "after_hash": after_hash})
        file.writelines(f"{text}\n" for text in texts_after(store, after))
        people: dict[str, object] = {"names": [list(one) for one in names_of_people(store)]} if names else {}
        if not names and (sites := names_of_sites(store)):
            people["sites"] = [list(one) for one in sites]
        if withdrawn := withdrawn_from(store):
            people["withdrawn"] = withdrawn
        _line(file, {"end": last - after, "number": last, "head": head.hex()} | _signature(book) | people)
        return last - after


def _signature(book: "BookCore") -> dict[str, object]:
    if book.signer is None:
        return {}
    from pourbook.signing.heads import as_json  # heavy, and only where somebody signs

    return {"signed": as_json(signed_head(book, book.signer()))}


def _line(file: TextIO, told: dict[str, object]) -> None:
    file.write(json.dumps(told, ensure_ascii=False) + "\n")
