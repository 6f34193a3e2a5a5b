"""Nothing that a verb writes can take the place of the book, of what lies beside it, or of what it reads."""

import errno
import os
import re
import signal
import sys

import click
import pytest
from command import Desk, apart, here

from pourbook import Book, Draft, Note
from pourbook.cli import main
from pourbook.errors import StoreError
from pourbook.one_file import check_target, write_file
from pourbook.shipped import shipped

OUTPUTS = {
    ("account", "--csv"): "account --from 2026-01-01 --to 2026-12-31 --csv",
    ("account", "--samples"): "account --from 2026-01-01 --to 2026-12-31 --samples",
    ("account", "--output"): "account --from 2026-01-01 --to 2026-12-31 -o",
    ("affected", "--output"): "affected --item C-000001-H -o",
    ("ahead", "--csv"): "ahead T1 --final '10 l' --to 46 --years 2 --csv",
    ("backup", "path"): "backup",
    ("approval", "--output"): "approval L-000001-C -o",
    ("blending cards", "--output"): "blending cards Spring -o",
    ("blending sheets", "--output"): "blending sheets Spring -o",
    ("bottling sheet", "--output"): "bottling sheet Run -o",
    ("create", "path"): "create --house Quillmere",
    ("dossier", "--output"): "dossier L-000001-C -o",
    ("compare", "--csv"): "compare B-000001-Y L-000001-C --csv",
    ("export entries", "--output"): "export entries -o",
    ("export epcis", "--output"): "export epcis L-000001-C -o",
    ("export graphml", "--output"): "export graphml L-000001-C -o",
    ("export journal", "--output"): "export journal -o",
    ("export pours", "--output"): "export pours -o",
    ("export prov", "--output"): "export prov L-000001-C -o",
    ("export stock", "--output"): "export stock -o",
    ("export tastings", "--output"): "export tastings -o",
    ("export trace", "--output"): "export trace L-000001-C -o",
    ("import casks", "--write-map"): "import casks {folder}/casks.csv --write-map",
    ("import gauges", "--write-map"): "import gauges {folder}/gauges.csv --write-map",
    ("import history", "--write-map"): "import history {folder} --write-map",
    ("import words", "--write-map"): "import words {folder}/words.csv --write-map",
    ("import casks", "--faults"): "import casks {folder}/casks.csv --faults",
    ("import epcis", "--faults"): "import epcis {folder}/tanker.jsonld --faults",
    ("import gauges", "--faults"): "import gauges {folder}/gauges.csv --faults",
    ("import history", "--faults"): "import history {folder} --faults",
    ("import words", "--faults"): "import words {folder}/words.csv --faults",
    ("journal", "--output"): "journal -o",
    ("key make", "file"): "key make",
    ("label", "--output"): "label C-000001-H --template cask-head-100x70 -o",
    ("mixture fit", "--contours"): "mixture fit {folder}/glasses.csv --response y --contours",
    ("mixture fit", "--traces"): "mixture fit {folder}/glasses.csv --response y --traces",
    ("printer", "--output"): "printer bench --test --template vial-roll-30x15 -o",
    ("provenance", "--output"): "provenance C-000001-H -o",
    ("recall", "--output"): "recall --item C-000001-H --mock --reason exercise -o",
    ("revisions", "--output"): "revisions T1 -o",
    ("restore", "path"): "restore {folder}/copy.pourbook",
    ("shape", "--output"): "shape C-000001-H -o",
    ("session ballot", "--write-form"): "session ballot Evening --write-form",
    ("session labels", "--output"): "session labels Evening -o",
    ("session report", "--output"): "session report Closed -o",
    ("session sheets", "--ballots"): "session sheets Evening --ballots",
    ("session sheets", "--pour-sheet"): "session sheets Evening --pour-sheet",
    ("sheet", "--output"): "sheet T1 -o",
    ("sign", "--output"): "sign --key {folder}/site.key -o",
    ("stocktake report", "--csv"): "stocktake report May --csv",
    ("stocktake report", "--output"): "stocktake report May -o",
    ("trace", "--picture"): "trace L-000001-C --picture",
}
"""Each verb with each option or argument that names a file to write, up to that name."""

