r"""Labels to a printer: a queue of the operating system, or the raw port of a thermal printer.

Both say exactly how far they came. A thermal printer is asked for its status after every label, so
what it has received is known. A busy one is waited for while it answers and goes on; one that does not
answer within two seconds is left alone, and the label under way is doubtful.

>>> sent = Sent(3, 1, "the printer at 192.0.2.7:9100 closed the connection")
>>> sent.whole
False
>>> host_and_port("192.0.2.7"), host_and_port("[2001:db8::7]:6101")
(('192.0.2.7', 9100), ('2001:db8::7', 6101))
"""

import socket
import subprocess
import time
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from pourbook.labels.media import Media, Sheet

__all__ = [
    "ANSWER_S", "PORT", "QUEUE_S", "STILL_S", "Sent", "Status", "host_and_port", "media_of", "queue_command",
    "send_to_port", "send_to_queue",
]  # fmt: skip

PORT = 9100
"""The raw port of printers (common practice, no source)."""

ANSWER_S = 2.0
"""A printer that takes longer to answer is dead."""

STILL_S = 60.0
"""A printer that answers but prints nothing for so long needs attention."""

QUEUE_S = 20.0
"""A print queue is slower to accept a long file."""

_ASK = b"~HS\r\n"
_END_OF_STRING = b"\x03"
_STRINGS = 3
_POLL_S = 0.05
_MOST_WAITING = 4  # labels in the printer's memory; more are held back, so that little is lost with it


class Sent(NamedTuple):
    """How far a run came: labels sent, those that may be (`doubtful`), and why it stopped, if it did."""

    sent: int
    doubtful: int = 0
    why: str = ""

    @property
    def whole(self) -> bool:
        """Whether all of it was sent."""
        return not self.why


class Status(NamedTuple):
    """A thermal printer on itself: labels received but not printed, and why it does not print; empty if it does."""

    waiting: int
    why_not: str


class _StoppedError(Exception):
    """The printer does not take more, and why."""


# -- a queue of the operating system ---------------------------------------------------------


def media_of(media: Media) -> str:
    """What print queues call the paper: a page size by its name, a label by its width and height."""
    return media.page if isinstance(media, Sheet) else f"Custom.{media.width_mm:g}x{media.height_mm:g}mm"


def queue_command(queue: str, title: str, media: str) -> list[str]:
    """The command that prints what it is given on standard input at full size.

    >>> " ".join(queue_command("lab", "Labels", "Custom.30x15mm"))
    'lp -d lab -t Labels -o media=Custom.30x15mm -o print-scaling=none -o fit-to-page=false -- -'
    """
    # The second keeps the size where queues are recent, the third where they are old.
    options = (f"media={media}", "print-scaling=none", "fit-to-page=false")
    return ["lp", "-d", queue, "-t", title, *(word for option in options for word in ("-o", option)), "--", "-"]


def send_to_queue(pdf: bytes, count: int, queue: str, title: str, media: str) -> Sent:
    """Hand a run of `count` labels to a print queue, which takes all of it or nothing; `media` as `media_of`."""
    command = queue_command(queue, title, media)
    try:
        ran = subprocess.run(command, input=pdf, capture_output=True, timeout=QUEUE_S, check=False)  # noqa: S603 (a list)
    except FileNotFoundError:
        return Sent(0, 0, "this machine has no lp command")
    except subprocess.TimeoutExpired:
        return Sent(0, count, f"the queue '{queue}' did not take the labels within {QUEUE_S:g} s")
    except OSError as error:
        return Sent(0, 0, f"lp cannot be run: {error.strerror}")
    if ran.returncode:
        said = " ".join(ran.stderr.decode(errors="replace").split()) or f"lp ended with {ran.returncode}"
        return Sent(0, 0, f"the queue '{queue}' did not take the labels: {said}")
    return Sent(count)


# -- a thermal printer --------------------------------------------------------------------------


def host_and_port(address: str) -> tuple[str, int]:
    """The two parts of an address as settings keep it."""
    host, colon, port = address.rpartition(":")
    if not colon or address.endswith("]"):
        host, port = address, ""
    return host.strip("[]"), int(port) if port else PORT


