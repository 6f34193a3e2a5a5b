"""What holds at the door for every verb: names in any writing, dry runs, answers for programs, odd terminals."""

import os
import shlex
import signal
import subprocess
import sys
import time

import pytest
from command import Desk, apart, here
from house import House

from pourbook.errors import NotShown, OutOfRange


@pytest.fixture
def desk(tmp_path):
    """A small book: two casks with names, a sample, a trial, a batch with a lot."""
    path = tmp_path / "quillmere.pourbook"
    with House(path) as house:
        house.open("C1", ref="Row 3/12")
        house.open("C2", ref="Row 4/02")
        house.open("V1", ref="sample 1")
        house.open("T1", ref="first")
        house.open("B1", ref="Vatting 1")
        house.open("L1", ref="Lot 1")
        house.fill("C1", "200 l", "63.5", spirit="malt spirit")
        house.fill("C2", "180 l", "58.2", spirit="grain spirit")
        house.draw("C1", "V1", "500 ml")
        house.pour("V1", "T1", "70 ml")
        house.pour("C1", "B1", "50 l")
        house.pour("B1", "L1", "35 l", verb="bottle", bottles=50)
        house.hold("C2")
    return Desk(path, here)


RECORDING = [
    "cask 'Row 5/01' --fill '100 l' --strength 60",
    "fill 'Row 3/12' '1 l' --strength 60",
    "gauge 'Row 3/12' --amount '149 l' --strength 63.1",
    "gauge 'sample 1' --strength 63.2 --for-source-cask",
    "draw 'Row 3/12' '200 ml' --strength 63.4",
    "loss 'sample 1' all --kind tasting",
    "set 'Row 3/12' spirit='peated malt'",
    "move 'Row 3/12' --to 'Row 9'",
    "hold 'Row 3/12' --reason 'cork taint suspected'",
    "release 'Row 4/02' --reason 'laboratory: clean'",
    "note 'Row 3/12' 'bung replaced'",
    "recipe Ostrewick --part 'sample 1=7' --part water=3",
    "trial --part 'sample 1=7' --part water=3 --revised-from first",
    "pour first 'sample 1' '10 ml' water '5 ml'",
    "scale-up first --total '20 l' --to 46 --record",
    "batch 'Vatting 2'",
    "dump 'Vatting 1' 'Row 3/12'",
    "bottle 'Vatting 1' --count 10 --size '700 ml' --empties",
    "despatch 'Lot 1' 10 --customer 'Harbour Row'",
    "void 13 --reason 'bottled later'",
    "replace 13 --amount '34 l' --reason 'misread'",
    "close --when 2023-12-31 --reason 'stock-take'",
    "settings --set currency=EUR",
    "reserve vial 3",
]
READING = [
    "show 'Row 3/12' --history",
    "stock",
    "trace 'Lot 1'",
    "trace 'Row 3/12' --forward",
    "journal",
    "journal --item 'Row 3/12'",
    "compare first first",
    "revisions first",
    "scale-up first --total '20 l'",
    "settings",
    "journal-hash",
    "verify",
    "checkup",
    "templates",
]


@pytest.mark.parametrize("command", RECORDING)
def test_a_dry_run_does_all_but_keep_it(desk, command):
    """With --dry-run a recording verb answers as ever, says that it was a dry run, and the book is as before."""
    with House.reopened(desk.book, {}) as house:
        before = house.dump_tables()
    rehearsed = desk.does(f"{command} --dry-run")
    assert "dry run: nothing was recorded" in rehearsed.err
    assert desk.asks(f"{command} --dry-run")["dry_run"] is True
    with House.reopened(desk.book, {}) as house:
        assert house.dump_tables() == before
    kept = desk.does(command)
    assert kept.out == rehearsed.out, "what was rehearsed is what is recorded"
    assert desk.asks("journal-hash")["entries"] > len(before["entry"])
    assert desk.asks("verify")["faults"] == []


@pytest.mark.parametrize("command", READING)
def test_reading_answers_people_and_programs(desk, command):
    """As text, and as one JSON document; nothing is recorded by a question."""
    head = desk.asks("journal-hash")
    assert desk.does(command).out.strip()
    assert desk.asks(command)
    assert desk.asks("journal-hash") == head


@pytest.mark.parametrize("writing", ["C-000001-H", "C000001H", "c-000001-h", " C–000001–H ", "Row 3/12"])
def test_an_item_is_found_in_any_writing(desk, writing):
    """With hyphens or without, in either case, with a dash from a word processor, by the house's own name."""
    assert desk.asks(f"show {shlex.quote(writing)}")["id"] == "C000001H"


def test_documents_carry_identifiers_without_hyphens(desk):
    """What programs read is what symbols carry."""
    assert "C-000001-H" in desk.does("stock").out
    assert "C-000001-H" not in desk.does("stock --json").out
    assert "C000001H" in desk.does("trace 'Lot 1' --json").out


