"""Balances on the network or a serial line, read in the background: the last weight that was stable, and whether it is.

`Balances.weight_now(name, settings)` is all that a page asks. A balance is read from the first time it is asked about;
where its address or pattern was changed, the next question reads the new one. A line that is lost is opened again.
A reader keeps one line and one weight, however long it runs. Addresses come from the house's settings alone.
"""

import re
import socket
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from typing import TYPE_CHECKING, NamedTuple, Protocol

from pourbook.errors import Refused, Unknown
from pourbook.gauging.balance_lines import (
    DEFAULT_PATTERN,
    LONGEST_LINE,
    Line,
    Shown,
    Socket,
    balance_addresses,
    checked_address,
    checked_pattern,
    read_line,
)
from pourbook.times import now_us

if TYPE_CHECKING:
    from decimal import Decimal

__all__ = ["Balances", "Weight"]

_ANSWER_S = 5.0
_A_MOMENT_S = 0.5
_AGAIN_S = 2.0


class Weight(NamedTuple):
    """What a balance showed last.

    Attributes:
        grams: the last weight that was stable, or the one that moves, where none was yet.
        at_us: when that came.
        is_moving: whether what came since was not stable: then it is no weight to go by.
        is_connected: whether its line is open now.
    """

    grams: "Decimal"
    at_us: int
    is_moving: bool
    is_connected: bool


class Balances:
    """The balances of a house, each with a reader of its own once it was asked about."""

    def __init__(self) -> None:
        self._readers: dict[str, _Reader] = {}
        self._lock = threading.Lock()

    def weight_now(self, name: str, settings: Mapping[str, str]) -> Weight | None:
        """What the balance of that name shows; None before it showed anything.

        Raises:
            Unknown: the house has no balance of that name.
            Refused: it is on a serial line, and the library for that is not installed.
            Malformed: its address, or the pattern, is none.
        """
        address = balance_addresses(settings).get(name)
        if address is None:
            raise Unknown(f"no balance is called '{name}'", "set one: pourbook settings --set balance=tcp://host:port")
        wanted = address, settings["balance_pattern"] or DEFAULT_PATTERN
        with self._lock:
            reader = self._readers.get(name)
            if reader is None or reader.reads != wanted:
                if reader is not None:
                    reader.stop()
                reader = self._readers[name] = _Reader(*wanted)
            return reader.weight

    def stop(self) -> None:
        """Let go of every line."""
        with self._lock:
            for reader in self._readers.values():
                reader.stop()
            self._readers.clear()


class _Open(Protocol):
    """An open line."""

    def read(self) -> bytes | None:
        """What came within a moment; empty where nothing did, None where the other end is gone."""

    def close(self) -> None:
        """Let go of it."""


class _Reader:
    """Reads one balance in a thread of its own, which ends with the process."""

    def __init__(self, address: str, pattern: str) -> None:
        self.reads = address, pattern
        self._pattern: re.Pattern[str] = checked_pattern(pattern)
        self._open = _opening(checked_address(address))
        self._stopped = threading.Event()
        self._last: tuple[Decimal, int] | None = None
        self._is_moving, self._is_connected = False, False
        threading.Thread(target=self._run, name=f"balance {address}", daemon=True).start()

    @property
    def weight(self) -> Weight | None:
        """What it showed last."""
        last = self._last
        return Weight(*last, self._is_moving, self._is_connected) if last else None

    def stop(self) -> None:
        """End the thread within a moment."""
        self._stopped.set()

    def _run(self) -> None:
        while not self._stopped.is_set():
            with suppress(OSError, ValueError):  # it is switched off, or in use: try again
                self._read_until_lost(self._open())
            self._is_connected = False
            self._stopped.wait(_AGAIN_S)

    def _read_until_lost(self, line: _Open) -> None:
        self._is_connected, kept, is_too_long = True, b"", False
        try:
            while not self._stopped.is_set():
                came = line.read()
                if came is None:
                    return
                *whole, kept = re.split(rb"[\r\n]+", kept + came)
                for one in whole:
                    if not is_too_long and len(one) <= LONGEST_LINE:
                        self._take(one)
                    is_too_long = False
                if len(kept) > LONGEST_LINE:
                    kept, is_too_long = b"", True
        finally:
            line.close()

    def _take(self, line: bytes) -> None:
        shown: Shown | None = read_line(self._pattern, line.decode("ascii", "replace"))
        if shown is None:
            return
        self._is_moving = not shown.is_stable
        if shown.is_stable or self._last is None:
            self._last = shown.grams, now_us()


# -- lines -----------------------------------------------------------------------------


def _opening(address: Socket | Line) -> Callable[[], _Open]:
    """How a line is opened; a serial one needs its library, which is said at once."""
    if isinstance(address, Socket):
        return lambda: _SocketLine(address)
    try:
        import serial  # noqa: F401 (most balances are on the network)
    except ImportError:
        raise Refused(
            "a balance on a serial line needs the library pyserial", "install it: pip install pyserial"
        ) from None
    return lambda: _SerialLine(address)


class _SocketLine:
    def __init__(self, address: Socket) -> None:
        self._socket = socket.create_connection(address, _ANSWER_S)
        self._socket.settimeout(_A_MOMENT_S)

    def read(self) -> bytes | None:
        try:
            return self._socket.recv(LONGEST_LINE) or None
        except TimeoutError:
            return b""

    def close(self) -> None:
        self._socket.close()


class _SerialLine:
    def __init__(self, line: Line) -> None:
        import serial

        self._serial = serial.Serial(line.path, line.baud, line.bits, line.parity, timeout=_A_MOMENT_S)

    def read(self) -> bytes | None:
        came: bytes = self._serial.read(max(1, min(self._serial.in_waiting, LONGEST_LINE)))
        return came

    def close(self) -> None:
        self._serial.close()
