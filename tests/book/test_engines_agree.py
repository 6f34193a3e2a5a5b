"""The same entries give the same bytes, head, tables and answers on a server as in a file."""

import re
import shlex
from datetime import UTC, datetime, timedelta
from importlib.util import module_from_spec, spec_from_file_location
from itertools import zip_longest
from pathlib import Path
from random import Random
from unittest import mock

import pytest
from books_on_a_server import MappedBooks
from command import here
from eventful import eventful_book
from house import House
from hypothesis import given, settings
from random_books import books, built
from stations import IS_THOROUGH, takes_long

from pourbook.errors import PourbookError

pytestmark = pytest.mark.in_a_file("both engines are compared here already")


def of_another_test(path):
    """What stands in another module of tests."""
    spec = spec_from_file_location(Path(path).stem, Path(__file__).parents[1] / path)
    module = module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


SCHEMAS = of_another_test("cli/test_schemas.py")
golden_house = of_another_test("book/test_golden_journal.py").golden_house


@pytest.fixture(scope="module", autouse=True)
def _one_salt():
    """References of names are salted by chance; with one salt for all, heads can be the same."""
    with mock.patch("pourbook.book.coded_names.new_salt", return_value="5a" * 16):
        yield


def everything(house):
    """Bytes, hashes and every row of every table."""
    assert house.book.verify().faults == ()
    return house.book.head(), house.dump_tables()


@pytest.mark.parametrize("build", [golden_house, eventful_book])
def test_every_kind_of_entry_gives_the_same_rows(build, postgres):
    """Each kind in each of its shapes."""
    with build() as in_file, build(postgres) as on_server:
        assert everything(on_server) == everything(in_file)


@settings(max_examples=20 if IS_THOROUGH else 5)
@given(books)
def test_random_books_give_the_same_rows(server, operations):
    """Blends back in their casks, the past corrected, what is refused: the same on both, step by step."""
    address = server.fresh()
    in_file, ended = built(operations)
    on_server, also = built(operations, address)
    try:
        with in_file, on_server:
            assert told(also) == told(ended)
            assert everything(on_server) == everything(in_file)
            for item in in_file.ids:
                assert on_server.held(item) == in_file.held(item)
                assert answer(on_server.back, item) == answer(in_file.back, item)
                assert answer(on_server.forward, item, "mass") == answer(in_file.forward, item, "mass")
    finally:
        server.drop(address)


def answer(ask, *of):
    """What is answered, or the words of the refusal."""
    try:
        return ask(*of)
    except PourbookError as refusal:
        return str(refusal)


def told(ended):
    """What came of each operation, refusals in words."""
    return [(type(one), str(one)) if isinstance(one, PourbookError) else one for one in ended]


class Stopped(datetime):
    """A clock that moves a minute from command to command, the same for both."""

    minute = 0

    @classmethod
    def now(cls, zone=None):
        return datetime(2026, 11, 1, 8, tzinfo=UTC) + timedelta(minutes=cls.minute)


_TAKES = re.compile(r'"seconds": [0-9.e-]+')


class Counter:
    """A person at one of the two books; nothing they read says which."""

    def __init__(self, folder):
        self.folder, self._minute = folder, 0
        self.book = folder / "quillmere" / "quillmere.pourbook"
        status, _, err, _ = self.says(f"demo {folder / 'quillmere'}")
        assert status == 0, err

    def says(self, command, typed=""):
        """Status and both outputs."""
        Stopped.minute = self._minute = self._minute + 1
        chance = Random(Stopped.minute)
        with (
            mock.patch("pourbook.times.datetime", Stopped),
            mock.patch("secrets._sysrand._randbelow", chance.randrange),
            mock.patch("random.SystemRandom", return_value=chance),
        ):
            ran = here(
                *shlex.split(command.format(data=SCHEMAS.SAMPLE_DATA, folder=self.folder)), book=self.book, typed=typed
            )
        out, err = (_TAKES.sub("", text.replace(str(self.folder), "HERE")) for text in (ran.out, ran.err))
        return ran.status, out, err, ran.refusal


_SECRETS = ("key", "people", "person", "sign")
"""What these make is drawn by lot; accounts stand beside a book."""


def commands():
    """Every deed and every question whose answer has a schema, one after another in one house."""
    asked, deeds = SCHEMAS.ASKED.strip().splitlines(), SCHEMAS.RECORDED.replace("\\\n", "").strip().splitlines()
    for line in filter(None, (*deeds, *asked)):
        command, _, typed = SCHEMAS.named(line)[1].partition(" < ")
        if command.split()[0] not in _SECRETS:
            yield f"{command} --json", typed


def reading(items):
    """What is asked of every item, and of the whole book."""
    yield from ("stock", "stock --at 2020-01-01", "journal", "verify", "journal-hash", "today", "due", "export pours")
    for item in items:
        yield from (
            f"show {item} --history",
            f"show {item} --at 2020-01-01",
            f"trace {item}",
            f"trace {item} --forward",
        )


@pytest.fixture(scope="module")
def both(server, tmp_path_factory):
    """The sample house in a file and on a server."""
    in_file = Counter(tmp_path_factory.mktemp("file"))
    mapped = MappedBooks(server)
    try:
        on_server = Counter(tmp_path_factory.mktemp("server"))
        yield in_file, on_server
    finally:
        mapped.end()


@takes_long
def test_every_answer_and_every_refusal_is_the_same(both):
    """All reading verbs and all deeds, as JSON and in words; then every item and every row."""
    in_file, on_server = both
    assert on_server.book.read_text().startswith("postgresql://")
    told = {command: (on_server.says(command, typed), in_file.says(command, typed)) for command, typed in commands()}
    assert differing(told) == {}
    with House.reopened(in_file.book, {}) as one, House.reopened(on_server.book, {}) as other:
        assert everything(other) == everything(one)
        items = [view.id for view in one.book.stock()]
    assert differing({command: (on_server.says(command), in_file.says(command)) for command in reading(items)}) == {}


def differing(told):
    """Of each command that was answered otherwise, the first lines that differ."""
    found = {}
    for command, answers in told.items():
        lines = [[line for part in answer for line in str(part).splitlines()] for answer in answers]
        pairs = [pair for pair in zip_longest(*lines) if pair[0] != pair[1]]
        if pairs:
            found[command] = pairs[:3]
    return found
