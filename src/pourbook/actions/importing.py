"""Import files: a history, casks, gauges, another house's spirit. All of a file, or nothing.

>>> from pathlib import Path
>>> from tempfile import TemporaryDirectory
>>> from pourbook import Book
>>> with TemporaryDirectory() as folder, Book.create(":memory:", house="Quillmere") as book:
...     _ = Path(folder, "casks.csv").write_text(
...         "ref,wood,filled,quantity,unit,strength\\n"
...         "Row 1/1,virgin chestnut,2015-03-01,200,l,63.5\\nRow 1/2,old oak,,,,\\n"
...     )
...     import_casks(book, Happening("M. Aldane"), Path(folder, "casks.csv"))[:3]
(2, 1, 4)
"""

from collections.abc import Iterator, Mapping
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from pourbook.actions.happening import Happening
from pourbook.book.entries import Draft, House, Imported
from pourbook.book.landing import landed
from pourbook.book.numbering import number_from, site_numbers
from pourbook.book.recording import record_in_order
from pourbook.book.search import in_force
from pourbook.codes.identifiers import write
from pourbook.errors import InTheWay, Malformed, Refused
from pourbook.exchange.tables.table_files import digests, one_table, tables_in
from pourbook.exchange.tables.table_map import Answers, heard, to_keep, unheard
from pourbook.exchange.tables.table_sources import Columns, Source

if TYPE_CHECKING:
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.exchange.epcis.epcis_import import Asked
    from pourbook.exchange.intake.comparing import InAll
    from pourbook.exchange.intake.intake import Intake, Progress
    from pourbook.exchange.tables.taken import Heard, Surveyed

__all__ = [
    "NOTHING_SAID", "Answers", "TakenIn", "import_casks", "import_epcis", "import_gauges", "import_history",
    "import_words",
]  # fmt: skip


class TakenIn(NamedTuple):
    """What an import did (or, as a dry run, would do).

    Attributes:
        items: how many it opened.
        pours: how many rows of pours it recorded.
        entries: how many the journal gained.
        gains: items gauged up because more was taken than the book held, within tolerance, with the mg.
        files: file name to SHA-256.
        notes: what the person who imports should know.
        tables: how each table was taken, by its kind.
        kept: what the book keeps of headings from now on, as settings.
        in_all: tables in all, held against what the book holds of them.
    """

    items: int
    pours: int
    entries: int
    gains: tuple[tuple[str, int], ...]
    files: Mapping[str, str]
    notes: tuple[str, ...]
    tables: Mapping[str, "Surveyed"]
    kept: Mapping[str, str]
    in_all: "tuple[InAll, ...]"


NOTHING_SAID = Answers()
_LEFT_TO_OTHERS = 1000


def import_history(
    book: "BookCore", how: Happening, path: Path | str, *, again: bool = False, encoding: str | None = None,
    answers: Answers = NOTHING_SAID, progress: "Progress | None" = None,
) -> TakenIn:  # fmt: skip
    """Take in a folder with items.csv, pours.csv and perhaps notes.csv, tastings.csv, words.csv; or such a workbook.

    `again` takes in files that were imported before, and items whose refs are in the book; CSV files are UTF-8 unless
    `encoding` says otherwise. `answers` say what the house's own headings mean and how its dates are read; what was
    used of them is kept in the book.

    Raises:
        FaultsFound: every fault found, and every question that is open; nothing was recorded.
        Malformed: the files cannot be read at all.
        Refused: one of the files was imported before.
    """
    from pourbook.book.import_staging import Staging
    from pourbook.exchange.intake.history import HISTORY_COLUMNS, read_history

    sources = tables_in(path, ("items", "pours"), optional=("notes", "tastings", "words"))
    files = _new_files(book, *sources.values(), again=again)
    if progress:
        progress(0, 0)
    said = _heard(book, how, {table: HISTORY_COLUMNS[table] for table in sources}, answers)
    with closing(Staging()) as staged:
        history = read_history(
            book, staged, sources, encoding=encoding, refs_may_repeat=again, heard=said, progress=progress
        )
        _check_heard(history, answers)
        # an empty file may come again
        kept = {source.file for table, source in sources.items() if history.counts[table]}
        files = {name: digest for name, digest in files.items() if name in kept}
        return _record(book, history, files, how, again=again, said=said)