FOLDERS = {("demo", "folder"), ("export history", "--output")}
"""Outputs that are folders: what they write in one is new (below), or the folder itself is."""
READ = {
    ("export entries", "--key"), ("group join", "--public"),
    ("import casks", "--read-map"), ("import gauges", "--read-map"), ("import history", "--read-map"),
    ("import words", "--read-map"), ("import words", "path"),
    ("import casks", "path"), ("import epcis", "path"), ("import gauges", "path"), ("import history", "path"),
    ("mixture design", "--limits"), ("mixture design", "--tried"), ("mixture drift", "file"), ("mixture fit", "file"),
    ("mixture next", "--limits"), ("mixture vertices", "--limits"), ("plan", "--limits"),
    ("panel agreement", "file"), ("panel rank", "file"), ("panel repeated", "file"),
    ("convert", "--tables"), ("hydrometer", "--tables"), ("label", "--folder"),
    ("read", "file"), ("reduce", "--tables"), ("station", "--certificate"), ("station", "--key"),
    ("restore", "backup"), ("session ballot", "file"),
    ("templates", "--folder"), ("vessel", "--table-file"), ("verify", "--against"), ("verify", "--public"),
    ("key add", "file"), ("sign", "--key"), ("key add", "--second-key"), ("approve", "--second-key"),
    *((verb, "--second-key") for verb in ("bottle", "bottling add", "bottling change", "bottling end", "dump")),
    ("loss", "--second-key"), ("replace", "--second-key"), ("settings", "--second-key"), ("void", "--second-key"),
}  # fmt: skip
"""What is only read."""


@pytest.fixture
def desk(tmp_path):
    """A book with a cask, a trial and a lot, a copy of it, and files that no import can take."""
    desk = Desk(tmp_path / "q.pourbook", here)
    for line in (
        f"create {desk.book} --house Quillmere",
        "cask --fill '200 l' --strength 60",
        "trial --recipe R --part C-000001-H=10 --total '100 ml' --ref T1",
        "taste C-000001-H --nose 'pear 4'",
        "batch",
        "dump B-000001-Y C-000001-H",
        "settings --set uri=https://quillmere.example",
        "bottle B-000001-Y --count 10 --size '700 ml'",
        "printer bench --dpi 203",
        "bottling begin B-000001-Y --size '700 ml' --ref Run",
        "cask Q9 --fill '20 l' --strength 60",
        "recipe Table --part 'Q9=1' --part 'B-000001-Y=1'",
        "blending open Spring --recipe Table --guest A --guest B --blend '20 ml'",
        *(f"blending compose Spring --guest {one} --called {one}1 --part Q9=1 --part B-000001-Y=1" for one in "AB"),
        *(f"pour {one}1 Q9 '10 ml' B-000001-Y '10 ml'" for one in "AB"),
        "blending taste Spring",
        "session close Spring --confirm",
        "blending choose Spring A1",
        "session open Evening --glass Q9 --glass B-000001-Y --assessor 'Isla Farrow'",
        "session open Closed --glass Q9 --glass B-000001-Y --assessor 'Isla Farrow'",
        "session close Closed --confirm",
        "stocktake open May",
        "settings --set site=A --set numbers=1-999999",
        f"backup {tmp_path}/copy.pourbook",
        f"key make {tmp_path}/site.key",
    ):
        desk.does(line)
    for name in ("casks.csv", "gauges.csv", "items.csv", "pours.csv", "tanker.jsonld"):
        (tmp_path / name).write_text("what is this\nno table\n")
    (tmp_path / "glasses.csv").write_text("a,b,c,y\n1,0,0,1\n0,1,0,2\n0,0,1,3\n1,1,1,2.5\n")
    return desk


