"""Papers printed from a book: made, recorded and written together, or not at all.

The entry of a paper keeps where the journal stood and its key figures, so that it can be compared with a copy
of the book later.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.actions.happening import Happening
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, lot = book.next_id("cask"), book.next_id("lot")
>>> fill = Pour("fill", (Move("origin", cask, 1000, composition=Liquid(1000, 400)),))
>>> entries = (Item(cask, {}), Item(lot, {}), fill, Pour("bottle", (Move(cask, lot, None),)))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> printed = print_dossier(book, Happening("M. Aldane"), lot)
>>> [(path.name, data[:5]) for path, data in printed.files.items()], printed.recorded.numbers
([('dossier-L-000001-C.pdf', b'%PDF-')], range(6, 7))
"""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from pourbook.book.as_it_stood import NOW, AsOf
from pourbook.book.consequences import NOTHING_RECORDED
from pourbook.book.entries import Paper
from pourbook.codes.identifiers import hyphened, key_of, kind_of
from pourbook.errors import Damaged, Malformed, PourbookError, ToConfirm
from pourbook.numerals import shown
from pourbook.one_file import check_target, write_files
from pourbook.texts import in_json

if TYPE_CHECKING:
    from pourbook.actions.happening import Happening
    from pourbook.book.consequences import Recorded
    from pourbook.book.core import BookCore
    from pourbook.papers.bench_sheet import BenchSheet
    from pourbook.papers.dossier.dossier_values import Dossier
    from pourbook.papers.page import Imprint
    from pourbook.papers.pull_list import PullList
    from pourbook.paperwork.naming import PeopleBy
    from pourbook.queries.accounts.declared import PeriodAccount
    from pourbook.queries.casks.provenance import Provenance
    from pourbook.queries.recalls.recalls import Finding

__all__ = [
    "Output", "Printed", "kept", "mark_of", "paper_targets", "print_account", "print_dossier", "print_provenance",
    "print_recall_report", "print_sheet", "stood",
]  # fmt: skip

Facts = dict[str, str | int]


class Output(NamedTuple):
    """Where a paper goes, and on what.

    Attributes:
        paths: of its files; each ending says the form.
        folder: where a file named after its item goes when no path is given; None writes nothing: the bytes are
            in the answer.
        size: "A4" or "Letter"; the house's when empty.
        force: files that are there are replaced.
    """

    paths: tuple[Path, ...] = ()
    folder: Path | None = None
    size: str = ""
    force: bool = False


_UNWRITTEN = Output()
_MOST_CHECKED = 5_000
_OF_A_GROUP = ("dossier", "account", "cask history", "recall report")
"""Papers that only show what sites recorded."""


class Printed(NamedTuple):
    """A paper that was printed.

    Attributes:
        files: its bytes by path; by name alone where nothing was written.
        item: identifier of the item it is about; empty where it is about none.
        facts: as its entry keeps them.
        warnings: figures on it that are provisional.
        remarks: for the person who prints it.
        recorded: its entry.
        dossier: all that a dossier says; None for other papers.
    """

    files: Mapping[Path, bytes]
    item: str
    facts: Facts
    warnings: tuple[str, ...]
    remarks: tuple[str, ...]
    recorded: "Recorded"
    dossier: "Dossier | None" = None


def print_sheet(
    book: "BookCore", how: "Happening", item: str, output: Output = _UNWRITTEN, temperature_c: float | None = None
) -> Printed:  # fmt: skip
    """Print what to pour: the bench sheet of a trial, or the pull list of a batch that was opened with its plan.

    `temperature_c` is that of the cellar, for volumes of a pull list.

    Raises:
        PourbookError: no such item, it has no plan, or the file cannot be written; nothing is recorded.
    """
    from pourbook.paperwork.unset_characters import unset_on

    with how.transaction(book):
        is_batch = kind_of(book.find(item)) == "batch"
        values, facts, drawn = _pulls(book, item, temperature_c) if is_batch else _bench(book, item)
        name = "pull list" if is_batch else "bench sheet"
        targets = paper_targets(book, output, f"{name.replace(' ', '-')}-{values.id}.pdf")
        files = dict.fromkeys(targets, drawn(output.size or book.settings["paper"]))
        recorded = kept(book, how, Paper(name, (values.code,), facts), files, output)
    return Printed(files, values.code, facts, values.warnings, (*values.remarks, *unset_on(values)), recorded)