def import_casks(
    book: "BookCore", how: Happening, path: Path | str, *, again: bool = False, encoding: str | None = None,
    answers: Answers = NOTHING_SAID,
) -> TakenIn:  # fmt: skip
    """Take in casks, full or empty, from a CSV file or a workbook's sheet; `-` is standard input.

    Arguments and refusals are those of `import_history`.
    """
    from pourbook.exchange.intake.cask_table import CASK_COLUMNS, read_casks

    source = one_table(path, "casks")
    files = _new_files(book, source, again=again)
    said = _heard(book, how, {"casks": CASK_COLUMNS}, answers)
    casks = read_casks(book, source, encoding, refs_may_repeat=again, heard=said["casks"])
    _check_heard(casks, answers)
    return _record(book, casks, files, how, again=again, said=said)


def import_gauges(
    book: "BookCore", how: Happening, path: Path | str, *, again: bool = False, encoding: str | None = None,
    answers: Answers = NOTHING_SAID,
) -> TakenIn:  # fmt: skip
    """Take in a round of gauges from a CSV file or a workbook's sheet; `-` is standard input.

    Arguments and refusals are those of `import_history`.
    """
    from pourbook.exchange.intake.gauge_table import GAUGE_COLUMNS, read_gauges

    source = one_table(path, "gauges")
    files = _new_files(book, source, again=again)
    said = _heard(book, how, {"gauges": GAUGE_COLUMNS}, answers)
    gauges = read_gauges(book, source, encoding, confirmed=how.confirm, heard=said["gauges"])
    _check_heard(gauges, answers)
    return _record(book, gauges, files, how, again=again, said=said)


def import_words(
    book: "BookCore", how: Happening, path: Path | str, *, again: bool = False, encoding: str | None = None,
    answers: Answers = NOTHING_SAID,
) -> TakenIn:  # fmt: skip
    """Take in words for the house's list from a CSV file or a workbook's sheet; what the list says already stays.

    Arguments and refusals are those of `import_history`.
    """
    from pourbook.exchange.intake.tasting_tables import WORD_COLUMNS, read_words

    source = one_table(path, "words")
    files = _new_files(book, source, again=again)
    said = _heard(book, how, {"words": WORD_COLUMNS}, answers)
    words = read_words(book, source, encoding, heard=said["words"])
    _check_heard(words, answers)
    return _record(book, words, files, how, again=again, said=said)


def import_epcis(book: "BookCore", how: Happening, path: Path | str, asked: "Asked | None" = None) -> TakenIn:
    """Take in what an EPCIS document ships in bulk, all of it unless less is asked for; it arrived at `how.when_us`.

    Raises:
        FaultsFound: every fault found; nothing was recorded.
        Malformed: it is not JSON, or cannot be read at all.
        OutOfRange: it arrived before it was sent.
        Refused: it ships nothing, was imported before, taken back by its sender, is the house's own, or it
            is unclear which shipment is meant.
    """
    from pourbook.exchange.epcis.epcis_import import Asked, read_arrivals

    asked = asked or Asked()
    source = Source(Path(path).name, Path(path))
    files = _new_files(book, source, again=asked.again)
    return _record(book, read_arrivals(book, source, files[source.name], asked), files, how, again=asked.again)


def _heard(book: "BookCore", how: Happening, columns: Mapping[str, Columns], answers: Answers) -> "dict[str, Heard]":
    return heard(columns, book.settings, answers, book.clock(), confirmed=how.confirm)


