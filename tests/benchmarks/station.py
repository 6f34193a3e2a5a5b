"""A busy station: eight benches that scan and pour, twenty guests, and an empty route in the same run.

    PYTHONPATH=src python tests/benchmarks/station.py [POURS] [SECONDS]

Everybody asks over loopback, by plain HTTP, as fast as a person with a scanner could: each bench scans a vial, waits
for its page, and every fourth time pours from it into its trial. The aim: the slowest in a hundred of scan-to-page (the
scan and the page it leads to) takes less than three times that of the empty route (`/healthz`) twice. What was poured
is counted in the book at the end.
"""

import asyncio
import re
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "benchmarks")]

from command import here  # noqa: E402
from reading_verbs import make_book  # noqa: E402
from stations import Running  # noqa: E402

from pourbook import Book  # noqa: E402

BENCHES, GUESTS = 8, 20
_PAUSE_S = {"bench": 0.25, "guest": 1.5, "empty": 0.1}
"""Between two things that one of them does: wet hands and a scanner; a guest with a glass; a measure of the server."""


class Line:
    """One connection that stays open, and the cookies and token of whoever is behind it."""

    def __init__(self, port):
        self.port, self.cookie, self.token = port, "", ""

    async def ask(self, method, path, body=""):
        """Status, headers and text of an answer."""
        if not hasattr(self, "_reader"):
            self._reader, self._writer = await asyncio.open_connection("127.0.0.1", self.port)
        head = f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self.port}\r\nCookie: {self.cookie}\r\n"
        if method == "POST":
            head += f"X-CSRF-Token: {self.token}\r\nHX-Request: true\r\nContent-Length: {len(body)}\r\n"
            head += "Content-Type: application/x-www-form-urlencoded\r\n"
        self._writer.write(f"{head}\r\n{body}".encode())
        headers = (await self._reader.readuntil(b"\r\n\r\n")).decode()
        length = re.search(r"(?i)content-length: (\d+)", headers)
        text = (await self._reader.readexactly(int(length[1]))).decode() if length else ""
        if cookie := re.search(r"(?i)set-cookie: (pourbook=[^;]+)", headers):
            self.cookie = cookie[1]
        if token := re.search(r'name="csrf-token" content="([0-9a-f]+)"', text):
            self.token = token[1]
        return int(headers.split()[1]), text


def prepared(book, benches):
    """A trial and two vials for each bench: vials drawn from the fullest casks."""
    found = []
    with Book.open(book) as opened:
        casks = sorted(opened.stock(kind="cask"), key=lambda one: -one.holding.mass_mg)[: 2 * benches]
    for bench in range(benches):
        vials = [
            here("draw", casks[2 * bench + one].id, "500 ml", "--confirm", book=book).done().id for one in range(2)
        ]
        parts = [word for vial in vials for word in ("--part", f"{vial}=50")]
        trial = here("trial", *parts, "--total", "900 ml", "--recipe", f"bench {bench}", book=book).done().id
        found.append((trial, vials))
    return found


async def bench(port, trial, vials, until, took, poured):
    """Scan, see the page, and now and then pour a little from it."""
    line, round_ = Line(port), 0
    await line.ask("GET", "/")
    while time.monotonic() < until:
        vial = vials[round_ % 2]
        begun = time.perf_counter()
        first, _ = await line.ask("GET", f"/scan?code={vial}")
        second, _ = await line.ask("GET", f"/item/{vial}")
        took.append(time.perf_counter() - begun)
        assert (first, second) == (200, 200), (first, second)
        if round_ % 4 == 3:
            await line.ask("POST", f"/item/{trial}/pour", f"scan={vial}")
            amount = f"0.{100 + len(poured) % 800}"
            status, text = await line.ask("POST", f"/item/{trial}/pour", f"amount={amount}")
            if status == 200 and 'data-outcome="good"' in text:
                poured.append((trial, amount))
        round_ += 1
        await asyncio.sleep(_PAUSE_S["bench"])


async def guest(port, path, until, took):
    """A phone on the table: its page, again and again."""
    line = Line(port)
    while time.monotonic() < until:
        begun = time.perf_counter()
        await line.ask("GET", path)
        took.append(time.perf_counter() - begun)
        await asyncio.sleep(_PAUSE_S["guest"])


async def empty(port, until, took):
    """The empty route, twice, as a scan and its page are two requests."""
    line = Line(port)
    while time.monotonic() < until:
        begun = time.perf_counter()
        await line.ask("GET", "/healthz")
        await line.ask("GET", "/healthz")
        took.append(time.perf_counter() - begun)
        await asyncio.sleep(_PAUSE_S["empty"])


def told(name, took):
    """Median and the slowest in a hundred, in milliseconds."""
    took.sort()
    median, slow = took[len(took) // 2] * 1e3, took[int(len(took) * 0.99)] * 1e3
    print(f"{name}: {len(took)} times, median {median:.1f} ms, p99 {slow:.1f} ms")
    return median, slow


def main(pours=100_000, seconds=60):
    """Make the book, serve it, keep everybody busy, tell what came of it."""
    with tempfile.TemporaryDirectory() as folder:
        book = make_book(ROOT / "src", Path(folder), pours)
        benches = prepared(book, BENCHES)
        station = Running(book)
        scans, pages, nothing, poured = [], [], [], []

        async def busy():
            for trial, vials in benches:  # each template is compiled when it is first asked for: that is not measured
                await bench(station.port, trial, vials, time.monotonic() + 0.5, [], [])
            await guest(station.port, "/sign-in", time.monotonic() + 0.1, [])
            until = time.monotonic() + seconds
            await asyncio.gather(
                *(bench(station.port, trial, vials, until, scans, poured) for trial, vials in benches),
                *(guest(station.port, "/sign-in", until, pages) for _ in range(GUESTS)),
                empty(station.port, until, nothing),
            )

        try:
            asyncio.run(busy())
        finally:
            station.stop()
        (base, base_slow), (scan, scan_slow) = told("empty route, twice", nothing), told("scan to page", scans)
        told("guests' page", pages)
        print(f"scan to page / empty route: median {scan / base:.2f}, p99 {scan_slow / base_slow:.2f}")
        with Book.open(book) as opened:
            recorded = sum(
                1 for trial, _ in benches for one in opened.item_card(trial, history=True).history if one.entry
            )
            faults = opened.verify().faults
        print(f"poured {len(poured)} times; the book has {recorded} lines of these trials, {len(faults)} faults")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:3]))
