"""A dossier that comes back, held against the book: what it says, and what the book says.

The book as it stood when the paper was printed must say the same, figure by figure. What the book says today may
differ by what was recorded since; that is named, too.

>>> list(_differing({"lpa_l": 1.5, "pours": [{"entry": 7}]}, {"lpa_l": 1.5, "pours": []}))
[Difference(place='pours, entry 7', before='on it', after='not there')]
"""

import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.as_it_stood import AsOf
from pourbook.book.core import BookCore
from pourbook.errors import PourbookError
from pourbook.papers.dossier.dossier_json import document
from pourbook.paperwork.dossier_of import dossier_of
from pourbook.paperwork.naming import UNNAMED, PeopleBy, is_unnamed
from pourbook.queries.journal.against import Against
from pourbook.queries.journal.verification import Checked, Evidence, checked
from pourbook.times import moment_of

if TYPE_CHECKING:
    from pourbook.book.backup import Progress
    from pourbook.book.verifying import Verified
    from pourbook.queries.journal.signed_heads import SignatureChecked

__all__ = ["Difference", "PaperChecked", "PaperCompared", "checked_with_paper"]

_NOT_COMPARED = ("imprint", "heads", "known_at", "between_sites")
"""Where and when it was printed; the heads are held against the journal itself. What sites do not agree on is of their
journals of today: one that joins again explains it."""

_INITIALS = re.compile(r"[^\W\d_a-z]+|\?")


class Difference(NamedTuple):
    """A `place` in two dossiers of a lot where they differ: what the one says, `before`, and the other, `after`."""

    place: str
    before: str
    after: str


