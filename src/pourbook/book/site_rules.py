"""The rules of a site: its name, the numbers it gives, what it sends to other sites and receives from them.

What goes to another site leaves the house in this book, and what comes from one is an origin, with what its document
says. A group's book joins the two by the document.
"""

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Any

from pourbook.book.bottles import same_name
from pourbook.book.contents import EVER, LINES
from pourbook.book.line_case import LineCase
from pourbook.book.names import elsewhere, first_free
from pourbook.book.rules import Case, Rule
from pourbook.book.search import ledger_lines, told
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, hyphened, kind_of, named, of_key
from pourbook.codes.number_ranges import has_number, read_ranges, shown_ranges, site_code
from pourbook.errors import Malformed, Question, Refused

__all__ = [
    "OF_SETTINGS", "consigned", "consignment_is_in_order", "consignment_is_new", "numbers_are_of_this_site",
]  # fmt: skip

_TRAVELLING = ("cask", "batch", "vial")
"""Kinds of items whose liquid goes from site to site."""


def consigned(facts: Mapping[str, Any]) -> str:
    """To which site a line went, or from which it came, and under which document; empty for any other line.

    >>> consigned({"site": "QUAY", "document": "D 26-1"}), consigned({"from_site": "A", "document": "D 26-1"})
    ('to site QUAY under D 26-1', 'from site A under D 26-1')
    """
    for name, word in (("site", "to"), ("from_site", "from")):
        if name in facts:
            return f"{word} site {facts[name]} under {facts.get('document', '')}"
    return ""


# -- of settings -------------------------------------------------------------------------


def site_has_its_numbers(case: Case) -> None:
    """A site gives numbers of its own, so that no other gives the same."""
    settings = {**case.known.settings, **case.entry.settings}
    if settings["site"] and not settings["numbers"].strip():
        raise Malformed(
            f"site {settings['site']} has no numbers of its own", "give it a range that no other site has: 1-99999"
        )


def site_keeps_its_name(case: Case) -> None:
    """Papers and other sites' books name a site, so it keeps its name once an item bears a number."""
    before, after = case.known.settings["site"], case.entry.settings.get("site", case.known.settings["site"])
    if before and after != before and _has_given(case.known.store, (range(1, 1 << 62),)):
        raise Refused(f"this is site {before}, and its papers and other sites know it by that", "leave the name")


def numbers_stay_given(case: Case) -> None:
    """New ranges hold every number that was given, and what they add lies above those."""
    if "numbers" not in case.entry.settings:
        return
    store, ranges = case.known.store, read_ranges(case.entry.settings["numbers"])
    if _has_given(store, _beside(ranges)):
        raise Refused(
            f"numbers outside {shown_ranges(ranges)} were given already", "keep the ranges there are, and add to them"
        )
    before = read_ranges(case.known.settings["numbers"])
    highest = max(first_free(store, kind) for kind in KINDS)
    added = [one.start for one in ranges if not has_number(before, one.start)]
    if added and min(added) < highest:
        raise Refused(
            f"numbers from {min(added)} on would never be given: this site has come to {highest - 1}",
            "add a range above that",
        )


def _beside(ranges: Sequence[range]) -> Iterable[range]:
    """The numbers outside ranges that rise."""
    ends = (range(0, 1), *ranges, range(1 << 58, 1 << 58))
    return (range(before.stop, one.start) for before, one in pairwise(ends) if before.stop < one.start)


def _has_given(store: Store, numbers: Iterable[range]) -> bool:
    """Whether an item, or a label printed ahead, has or had one of these numbers."""
    for one in numbers:
        ends = one.start * len(KINDS), min(one.stop * len(KINDS), (1 << 63) - 1)
        for table, key in (("item", "key"), ("reserved", "key"), ("mention", "item")):
            if store.query(f"SELECT 1 FROM {table} WHERE {key} >= ? AND {key} < ? LIMIT 1", ends):
                return True
    return False


OF_SETTINGS: tuple[Rule, ...] = (site_has_its_numbers, site_keeps_its_name, numbers_stay_given)


# -- of new items and reserved numbers -----------------------------------------------------


def numbers_are_of_this_site(case: Case) -> None:
    """An identifier is given by the site whose number it is."""
    for identifier in getattr(case.entry, "ids", None) or (case.entry.id,):
        if not has_number(read_ranges(case.known.settings["numbers"]), int(identifier[1:-1])):
            raise Refused(
                f"{hyphened(identifier)} cannot be given here: {elsewhere(case.known.store, identifier)}",
                "leave it out for a number of this site",
            )


# -- of lines between sites ----------------------------------------------------------------


def consignment_is_in_order(case: LineCase) -> None:
    """Liquid between sites names the other site and its document; bottles are not sent so."""
    move, facts = case.move, case.move.facts
    sent, came = "site" in facts, "from_site" in facts
    if not (sent or came):
        return
    if sent and move.target != "despatch":
        raise Malformed("only what is despatched goes to another site", "leave the site out, or despatch it")
    if came and move.source != "origin":
        raise Malformed("only what comes from outside comes from another site", "leave the site out, or fill it")
    other, item = str(facts["site" if sent else "from_site"]), move.source if sent else move.target
    if site_code(other) != other:
        raise Malformed(f"'{other}' is not how a site is written", f"write it in capitals: {site_code(other)}")
    own = case.known.settings["site"]
    if not own:
        raise Refused(
            f"this book is no site's, so nothing goes to site {other} or comes from it",
            "name this site: pourbook settings --set site=… --set numbers=1-99999",
        )
    if other == own:
        raise Malformed(f"site {own} is this one", "name the other site")
    if not str(facts.get("document", "")).strip():
        raise Malformed(
            f"it is not said which document goes with it {'to' if sent else 'from'} site {other}",
            "give --document, as the paper has it: both sites are joined by it",
        )
    if "bottles" in facts or kind_of(item) not in _TRAVELLING:
        raise Refused(
            f"{named(item)} is a {kind_of(item)}: between sites go spirit in bulk and samples, no bottles",
            "send it out of a cask, a batch or a vial; bottles go to a customer",
        )


def consignment_is_new(case: LineCase) -> Question | None:
    """The same document, of the same item, is rarely meant twice."""
    consignment = _identified(case.move.facts)
    if consignment is None:
        return None
    key = next(key for key in case.ends if key is not None)
    for line in ledger_lines(case.known.store, [key], EVER):
        facts, number = told(line).get("facts", {}), line.line // LINES
        if number != case.draft.replaces and _identified(facts) == consignment:
            return Question(
                "consigned-before",
                f"entry {number} of {hyphened(of_key(key))} has it already: {consigned(facts)}",
                "was it typed twice? Confirm only if it is another part of the same consignment.",
                {"entry": number},
            )
    return None


def _identified(facts: Mapping[str, Any]) -> tuple[str, str, str] | None:
    """Way, other site and document of a line; None where it goes to no site and comes from none."""
    for name in ("site", "from_site"):
        if name in facts:
            return name, str(facts[name]), same_name(str(facts.get("document", "")))
    return None
