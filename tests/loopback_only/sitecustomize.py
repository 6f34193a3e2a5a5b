"""Lets no Python of the tests reach beyond this machine: what tries to is refused, and told in a file.

Python loads this module by its name at every start where this folder is on `PYTHONPATH`; `conftest.py` puts it there,
so whatever the tests start is held to it as well. An audit hook sees the socket calls of Python's own modules and
of all libraries that use them; it cannot be taken off again. It does not see sockets opened in C, such as libpq's.
"""

import os
import sys

LOG = "POURBOOK_TESTS_NETWORK_LOG"
"""Names the file that refused attempts are written to."""
_CALLS = {"socket.connect", "socket.sendto", "socket.sendmsg", "socket.getaddrinfo", "socket.gethostbyname"}
_HERE = {None, "", "localhost", "::1", "::", "0.0.0.0"}
_ASKED_OF_THE_ROUTES = ("192.0.2.1", 9)
"""Nobody's address (RFC 5737): a datagram socket bound for it sends nothing and learns which address of ours it has."""


class BeyondThisMachine(RuntimeError):
    """Somebody wanted to reach another machine. No OSError, which a program may take for a network that is down."""


def _refuse(event, arguments):
    if event not in _CALLS:
        return
    address = arguments[0] if event.startswith("socket.get") else arguments[1]
    host = address[0] if isinstance(address, tuple) else address
    host = host.decode() if isinstance(host, bytes) else host
    is_file = isinstance(address, str | bytes) and not event.startswith("socket.get")  # a socket in the file system
    if is_file or host in _HERE or host.startswith("127."):
        return
    if event == "socket.connect" and address == _ASKED_OF_THE_ROUTES:
        return
    if path := os.environ.get(LOG):
        with open(path, "a") as log:
            log.write(f"{event} {address!r}\n")
    raise BeyondThisMachine(f"{event} {address!r}")


sys.addaudithook(_refuse)