def named(command, name=""):
    """Every parameter of every verb that looks like a file: verb, and the parameter as it is typed."""
    if isinstance(command, click.Group):
        for verb in command.list_commands(click.Context(command)):
            yield from named(command.get_command(click.Context(command), verb), f"{name} {verb}".strip())
        return
    for one in command.params:
        words = (one.name, one.metavar or "")
        if isinstance(one.type, click.Path) or any(
            part in word.lower() for word in words for part in ("file", "path", "folder", "backup")
        ):
            yield name, one.opts[-1] if isinstance(one, click.Option) else one.name


def forced(command, name=""):
    """Every verb with --force."""
    if isinstance(command, click.Group):
        verbs = {verb: command.get_command(click.Context(command), verb) for verb in command.list_commands(None)}
        return {one for verb, found in verbs.items() for one in forced(found, f"{name} {verb}".strip())}
    return {name for one in command.params if "--force" in one.opts}


def test_every_output_is_tried():
    """A verb that gets a new output has a line above."""
    against = ("verify", "--against")
    assert {*named(main.cli), against} == set(OUTPUTS) | FOLDERS | READ


def endings(line):
    """The endings under which an output is not refused for its name."""
    of_verb = {"mixture": ".svg", "shape": ".svg", "trace": ".svg", "recall": ".pdf", "dossier": ".json"}
    return of_verb.get(line.split()[0], "")


@pytest.mark.parametrize("output", OUTPUTS, ids=" ".join)
def test_no_verb_writes_over_the_book(desk, tmp_path, output):
    """By its name, as its companion, through a symbolic link or a hard one, with --force where there is one."""
    line, force = OUTPUTS[output].format(folder=tmp_path), " --force" if output[0] in forced(main.cli) else ""
    ending = endings(line)
    symbolic, hard = tmp_path / f"symbolic{ending}", tmp_path / f"hard{ending}"
    symbolic.symlink_to(desk.book)
    os.link(desk.book, hard)
    before, entries = sorted(path.name for path in tmp_path.iterdir()), desk.asks("journal")
    companions = ("-wal", "-shm", "-journal", "-station", "-station-wal")
    targets = [desk.book, *(f"{desk.book}{end}" for end in companions), symbolic, hard]
    for target in targets:
        ran = desk(f"{line} {target}{force}")
        assert ran.status == 1, target
        assert re.search(
            "the book itself|already exists|kept for the book|another database|do: (end (it|the name) in|name it)",
            ran.err,
        ), ran.err
    assert sorted(path.name for path in tmp_path.iterdir()) == before
    assert desk.asks("journal") == entries
    desk.does("verify")


@pytest.mark.parametrize("output", OUTPUTS, ids=" ".join)
def test_no_verb_replaces_a_file_unasked(desk, tmp_path, output):
    """Nor a device or another book, asked or not."""
    line = OUTPUTS[output].format(folder=tmp_path)
    letter = tmp_path / f"letter{endings(line)}"
    letter.write_text("dear")
    assert "already exists" in desk(f"{line} {letter}").err
    assert letter.read_text() == "dear"


@pytest.mark.parametrize("verb", ["casks", "gauges", "epcis", "history"])
def test_faults_are_not_written_over_what_was_read(desk, tmp_path, verb):
    """The input stays, also with --force, under any of its names."""
    line = OUTPUTS["import " + verb, "--faults"].format(folder=tmp_path)
    read = tmp_path / "pours.csv" if verb == "history" else tmp_path / line.split()[2].rpartition("/")[2]
    os.link(read, tmp_path / "again.csv")
    for target in (read, tmp_path / "again.csv"):
        ran = desk(f"{line} {target} --force")
        assert (ran.status, "is the book itself or an input" in ran.err) == (1, True)
    assert read.read_text() == "what is this\nno table\n"
    faults = tmp_path / "faults.csv"
    desk(f"{line} {faults}")
    first = faults.read_bytes()
    assert first.startswith(b"file,row,")
    assert "already exists" in desk(f"{line} {faults}").err
    desk(f"{line} {faults} --force")
    assert faults.read_bytes() == first


