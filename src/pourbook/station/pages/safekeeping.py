"""The book's own safety: verification, heads to write down, what a paper vouches for, and checked back-ups."""

import os
import re
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from starlette.responses import FileResponse, Response

from pourbook.actions.roles import ALL_ROLES
from pourbook.errors import PourbookError, StoreError
from pourbook.station.jobs import Job, JobPage, start
from pourbook.station.routing import Routes
from pourbook.station.visit import NotFound, Visit

if TYPE_CHECKING:
    from pourbook.actions.safekeeping import BackedUp
    from pourbook.paperwork.paper_compared import PaperChecked
    from pourbook.queries.journal.verification import Evidence
    from pourbook.whole_book import Book

__all__ = ["Kept", "routes"]

routes = Routes()

_MOST_LISTED = 100
_shown = partial(JobPage, state="safekeeping/state.html")


# -- verification ---------------------------------------------------------------------------


@routes.page("/verify")
def asked(visit: Visit) -> Response:
    """The head of the journal, to be written down; and what is to be verified."""
    number, head = visit.book.head()
    return visit.page("safekeeping/verify.html", number=number, head=head, against="", outcome="", said="")


@routes.deed("/verify/scan", roles=ALL_ROLES, changes=False)
def scanned(visit: Visit) -> Response:
    """A hash from a paper's symbol goes into the form."""
    from pourbook.queries.journal.against import read_heads

    code = visit.typed("scan")
    try:
        heads = read_heads(code)
    except PourbookError as refusal:
        return visit.fragment("safekeeping/against.html", against="", outcome="bad", said=refusal.message)
    said = visit.gettext("Read: the hash of entry {entry}.").format(entry=heads[-1].number)
    return visit.fragment("safekeeping/against.html", against=code, outcome="good", said=said)


@routes.deed("/verify", roles=ALL_ROLES, changes=False, file="paper")
def verify(visit: Visit) -> Response:
    """Check every hash and every table, and hold the history against what was typed, scanned or sent."""
    evidence = _evidence(visit)
    if evidence is not None:
        _check(evidence)

    def work(book: "Book", job: Job) -> "PaperChecked":
        from pourbook.paperwork.paper_compared import checked_with_paper

        return checked_with_paper(lambda: book, evidence, job.hear)

    job = start(visit, visit.gettext("Verification"), _shown("safekeeping/verified.html", "/verify", _told), work)
    return visit.to(f"/job/{job.key}")


def _evidence(visit: Visit) -> "Evidence | None":
    from pourbook.queries.journal.verification import Evidence

    if visit.upload and visit.upload.content:
        return Evidence(visit.upload.content)
    typed = visit.typed("against")
    return Evidence(typed.encode("utf-8", "replace")) if typed else None


def _check(evidence: "Evidence") -> None:
    """Refuse at once what vouches for nothing."""
    from pourbook.queries.journal.verification import heads_in

    heads_in(evidence.content.decode("utf-8", "replace"))


def _told(visit: Visit, found: "PaperChecked") -> dict[str, str]:
    """What came of the comparison, in the words of the command."""
    from pourbook.documents.journal import against_words
    from pourbook.documents.keys import signature_words

    told = (against_words(found.against),) if found.against else ()
    signed = (signature_words(one, found.against) for one in found.signatures)
    return {"against": "; ".join((*told, *signed)), "language": visit.language}


# -- back-ups -------------------------------------------------------------------------------


class Kept(NamedTuple):
    """A back-up beside the book: the `moment` in its name, its name, its `size` in bytes."""

    moment: str
    name: str
    size: int


def _folder_and_stem(visit: Visit) -> tuple[Path, str]:
    if not visit.book.files:
        raise StoreError(
            visit.gettext("a book on a server has no folder for back-ups: whoever looks after it copies it to a file"),
            "pourbook backup FILE",
        )
    path = Path(visit.book.files[0])
    return path.parent, path.stem


def _backups(visit: Visit) -> list[Kept]:
    """Those that the station made of this book, the latest first: found by their names, in the book's own folder."""
    folder, stem = _folder_and_stem(visit)
    name = re.compile(rf"{re.escape(stem)}-(\d{{8}}-\d{{6}})\.pourbook")
    with os.scandir(folder) as files:
        found = [
            Kept(match[1], file.name, file.stat().st_size)
            for file in files
            if (match := name.fullmatch(file.name)) and file.is_file(follow_symlinks=False)
        ]
    return sorted(found, reverse=True)


@routes.page("/backup")
def backups(visit: Visit) -> Response:
    """Checked copies of the book that are kept beside it."""
    return visit.page("safekeeping/backups.html", backups=_backups(visit)[:_MOST_LISTED])


@routes.deed("/backup", "backup")
def back_up(visit: Visit) -> Response:
    """Write a checked copy beside the book; its name says when."""
    folder, stem = _folder_and_stem(visit)
    moment = datetime.fromtimestamp(visit.book.clock() / 1e6, UTC).strftime("%Y%m%d-%H%M%S")
    path = str(folder / f"{stem}-{moment}.pourbook")

    def work(book: "Book", job: Job) -> "BackedUp":
        return book.backup(path, job.hear)

    job = start(visit, visit.gettext("Back-up"), _shown("safekeeping/backed_up.html", "/backup"), work)
    return visit.to(f"/job/{job.key}")


@routes.page("/backup/{moment}", roles=("auditor", "manager"))
def download(visit: Visit) -> Response:
    """A back-up to be kept elsewhere, sent piece by piece; only one that is listed can be asked for."""
    wanted = next((one for one in _backups(visit) if one.moment == visit.path["moment"]), None)
    if wanted is None:
        raise NotFound(visit.gettext("no such back-up is beside the book"), "")
    return FileResponse(
        _folder_and_stem(visit)[0] / wanted.name, filename=wanted.name, media_type="application/vnd.sqlite3"
    )
