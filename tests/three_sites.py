"""A month of Quillmere's three sites, cut off from each other, and what was put right afterwards.

STILLS distils and matures, QUAY blends and bottles, HILL matures and bottles. The same events are recorded either in a
book for each site, as people there type them, or in one book for all, where what travels lies in a batch on its way:

    sites = in_site_books(folder, month(), afterwards())
    one = in_one_book(folder / "one.pourbook", month() + afterwards())

In that month STILLS sends a tanker that arrives three litres short, a sample, a cask that never arrives and one that is
entered twice; QUAY sends a blend on that is received in two casks; some of it comes back to STILLS. Afterwards the
second entry is voided, and a gauge and a receipt from before are corrected. All invented.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from command import Desk, here

from pourbook import Book, Draft, Gauge, Item, Move, Pour
from pourbook.book.contents import NOTHING
from pourbook.book.freeze import frozen_move
from pourbook.consignments import Consignment
from pourbook.liquid import EMPTY, Liquid
from pourbook.quantities import read_amount, read_strength
from pourbook.texts import lookup_form
from pourbook.times import house_zone, read_time

SITES = {"STILLS": "1-99999", "QUAY": "100000-199999", "HILL": "200000-299999"}
"""Every site with its numbers."""

PEOPLE = {"STILLS": "Maud Aldane", "QUAY": "Isla Farrow", "HILL": "Pankracy Wiżbor"}
_UTC = house_zone("UTC")


class Done(NamedTuple):
    """A command as it is typed at a site; `called` names its last entry for later corrections."""

    site: str
    when: str
    line: str
    called: str = ""


class Sent(NamedTuple):
    """Spirit that left an item of a site for another site, all of it where no amount is given."""

    site: str
    when: str
    item: str
    amount: str
    to: str
    document: str


class Came(NamedTuple):
    """Spirit that came into an item of a site; `opens` is the kind of the item where it is new."""

    site: str
    when: str
    item: str
    amount: str
    strength: str
    source: str
    document: str
    in_wood: str
    opens: str = ""
    called: str = ""


class Corrected(NamedTuple):
    """An earlier event, by what it was called, that was voided or replaced.

    `how` is the rest of the command; `right` what a receipt should have said, None where it should not be.
    """

    site: str
    when: str
    entry: str
    how: str
    right: dict[str, str] | None = None


Event = Done | Sent | Came | Corrected


def month(sites=tuple(SITES)) -> list[Event]:
    """What happened until the first join, in order of time; of two sites, what concerns those alone."""
    return sorted(_between(_month(), sites), key=lambda one: one.when)


def afterwards(sites=tuple(SITES)) -> list[Event]:
    """What was put right, and sold, after the first join."""
    return sorted(_between(_afterwards(), sites), key=lambda one: one.when)


def _between(events, sites) -> Iterator[Event]:
    for one in events:
        others = {getattr(one, "to", one.site), getattr(one, "source", one.site)}
        if {one.site, *others} <= set(sites):
            yield one


def _month() -> Iterator[Event]:
    yield from _maturing()
    yield Done("STILLS", "2026-05-04 09:00", "gauge 'S 1' --amount '171 l' --strength 61.4", "gauge of S 1")
    yield Done("STILLS", "2026-05-04 09:10", "gauge 'S 2' --amount '170 l' --strength 61.2")
    yield Done("STILLS", "2026-05-05 08:00", "batch 'Tank 1'")
    yield Done("STILLS", "2026-05-05 08:30", "dump 'Tank 1' 'S 1' 'S 2' 'S 3'")
    yield Sent("STILLS", "2026-05-06 07:00", "Tank 1", "480 l", "QUAY", "MD 26-1")
    yield Done("QUAY", "2026-05-07 16:00", "batch 'Quay tank'")
    yield Came("QUAY", "2026-05-08 10:00", "Quay tank", "477 l", "61.8", "STILLS", "MD 26-1", "8 y", "", "receipt 26-1")
    yield Done("STILLS", "2026-05-11 10:00", "draw 'S 4' '500 ml' --ref 'Sample 4'")
    yield Sent("STILLS", "2026-05-11 11:00", "Sample 4", "", "QUAY", "MD 26-2")
    yield Came("QUAY", "2026-05-12 11:00", "From S 4", "500 ml", "63.9", "STILLS", "MD 26-2", "8 y", "vial")
    yield from _blending()
    yield from _hill()


def _maturing() -> Iterator[Event]:
    cask = "cask '{}' --wood 'oak hogshead' --capacity 250 --fill '{}' --strength {} --in-wood 0 --spirit '{}'"
    for place in range(1, 7):
        line = cask.format(f"S {place}", "200 l", 63.4 + place / 10, "malt spirit")
        yield Done("STILLS", f"2018-05-0{place} 10:00", f"{line} --distiller Quillmere")
    for place in range(1, 4):
        line = cask.format(f"Q {place}", "190 l", 62 + place / 10, "grain spirit")
        yield Done("QUAY", f"2019-03-0{place} 10:00", f"{line} --supplier 'Tarn Bulk Spirit' --document 'T 8{place}'")


def _blending() -> Iterator[Event]:
    """QUAY blends, sends a part on to HILL, bottles the rest and sells some."""
    yield Done("QUAY", "2026-05-13 08:00", "batch 'Quay blend'")
    yield Done("QUAY", "2026-05-13 09:00", "pour 'Quay blend' 'Quay tank' '400 l' 'Q 1' '150 l'")
    yield Done("QUAY", "2026-05-14 09:00", "pour 'Quay blend' water '180 l' --about demineralised")
    yield Done("QUAY", "2026-05-15 09:00", "gauge 'Quay blend' --amount '725 l' --strength 46.9 --kind operating")
    yield Sent("QUAY", "2026-05-15 14:00", "Quay blend", "200 l", "HILL", "MD 26-3")
    yield Done(
        "QUAY", "2026-05-18 09:00", "bottle 'Quay blend' --count 600 --size '700 ml' --ref 'Quay lot' --lot-mark L26-18"
    )
    yield Done("QUAY", "2026-05-19 09:00", "despatch 'Quay lot' 120 --customer 'Harbour Row Wines' --document 'DN 1'")
    yield Done("QUAY", "2026-05-20 09:00", "despatch 'Quay lot' 60 --customer 'Corran Vale' --document 'DN 2'")


def _hill() -> Iterator[Event]:
    """HILL waits for a cask in vain, enters another twice, blends what came in two parts and sends some back."""
    yield Sent("STILLS", "2026-05-07 08:00", "S 5", "", "HILL", "MD 26-4")
    yield Sent("STILLS", "2026-05-09 08:00", "S 6", "120 l", "HILL", "MD 26-5")
    yield Came("HILL", "2026-05-12 08:00", "H 3", "119.5 l", "64", "STILLS", "MD 26-5", "8 y", "cask")
    yield Came("HILL", "2026-05-13 08:00", "H 4", "119.5 l", "64", "STILLS", "MD 26-5", "8 y", "cask", "entered twice")
    yield Came("HILL", "2026-05-20 08:00", "H 1", "100 l", "46.9", "QUAY", "MD 26-3", "7 y", "cask")
    yield Came("HILL", "2026-05-20 09:00", "H 2", "99.2 l", "46.9", "QUAY", "MD 26-3", "7 y", "cask")
    yield Done("HILL", "2026-05-22 08:00", "batch 'Hill blend'")
    yield Done("HILL", "2026-05-22 09:00", "pour 'Hill blend' 'H 1' '90 l' 'H 3' '40 l'")
    yield Done(
        "HILL", "2026-05-23 09:00", "bottle 'Hill blend' --count 150 --size '700 ml' --ref 'Hill lot' --lot-mark L26-23"
    )
    yield Done("HILL", "2026-05-26 09:00", "despatch 'Hill lot' 100 --customer 'Ferrow Inns' --document 'DN 3'")
    yield Sent("HILL", "2026-05-26 10:00", "H 2", "40 l", "STILLS", "MD 26-6")
    yield Came("STILLS", "2026-05-28 10:00", "S 7", "40 l", "46.8", "HILL", "MD 26-6", "7 y", "cask")


def _afterwards() -> Iterator[Event]:
    yield Corrected("HILL", "2026-06-02 08:00", "entered twice", "--reason 'entered twice'")
    yield Corrected("STILLS", "2026-06-03 08:00", "gauge of S 1", "--strength 60.9 --reason 'misread by half'", {})
    right = {"amount": "478.5 l"}
    yield Corrected("QUAY", "2026-06-04 08:00", "receipt 26-1", "--amount '478.5 l' --reason 'meter read anew'", right)
    yield Done("QUAY", "2026-06-05 09:00", "despatch 'Quay lot' 30 --customer 'Harbour Row Wines' --document 'DN 4'")


# -- a book for each site --------------------------------------------------------------------


class SiteBooks:
    """The books of the sites in a folder, by the names of the sites; events are typed there as commands."""

    def __init__(self, folder, sites=tuple(SITES)):
        self.paths = {site: Path(folder) / f"{site.lower()}.pourbook" for site in sites}
        self.numbers: dict[str, int] = {}
        for site, path in self.paths.items():
            here("create", path, "--house", "Quillmere", "--site", site, "--numbers", SITES[site]).done()

    def record(self, events):
        """Record events, each at its site."""
        for one in events:
            told = _typed(self.paths[one.site], self._line(one), one)
            if getattr(one, "called", ""):
                self.numbers[one.called] = told
        return self

    def _line(self, one):
        if isinstance(one, Sent):
            return f"despatch '{one.item}' '{one.amount or 'all'}' --site {one.to} --document '{one.document}'"
        if isinstance(one, Came):
            return f"{_into(one)} {_from_site(one)}"
        return _correction(one, self.numbers) if isinstance(one, Corrected) else one.line


def in_site_books(folder, *parts, sites=tuple(SITES)) -> SiteBooks:
    """Books of these sites with all that happened."""
    books = SiteBooks(folder, sites)
    for events in parts:
        books.record(events)
    return books


def _into(one: Came) -> str:
    if one.opens == "vial":
        return f"vial '{one.amount}' --ref '{one.item}'"
    return f"cask '{one.item}' --fill '{one.amount}'" if one.opens else f"fill '{one.item}' '{one.amount}'"


def _from_site(one: Came) -> str:
    told = f"--strength {one.strength} --in-wood '{one.in_wood}'"
    return f"{told} --from-site {one.source} --document '{one.document}'"


def _correction(one: Corrected, numbers) -> str:
    return f"{'void' if one.right is None else 'replace'} {numbers[one.entry]} {one.how}"


def _typed(path, line, one) -> int:
    """Number of the last entry that a command recorded. A correction is recorded now, and takes effect where it was."""
    when = "" if isinstance(one, Corrected) else f" --when '{one.when}'"
    ran = Desk(path, here)(f"{line}{when} --who '{PEOPLE[one.site]}' --confirm --json").done()
    return ran.json["entries"][-1]


# -- one book for all --------------------------------------------------------------------------


def in_one_book(path, events):
    """One book in which what travels lies in a batch, gauged to what arrived; receipts are right from the start.

    The book of a group says the same, in whatever order it learnt of them.
    """
    here("create", path, "--house", "Quillmere").done()
    events, numbers = _received_right(events), {}
    for one in events:
        if isinstance(one, Done | Corrected):
            number = _typed(path, one.line if isinstance(one, Done) else _correction(one, numbers), one)
            numbers |= {one.called: number} if isinstance(one, Done) else {}
            continue
        with Book.open(path) as book:
            entries = _sent(book, one) if isinstance(one, Sent) else _received(book, one, _receipts(one, events))
            book.record(*(_draft(entry, one) for entry in entries))
    return path


def _received_right(events) -> list[Event]:
    """Events with receipts as they should have been, and without their corrections; others are corrected as they were.

    What left an item was measured at the strength known then, and the masses that followed from it stand.
    """
    receipts = {one.called for one in events if isinstance(one, Came) and one.called}
    right = {one.entry: one.right for one in events if isinstance(one, Corrected) and one.entry in receipts}
    found = []
    for one in events:
        better = right.get(one.called, {}) if isinstance(one, Came) else {}
        if better is not None and not (isinstance(one, Corrected) and one.entry in receipts):
            found.append(one._replace(**better))
    return found


def _sent(book, one: Sent):
    consignment = book.next_id("batch")
    amount = read_amount(one.amount) if one.amount else None
    way = Consignment(one.site, one.to, lookup_form(one.document))
    return Item(consignment, {"ref": _ref(way)}), Pour("despatch", (Move(book.find(one.item), consignment, amount),))


def _received(book, one: Came, receipts):
    """The first gauges what travelled to all that arrived, the last takes what is left of it."""
    consignment = book.find(_ref(_way(one)))
    target = book.next_id(one.opens) if one.opens else book.find(one.item)
    amount = None if one == receipts[-1] else _liquid(one).mass_mg
    if one == receipts[0]:
        whole = sum(map(_liquid, receipts), EMPTY)
        told = {"disposition": "operating"}
        yield Gauge(consignment, whole.mass_mg, None, facts=told, mass_fraction=whole.ethanol_mg / whole.mass_mg)
    if one.opens:
        yield Item(target, {"ref": one.item})
    yield Pour("fill", (Move(consignment, target, amount),))


def _draft(entry, one) -> Draft:
    return Draft(entry, read_time(one.when, _UTC), PEOPLE[one.site], confirmed=True)


def _receipts(one: Came, events) -> list[Came]:
    return [each for each in events if isinstance(each, Came) and _way(each) == _way(one)]


def _way(one: Came) -> Consignment:
    return Consignment(one.source, one.site, lookup_form(one.document))


def _ref(way: Consignment) -> str:
    return f"{way.sender} to {way.receiver}: {way.document}"


def _liquid(one: Came) -> Liquid:
    """What a receipt states."""
    line = frozen_move(Move("origin", "C000001H", read_amount(one.amount), read_strength(one.strength)), NOTHING)
    return Liquid(line["mass"], line["ethanol"], 0)
