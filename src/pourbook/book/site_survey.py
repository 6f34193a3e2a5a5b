"""What the journals of all sites say together: what travelled between them, and what two of them have.

Every entry is read once, site by site, in the order recorded; then `met_together` makes of it what changes in entries
(`site_translation.Together`) and what people must be told. Pure.

>>> survey = Survey({1: "A", 2: "B"})
>>> for code in (1, 2):
...     survey.read(code, {"number": 4, "kind": "recipe", "happened": "2026-05-01T00:00:00Z",
...         "body": {"name": "Orchard", "parts": []}})
>>> survey.met_together(lambda _: ()).together.renamed[2].names
{'Orchard': 'Orchard (B)'}
>>> survey.shared_names()
(Shared(what='recipe', name='Orchard', entries=(4001, 4002)),)
"""

from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any, NamedTuple

from pourbook.book.consignments import Consignment, Leg, Touch, met, moved
from pourbook.book.journal import lines_of
from pourbook.book.kinds import KIND_OF_NAME
from pourbook.book.site_numbers import group_number, of_site, own_id
from pourbook.book.site_translation import NAMING, Renamed, Together, of_consignments
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, read_or_none
from pourbook.errors import Malformed
from pourbook.liquid import Liquid
from pourbook.texts import lookup_form
from pourbook.times import moment_of

__all__ = ["Met", "Shared", "Survey", "touch_of"]

_Entry = Mapping[str, Any]
_LOOKED_UP = ("ref", "lot_mark")
"""Facts by which an item is found."""


class Shared(NamedTuple):
    """Something that several sites have, and should not.

    Attributes:
        what: "identifier", "case number", "ref", "lot mark", or the kind of what bears the name.
        name: it, as the site that joined first writes it.
        entries: the first entry of each site that has it, by number in the group.
    """

    what: str
    name: str
    entries: tuple[int, ...]


class Met(NamedTuple):
    """What all journals come to.

    Attributes:
        together: what changes in entries.
        consignments: in the order sent.
        lonely: receipts that no despatch is known of.
    """

    together: Together
    consignments: tuple[Consignment, ...]
    lonely: tuple[Leg, ...]