def _check_heard(intake: "Intake", answers: Answers) -> None:
    """What was said of a heading that is in no table would be lost without a word."""
    if heading := unheard(intake.tables.values(), answers):
        found = ", ".join(one.heading for table in intake.tables.values() for one in table.headings)
        raise Malformed(f"no table has the heading '{heading}'", f"the headings are: {found}")


def _new_files(book: "BookCore", *sources: Source, again: bool) -> dict[str, str]:
    """File name to SHA-256; a file whose bytes were imported before, under whatever name, is refused."""
    files = digests(sources)
    if not again:
        _refuse_imported(book, files)
    return files


def _refuse_imported(book: "BookCore", files: Mapping[str, str]) -> None:
    for logged in in_force(book.store, "imported"):
        before = set(logged.entry["body"]["files"].values())
        for name, digest in files.items():
            if digest in before:
                raise Refused(
                    f"'{name}' was imported before, on {logged.entry['recorded'][:10]} (entry {logged.number})",
                    "import it again only if everything in it happened twice: --again",
                    file=name,
                )


def _record(
    book: "BookCore", intake: "Intake", files: Mapping[str, str], how: Happening, *, again: bool,
    said: "Mapping[str, Heard] | None" = None,
) -> TakenIn:  # fmt: skip
    """All of it or nothing; whatever the book refuses becomes a fault."""
    now_us = book.clock()
    next_id = _NextIds(book)
    kept = to_keep(intake.tables, said or {}, book.settings)

    def drafts() -> Iterator[Draft]:
        next_id.begin()
        found = intake.drafts(next_id, how.who, how.moment(book))
        for draft in found:
            yield draft._replace(confirmed=draft.confirmed or how.confirm, login=how.login)
        yield how.draft(book, Imported(files, intake.items, intake.pours), when_us=now_us)

    def work() -> "Recorded | None":
        if not again:
            _refuse_imported(book, files)
        recorded = None
        try:
            refused = lambda _draft, refusal: intake.refused(refusal)  # noqa: E731
            recorded = record_in_order(book.store, drafts(), now_us, refused)
        except InTheWay as refusal:
            intake.refused(refusal)
        intake.check()
        return recorded

    if how.dry_run:
        with how.transaction(book):
            since = book.head_number() + 1
            recorded = work()
            in_all = intake.in_all(book, since) if intake.in_all else ()
    else:
        recorded = landed(book.store, work, intake.items + intake.pours)
        first = _landed_from(book, recorded)
        if kept:
            book.record(how.draft(book, House(kept), when_us=now_us))
        in_all = intake.in_all(book, first) if intake.in_all else ()
    assert recorded is not None
    entries = len(recorded.numbers) + bool(kept)
    return TakenIn(
        intake.items, intake.pours, entries, recorded.gains, files, intake.notes, intake.tables, kept, in_all
    )


def _landed_from(book: "BookCore", recorded: "Recorded | None") -> int:
    """Number of the first entry of what landed last, which the book keeps from now on."""
    last = book.head_number()
    first = last + 1 - len(recorded.numbers if recorded else ())
    book.keeps(first, last)
    book.store.settle()
    return first


class _NextIds:
    """New identifiers of each kind, one after the other; the book is asked once for each kind.

    Where others took some of a kind since an earlier `begin`, the next thousand are left to them.
    """

    def __init__(self, book: "BookCore") -> None:
        self._book = book
        self._first: dict[str, int] = {}
        self._last: dict[str, int] = {}
        self._ranges: tuple[range, ...] = ()

    def begin(self) -> None:
        """Begin anew."""
        self._ranges = site_numbers(self._book.store)
        self._last.clear()

    def __call__(self, kind: str) -> str:
        """The next one of a kind."""
        number = self._last[kind] + 1 if kind in self._last else self._beginning(kind)
        self._last[kind] = number_from(self._ranges, kind, number)
        return write(kind, self._last[kind])

    def _beginning(self, kind: str) -> int:
        number = int(self._book.next_id(kind)[1:-1])
        return number if self._first.setdefault(kind, number) == number else number + _LEFT_TO_OTHERS