def test_who_did_it(desk):
    """By --who, else by POURBOOK_WHO."""
    desk.does("note 'Row 3/12' 'by the name of the station'")
    desk.does("note 'Row 3/12' 'by another' --who 'Isla Farrow'")
    assert [entry["who"] for entry in desk.asks("journal --names")["entries"][-2:]] == ["M. Aldane", "Isla Farrow"]


def test_the_login_name_is_kept_beside_who(desk):
    """As the operating system says it, in a field of its own; another spelling of --who hides nobody."""
    here("note", "Row 3/12", "read twice", "--who", "Isla Farrow", book=desk.book, LOGNAME="ifarrow").done()
    entry = desk.asks("journal --names")["entries"][-1]
    assert (entry["who"], entry["login"]) == ("Isla Farrow", "ifarrow")
    assert "Isla Farrow (ifarrow)" in desk.does("journal").out
    assert "login" not in desk.asks("journal")["entries"][5]
    desk.does("verify")


def test_a_computer_without_users_records_all_the_same(desk, monkeypatch):
    """A container may run under a number that no user has (`getpass.getuser` fails then)."""

    def unknown():
        raise KeyError("getpwuid(): uid not found: 1234")

    monkeypatch.setattr("getpass.getuser", unknown)
    desk.does("note 'Row 3/12' 'bung replaced'")
    assert "login" not in desk.asks("journal")["entries"][-1]
    assert "no person is named" in here("note", "Row 3/12", "x", book=desk.book, POURBOOK_WHO="").err


def test_a_login_name_that_cannot_be_text_is_made_visible(desk):
    """The environment may hold anything."""
    here("note", "Row 3/12", "bung replaced", book=desk.book, LOGNAME="if\x1b[2J" + "x" * 300).done()
    login = desk.asks("journal --names")["entries"][-1]["login"]
    assert login.startswith("if<U+001B>[2Jxxx")
    assert len(login) <= 100


def test_a_login_name_leaves_the_house_on_no_paper(desk, tmp_path):
    """People are codes on papers, and only `who` is told in event documents; a journal for programs has it."""
    here("pour", "Vatting 1", "Row 3/12", "1 l", book=desk.book, LOGNAME="ifarrow").done()
    here("bottle", "Vatting 1", "--count", "1", "--size", "700 ml", "--ref", "Lot 2", book=desk.book,
         LOGNAME="ifarrow").done()  # fmt: skip
    desk.does("settings --set uri=https://quillmere.example")
    for number, command in enumerate((
        "dossier 'Lot 2' -o {}.html", "dossier 'Lot 2' --json -o {}.pdf", "export epcis 'Lot 2' -o {}.jsonld",
        "export prov 'Lot 2' -o {}.json", "export graphml 'Lot 2' -o {}.graphml", "export history -o {}",
        "account --from 2019-01-01 --to 2029-01-01 --json", "trace 'Lot 2' --pours --json",
    )):  # fmt: skip
        out = desk.does(command.format(tmp_path / str(number))).out
        assert "ifarrow" not in out
    written = [path for path in tmp_path.rglob("*") if path.is_file() and not path.name.startswith(desk.book.name)]
    assert len(written) >= 6
    assert not [path.name for path in written if b"ifarrow" in path.read_bytes()]
    assert "ifarrow" in desk.does("export journal --names").out


def test_what_a_login_recorded_can_be_suspected(desk):
    """A person under investigation is found by either name."""
    here("pour", "Vatting 1", "Row 3/12", "1 l", book=desk.book, LOGNAME="ifarrow").done()
    assert {one["id"] for one in desk.asks("affected --person IFARROW")["items"]} == {"B000001Y"}


def test_a_time_without_an_offset_is_house_time(desk):
    """Summer in London is an hour ahead of the journal."""
    desk.does("settings --set zone=Europe/London")
    desk.does("note 'Row 3/12' 'checked' --when '2024-07-01 14:30'")
    assert desk.asks("journal")["entries"][-1]["happened"] == "2024-07-01T13:30:00Z"
    assert "2024-07-01 14:30 BST" in desk.does("journal").out


def test_a_house_that_writes_commas(desk):
    """Amounts and strengths are read and shown with the house's decimal mark; documents stay as programs need them."""
    desk.does("settings --set decimal_mark=,")
    desk.does("draw 'Row 3/12' '12,5 ml'")
    assert "149,49 l" in desk.does("show 'Row 3/12'").out
    assert desk.asks("show 'Row 3/12'")["strength_20c"] == pytest.approx(63.5, abs=1e-6)


def test_a_book_named_on_the_command_goes_first(desk, tmp_path):
    """--book is stronger than POURBOOK_BOOK."""
    other = tmp_path / "other.pourbook"
    desk.does(f"create {other} --house 'Other House'")
    assert desk.asks(f"--book {other} settings")["house"] == "Other House"
    assert desk.asks("settings")["house"] == "Quillmere"