class PaperCompared(NamedTuple):
    """What a dossier of a lot, printed when the journal ended at an entry, says differently from the book.

    Attributes:
        lot: its identifier.
        entry: the last one then.
        then: between the paper (before) and the book as it stood then (after); None where that cannot be told.
        since: between the book then (before) and today (after); None likewise.
        withdrawn: how the paper says people who have no name in the book any more, or never had: that cannot differ.
    """

    lot: str
    entry: int
    then: tuple[Difference, ...] | None
    since: tuple[Difference, ...] | None
    withdrawn: tuple[str, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether the paper says what the book said when it was printed."""
        return self.then == ()


class PaperChecked(NamedTuple):
    """What verification found, and what a dossier given as evidence says differently; None where none was given."""

    checked: Checked
    paper: PaperCompared | None

    @property
    def verified(self) -> "Verified":
        """What was found of the book."""
        return self.checked.verified

    @property
    def against(self) -> Against | None:
        """What was found of its history."""
        return self.checked.against

    @property
    def signatures(self) -> "tuple[SignatureChecked, ...]":
        """What was found of the signatures on it."""
        return self.checked.signatures

    @property
    def agrees(self) -> bool:
        """Whether everything agrees."""
        return self.checked.agrees and (self.paper is None or self.paper.agrees)


def checked_with_paper(
    opened: Callable[[], BookCore], evidence: Evidence | None = None, progress: "Progress | None" = None
) -> PaperChecked:  # fmt: skip
    """As `checked`; of a dossier as JSON, its figures, too."""
    found = checked(opened, evidence, progress)
    paper = _read(evidence.content) if evidence and found.verified.entries else None
    return PaperChecked(found, None if paper is None else compared(opened(), paper))


def compared(book: BookCore, paper: Mapping[str, Any]) -> PaperCompared:
    """A dossier as JSON held against the book as it stood when it was printed, and that against the book today."""
    lot, entry = str(paper["code"]), int(paper["imprint"]["entries"])
    with book.store.snapshot():
        then, today = _said(book, paper, entry), _said(book, paper)
    if then is None:
        return PaperCompared(lot, entry, None, None)
    people = _Unnamed.of(then)
    found = tuple(_differing(people.without_initials(_comparable(paper)), then))
    named = [one for one in found if is_unnamed(one.after)]
    withdrawn = tuple(dict.fromkeys((*people.said, *(one.before for one in named))))
    since = None if today is None else tuple(_differing(then, today))
    return PaperCompared(lot, entry, tuple(one for one in found if one not in named), since, withdrawn)


class _Unnamed:
    """People by codes who have no name in the book: fields where such a code stands, and the entries in the codes."""

    def __init__(self) -> None:
        self.fields, self.entries, self.said = set[str](), set[str](), list[str]()

    @classmethod
    def of(cls, told: Mapping[str, Any]) -> "_Unnamed":
        """Those that a dossier has."""
        found = cls()
        found._changed(told, "", found._learnt)
        return found

    def without_initials(self, paper: Mapping[str, Any]) -> dict[str, Any]:
        """A dossier that says them as the book does; `said` is how it said them."""
        return dict(self._changed(paper, "", self._put))

    def _learnt(self, field: str, text: str) -> str:
        who, _, entry = text.rpartition("/")
        if who == UNNAMED:
            self.fields.add(field)
            self.entries.add(entry)
        return text

    def _put(self, field: str, text: str) -> str:
        who, _, entry = text.rpartition("/")
        if field not in self.fields or entry not in self.entries or not _INITIALS.fullmatch(who):
            return text
        self.said.append(text)
        return f"{UNNAMED}/{entry}"

    def _changed(self, value: Any, field: str, change: Callable[[str, str], str]) -> Any:  # noqa: ANN401
        if isinstance(value, str):
            return change(field, value)
        if isinstance(value, dict):
            return {name: self._changed(one, name, change) for name, one in value.items()}
        return [self._changed(one, field, change) for one in value] if isinstance(value, list) else value


def _read(content: bytes) -> Mapping[str, Any] | None:
    """A dossier as JSON; None for anything else."""
    with suppress(ValueError, RecursionError):
        told = json.loads(content)
        paper = told.get("dossier", told) if isinstance(told, dict) else {}
        imprint = paper.get("imprint") if isinstance(paper, dict) else {}
        if isinstance(imprint, dict) and isinstance(imprint.get("entries"), int) and "code" in paper:
            return dict(paper)
    return None


def _said(book: BookCore, paper: Mapping[str, Any], known: int | None = None) -> dict[str, Any] | None:
    """What the book says of the lot, or said after an entry, as of the paper's moment; None where it cannot."""
    try:
        at_us = moment_of(str(paper["at_utc"])) if paper.get("at_utc") else None
        people: PeopleBy = "names" if paper.get("people_by") == "names" else "codes"
        values = dossier_of(book, str(paper["code"]), people, AsOf(at_us, known))
    except (PourbookError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        return None
    return _comparable(json.loads(json.dumps(document(values))))


def _comparable(told: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in told.items() if name not in _NOT_COMPARED}


# -- differences -------------------------------------------------------------------------


def _differing(one: Any, other: Any, place: str = "") -> Iterator[Difference]:  # noqa: ANN401 (whatever JSON holds)
    """Every difference of two values, in order; a field that only one of them has is left out: versions differ.

    So is a figure that comes out the same as it is shown: sums of many parts differ in their last digits.
    """
    if one == other:
        return
    if isinstance(one, dict) and isinstance(other, dict) and not _is_name(one):
        for name in one:
            if name in other:
                yield from _differing(one[name], other[name], f"{place}, {_words(name)}" if place else _words(name))
    elif isinstance(one, list) and isinstance(other, list) and all(isinstance(row, dict) for row in (*one, *other)):
        rows, others = _named_rows(one), _named_rows(other)
        for name in dict.fromkeys((*rows, *others)):
            at = f"{place}, {name}"
            if name in rows and name in others:
                yield from _differing(rows[name], others[name], at)
            else:
                yield Difference(at, *(("on it", "not there") if name in rows else ("not on it", "there")))
    elif not (isinstance(one, float) and isinstance(other, float) and _shown(one) == _shown(other)):
        yield Difference(place, _shown(one), _shown(other))


def _named_rows(rows: Iterable[Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    """Rows by what a reader finds them by: their entry, else what stands first in them."""
    named: dict[str, Mapping[str, Any]] = {}
    for row in rows:
        name = f"entry {row['entry']}" if "entry" in row else _shown(next(iter(row.values()), ""))
        again = sum(1 for known in named if known == name or known.startswith(f"{name} ("))
        named[f"{name} ({again + 1})" if again else name] = row
    return named


def _is_name(value: Mapping[str, Any]) -> bool:
    return set(value) in ({"id", "name"}, {"years", "days"})


def _words(field: str) -> str:
    return field.replace("_", " ")


def _shown(value: Any) -> str:  # noqa: ANN401
    if value is None:
        return "unknown"
    if isinstance(value, float):
        return f"{value:.9g}"
    if isinstance(value, dict):
        return " ".join(str(part) for part in value.values() if part not in ("", None))
    return "nothing" if value in ("", []) else "other values" if isinstance(value, list) else str(value)