def _bench(book: "BookCore", trial: str) -> "tuple[BenchSheet, Facts, Callable[[str], bytes]]":
    from pourbook.papers.bench_sheet import bench_sheet, running
    from pourbook.paperwork.bench_sheet_of import bench_sheet_of

    values = bench_sheet_of(book, trial)
    facts = stood(values.imprint) | {
        "recipe": values.recipe,
        "parts": len(values.rows),
        "mass_mg": running(values.rows)[-1][1],
        "strength": _figure(values.expected_strength_vol),
    }
    return values, facts, partial(bench_sheet, values)


def _pulls(
    book: "BookCore", batch: str, temperature_c: float | None
) -> "tuple[PullList, Facts, Callable[[str], bytes]]":
    from pourbook.papers.pull_list import pull_list
    from pourbook.paperwork.pull_list_of import pull_list_of

    values = pull_list_of(book, batch, temperature_c)
    facts = stood(values.imprint) | {
        "parts": len(values.rows),
        "mass_mg": sum(row.take_mg for row in values.rows),
        "strength": _figure(values.expected_strength_vol),
    }
    return values, facts, partial(pull_list, values)


def print_dossier(
    book: "BookCore", how: "Happening", lot: str, output: Output = _UNWRITTEN, people: "PeopleBy" = "codes",
    as_of: AsOf = NOW,
) -> Printed:  # fmt: skip
    """Print the dossier of a bottle lot, in as many forms as paths are given: PDF, HTML, JSON.

    `people` says whether persons stand in it by name, or by a code that only the house can resolve. It is as of now,
    as of a moment, or as known after an entry; the paper says which.

    Raises:
        ToConfirm: what it rests on does not agree with the journal.
        PourbookError: no such lot or entry, nothing was poured into it, a file cannot be written; nothing is recorded.
    """
    from pourbook.book.lineages import behind
    from pourbook.paperwork.dossier_of import dossier_of
    from pourbook.paperwork.unset_characters import unset_on

    with how.transaction(book):
        mark = mark_of(book, how, behind(book.store, key_of(book.find(lot))))
        with _as_far_as_it_goes(mark):
            values = dossier_of(book, lot, people, as_of)
        values = replace(values, imprint=replace(values.imprint, disagrees=mark))
        targets = paper_targets(book, output, f"dossier-{values.id}.pdf", (".pdf", ".html", ".json"))
        size = output.size or book.settings["paper"]
        files = {path: _dossier_bytes(values, path, size) for path in targets}
        own = values.balances[-1]
        facts = stood(values.imprint) | {
            "lot_mark": values.lot_mark,
            "bottles": -1 if values.bottles is None else values.bottles,
            "in_mg": own.in_mg,
            "held_mg": own.held_mg,
            "strength": _figure(values.strength_vol),
            "origins": len(values.origins),
            "youngest": "unknown" if values.youngest is None else "{} y {} d".format(*values.youngest),
            **({"at": values.at_utc} if values.at else {}),
        }
        recorded = kept(book, how, Paper("dossier", (values.code,), facts), files, output)
    return Printed(files, values.code, facts, values.warnings, unset_on(values), recorded, values)