def test_the_shell_completes_names_and_identifiers(desk):
    """At the Tab key, what the book has is offered."""
    offered = {}
    for begun in ("Row", "C0"):
        ran = apart(
            book=desk.book,
            environment={
                "_POURBOOK_COMPLETE": "bash_complete",
                "COMP_WORDS": f"pourbook show {begun}",
                "COMP_CWORD": "2",
            },
        )
        offered[begun] = {line.partition(",")[2] for line in ran.done().out.splitlines()}
    assert offered == {"Row": {"Row 3/12", "Row 4/02"}, "C0": {"C000001H", "C000002F"}}


def test_a_terminal_of_seven_bits(desk):
    """Degrees and dashes that a terminal cannot show do not stop an answer."""
    ran = apart("show", "Row 3/12", book=desk.book, environment={"PYTHONIOENCODING": "ascii"})
    assert "holds 149.50 l at 20 " in ran.done().out


@pytest.mark.skipif(sys.platform == "win32", reason="a closed pipe is told the Unix way")
def test_a_reader_that_has_read_enough(desk):
    """`pourbook journal | head -1`: no complaint when the reader goes."""
    for _ in range(60):
        desk.does(f"note 'Row 3/12' '{'a long story ' * 150}'")
    command = [sys.executable, "-m", "pourbook", "--book", desk.book, "journal", "--json"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        process.stdout.readline()
        process.stdout.close()
        said = process.stderr.read()
    assert (process.returncode, said) == (0, b"")


@pytest.mark.skipif(sys.platform == "win32", reason="signals are sent the Unix way")
def test_a_person_who_stops_in_the_middle_of_pouring(desk):
    """Ctrl-C while the scanner waits: what was poured is kept, no traceback."""
    command = [sys.executable, "-m", "pourbook", "--book", str(desk.book), "pour", "first"]
    environment = os.environ | {"POURBOOK_WHO": "M. Aldane"}
    with subprocess.Popen(
        command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment
    ) as process:
        process.stdin.write(b"sample 1\n10 ml\n")
        process.stdin.flush()
        before = desk.asks("journal-hash")["entries"]
        deadline = time.monotonic() + 20
        while desk.asks("journal-hash")["entries"] == before and time.monotonic() < deadline:
            time.sleep(0.05)
        process.send_signal(signal.SIGINT)
        said = process.stderr.read().decode()
    assert process.returncode == 1
    assert "stopped: nothing more was recorded" in said
    assert "Traceback" not in said
    assert desk.asks("show first")["volume_ml_20c"] == pytest.approx(80, abs=0.003)
    assert desk.asks("verify")["faults"] == []


def test_many_stations_draw_from_one_cask_at_once(desk):
    """Eight processes at the same moment: eight samples with eight numbers, and the cask has given them all."""
    command = [sys.executable, "-m", "pourbook", "--book", str(desk.book), "draw", "Row 3/12", "100 ml"]
    environment = os.environ | {"POURBOOK_WHO": "M. Aldane"}
    before = desk.asks("show 'Row 3/12'")["volume_ml_20c"]
    stations = [
        subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=environment, text=True)
        for _ in range(8)
    ]
    said = [station.communicate() for station in stations]
    assert [station.returncode for station in stations] == [0] * 8, said
    assert len({out for out, _ in said}) == 8
    assert desk.asks("show 'Row 3/12'")["volume_ml_20c"] == pytest.approx(before - 800, abs=0.02)
    assert desk.asks("verify")["faults"] == []


# -- what fails after the commit ---------------------------------------------------------------


@pytest.mark.parametrize(
    ("failure", "said"),
    [
        (OverflowError("math range error"), "but the answer could not be shown: OverflowError: math range error"),
        (OutOfRange("no such day", "name a nearer day"), "but what follows failed: no such day"),
    ],
)
def test_what_fails_after_the_commit_says_that_it_was_recorded(desk, monkeypatch, failure, said):
    """The number of the entry, and that it is not to be recorded again; never that nothing was recorded."""
    from pourbook.documents import gauges

    def fails(*_):
        raise failure

    monkeypatch.setattr(gauges, "gauged_shown", fails)
    before = len(desk.asks("journal")["entries"])
    ran = desk("gauge 'Row 3/12' --amount '149 l'")
    assert (ran.status, ran.refusal) == (1, NotShown)
    assert ran.err.startswith(f"recorded as entry {before + 1}, {said}")
    assert "do not record it again; see it: pourbook journal" in ran.err
    assert "nothing was recorded" not in ran.err
    assert "refused" not in ran.err
    assert len(desk.asks("journal")["entries"]) == before + 1
    rehearsed = desk("gauge 'Row 3/12' --amount '149 l' --dry-run")
    assert "recorded as" not in rehearsed.err, "a rehearsal keeps nothing"


def test_what_fails_before_the_commit_is_refused(desk, monkeypatch):
    """Nothing was recorded, and that is said."""
    from pourbook.actions import gauge

    monkeypatch.setattr(gauge, "_unexpected", lambda *_: 1 / 0)
    before = desk.asks("journal")["entries"]
    ran = desk("gauge 'Row 3/12' --amount '149 l'")
    assert "nothing was recorded" in ran.err
    assert desk.asks("journal")["entries"] == before
