"""A running station, somebody who asks, and a browser before it.

The browser is Chromium as the system has it: a machine without it skips such tests, but in CI they fail.
"""

import asyncio
import os
import re
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
from contextlib import contextmanager, suppress
from itertools import cycle, product
from pathlib import Path

import httpx
import pytest
from command import compiled_once, here

PINS = {
    "technician": ("Isla Farrow", "471209"),
    "blender": ("Pankracy Wiżbor", "830164"),
    "cellar": ("Tam Orrock", "559172"),
    "auditor": ("Wilhelmina Grau", "204863"),
    "manager": ("Maud Aldane", "917350"),
}
"""People of Quillmere (invented), and their PINs."""


IS_COMPLETE = os.environ.get("POURBOOK_TESTS") == "campaign"
IS_THOROUGH = IS_COMPLETE or os.environ.get("POURBOOK_TESTS") == "thorough"

takes_long = pytest.mark.skipif(not IS_THOROUGH, reason="takes long: POURBOOK_TESTS=thorough runs it, as .ci/run does")


def pairs(rows, columns, each=1):
    """Every row with every column in a campaign; else with so many of them in turn: each of both is met."""
    if IS_COMPLETE:
        return list(product(rows, columns))
    turn = cycle(columns)
    return [(row, next(turn)) for row in rows for _ in range(each)]


def demo_book(folder):
    """The book of the sample house, as `pourbook demo` builds it in that folder."""
    here("demo", folder / "quillmere").done()
    return folder / "quillmere" / "quillmere.pourbook"


def free_port():
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


class Running:
    """A station in a process of its own."""

    def __init__(self, book, *options, environment=None):
        self.book, self.port = book, free_port()
        is_on_a_server = str(book).startswith("postgresql://")
        self.log = Path(tempfile.mkstemp(suffix=".log")[1]) if is_on_a_server else Path(f"{book}.log")
        self._out = self.log.open("ab")
        self.process = subprocess.Popen(
            [sys.executable, "-m", "pourbook", "--book", str(book), "station", "--port", str(self.port),
             "--no-browser", *options],
            stdout=subprocess.PIPE, stderr=self._out, text=True,
            env=compiled_once() | {"POURBOOK_WHO": "M. Aldane"} | (environment or {}),
        )  # fmt: skip
        self.first_line = self.process.stdout.readline().strip()
        assert self.first_line, self.log.read_text()
        self.url = self.first_line.rstrip("/")

    def stop(self):
        """Stop it as a system does; how long it took, in seconds, is not looked at."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
            self.process.wait(10)
        while _CALLERS:
            _CALLERS.pop().close()
        self._out.close()
        self.process.stdout.close()


_CALLERS = []
"""Closed with the station that they asked, whoever made them."""


class Caller:
    """Somebody who asks without a browser: keeps cookies, sends the token of the last page."""

    def __init__(self, url):
        # A line is given up before the station does so (after 5 s), or what is sent then is lost.
        self.client = httpx.Client(base_url=url, timeout=30, limits=httpx.Limits(keepalive_expiry=2))
        _CALLERS.append(self.client)
        self.token = ""

    def get(self, path, **options):
        """A page; its token is kept."""
        answer = self.client.get(path, **options)
        if found := re.search(r'name="csrf-token" content="([0-9a-f]+)"', answer.text):
            self.token = found[1]
        return answer

    def post(self, path, data=None, **options):
        """A form, with the token of the last page seen."""
        if not self.token:
            self.get("/sign-in")
        return self.client.post(
            path, data=data, headers={"X-CSRF-Token": self.token} | options.pop("headers", {}), **options
        )

    def sign_in(self, role):
        """Signed in as whoever has that role."""
        name, pin = PINS[role]
        self.get("/sign-in")
        answer = self.post("/sign-in?next=/", {"name": name, "pin": pin})
        assert answer.status_code == 303, answer.text
        self.get("/")
        return self


def make_accounts(path):
    """An account for each role."""
    from pourbook import Book
    from pourbook.actions.accounts import make_account
    from pourbook.actions.happening import Happening

    with Book.open(path) as book:
        for role in ("manager", "technician", "blender", "cellar", "auditor"):
            name, pin = PINS[role]
            make_account(book, Happening("M. Aldane"), name, role, pin)


@contextmanager
def running(book, *options, **kept):
    """A station of that book."""
    station = Running(book, *options, **kept)
    try:
        yield station
    finally:
        station.stop()


CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser") or shutil.which("google-chrome")
QUIET = (
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
)  # fmt: skip


def need(program, found):
    """Skips on a machine without that program; in the checks of a submission, which install it, that fails."""
    if not found:
        if IS_THOROUGH:
            pytest.fail(f"{program} is not installed")
        pytest.skip(f"{program} is not installed")


def type_like_a_scanner(page, keys):
    """Key after key without waiting for the page: one that waits is no faster than hands where the machine is busy."""
    keyboard = page.keyboard._impl_obj

    async def all_of_them():
        await asyncio.gather(*(stroke(key) for key in keys for stroke in (keyboard.down, keyboard.up)))

    page._sync(all_of_them())


def playwright_timeout():
    """What the driver raises where it waited in vain."""
    from playwright.sync_api import TimeoutError as InVain

    return InVain


class Watched:
    """A page whose console and requests are kept, to be looked at in the end."""

    def __init__(self, page, url):
        self.page, self.url, self.errors, self.outside = page, url, [], []
        page.on("console", lambda told: self.errors.append(told.text) if told.type == "error" else None)
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        page.on("request", self._asked)

    def _asked(self, request):
        if not request.url.startswith((self.url, "data:", "blob:", "about:")):
            self.outside.append(request.url)

    def goto(self, path):
        """To a page of the station."""
        return self.page.goto(f"{self.url}{path}")

    def scan(self, code, *, enter=True):
        """What a scanner types."""
        type_like_a_scanner(self.page, [*code, *["Enter"] * enter])

    def press_by_hand(self, key):
        """A key after a scan, as late as a hand: the second of two endings within 200 ms is the scanner's own."""
        self.page.wait_for_timeout(250)
        self.page.keyboard.press(key)

    def scan_until(self, code, selector):
        """Scan until it shows, three times at most: a busy machine types slower than any scanner, as hands would."""
        for _ in range(3):
            self.scan(code)
            with suppress(playwright_timeout()):
                self.page.wait_for_selector(selector, timeout=4000)
                return
        self.page.wait_for_selector(selector, timeout=1)

    def heard(self, outcome):
        """The words of the live region, once it has that outcome."""
        self.page.wait_for_selector(f'#heard[data-outcome="{outcome}"]', timeout=4000)
        return self.page.inner_text("#heard")

    def clean(self):
        """Nothing went wrong in the browser, and nothing was asked outside the house."""
        assert (self.errors, self.outside) == ([], [])


@contextmanager
def browsing(chromium, url, role=None, **context):
    """A page of a fresh browser, signed in where a role is given."""
    opened = chromium.new_context(**({"viewport": {"width": 1280, "height": 900}} | context))
    page = opened.new_page()
    page.set_default_timeout(8000)
    watched = Watched(page, url)
    if role:
        name, pin = PINS[role]
        watched.goto("/sign-in")
        page.fill("#f-name", name)
        page.fill("#f-pin", pin)
        page.click("main button[type=submit]")
        page.wait_for_url(f"{url}/")
    try:
        yield watched
    finally:
        opened.close()
