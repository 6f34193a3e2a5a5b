"""Sites join into a group's book, or join again with what they recorded since: all sites of one call, or none."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.coded_names import names_of_people
from pourbook.book.core import BookCore
from pourbook.book.deriving import derive
from pourbook.book.groups import JoinedSite, of_a_group, sites
from pourbook.book.site_journals import take_in
from pourbook.errors import Question, answered
from pourbook.exchange.intake.entries_import import site_journal
from pourbook.queries.groups.differences import differences
from pourbook.texts import lookup_form

if TYPE_CHECKING:
    from pourbook.book.site_differences import Difference

__all__ = ["Joined", "join"]


class Joined(NamedTuple):
    """What a join came to.

    Attributes:
        sites: every site that was named, with how many of its entries were new.
        head: of the group.
        differences: all that the sites do not agree on, whether or not it is new.
        settings: those of the first site.
    """

    sites: tuple[tuple[JoinedSite, int], ...]
    head: str
    differences: "tuple[Difference, ...]"
    settings: Mapping[str, str]


def join(group: str, sources: Sequence[str], publics: Sequence[Path] = (), *, confirm: bool = False) -> Joined:
    """Make or continue the book of a group at a path or address, from sites' books or what they exported.

    `publics` are files of public keys that may have signed it, besides those that signed before. With `confirm`, sites
    of other houses join, too.

    Raises:
        Refused: `group` is another book; a journal has a gap, is older or another than before, or of another key.
        ToConfirm: a site that is new belongs to another house than those of the group.
        StoreError: something cannot be read or written.
    """
    trusted = _fingerprints(publics)
    with of_a_group(group) as store, ExitStack() as stack:
        joined, named, before = [], set(names_of_people(store)), sites(store)
        for source in sources:
            known = {one.name: one for one in sites(store)}
            joined.append(take_in(store, stack.enter_context(site_journal(source, known)), trusted))
        answered(list(_of_other_houses(before, sites(store))), by_person=confirm)
        if any(new for _, new in joined) or named != set(names_of_people(store)):
            derive(store)
        book = BookCore(store)
        return Joined(tuple(joined), book.head()[1], differences(book), book.settings)


def _of_other_houses(before: Sequence[JoinedSite], after: Sequence[JoinedSite]) -> Iterator[Question]:
    """Whether each new site of another house belongs here: nobody can take a site out of a group again."""
    known = [one.name for one in before]
    own = before or after[:1]
    houses = _different(one.house for one in own)
    for one in after:
        if one.name not in known and lookup_form(one.house) not in map(lookup_form, houses):
            yield Question(
                "another-house",
                f"site {one.name} belongs to the house {one.house}, and the sites of this group to"
                f" {' and '.join(houses)}",
                f"was another book meant? What joined stays in the group for good: look at {one.name}'s settings.",
            )


def _different(houses: Iterable[str]) -> tuple[str, ...]:
    """Names of houses, each once, as it was written first."""
    found: dict[str, str] = {}
    for house in houses:
        found.setdefault(lookup_form(house), house)
    return tuple(found.values())


def _fingerprints(publics: Sequence[Path]) -> tuple[str, ...]:
    if not publics:
        return ()
    from pourbook.signing.fingerprints import fingerprint  # only where somebody signs
    from pourbook.signing.key_files import read_public  # heavy

    return tuple(fingerprint(read_public(path)) for path in publics)
