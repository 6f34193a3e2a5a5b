"""Names of people in the chain: a hash is of an entry in which a reference that nobody can guess stands for each name.

A reference is made of a name and a salt of its own, and kept with both in `person_name`, outside the chain. An entry's
own bytes hold the names, so that whoever reads it need not ask; `put_names` turns one text into the other. When the row
of a name is gone and the bytes hold its reference, the chain is as whole as before, and nobody can say who it was.

>>> text = '{"body":{"item":"C000001H","text":"dry"},"happened":"…","kind":"note","number":7,"who":"M. Aldane"}'
>>> coded = put_names(text, lambda name, _item: reference_of("5a", name))
>>> coded[-53:]
'"number":7,"who":"person:5MEY674VAR57PXLPJVPTDYWWSC"}'
>>> readable_names(coded, {reference_of("5a", "M. Aldane"): "M. Aldane"}) == text
True

To recompute the chain outside: an entry of `pourbook journal --json`, without `gone` and `hash`, as JSON with sorted
keys, no spaces and only necessary escapes, in UTF-8, after the 32 bytes of the hash before (zeros before the first), is
what SHA-256 is of. (Entries from before an upgrade are hashed with names: `--names`.)
"""

import json
import re
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from json.encoder import encode_basestring
from typing import NamedTuple

from pourbook.book.journal import Logged, canonical, is_group, parsed
from pourbook.book.site_numbers import of_site
from pourbook.book.store import Store
from pourbook.errors import Damaged

__all__ = [
    "OUTSIDE_THE_CHAIN", "Names", "PersonName", "by_codes_in", "chained", "chained_at_site", "chained_entries",
    "coded_since", "forget", "forgotten", "is_reference", "is_site", "names_of_people", "names_of_sites",
    "person_meant", "put_names",
    "readable_names", "reference_of", "references_in", "withdrawn_from",
]  # fmt: skip

OUTSIDE_THE_CHAIN = ("person_name", "original", "coded")
"""Tables that are neither of the chain nor rebuilt from it: whoever copies a journal copies them, too."""

_FIELDS = ("approvers", "assessor", "contact", "guest", "holder", "second", "witness")
_LISTS = ("assessors", "guests")
_BY_NAME = ("name", "ref")
"""Facts of a person by which others know them; any other is told of one person alone."""
_STATED_BY_A_GROUP = ("site",)
"""Facts of every item that the book of a group adds: nobody told them of the person."""

_TEXT = r'[^"\\]*(?:\\.[^"\\]*)*'
_IN_BODY = re.compile(rf'([{{,]"(?:{"|".join(_FIELDS)})":"|"kind":"person","name":")({_TEXT})(?=")')
_LISTED = re.compile(rf'([{{,]"(?:{"|".join(_LISTS)})":\[)((?:"{_TEXT}",?)+)(?=\])')
_ONE = re.compile(rf'"({_TEXT})"')
_MAY_NAME = re.compile(rf'"(?:{"|".join((*_FIELDS, *_LISTS))}|kind":"person)"')
_REFERENCE = re.compile(r"person:[A-Z2-7]{26}")
_SITE = re.compile(r"site\s+\S+", re.IGNORECASE)
_SHOWN = re.compile(r"(?:unnamed\s+person\s+|person:)(?P<code>[A-Z2-7]{6,26})", re.IGNORECASE)
"""Somebody unnamed as `readable` shows them, or their reference."""

_NO_NAME = re.compile(rf"(?:{_REFERENCE.pattern}|P[0-9]{{6,12}}[0-9A-Z*]|pourbook)?")
"""What stands in place of a name and is none: a reference, a person's identifier, the program itself."""

Put = Callable[[str, str], str]
"""What to put for a name: it, and the person it is told of (an identifier); empty where it is what they are called."""


class PersonName(NamedTuple):
    """A name with its reference and salt; `item` is the person of whom a note or a fact is, else empty."""

    reference: str
    salt: str
    name: str
    item: str = ""


def reference_of(salt: str, name: str, item: str = "") -> str:
    """What stands for a name in the chain: 130 bits of SHA-256 in base 32 (RFC 4648)."""
    from base64 import b32encode
    from hashlib import sha256

    digest = sha256(f"{salt}\0{item}\0{name}".encode("utf-8", "surrogatepass")).digest()
    return f"person:{b32encode(digest[:17]).decode()[:26]}"


def references_in(text: str) -> list[str]:
    """Every reference in a text, also where it stands for nobody any more."""
    return _REFERENCE.findall(text)