def print_account(book: "BookCore", how: "Happening", answer: "PeriodAccount", output: Output) -> Printed:
    """Print the account of a period; make it in the same transaction.

    Of many items, 5,000 are checked against the journal, those first that moved in the period.

    Raises:
        ToConfirm: what it rests on does not agree with the journal.
        PourbookError: the file cannot be written; nothing is recorded.
    """
    from pourbook.book.flows import held_or_touched
    from pourbook.papers.account_paper import account_paper
    from pourbook.paperwork.account_paper_of import account_values
    from pourbook.paperwork.unset_characters import unset_on

    account, declaration = answer
    with how.transaction(book):
        items = held_or_touched(book.store, account.start_us, account.end_us)
        mark = mark_of(book, how, items[:_MOST_CHECKED])
        values = account_values(book, account, declaration, how.who)
        values = replace(values, imprint=replace(values.imprint, disagrees=mark))
        unchecked = len(items) - _MOST_CHECKED
        remarks = (f"{unchecked} of {len(items)} items were not checked: pourbook verify",) if unchecked > 0 else ()
        targets = paper_targets(book, output, f"account-{values.period.replace('/', '-')}.pdf")
        files = dict.fromkeys(targets, account_paper(values, output.size or book.settings["paper"]))
        facts = stood(values.imprint) | {
            "period": values.period,
            "by": ", ".join(account.by),
            "opening_ethanol_mg": account.total.side("opening").ethanol_mg,
            "closing_ethanol_mg": account.total.side("closing").ethanol_mg,
        }
        recorded = kept(book, how, Paper("account", (), facts), files, output)
    return Printed(files, "", facts, (), (*remarks, *unset_on(values)), recorded)


def print_provenance(
    book: "BookCore", how: "Happening", cask: str, output: Output = _UNWRITTEN, at_us: int | None = None
) -> "tuple[Provenance, Printed]":
    """Print the history of a cask, until now or until a moment; the history itself stands beside the paper.

    Raises:
        ToConfirm: what it rests on does not agree with the journal.
        PourbookError: no such cask, or the file cannot be written; nothing is recorded.
    """
    from pourbook.book.lineages import behind, reached
    from pourbook.papers.cask_paper import CaskPaper, cask_paper
    from pourbook.paperwork.imprint import imprint_of
    from pourbook.paperwork.unset_characters import unset_on
    from pourbook.queries.casks.provenance import provenance

    with how.transaction(book):
        key = key_of(book.find(cask))
        mark = mark_of(book, how, behind(book.store, key) | reached(book.store, key))
        with _as_far_as_it_goes(mark):
            found = provenance(book, cask, at_us)
        values = CaskPaper(replace(imprint_of(book), disagrees=mark), found, book.zone)
        targets = paper_targets(book, output, f"cask-{hyphened(found.view.id)}.pdf")
        files = dict.fromkeys(targets, cask_paper(values, output.size or book.settings["paper"]))
        facts = stood(values.imprint) | {"fills": len(found.fills), "ethanol_mg": found.view.holding.ethanol_mg}
        recorded = kept(book, how, Paper("cask history", (found.view.id,), facts), files, output)
    return found, Printed(files, found.view.id, facts, (), unset_on(values), recorded)


def print_recall_report(
    book: "BookCore", how: "Happening", number: int, found: "Finding", output: Output = _UNWRITTEN
) -> Printed:  # fmt: skip
    """Print the report of the recall recorded in an entry.

    Raises:
        ToConfirm: what it rests on does not agree with the journal.
        PourbookError: no such entry, or the file cannot be written; nothing is recorded.
    """
    from pourbook.book.journal import entry_of
    from pourbook.papers.recall_report import recall_report
    from pourbook.paperwork.recall_report_of import report_values
    from pourbook.paperwork.unset_characters import unset_on

    with how.transaction(book):
        mark = mark_of(book, how, {key_of(one.item.id) for one in found.affected.items})
        values = report_values(book, entry_of(book.store, number), found)
        values = replace(values, imprint=replace(values.imprint, disagrees=mark))
        targets = paper_targets(book, output, f"recall-{number}.pdf")
        files = dict.fromkeys(targets, recall_report(values, output.size or book.settings["paper"]))
        facts: Facts = {"recall": number, **stood(values.imprint)}
        named = tuple(suspect.name for suspect in found.affected.suspects if suspect.kind == "item")
        recorded = kept(book, how, Paper("recall report", named, facts), files, output)
    return Printed(files, "", facts, (), unset_on(values), recorded)


