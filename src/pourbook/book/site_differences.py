"""What sites of a group do not agree on, as values: for people to explain, never mended silently.

What was sent is what the sender's entries took out of its items; what was received is what the receiver's say came.

>>> sent, received = Liquid(1_000_000, 400_000), Liquid(994_000, 397_600)
>>> differs_in_amount(sent, received), differs_in_strength(sent, received)
(True, False)
"""

from collections.abc import Iterator
from typing import Literal, NamedTuple

from pourbook.alcoholometry.volumes import strength_20c
from pourbook.book.consignments import Consignment, Leg
from pourbook.book.contents import LINES
from pourbook.book.groups import JoinedSite, sites, survey_of
from pourbook.book.items import ledger
from pourbook.book.journal import parsed
from pourbook.book.site_numbers import of_site, own_id
from pourbook.book.site_survey import Shared
from pourbook.book.store import Store
from pourbook.codes.identifiers import is_identifier, key_of
from pourbook.codes.number_ranges import read_ranges, shared, shown_ranges
from pourbook.liquid import EMPTY, Liquid

__all__ = ["Difference", "What", "differences", "differs_in_amount", "differs_in_strength"]

_LEAST_MG = 1_000
_PART = 1_000
"""Amounts may differ by 1 g, or by one part in this many."""
_LEAST_VOL = 0.1
"""Strengths may differ by so many % vol: readings of two hydrometers do."""

What = Literal[
    "amount", "strength", "wood age", "not received", "no despatch", "received early", "received twice", "overdraw",
    "shared", "ranges",
]  # fmt: skip


class Difference(NamedTuple):
    """Something that sites do not agree on.

    Attributes:
        what: a word of `What`.
        item: it is about, in the group; empty for none.
        site: where it shows: the receiving site, the one that joined later, the one that took too much.
        other: the other site; empty for none.
        entries: what it rests on, by number in the group.
        document: that the consignment travelled under; empty for none.
        sent: what left, where both are known, or nothing was received.
        received: what arrived; None where nothing did.
        name: what several sites have: what it is and how it is written; or the numbers that both may issue.
        days: time in wood in days, as stated by the receipt and by the group's book.
        renumbered: identifiers in the group of what later sites gave the same number to; empty for other names.
    """

    what: What
    item: str
    site: str
    other: str
    entries: tuple[int, ...]
    document: str = ""
    sent: Liquid | None = None
    received: Liquid | None = None
    name: tuple[str, str] = ("", "")
    days: tuple[int, int] | None = None
    renumbered: tuple[str, ...] = ()


def differences(store: Store) -> tuple[tuple[Difference, ...], tuple[Consignment, ...]]:
    """All that the sites of a group do not agree on, but for ages: what travelled first, in the order sent.

    The consignments are given, too, for whoever traces their ages.
    """
    joined = sites(store)
    names = {one.code: one.name for one in joined} | {0: ""}
    survey, met = survey_of(store)
    early = {leg.entry for one in met.consignments for leg in one.receipts if _is_early(one, leg)}
    found = [each for one in met.consignments for each in _of_consignment(store, one, names, early)]
    found += [
        Difference(
            "no despatch", leg.item, names[leg.site], names[leg.other], (leg.entry,), leg.document, received=leg.liquid
        )
        for leg in met.lonely
    ]
    found += _overdrawn(store, names)
    found += [_of_shared(one, names) for one in survey.shared_names()]
    return (*found, *_of_ranges(joined)), met.consignments


def differs_in_amount(sent: Liquid, received: Liquid) -> bool:
    """Whether more or less was received than was sent, by more than weighing twice may show."""
    return abs(sent.mass_mg - received.mass_mg) > max(_LEAST_MG, sent.mass_mg // _PART)


def differs_in_strength(sent: Liquid, received: Liquid) -> bool:
    """Whether it was received at another strength."""
    one, other = strength_20c(sent), strength_20c(received)
    return one is not None and other is not None and abs(one - other) > _LEAST_VOL


# -- what travelled ------------------------------------------------------------------------


def _is_early(one: Consignment, leg: Leg) -> bool:
    return leg.happened_us < min(before.happened_us for before in one.despatches)


def _of_consignment(
    store: Store, one: Consignment, names: dict[int, str], early: set[int]
) -> Iterator[Difference]:  # fmt: skip
    first, receipts = one.despatches[0], one.receipts
    sent, received = _sent(store, one), one.received
    entries = tuple(leg.entry for leg in (*one.despatches, *receipts))
    told = Difference("amount", one.id, names[first.other], names[first.site], entries, first.document, sent, received)
    if not receipts:
        yield told._replace(what="not received", received=None)
        return
    if is_twice := len(receipts) > 1 and _is_twice(sent, receipts):
        yield told._replace(what="received twice")
    elif differs_in_amount(sent, received):
        yield told
    if not is_twice and differs_in_strength(sent, received):
        yield told._replace(what="strength")
    for leg in receipts:
        if leg.entry in early:
            yield told._replace(what="received early", entries=(first.entry, leg.entry))


def _is_twice(sent: Liquid, receipts: tuple[Leg, ...]) -> bool:
    """Whether one receipt alone accounts for what was received beyond what was sent."""
    masses = [leg.liquid.mass_mg for leg in receipts if leg.liquid]
    return sum(masses) - sent.mass_mg > 0.9 * min(masses)


def _sent(store: Store, one: Consignment) -> Liquid:
    """What its despatches brought into it."""
    lines = {(leg.entry, leg.line) for leg in one.despatches}
    before, whole = EMPTY, EMPTY
    for row in ledger(store, key_of(one.id)):
        if divmod(row.line, LINES) in lines:
            whole += row.holding.liquid - before
        before = row.holding.liquid
    return whole


def _overdrawn(store: Store, names: dict[int, str]) -> Iterator[Difference]:
    for number, text in store.query(
        "SELECT number, bytes FROM entry WHERE bytes LIKE '%\"overdrawn\":1%' ORDER BY number"
    ):
        body = parsed(text)["body"]
        for line in body.get("lines", ()):
            if "overdrawn" in line:
                yield Difference("overdraw", line["from"], names[of_site(number)[0]], "", (number,))


# -- what several sites have ---------------------------------------------------------------


def _of_shared(one: Shared, names: dict[int, str]) -> Difference:
    first, *later = (names[of_site(number)[0]] for number in one.entries)
    item = one.name if one.what == "identifier" and is_identifier(one.name) else ""
    renumbered = tuple(own_id(one.name, number) for number in one.entries[1:]) if item else ()
    name = (one.what, one.name)
    return Difference("shared", item, ", ".join(later), first, one.entries, name=name, renumbered=renumbered)


def _of_ranges(joined: tuple[JoinedSite, ...]) -> Iterator[Difference]:
    for place, one in enumerate(joined):
        for other in joined[:place]:
            if both := shared(read_ranges(other.numbers), read_ranges(one.numbers)):
                yield Difference("ranges", "", one.name, other.name, (), name=("numbers", shown_ranges(both)))