def person_meant(store: Store, text: str) -> str:
    """Whom a name stands for as entries name them: for what is shown of somebody who is unnamed, their reference.

    A reference of somebody who is named, as answers by codes say it, is their name. Any other text stays as it is.
    """
    asked = _SHOWN.fullmatch(text.strip())
    if not asked:
        return text
    beginning = f"person:{asked['code'].upper()}"
    question = "SELECT name FROM person_name WHERE reference BETWEEN ? AND ? ORDER BY reference"
    named = store.query(question, (beginning, f"{beginning}_"))  # after every letter and digit
    if named and named[0][0]:
        return str(named[0][0])
    entries = store.query("SELECT bytes FROM entry WHERE instr(bytes, ?) > 0 LIMIT 1", (beginning,))
    references = (one for (found,) in entries for one in references_in(found) if one.startswith(beginning))
    return next(references, text)


def is_reference(text: str) -> bool:
    """Whether it stands for somebody's name."""
    return _REFERENCE.fullmatch(text) is not None


# -- one text into the other ---------------------------------------------------------------------


def put_names(text: str, put: Put) -> str:
    """An entry's canonical text with something else for every name in it; any other text stays as it is."""
    return _put_raw(text, lambda raw, item: _escaped(put(_unescaped(raw), item)))


def readable_names(text: str, names: Mapping[str, str]) -> str:
    """An entry's text with the names that these references stand for; others stay."""
    return put_names(text, lambda name, _item: names.get(name, name))


def _put_raw(text: str, put: Put) -> str:
    """As `put_names`, with names as they are escaped in the text: this is on the way of every pour."""
    # In a text quotes are escaped, so that a key between them is nowhere else; keys are sorted, and "who" is the last.
    cut = text.rfind(',"happened":"')
    at = text.find('"who":"', cut) + 7
    if cut < 0 or at < 7 or text[-2:] != '"}':
        return text
    body, tail = text[:cut], text[cut:at]
    start = tail.find(',"login":"') + 10
    if start >= 10:
        end = tail.find('","number":', start)
        tail = f"{tail[:start]}{put(tail[start:end], '')}{tail[end:]}"
    if '"facts":{' in body or tail.find('"kind":"pour"') < 0:
        body = _put_in_body(body, put, _STATED_BY_A_GROUP if ',"site_number":' in tail else ())
    return f'{body}{tail}{put(text[at:-2], "")}"}}'


def _put_in_body(body: str, put: Put, stated: Collection[str]) -> str:
    if '"item":"P' in body:
        body = _put_of_person(body, put, stated)
    if not _MAY_NAME.search(body):
        return body
    body = _IN_BODY.sub(lambda found: found[1] + put(found[2], ""), body)
    return _LISTED.sub(lambda found: found[1] + _ONE.sub(lambda one: f'"{put(one[1], "")}"', found[2]), body)


def _put_of_person(body: str, put: Put, stated: Collection[str]) -> str:
    """What is told of a person, where the entry is about one: every fact but those `stated`, and a note's words."""
    told = parsed(f"{body}}}")["body"]
    item = told.get("item", "")
    if item[:1] != "P":
        return body
    if "facts" in told:
        told["facts"] = {
            name: value if name in stated else _unescaped(put(_escaped(value), "" if name in _BY_NAME else item))
            for name, value in told["facts"].items()
        }
    if "text" in told:
        told["text"] = _unescaped(put(_escaped(told["text"]), item))
    return canonical({"body": told}).decode()[:-1]


def _escaped(text: str) -> str:
    return encode_basestring(text)[1:-1]


def _unescaped(raw: str) -> str:
    return json.loads(f'"{raw}"') if "\\" in raw else raw


# -- the names of a book ---------------------------------------------------------------------------


class Names:
    """The references of a book's names, read as they are asked for; `makes` gives one to a name that has none."""

    def __init__(self, store: Store, *, makes: bool = False) -> None:
        self._store, self._makes = store, makes
        self._known: dict[str, dict[str, str]] = {"": {}}

    def coded(self, text: str) -> str:
        """An entry's text with references for the names in it.

        Raises:
            Damaged: a name has no reference, or one that does not follow from it.
        """
        return _put_raw(text, self._put)

    def _put(self, raw: str, item: str) -> str:
        known = self._known.get(item)
        if known is None:
            known = self._known[item] = {}
        reference = known.get(raw)
        if reference is None:
            reference = known[raw] = _escaped(self.reference(_unescaped(raw), item))
        return reference

    def reference(self, name: str, item: str = "") -> str:
        """What stands for a name; it itself, where it is none. Raises as `coded`."""
        if _NO_NAME.fullmatch(name):
            return name
        # In the book of a group a name has a reference of each site.
        question = "SELECT reference, salt FROM person_name WHERE name = ? AND item = ? ORDER BY reference"
        for reference, salt in self._store.query(question, (name, item)):
            if reference == reference_of(salt, name, item):
                return str(reference)
            raise Damaged(f"the reference of '{name}' in the table of names is not made of it", _RESTORE)
        if not self._makes:
            raise Damaged(f"'{name}' has no reference in the table of names", _RESTORE)
        salt = new_salt()
        row = PersonName(reference_of(salt, name, item), salt, name, item)
        self._store.execute("INSERT INTO person_name (reference, salt, name, item) VALUES (?, ?, ?, ?)", row)
        return row.reference


