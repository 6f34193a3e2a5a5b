"""A thermal printer that is not there: it listens on the loopback, and misbehaves as it is told to.

    with PretendPrinter(falls_silent_after=3) as printer:
        send_to_port(jobs, printer.address)
    printer.labels          # what it received whole, in order

It answers host status questions (~HS) with the three strings that the ZPL II programming guide
describes for them, and takes `^XA … ^XZ` for one label.
"""

import re
import socket
import threading
import time

_TOKEN = re.compile(rb"\^XA.*?\^XZ\s*|~HS\s*", re.DOTALL)


class PretendPrinter:
    """A printer of its own thread.

    Args:
        answers_after_s: how long it thinks before it answers.
        prints_in_s: how long a label takes; until then it lies in its memory.
        falls_silent_after: labels after which it takes everything and answers nothing; 0 from the start.
        closes_after: labels after which it closes the connection.
        out_of_paper_after: labels after which it says that it has no paper.
        says: what it answers instead.
    """

    def __init__(
        self,
        *,
        answers_after_s=0.0,
        prints_in_s=0.0,
        falls_silent_after=None,
        closes_after=None,
        out_of_paper_after=None,
        says=None,
    ):
        self._answers_after_s = answers_after_s
        self._prints_in_s = prints_in_s
        self._falls_silent_after = falls_silent_after
        self._closes_after = closes_after
        self._out_of_paper_after = out_of_paper_after
        self._says = says
        self.labels = []
        self.most_waiting = 0
        self._printed_until = 0.0
        self._off = False
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._listener.settimeout(0.05)
        self.address = f"127.0.0.1:{self._listener.getsockname()[1]}"
        self._thread = threading.Thread(target=self._serve, daemon=True)

    def __enter__(self):
        self._thread.start()
        return self

    def __exit__(self, *_):
        self._off = True
        self._thread.join(5)
        self._listener.close()

    def _serve(self):
        while not self._off:
            try:
                line, _ = self._listener.accept()
            except TimeoutError:
                continue
            with line:
                line.settimeout(5)
                self._talk(line)

    def _talk(self, line):
        waiting = b""
        while True:
            try:
                got = line.recv(65536)
            except OSError:
                return
            if not got:
                return
            waiting += got
            while match := _TOKEN.search(waiting):
                token, waiting = match[0], waiting[match.end() :]
                if not self._take(line, token):
                    return

    def _take(self, line, token):
        """One label or one question; False when it hangs up."""
        if token.startswith(b"^XA"):
            self.labels.append(token.rstrip())
            self._printed_until = max(self._printed_until, time.monotonic()) + self._prints_in_s
            self.most_waiting = max(self.most_waiting, self._waiting())
            return self._closes_after is None or len(self.labels) <= self._closes_after
        if self._falls_silent_after is None or len(self.labels) < self._falls_silent_after:
            time.sleep(self._answers_after_s)
            line.sendall(self._says or self._status())
        return True

    def _waiting(self):
        left = self._printed_until - time.monotonic()
        return max(0, round(left / self._prints_in_s)) if self._prints_in_s else 0

    def _status(self):
        out = self._out_of_paper_after is not None and len(self.labels) >= self._out_of_paper_after
        strings = (
            f"030,{int(out)},0,0120,{self._waiting():03d},0,0,0,000,0,0,0",
            "000,0,0,0,0,2,4,0,00000000,1,000",
            "1234,0",
        )
        return "".join(f"\x02{string}\x03\r\n" for string in strings).encode("ascii")
