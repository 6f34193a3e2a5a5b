"""At run time pourbook asks nothing of any network: no telemetry, no look for a newer version, no font from elsewhere.

Every test runs under the guard of `loopback_only/`; here it is shown to hold, and the whole demo, every page of the
station that needs no further word, and the papers run in processes of their own under it.
"""

import os
import socket
import subprocess
import sys

import httpx
import pytest
from command import apart
from stations import running

ELSEWHERE = "192.0.2.1"  # RFC 5737: an address that is nobody's, kept for examples
PAPERS = (
    ("dossier", "Lot 2026-1", "-o", "dossier.pdf", "-o", "dossier.html", "-o", "dossier.json"),
    ("provenance", "Q 206", "-o", "cask.pdf"),
    ("account", "--from", "2026-01-01", "--to", "2026-12-31", "-o", "account.pdf"),
    ("recall", "--item", "Q 206", "--mock", "--reason", "exercise", "-o", "recall.pdf"),
    ("export", "graphml", "Lot 2026-1", "-o", "lot.graphml"),
    ("trace", "Lot 2026-1", "--picture", "flow.svg"),
    ("label", "Q 206", "--template", "cask-head-100x70", "-o", "head.pdf"),
    ("verify",),
)


@pytest.fixture(scope="module")
def attempts(tmp_path_factory):
    """What the processes of this module tried to reach: a file, one line for each attempt."""
    return tmp_path_factory.mktemp("network") / "attempts"


@pytest.fixture(scope="module")
def book(attempts):
    """The book of the demo, made under the guard."""
    folder = attempts.parent / "quillmere"
    apart("demo", folder, environment={"POURBOOK_TESTS_NETWORK_LOG": str(attempts)}).done()
    return folder / "quillmere.pourbook"


def test_no_test_reaches_another_machine():
    with pytest.raises(RuntimeError, match=r"192\.0\.2\.1"), socket.socket() as plug:
        plug.connect((ELSEWHERE, 80))
    with pytest.raises(RuntimeError, match=r"quillmere\.example"):
        socket.getaddrinfo("quillmere.example", 443)
    with pytest.raises(RuntimeError), socket.socket(type=socket.SOCK_DGRAM) as plug:
        plug.sendto(b"", (ELSEWHERE, 53))


def test_no_process_of_a_test_does(tmp_path):
    """And what was tried stands in the file, so that a program which swallows errors is found out, too."""
    code = f"import urllib.request as u\ntry: u.urlopen('http://{ELSEWHERE}/')\nexcept Exception: print('swallowed')"
    log = tmp_path / "attempts"
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        env={**os.environ, "POURBOOK_TESTS_NETWORK_LOG": str(log)},
    )  # fmt: skip
    assert ran.stdout == "swallowed\n"
    assert ELSEWHERE in log.read_text()


def test_the_demo_needs_no_network(book, attempts):
    assert book.exists()
    assert not attempts.exists(), attempts.read_text()


@pytest.mark.parametrize("paper", PAPERS, ids=lambda paper: " ".join(paper[:2]))
def test_papers_need_no_network(paper, book, attempts, tmp_path):
    where = {"environment": {"POURBOOK_TESTS_NETWORK_LOG": str(attempts)}, "cwd": tmp_path}
    told = apart(*paper, book=book, **where)
    assert told.status == 0, told.err
    assert not attempts.exists(), attempts.read_text()


def test_pages_need_no_network(book, attempts):
    """Every page that needs no item and no further word, on a station that serves this machine."""
    from pourbook.station.serving import listed_routes

    paths = [
        route["path"] for route in listed_routes()["routes"]
        if route["method"] == "GET" and "{" not in route["path"]
    ]  # fmt: skip
    with running(book, environment={"POURBOOK_TESTS_NETWORK_LOG": str(attempts)}) as station, httpx.Client() as asking:
        answers = {path: asking.get(station.url + path, timeout=60).status_code for path in paths}
    assert len(answers) > 30
    assert not {path: status for path, status in answers.items() if status >= 500}
    assert answers["/casks"] == 200
    assert not attempts.exists(), attempts.read_text()
