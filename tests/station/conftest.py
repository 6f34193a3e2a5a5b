"""Stations of the sample house, and a browser: one of each for all tests of a module."""

import shutil

import pytest
from blended_house import blended_house
from stations import CHROMIUM, IS_THOROUGH, QUIET, Caller, browsing, demo_book, make_accounts, need, running

LONG = frozenset(("test_security.py", "test_plans.py", "test_bottling.py", "test_blind_sessions.py", "test_guests.py"))
"""Files that walk through every route or a whole batch: minutes of the processor together."""


def pytest_collection_modifyitems(items):
    """By hand, nobody waits for a browser or for every route: the checks of a submission run them all."""
    left = pytest.mark.skip(reason="takes long: POURBOOK_TESTS=thorough runs it, as .ci/run does")
    for item in () if IS_THOROUGH else items:
        if item.path.parent.name == "station" and (item.path.name in LONG or "chromium" in item.fixturenames):
            item.add_marker(left)


@pytest.fixture(scope="session")
def demo(tmp_path_factory):
    """The book of the sample house, made once; copy it before recording in it."""
    return demo_book(tmp_path_factory.mktemp("demo"))


@pytest.fixture(scope="module")
def open_house(demo, tmp_path_factory):
    """A station of a copy of the demo house without accounts."""
    book = tmp_path_factory.mktemp("open") / "quillmere.pourbook"
    shutil.copy(demo, book)
    with running(book) as station:
        yield station


@pytest.fixture(scope="module")
def house_with_accounts(demo, tmp_path_factory):
    """A station of a copy of the demo house with one account of each role."""
    book = tmp_path_factory.mktemp("accounts") / "quillmere.pourbook"
    shutil.copy(demo, book)
    make_accounts(book)
    with running(book) as station:
        yield station


@pytest.fixture
def caller(open_house):
    """Whoever is at the machine of a house without accounts."""
    return Caller(open_house.url)


@pytest.fixture
def as_role(house_with_accounts):
    """How to sign in as somebody of a role."""
    return lambda role: Caller(house_with_accounts.url).sign_in(role)


@pytest.fixture(scope="session")
def chromium():
    """A browser; one for all tests."""
    need("Chromium", CHROMIUM)
    playwright = pytest.importorskip("playwright.sync_api")
    with playwright.sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=CHROMIUM, args=list(QUIET))
        yield browser
        browser.close()


@pytest.fixture
def browse(chromium, open_house):
    """A page of the house without accounts; what went wrong in it fails the test."""
    with browsing(chromium, open_house.url) as watched:
        yield watched
        watched.clean()


@pytest.fixture(scope="session")
def blended(tmp_path_factory):
    """The book of the sample house with a trial for a batch, made once; copy it before recording in it."""
    return blended_house(tmp_path_factory.mktemp("blended") / "quillmere").book
