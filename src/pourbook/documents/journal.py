"""The journal and its care, shown: entries, checks, repairs and copies.

>>> from pourbook.queries.journal.against import Against
>>> against_words(Against(entries=200, heads=3, agreed=64, differs=128, remark=""))
'the histories differ: entry 64 still agrees, entry 128 does not; the first that differs is one of 65 to 128'
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, Any

from pourbook.book.site_numbers import of_site
from pourbook.codes.identifiers import hyphened
from pourbook.documents.keys import signature_document, signature_words
from pourbook.documents.shown import Listing, Shown
from pourbook.house_style import HouseStyle
from pourbook.numerals import counted
from pourbook.words.entry_words import in_words, who_in_words

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from pourbook.actions.safekeeping import BackedUp
    from pourbook.book.journal import Logged
    from pourbook.book.moving import Moved
    from pourbook.house_style import HouseStyle
    from pourbook.paperwork.journal_paper_of import PrintedJournal
    from pourbook.paperwork.paper_compared import PaperChecked, PaperCompared
    from pourbook.queries.journal.against import Against

__all__ = [
    "against_words", "book_moved_shown", "checked_shown", "copied_shown", "journal_hash_shown",
    "journal_printed_shown", "journal_shown", "repaired_shown",
]  # fmt: skip


def journal_shown(
    entries: "Iterable[Logged]", style: "HouseStyle", chained_there: "Callable[[Logged], dict[str, Any]] | None" = None
) -> Listing:
    """Entries, one a line; whole in the document. Those of a group's book with their site and their number there.

    `chained_there` gives such an entry as its site wrote it.
    """

    def document(entry: "Logged") -> dict[str, Any]:
        there = {"there": chained_there(entry)} if chained_there else {}
        return {**entry.entry, "gone": entry.gone, "hash": entry.hash, **there}

    there = ("site", lambda entry: entry.entry["site"]), (" there", lambda entry: entry.entry["site_number"])
    columns = (
        (" entry", lambda entry: entry.number),
        *(there if chained_there else ()),
        ("happened", lambda entry: style.time_shown(entry.happened_us)),
        ("who", lambda entry: who_in_words(entry.entry)),
        ("counts", lambda entry: f"no: see {entry.gone}" if entry.gone else "yes"),
        ("what", lambda entry: in_words(entry, style.mark)),
    )
    return Listing("entries", entries, document, columns)


def journal_printed_shown(printed: "PrintedJournal", path: "Path") -> Shown:
    """Entries of the journal that were printed: which, and where."""
    entries = printed.values.entries
    both = (("first", entries[0]), ("last", entries[-1]))
    ends = {name: {"entry": one.number, "hash": one.hash} for name, one in both}
    document = {"file": str(path), "entries": len(entries), **ends, "warnings": list(printed.remarks)}
    said = f"{counted(len(entries), 'entry', 'entries')}, {entries[0].number} to {entries[-1].number}, in {path}"
    return Shown(document, (said,), warnings=tuple(f"warning: {one}" for one in printed.remarks))


def journal_hash_shown(entries: int, journal_hash: str) -> Shown:
    """The number and hash of the last entry."""
    return Shown({"entries": entries, "journal_hash": journal_hash}, (f"{entries} {journal_hash}",))


def checked_shown(found: "PaperChecked") -> Shown:
    """Every fault, or that there is none; and what came of the evidence."""
    verified, against, paper = found.verified, found.against, found.paper
    document: dict[str, Any] = {
        "entries": verified.entries,
        "journal_hash": verified.head,
        "faults": [{**fault._asdict(), "text": str(fault)} for fault in verified.faults],
    }
    said = [str(fault) for fault in verified.faults] or [
        f"{counted(verified.entries, 'entry', 'entries')}, every hash and every table agrees",
        f"journal hash {verified.head}",
    ]
    if against:
        text = against_words(against)
        told = {"sites": [one._asdict() for one in against.sites], "silent": list(against.silent)}
        document["against"] = against._asdict() | told | {
            "agrees": against.agrees, "exact": against.is_exact, "text": text,
        }  # fmt: skip
        said.append(text)
    if found.signatures:
        document["signatures"] = [signature_document(one, against) for one in found.signatures]
        said += (signature_words(one, against) for one in found.signatures)
    if paper:
        lines = list(_paper_words(paper))
        document["paper"] = {
            "lot": paper.lot,
            "entry": paper.entry,
            "agrees": paper.agrees,
            "then": None if paper.then is None else [one._asdict() for one in paper.then],
            "since": None if paper.since is None else [one._asdict() for one in paper.since],
            "withdrawn": list(paper.withdrawn),
            "text": lines[0],
        }
        said += lines
    return Shown(document, tuple(said))


def _paper_words(paper: "PaperCompared") -> Iterator[str]:
    """What a dossier says differently from the book, one difference a line."""
    what = f"the dossier of {hyphened(paper.lot)}, printed at entry {paper.entry},"
    if paper.then is None:
        yield f"{what} cannot be compared: the book cannot say what it said then"
    elif not paper.then:
        yield f"{what} says what the book said then"
    else:
        yield f"{what} does not say what the book said then"
        yield from (f"  {one.place}: {one.before} on the paper, {one.after} in the book" for one in paper.then)
    if paper.withdrawn:
        yield f"no name in the book any more, so that they cannot be compared: {', '.join(paper.withdrawn)}"
    if paper.since:
        yield "changed in the book since then:"
        yield from (f"  {one.place}: {one.before} then, {one.after} today" for one in paper.since)


def against_words(against: "Against") -> str:
    """What came of holding the book against another history, in one sentence."""
    remark = f" ({against.remark})" if against.remark else ""
    if against.source == "another site" and not against.heads:
        return (
            f"this is evidence of site {_enumerated(against.silent)}, and the book is of another site: hold it"
            " against the book of that site, or of the group"
        )
    if against.lost:
        return _lost_words(against)
    if against.beyond:
        return _beyond_words(against)
    if against.differs is None:
        return _unchanged_words(against) + remark
    if against.is_exact and not against.site:
        return f"entry {against.differs} is the first that differs{remark}"
    agreed, differs, of = against.agreed, against.differs, ""
    if against.site:
        agreed, differs, of = of_site(agreed)[1], of_site(differs)[1], f" of site {against.site}"
    if against.is_exact:
        return f"entry {differs}{of} is the first that differs{remark}"
    known = f"entry {agreed}{of} still agrees" if agreed else f"no earlier entry{of} is vouched for"
    return (
        f"the histories differ: {known}, entry {differs} does not{remark};"
        f" the first that differs is one of {agreed + 1} to {differs}"
    )


def _enumerated(names: Sequence[str]) -> str:
    """Names in a sentence.

    >>> _enumerated(["A"]), _enumerated(["A", "B", "C"])
    ('A', 'A, B and C')
    """
    return " and ".join(filter(None, (", ".join(names[:-1]), names[-1])))


def _unchanged_words(against: "Against") -> str:
    if against.source == "group":
        (one,) = against.sites
        since = f"; recorded since: {one.later}" if one.later else ""
        own = f"site {one.site}" if one.site else "this book"
        return f"this is evidence of a group: the history of {own} up to entry {one.entry} is unchanged{since}"
    since = f"; recorded since: {against.later}" if against.later else ""
    if not against.silent:
        return f"the history up to entry {against.agreed} is unchanged{since}"
    known = _enumerated([f"of {one.site} up to its entry {one.entry}" for one in against.sites])
    since = f"; recorded there since: {against.later}" if against.later else ""
    of_sites = f"this is evidence of {'site' if len(against.sites) == 1 else 'sites'}"
    names = _enumerated([one.site for one in against.sites])
    return (
        f"{of_sites} {names}: the history {known} is unchanged{since}; it says nothing of {_enumerated(against.silent)}"
    )


def _lost_words(against: "Against") -> str:
    known = f"up to entry {against.agreed} the histories agree; " if against.agreed else ""
    if against.source == "group":
        return (
            f"{known}this is evidence of a group, and no site's head in it is of this book: it had not joined, or its"
            " journal was changed"
        )
    return (
        f"{known}{counted(against.lost, 'head of a site', 'heads of sites')} in the evidence"
        f" {'is' if against.lost == 1 else 'are'} in no journal of this group: a site is missing, or its journal"
        " was changed"
    )


def _beyond_words(against: "Against") -> str:
    if against.site:
        of, agreed = of_site(against.beyond)[1], of_site(against.agreed)[1]
        known = f"; the group's entries of {against.site} agree up to {agreed}" if agreed else ""
        return (
            f"the group has no entry {of} of site {against.site}, which the evidence vouches for: it has not joined"
            f" yet, or was lost{known}"
        )
    if against.beyond <= against.entries:
        return (
            f"entry {against.beyond}, which the evidence vouches for, is none of the group's: its own head can be"
            " checked until a site joins again, those of its sites always"
        )
    agreed_words = f"; up to entry {against.agreed} the histories agree" if against.agreed else ""
    return (
        f"the book ends at entry {against.entries}, before entry {against.beyond}, which the evidence vouches for:"
        f" its last entries are lost, or this is an earlier copy or another book{agreed_words}"
    )


def repaired_shown(entries: int) -> Shown:
    """That every table was rebuilt."""
    return Shown({"entries": entries}, (f"every table rebuilt from {counted(entries, 'entry', 'entries')}",))


def copied_shown(copy: "BackedUp", what: str) -> Shown:
    """A checked copy: `what` was done, and where it is."""
    return Shown(copy._asdict(), (f"{what}: {counted(copy.entries, 'entry', 'entries')} in {copy.path}",))


def book_moved_shown(moved: "Moved") -> Shown:
    """A whole book that is at another place, too, where it was verified."""
    source, target, entries, head, is_group = moved
    then = f"join sites to {target}" if is_group else f"record in {target}"
    document = {"from": source, "to": target, "entries": entries, "head": head, "same": True}
    said = f"moved and verified: {counted(entries, 'entry', 'entries')} in {target}", f"journal hash {head}"
    return Shown(document, said, (f"note: {source} stays as it is; {then} from now on",))