# -- what every paper shares -----------------------------------------------------------------


def mark_of(book: "BookCore", how: "Happening", items: Collection[int]) -> str:
    """What every page says where the book does not agree with its journal in what the paper rests on.

    Raises:
        ToConfirm: it does not, and nobody confirmed that it be printed all the same.
    """
    from pourbook.book.verifying_a_part import book_agrees

    question = book_agrees(book.store, items)
    if question is None:
        return ""
    if not how.confirm:
        raise ToConfirm(question)
    return question.said[0].upper() + question.said[1:]


@contextmanager
def _as_far_as_it_goes(mark: str) -> Iterator[None]:
    """A book that does not agree with its journal may not even make a paper: that is said, too."""
    try:
        yield
    except PourbookError:
        raise
    except (ArithmeticError, AttributeError, LookupError, TypeError, ValueError) as error:
        if not mark:
            raise
        message = f"the paper cannot be made from what is left: {mark[0].lower()}{mark[1:]}"
        raise Damaged(message, "find out where: pourbook verify") from error


def paper_targets(book: "BookCore", output: Output, name: str, forms: tuple[str, ...] = (".pdf",)) -> tuple[Path, ...]:
    """The paths of the files, checked before anything is drawn; a name alone where nothing is written."""
    targets = output.paths or ((output.folder or Path()) / name,)
    if output.paths or output.folder is not None:
        for path in targets:
            check_target(path, force=output.force, never=book.store.files)
    for path in targets:
        if path.suffix.lower() not in forms:
            kinds = _any_of([one[1:].upper() for one in forms])
            raise Malformed(f"'{path.name}' is not {kinds}", f"end the name in {_any_of(forms)}")
    return targets


def _any_of(words: Sequence[str]) -> str:
    *others, last = words
    return f"{', '.join(others)} or {last}" if others else last


def kept(book: "BookCore", how: "Happening", paper: Paper, files: Mapping[Path, bytes], output: Output) -> "Recorded":
    """Record the paper and put its files in place, inside a transaction; a group's book prints without recording."""
    if paper.paper in _OF_A_GROUP and book.is_group:
        recorded = NOTHING_RECORDED._replace(is_dry_run=book.is_dry_run)
    else:
        recorded = how.record(
            book, paper._replace(facts={**paper.facts, "file": ", ".join(path.name for path in files)})
        )
    if (output.paths or output.folder is not None) and not recorded.is_dry_run:
        write_files(files, force=output.force, never=book.store.files)
    return recorded


def stood(imprint: "Imprint") -> Facts:
    """Where the journal stood, as the entry of a paper keeps it."""
    stood: Facts = {"entries": imprint.entries, "head": imprint.head_hash}
    return stood | ({"disagrees": imprint.disagrees} if imprint.disagrees else {})


def _figure(value: Any) -> str:  # noqa: ANN401
    return "unknown" if value is None else shown(value, 2)


def _dossier_bytes(values: "Dossier", path: Path, size: str) -> bytes:
    match path.suffix.lower():
        case ".pdf":
            from pourbook.papers.dossier.dossier_paper import dossier

            return dossier(values, size)
        case ".html":
            from pourbook.papers.dossier.dossier_html import dossier_page

            return dossier_page(values).encode()
        case _:
            import json

            from pourbook.papers.dossier.dossier_json import document

            return (in_json(json.dumps(document(values), ensure_ascii=False, indent=2)) + "\n").encode()
