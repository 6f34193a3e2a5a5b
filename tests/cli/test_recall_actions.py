"""Recalls, declarations and papers recorded from Python and by the command: the journals say the same."""

import pytest
from command import Desk, here

from pourbook import Book
from pourbook.actions.approving import Wished
from pourbook.actions.happening import Happening
from pourbook.actions.print_paper import Output
from pourbook.actions.recall import RecallPlan
from pourbook.book.journal import journal
from pourbook.book.recall_scope import Suspect
from pourbook.errors import Malformed, Refused, StoreError
from pourbook.queries.accounts.account import Period
from pourbook.queries.accounts.declared import read_rule
from pourbook.times import read_time

HOW = Happening("M. Aldane", reason="test")
BEGUN, ENDED = "2024-05-10T09:00", "2024-05-10T09:41"


@pytest.fixture
def desk(tmp_path):
    """A cask, a trial that follows a recipe, and a lot of a closed year; a stocktake under way."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere --set zone=UTC")
    desk.does("cask 'Row 1/01' --fill '200 l' --strength 63.5 --in-wood 0 --spirit malt --when 2015-03-01")
    desk.does("trial --part 'Row 1/01=3' --part water=1 --total '100 ml' --ref first --when 2024-03-01")
    desk.does("batch 'Vatting 1' --when 2024-04-01")
    desk.does("dump 'Vatting 1' 'Row 1/01' --when 2024-04-02")
    desk.does("bottle 'Vatting 1' --count 30 --size '700 ml' --ref 'Lot 1' --when 2024-04-08")
    desk.does("close --when 2024-05-01 --reason 'stock-take'")
    desk.does("stocktake open April")
    desk.does("stocktake scan April 'at Row 8' 'Lot 1'")
    return desk


def moment(text, book):
    return read_time(text, book.zone)


def recalled(book, folder):
    """A mock recall that holds, with its report."""
    plan = RecallPlan(
        (Suspect("item", "Row 1/01"),),
        mock=True,
        hold=True,
        begun_us=moment(BEGUN, book),
        ended_us=moment(ENDED, book),
    )
    return book.recall(HOW, plan, Output((folder / "recall.pdf",)))


def year(book):
    """The account of the closed months."""
    return Period(moment("2024-01-01", book), moment("2024-05-01", book), ("kind",))


ACTIONS = {
    "open_stocktake": (
        "stocktake open May --place 'Row 1' --reason test",
        lambda book, _: book.open_stocktake(HOW, "May", "Row 1"),
    ),
    "end_stocktake": (
        "stocktake end April --move --reason test",
        lambda book, _: book.end_stocktake(HOW, "April", move=True),
    ),
    "print_stocktake": (
        "stocktake report April -o {}/april.pdf --reason test",
        lambda book, folder: book.print_stocktake(HOW, "April", Output((folder / "april.pdf",))),
    ),
    "recall": (
        f"recall --item 'Row 1/01' --mock --hold --begun {BEGUN} --ended {ENDED} --reason test -o {{}}/recall.pdf",
        recalled,
    ),
    "approve": (
        "approve 'Lot 1' --beside 'Vatting 1' --claim 'age 9' --rules uk --reason test --when 2024-06-01 --confirm",
        lambda book, _: book.approve(
            HOW._replace(when_us=moment("2024-06-01", book), confirm=True),
            "Lot 1",
            Wished("Vatting 1", {"age": "9"}, "uk"),
        ),
    ),
    "reject": (
        "approve 'Vatting 1' --reject --reason test --when 2024-06-01",
        lambda book, _: book.reject(HOW._replace(when_us=moment("2024-06-01", book)), "Vatting 1"),
    ),
    "print_approval": (
        "approval 'Lot 1' --claim 'age 9' -o {}/approval.pdf --reason test",
        lambda book, folder: book.print_approval(
            HOW, "Lot 1", Wished(claims={"age": "9"}), Output((folder / "approval.pdf",))
        ),
    ),
    "declare": (
        "account --from 2024-01-01 --to 2024-04-30 --group-by kind --declare 'half-up 0.1' --reason test",
        lambda book, _: book.declare(HOW, year(book), read_rule("half-up 0.1")),
    ),
    "print_period": (
        "account --from 2024-01-01 --to 2024-04-30 --group-by kind --declare 'up 1' --reason test -o {}/account.pdf",
        lambda book, folder: book.print_period(HOW, year(book), Output((folder / "account.pdf",)), read_rule("up 1")),
    ),
    "print_sheet": (
        "sheet first -o {}/sheet.pdf --reason test",
        lambda book, folder: book.print_sheet(HOW, "first", Output((folder / "sheet.pdf",))),
    ),
    "print_dossier": (
        "dossier 'Lot 1' -o {0}/lot.pdf -o {0}/lot.json --reason test",
        lambda book, folder: book.print_dossier(HOW, "Lot 1", Output((folder / "lot.pdf", folder / "lot.json"))),
    ),
    "print_provenance": (
        "provenance 'Row 1/01' -o {}/cask.pdf --reason test",
        lambda book, folder: book.print_provenance(HOW, "Row 1/01", Output((folder / "cask.pdf",))),
    ),
}


def said(path, first):
    """Kind and body of the entries from a number on; hashes differ, since they were recorded at different times."""
    with Book.open(path) as book:
        return [(one.kind, _without_hashes(one.entry["body"])) for one in journal(book.store, first)]


def _without_hashes(body):
    bare = {name: value for name, value in body.items() if name != "head"}
    return bare | ({"facts": _without_hashes(body["facts"])} if "facts" in body else {})


@pytest.mark.parametrize("action", ACTIONS)
def test_python_and_the_command_record_the_same(desk, tmp_path, action):
    """On two equal books; and both write the same files."""
    line, call = ACTIONS[action]
    folders = [tmp_path / name for name in ("typed", "called")]
    copies = [folder / "quillmere.pourbook" for folder in folders]
    for folder, copy in zip(folders, copies, strict=True):
        folder.mkdir()
        desk.does(f"backup {copy}")
    first = desk.asks("journal-hash")["entries"] + 1
    Desk(copies[0], here).does(line.format(folders[0]))
    with Book.open(copies[1]) as book:
        call(book, folders[1])
    typed, called = (said(copy, first) for copy in copies)
    assert typed == called != []
    files = [sorted(one.name for one in folder.iterdir() if one.suffix in (".pdf", ".json")) for folder in folders]
    assert files[0] == files[1]


def test_a_release_from_python(desk):
    """It lets go what the recall holds, once."""
    with Book.open(desk.book) as book:
        number = book.recall(HOW, RecallPlan((Suspect("item", "Lot 1"),), mock=False, hold=True)).number
        assert [one.released for one in book.recalls()] == [0]
        released = book.release_recall(HOW, number)
        assert [book.show(one).ref for one in released.released] == ["Lot 1"]
        assert book.recall_compared(number).refusal == ""
        with pytest.raises(Refused, match="was released by entry"):
            book.release_recall(HOW, number)


def test_a_recall_needs_its_reason_from_python_too(desk):
    """The rule is the action's, not the command's."""
    with Book.open(desk.book) as book, pytest.raises(Malformed, match="need a reason"):
        book.recall(Happening("M. Aldane"), RecallPlan((Suspect("item", "Lot 1"),), mock=True))


def test_bytes_without_a_file(desk, tmp_path, monkeypatch):
    """A page takes the bytes: nothing is written, and the entry is recorded all the same."""
    monkeypatch.chdir(tmp_path)
    before = sorted(tmp_path.iterdir())
    with Book.open(desk.book) as book:
        printed = book.print_sheet(HOW, "first", Output())
        assert [data[:5] for data in printed.files.values()] == [b"%PDF-"]
        assert len(printed.recorded.numbers) == 1
    assert sorted(tmp_path.iterdir()) == before


def test_a_dry_run_of_a_declaration_and_its_paper_keeps_nothing(desk, tmp_path):
    """What is declared shows on the paper of the same dry run; no entry, no file."""
    with Book.open(desk.book) as book:
        head = book.head()
        output = Output((tmp_path / "account.pdf",))
        done = book.print_period(HOW._replace(dry_run=True), year(book), output, read_rule("up 1"))
        assert done.answer.declaration.rule == "up 1"
        assert all(recorded.is_dry_run for recorded in done.recorded)
        assert book.head() == head
    assert not (tmp_path / "account.pdf").exists()


@pytest.mark.parametrize("action", [one for one in ACTIONS if one.startswith(("recall", "print"))])
def test_a_paper_that_cannot_be_written_is_not_recorded(desk, tmp_path, action):
    """Nor the recall or the declaration that it was to be the paper of."""
    _, call = ACTIONS[action]
    with Book.open(desk.book) as book:
        head = book.head()
        with pytest.raises(StoreError, match="its folder does not exist"):
            call(book, tmp_path / "no such folder")
        assert book.head() == head


@pytest.mark.in_a_file("the file itself is named; a paper must be a PDF")
def test_no_paper_takes_the_place_of_the_open_book(desk):
    """Forced or not."""
    with Book.open(desk.book) as book:
        with pytest.raises(StoreError, match="the book itself or an input"):
            book.print_sheet(HOW, "first", Output((desk.book,), force=True))
        assert book.verify().faults == ()