def test_an_export_of_the_history_keeps_what_is_there(desk, tmp_path):
    """Its folder may be there, its files not, unless forced."""
    assert "already exists" in desk(f"export history -o {tmp_path}").err
    desk.does(f"export history -o {tmp_path} --force")
    assert (tmp_path / "items.csv").read_text().startswith("ref,kind,")


def test_templates_are_inputs_of_a_label(desk, tmp_path):
    """A house's own template is not replaced by the label made with it."""
    text = (shipped("label_templates") / "cask-head-100x70.toml").read_text("utf-8")
    template = tmp_path / "cask-head-100x70.toml"
    template.write_text(text, encoding="utf-8")
    ran = desk(f"label C-000001-H --template cask-head-100x70 --folder {tmp_path} -o {template} --force")
    assert "is the book itself or an input" in ran.err
    assert template.read_text(encoding="utf-8") == text


def test_a_book_under_another_name_is_kept(tmp_path):
    """Not only the open one: no output takes the place of a database."""
    other = tmp_path / "other.pourbook"
    with Book.create(other, house="Quillmere"):
        pass
    with pytest.raises(StoreError, match="is a book or another database"):
        write_file(other, b"%PDF", force=True)
    Book.open(other).close()


def test_a_device_is_no_file(tmp_path):
    """A rename would put a file in its place."""
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", tmp_path / "null"):
        if path.name == "null":
            path.symlink_to("/dev/null")
        with pytest.raises(StoreError, match="a device or a pipe"):
            check_target(path, force=True)


def test_a_name_that_no_file_can_have(tmp_path):
    """A NUL, or a name too long: a sentence each."""
    for name, said in (("a\0b", "a NUL in its name"), ("x" * 300, "cannot be written")):
        with pytest.raises(StoreError, match=said):
            write_file(tmp_path / name, b"", force=True)


def test_a_full_disk_is_told(tmp_path, monkeypatch):
    """When the system says so on writing, or only when it is asked to keep what was written (fsync(2), ENOSPC)."""
    for broken in ("write_bytes", "fsync"):
        with monkeypatch.context() as patched:

            def full(*_):
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

            if broken == "fsync":
                patched.setattr(os, "fsync", full)
            else:
                patched.setattr("pathlib.Path.write_bytes", full)
            with pytest.raises(StoreError, match=r"the disk is full: '.*stock\.csv' was not written"):
                write_file(tmp_path / "stock.csv", b"x")
        assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(sys.platform == "win32", reason="setrlimit(2) is of POSIX; the test above is for all systems")
def test_a_file_that_may_not_grow(desk, tmp_path):
    """A real limit of the system (setrlimit(2), RLIMIT_FSIZE) in the middle of an export: a sentence, and no file."""
    import resource  # Windows has none

    def small():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, 40_000))

    with Book.open(desk.book) as book:
        book.record(*(Draft(Note("C000001H", "x" * 400), 1, "M. Aldane") for _ in range(200)))
    before = sorted(path.name for path in tmp_path.iterdir() if "-shm" not in path.name and "-wal" not in path.name)
    compiles_nothing = {"PYTHONDONTWRITEBYTECODE": "1"}  # what others would then read cut short
    line = ("export", "journal", "-o", tmp_path / "pours.out")
    ran = apart(*line, book=desk.book, environment=compiles_nothing, preexec_fn=small)
    assert (ran.status, "the disk is full" in ran.err) == (1, True), ran.err
    after = sorted(path.name for path in tmp_path.iterdir() if "-shm" not in path.name and "-wal" not in path.name)
    assert after == before
