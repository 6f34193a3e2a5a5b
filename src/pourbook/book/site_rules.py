"""The rules of a site of a house: its name, and the numbers that it gives (`consignment_rules.py`: what it sends)."""

from collections.abc import Iterable, Sequence
from itertools import pairwise

from pourbook.book.numbering import first_free
from pourbook.book.rules import Case, Rule
from pourbook.book.store import Store
from pourbook.codes.identifiers import KINDS, hyphened
from pourbook.codes.number_ranges import has_number, read_ranges, shown_ranges
from pourbook.errors import Malformed, Refused

__all__ = ["OF_SETTINGS", "numbers_are_of_this_site"]


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
    ends = (range(1), *ranges, range(1 << 58, 1 << 58))
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
    ranges = read_ranges(case.known.settings["numbers"])
    for identifier in getattr(case.entry, "ids", None) or (case.entry.id,):
        if not has_number(ranges, int(identifier[1:-1])):
            raise Refused(
                f"{hyphened(identifier)} cannot be given here: its number lies outside this site's ranges, "
                f"{shown_ranges(ranges)}",
                "leave it out for a number of this site",
            )