class Survey:
    """Gathers what entries of all sites say together; `names` are those of the sites, by code."""

    def __init__(self, names: Mapping[int, str]) -> None:
        self.gone: set[int] = set()
        self._names = names
        self._codes = {name: code for code, name in names.items()}
        self._places: dict[int, int] = {}
        self._opened: dict[tuple[int, int], int] = {}
        self._stays: set[int] = set()
        self._sent: list[Leg] = []
        self._received: list[Leg] = []
        self._first: dict[tuple[str, str], tuple[str, int]] = {}
        self._again: dict[tuple[str, str], dict[int, int]] = {}

    def read(self, code: int, entry: _Entry) -> None:
        """The next entry of a site; `Malformed` where it cannot follow those before it."""
        number, kind, body = group_number(entry["number"], code), entry["kind"], entry["body"]
        replaced = group_number(body["entry"] if kind == "void" else entry.get("replaces", 0), code)
        if replaced:
            if replaced >= number or replaced in self.gone or replaced in self._stays:
                raise Malformed(f"entry {of_site(replaced)[1]} cannot be taken back")
            self.gone.add(replaced)
            self._places[number] = self._places.get(replaced, replaced)
        if not KIND_OF_NAME[kind].can_be_corrected:
            self._stays.add(number)
        if kind == "item":
            self._open(code, body["item"], number)
        if kind in ("pour", "gauge"):
            self._check_opened(code, entry)
        if kind == "pour":
            self._read_pour(code, number, entry)
        else:
            for what, name, written in _had(kind, body):
                self._note(what, name, written, number)

    def _open(self, code: int, item: str, number: int) -> None:
        before = self._opened.get((code, key_of(item)))
        if before and before not in self.gone:
            raise Malformed(f"entry {of_site(before)[1]} opened {hyphened(item)} already")
        self._opened[code, key_of(item)] = number

    def _check_opened(self, code: int, entry: _Entry) -> None:
        for item in _items(entry):
            if (number := self._opened.get((code, key_of(item)), 0)) == 0 or number in self.gone:
                raise Malformed(f"no entry before it opened {hyphened(item)}")

    def _note(self, what: str, name: str, written: str, number: int) -> None:
        first = self._first.setdefault((what, name), (written, number))[1]
        code, _ = of_site(number)
        if of_site(first)[0] != code:
            self._again.setdefault((what, name), {}).setdefault(code, number)

    def _read_pour(self, code: int, number: int, entry: _Entry) -> None:
        for index, line in enumerate(entry["body"]["lines"]):
            facts = line.get("facts", {})
            if line["to"] == "despatch" and facts.get("site", "") in self._codes and "bottles" not in facts:
                self._sent.append(self._leg(code, number, index, entry, facts["site"], line["from"]))
            elif line["from"] == "origin" and "from_site" in facts:
                leg = self._leg(code, number, index, entry, facts["from_site"], line["to"])
                liquid = Liquid(line["mass"], line["ethanol"], line.get("extract", 0))
                if not 0 <= liquid.ethanol_mg <= liquid.mass_mg:
                    raise ValueError("a receipt of more alcohol than liquid")
                days = facts.get("wood_days")
                self._received.append(leg._replace(liquid=liquid, wood_days=None if days is None else int(days)))

    def _leg(self, code: int, number: int, index: int, entry: _Entry, other: str, item: str) -> Leg:
        document = str(entry["body"]["lines"][index]["facts"].get("document", ""))
        place = self._places.get(number, number)
        other_code = self._codes.get(other, 0)
        return Leg(code, other_code, document, moment_of(entry["happened"]), place, number, index, item)

    def met_together(self, touching: Callable[[int], Iterable[Touch]]) -> Met:
        """What it all comes to; `touching` gives the pours and gauges of a site that count."""
        sent, received = ([leg for leg in legs if leg.entry not in self.gone] for legs in (self._sent, self._received))
        moments = moved(sent, received, touching)
        consignments, lonely = met(sent, received, moments)
        together = of_consignments(consignments, self._names)
        return Met(together._replace(moments=moments, renamed=self._renamed()), consignments, lonely)

    def _renamed(self) -> dict[int, Renamed]:
        ids: dict[int, dict[str, str]] = {code: {} for code in self._names}
        names: dict[int, dict[str, str]] = {code: {} for code in self._names}
        for (what, name), numbers in self._again.items():
            for code, number in numbers.items():
                if what == "identifier":
                    ids[code][name] = own_id(name, number)
                elif what in NAMING:
                    names[code][name] = f"{name} ({self._names[code]})"
        return {code: Renamed(ids[code], names[code]) for code in self._names if ids[code] or names[code]}

    def shared_names(self) -> tuple[Shared, ...]:
        """What several sites have, and should not."""
        return tuple(
            Shared(what, self._first[what, name][0], (self._first[what, name][1], *numbers.values()))
            for (what, name), numbers in self._again.items()
        )


def _had(kind: str, body: _Entry) -> Iterator[tuple[str, str, str]]:
    """What an entry gives a name or a number: what it is, that as it is looked up, and as it is written."""
    if kind == "item":
        yield "identifier", body["item"], body["item"]
    if kind == "reserve":
        yield from (("identifier", one, one) for one in body["items"])
    if kind in ("item", "facts"):
        for name in _LOOKED_UP:
            if value := body["facts"].get(name):
                yield name.replace("_", " "), lookup_form(value), value
    if kind == "packed":
        yield from (("case number", one, one) for one in body["ssccs"])
    if kind in NAMING and not read_or_none(body[NAMING[kind]]):
        yield kind, body[NAMING[kind]], body[NAMING[kind]]


def touch_of(code: int, place: int, entry: _Entry) -> Touch:
    """A pour or gauge as what it touches; `place` is its place in the group."""
    return Touch(moment_of(entry["happened"]), place, group_number(entry["number"], code), _items(entry))


def _items(entry: _Entry) -> tuple[str, ...]:
    """The items of a pour or gauge."""
    lines = lines_of(entry["body"])
    ends = (end for line in lines for end in (line.get("item"), line.get("from"), line.get("to")) if end)
    return tuple(filter(is_identifier, dict.fromkeys(ends)))