def send_to_port(jobs: Iterable[bytes], address: str) -> Sent:
    """Send labels one by one to host or host:port, each answered for by the printer before the next."""
    sent = under_way = 0
    try:
        with _Printer(address) as printer:
            printer.check(printer.status())
            for job in jobs:
                under_way = 1
                printer.send(job)
                status = printer.status()
                sent, under_way = sent + 1, 0
                printer.check(status)
                printer.room(status)
    except _StoppedError as stopped:
        return Sent(sent, under_way, str(stopped))
    except KeyboardInterrupt:
        return Sent(sent, under_way, "interrupted by the user")
    return Sent(sent)


class _Printer:
    """A connection to a printer, every wait of which ends."""

    def __init__(self, address: str) -> None:
        self._address = address
        host, port = host_and_port(address)
        self._named = f"the printer at {host}:{port}"
        try:
            self._line = socket.create_connection((host, port), ANSWER_S)
        except TimeoutError:
            raise _StoppedError(f"{self._named} does not answer") from None
        except (OSError, UnicodeError) as error:  # the latter for a name that no host can have
            why = getattr(error, "strerror", None) or error
            raise _StoppedError(f"{self._named} cannot be reached: {why}") from None

    def __enter__(self) -> "_Printer":
        return self

    def __exit__(self, *_: object) -> None:
        self._line.close()

    def send(self, data: bytes) -> None:
        self._line.settimeout(ANSWER_S)
        try:
            self._line.sendall(data)
        except TimeoutError:
            raise _StoppedError(f"{self._named} accepted no more data for {ANSWER_S:g} s") from None
        except OSError:
            raise _StoppedError(f"{self._named} closed the connection") from None

    def status(self) -> Status:
        """Ask how it stands."""
        self.send(_ASK)
        until = time.monotonic() + ANSWER_S
        answer = b""
        while answer.count(_END_OF_STRING) < _STRINGS:
            answer += self._more(until - time.monotonic())
        return _read_status(answer.decode("ascii", "replace"), self._named)

    def _more(self, left_s: float) -> bytes:
        if left_s <= 0:
            raise _StoppedError(f"{self._named} did not answer within {ANSWER_S:g} s")
        self._line.settimeout(left_s)
        try:
            got = self._line.recv(4096)
        except TimeoutError:
            raise _StoppedError(f"{self._named} did not answer within {ANSWER_S:g} s") from None
        except OSError:
            got = b""
        if not got:
            raise _StoppedError(f"{self._named} closed the connection")
        return got

    def check(self, status: Status) -> None:
        if status.why_not:
            raise _StoppedError(f"{self._named} has stopped: {status.why_not}")

    def room(self, status: Status) -> None:
        """Wait until it has printed most of what it has, as long as it goes on."""
        least, since = status.waiting, time.monotonic()
        while status.waiting >= _MOST_WAITING:
            time.sleep(_POLL_S)
            status = self.status()
            self.check(status)
            if status.waiting < least:
                least, since = status.waiting, time.monotonic()
            elif time.monotonic() - since > STILL_S:
                raise _StoppedError(f"{self._named} has printed nothing for {STILL_S:g} s")


_FLAGS: Sequence[tuple[int, int, str]] = (
    (0, 1, "paper out"),
    (0, 2, "paused"),
    (1, 2, "head open"),
    (1, 3, "ribbon out"),
)
"""String, field, and what a 1 there means."""


def _read_status(answer: str, named: str) -> Status:
    """The three strings of a host status: fields between commas, framed by STX and ETX."""
    strings = [string.split("\x02")[-1].split(",") for string in answer.split("\x03")[:_STRINGS]]
    try:
        why_not = " and ".join(words for string, field, words in _FLAGS if strings[string][field] == "1")
        return Status(int(strings[0][4]), why_not)
    except (IndexError, ValueError):
        raise _StoppedError(f"{named} did not answer like a thermal printer") from None