_RESTORE = "restore a back-up: pourbook restore BACKUP PATH"


def new_salt() -> str:
    """16 bytes that nobody can guess, as hexadecimal text."""
    from secrets import token_hex

    return token_hex(16)


def names_of_people(store: Store) -> Iterator[PersonName]:
    """Every name of a book, with its reference and salt."""
    rows = store.stream("SELECT reference, salt, name, item FROM person_name WHERE name <> '' ORDER BY reference")
    return map(PersonName._make, rows)


def is_site(name: str) -> bool:
    """Whether a name, as the holder of a key has it, is that of a site: no person's.

    >>> is_site("site B"), is_site("Sita Brandt")
    (True, False)
    """
    return bool(_SITE.fullmatch(name.strip()))


def names_of_sites(store: Store) -> tuple[PersonName, ...]:
    """Of these names, those of sites, which have keys as people have: they stand in the chain like people."""
    return tuple(one for one in names_of_people(store) if is_site(one.name))


def forget(store: Store, references: Iterable[str]) -> None:
    """Keep of these names, which are gone, that they were withdrawn: a group hears of them again from older files."""
    store.insert_many("person_name", PersonName._fields, [PersonName(one, "", "") for one in references])


def forgotten(store: Store) -> frozenset[str]:
    """References of names that a group heard were withdrawn at their site."""
    return frozenset(reference for (reference,) in store.query("SELECT reference FROM person_name WHERE name = ''"))


def withdrawn_from(store: Store) -> tuple[str, ...]:
    """References in a book's entries that stand for nobody any more, in rising order."""
    texts = store.stream("SELECT bytes FROM entry WHERE bytes LIKE '%person:%'")
    return tuple(sorted({found for (text,) in texts for found in references_in(text)}))


# -- what the hashes are of ------------------------------------------------------------------------


def coded_since(store: Store) -> int:
    """The first entry that is hashed with references for names; an upgraded book has earlier ones, as they stood."""
    rows = store.query("SELECT since FROM coded")
    return int(rows[0][0]) if rows else 1


def chained(store: Store) -> Callable[[int, str], str]:
    """Gives the text that the hash of an entry is of, from its number and its bytes. Raises as `Names.coded`."""
    if not store.columns("coded"):  # of format 2
        return lambda _number, text: text
    since, coded = coded_since(store), Names(store).coded
    originals: dict[int, str] = dict(store.query("SELECT entry, bytes FROM original"))
    return lambda number, text: coded(text) if number >= since else originals.get(number, text)


def by_codes_in(store: Store) -> Callable[[Logged], Logged]:
    """Gives an entry with references for the names in it; of a group, those that its site gave them."""
    names = Names(store)
    coded = _coded_by_site(store) if is_group(store) else lambda _number, text: names.coded(text)
    return lambda logged: logged._replace(entry=parsed(coded(logged.number, canonical(logged.entry).decode())))


def _coded_by_site(store: Store) -> Callable[[int, str], str]:
    """Two sites have two references of one name, and a person whose identifier both gave has another in the group."""
    names = Names(store)

    def coded(number: int, text: str) -> str:
        ((there,),) = store.query("SELECT bytes FROM site_entry WHERE code = ? AND number = ?", of_site(number))
        given = {(one.name, bool(one.item)): one.reference for one in _names_by(store, references_in(there))}
        item = str(parsed(there)["body"].get("item", ""))

        def put(name: str, told_of: str) -> str:
            return given.get((name, bool(told_of))) or names.reference(name, told_of and item)

        return put_names(text, put)

    return coded


def chained_at_site(store: Store, *, by_codes: bool) -> Callable[[int], str]:
    """Gives the text that an entry of a group is hashed from, which its site wrote, by its number in the group.

    `by_codes` also puts references into those that are hashed with names, as a book that was upgraded has them.
    """
    reference = Names(store).reference

    def text_of(number: int) -> str:
        ((text,),) = store.query("SELECT bytes FROM site_entry WHERE code = ? AND number = ?", of_site(number))
        return put_names(text, reference) if by_codes else str(text)

    return text_of


def _names_by(store: Store, references: Iterable[str]) -> Iterator[PersonName]:
    for one in dict.fromkeys(references):
        question = "SELECT reference, salt, name, item FROM person_name WHERE reference = ? AND name <> ''"
        yield from map(PersonName._make, store.query(question, (one,)))


def chained_entries(store: Store, first: int = 1, last: int = 1 << 62) -> Iterator[tuple[int, str]]:
    """Number and chained text of entries from one to another, in the order they were recorded."""
    text_of = chained(store)
    rows = store.stream("SELECT number, bytes FROM entry WHERE number BETWEEN ? AND ? ORDER BY number", (first, last))
    return ((number, text_of(number, text)) for number, text in rows)
