"""Fixtures shared by all tests: a clock that stands still, and an empty book of Quillmere."""

import ctypes
import importlib
import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

sys.path.insert(0, str(Path(__file__).parent))
_GUARD = Path(__file__).parent / "loopback_only"
if str(_GUARD) not in os.environ.get("PYTHONPATH", "").split(os.pathsep):  # else this process was started with it
    os.environ["PYTHONPATH"] = os.pathsep.join(filter(None, (str(_GUARD), os.environ.get("PYTHONPATH"))))
    sys.path.insert(0, str(_GUARD))
    sys.modules.pop("sitecustomize", None)  # the system's own, if it has one
    importlib.import_module("sitecustomize")

_QUIET = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}
settings.register_profile("quick", max_examples=10, derandomize=True, **_QUIET)
settings.register_profile("thorough", max_examples=20, derandomize=True, **_QUIET)
settings.register_profile("campaign", max_examples=1000, **_QUIET)
settings.load_profile(os.environ.get("POURBOOK_TESTS", "quick"))


def pytest_addoption(parser):
    """`--update-golden` writes the golden files anew; read the difference before keeping it."""
    parser.addoption("--update-golden", action="store_true", help="write golden files anew")


@pytest.fixture(autouse=True, scope="session")
def _salts():
    """Names have one salt in all tests, so that books made alike have one head; `test_coded_names.py` has real ones."""
    from pourbook.book import coded_names

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(coded_names, "new_salt", lambda: "5a" * 16)
        yield


@pytest.fixture(autouse=True, scope="session")
def _well_formed():
    """Whatever any test records is of the form that a join asks for: a group refuses nothing that we write."""
    from pourbook.book import recording
    from pourbook.book.entry_forms import misshapen

    written = recording.canonical

    def canonical(entry):
        assert misshapen(entry) == "", entry
        return written(entry)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(recording, "canonical", canonical)
        yield


def pytest_configure(config):
    """`POURBOOK_TESTS_STORE=postgres` puts every book on a server."""
    config.addinivalue_line("markers", "in_a_file(why): what it shows is of a book in SQLite's file")
    hands_out = getattr(config.option, "dist", "no") != "no" and not hasattr(config, "workerinput")
    if os.environ.get("POURBOOK_TESTS_STORE") == "postgres" and not hands_out:
        from books_on_a_server import MappedBooks
        from servers import the_server

        config.its_server = the_server()
        config.mapped_books = MappedBooks(config.its_server.__enter__())
        # A book that nobody closed is let go by the collector; only the server minds.
        config.addinivalue_line("filterwarnings", "ignore:.*deleted while still open:ResourceWarning")


def pytest_unconfigure(config):
    """The server goes with the tests."""
    if mapped := getattr(config, "mapped_books", None):
        mapped.end()
        config.its_server.__exit__(None, None, None)


def pytest_collection_modifyitems(config, items):
    """Leave out what is of a file, where no book is in one."""
    if hasattr(config, "mapped_books"):
        for item in items:
            if mark := item.get_closest_marker("in_a_file"):
                item.add_marker(pytest.mark.skip(reason=f"in a file: {mark.args[0]}"))


def pytest_runtest_teardown(item):
    """Books in a test's own folder go with it."""
    mapped, folder = getattr(item.config, "mapped_books", None), getattr(item, "funcargs", {}).get("tmp_path")
    if mapped and folder:
        mapped.forget(folder)


@pytest.fixture
def clock():
    """A clock that moves only when it is told to."""
    from house import Clock

    return Clock()


@pytest.fixture
def house():
    """Quillmere's empty book, spoken to in the trade's language."""
    from house import House

    with House() as empty:
        yield empty


@pytest.fixture(scope="session")
def server():
    """A PostgreSQL server, one for each process that tests."""
    from servers import the_server

    with the_server() as running:
        yield running


@pytest.fixture
def own_server():
    """A PostgreSQL server that the test may stop and kill."""
    from servers import GIVEN, the_server

    if GIVEN:
        pytest.skip("a server that was given is not ours to stop")
    with the_server() as running:
        yield running


@pytest.fixture
def postgres(server):
    """The address of a schema that is not there yet; gone when the test ends."""
    address = server.fresh()
    yield address
    server.drop(address)


@pytest.fixture
def bound():
    """How to run the command bound by the rights on files, which the superuser is not."""
    if not hasattr(os, "geteuid"):
        pytest.skip("rights are set the Unix way")
    if os.geteuid():
        return {}
    if sys.platform != "linux":
        pytest.skip("the superuser may do everything, and only Linux lets it give that up")
    return {"preexec_fn": _give_up_the_rights_of_root}


def _give_up_the_rights_of_root():
    drop_from_bounding_set, dac_override, dac_read_search = 24, 1, 2  # linux/prctl.h and linux/capability.h
    for right in (dac_override, dac_read_search):
        ctypes.CDLL(None).prctl(drop_from_bounding_set, right, 0, 0, 0)
