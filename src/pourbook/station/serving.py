"""Serve a station: find a port, say where it is once it answers, stop when told to."""

import logging
import os
import socket
import sys
from collections.abc import Callable
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import uvicorn

from pourbook.book.addresses import is_address
from pourbook.errors import Refused, StoreError
from pourbook.queries.people.accounts import has_accounts
from pourbook.station.app import application
from pourbook.station.asked import House
from pourbook.station.workers import Workers
from pourbook.whole_book import Book

if TYPE_CHECKING:
    from pourbook.signing.ed25519 import Signer

__all__ = ["Lan", "hosts_of", "listed_routes", "serve"]

_GRACE_S = 1
"""How long open pages are waited for at the end."""


class _Server(uvicorn.Server):
    """Tells when it answers."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready = ready

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        """As of any server; then it is ready."""
        await super().startup(sockets)
        if self.started:
            self._ready()


class Lan(NamedTuple):
    """How a station serves others than this machine.

    Attributes:
        names: by which they reach it, beside this machine's address.
        certificate: path of a certificate that the house has already, with its chain; empty: one of its own is made.
        key: path of the key to that.
    """

    names: tuple[str, ...] = ()
    certificate: str = ""
    key: str = ""


def serve(
    book: str, who: str, name: str, port: int, *, lan: Lan | None = None, ready: Callable[[House], None],
    signer: "Callable[[], Signer] | None" = None,
) -> None:  # fmt: skip
    """Serve the book at that path or address until the process is told to stop; `ready` is called once it answers.

    `who` is at the machine where nobody has an account, `name` is the station's own. Without `lan` it serves this
    machine alone. `signer` holds the key that papers are signed with.

    Raises:
        StoreError: the port is taken, or may not be listened on; or certificates cannot be made or read.
        Refused: it is to serve others, and nobody has an account.
    """
    logging.basicConfig(stream=sys.stderr, format="%(asctime)s %(levelname)s %(message)s")
    house, leaf, key = _house(book, who, name, port, lan)

    def opened() -> Book:
        found = Book.open(book)
        found.signer = signer
        return found

    bound = _bound("0.0.0.0" if lan else "127.0.0.1", port)  # noqa: S104 (others are to reach it)
    config = uvicorn.Config(
        application(Workers(opened), house), log_config=None, access_log=False, lifespan="off",
        server_header=False, proxy_headers=False, ws="none", timeout_graceful_shutdown=_GRACE_S,
        limit_concurrency=400, ssl_certfile=leaf or None, ssl_keyfile=key or None,
    )  # fmt: skip
    _Server(config, lambda: ready(house)).run([bound])


def _house(book: str, who: str, name: str, port: int, lan: Lan | None) -> tuple[House, str, str]:
    """What it is started with, and the paths of certificate and key; empty where it serves this machine alone."""
    here = ("127.0.0.1", "localhost")
    if lan is None:
        return House(who, name, hosts_of(here, port), address=f"http://127.0.0.1:{port}/"), "", ""
    from pourbook.station.certificates import Certificates, certificates_for, local_addresses

    with Book.open(book) as opened:
        if not has_accounts(opened):
            raise Refused(
                "others may reach this station only once everybody signs in, and nobody has an account yet",
                "make the manager's: pourbook person NAME --role manager --pin-stdin",
            )
        called = opened.settings["house"]
    names = tuple(dict.fromkeys((*lan.names, *local_addresses(), *here)))
    made: Certificates | None = None
    if not lan.certificate:
        made = certificates_for(_kept_for(book), called, names, datetime.now(UTC))
    first = next((one for one in names if one not in here), here[0])
    house = House(
        "", name, hosts_of(names, port), is_encrypted=True, is_lan=True, address=f"https://{first}:{port}/",
        root=str(made.root) if made else "", fingerprint=made.fingerprint if made else "",
    )  # fmt: skip
    return house, str(made.leaf) if made else lan.certificate, str(made.key) if made else lan.key


def _kept_for(book: str) -> Path:
    """The folder of the certificates: beside the book's file, or of this machine where it is on a server."""
    if not is_address(book):
        return Path(f"{book}-station-tls")
    folder = Path(os.environ.get("XDG_DATA_HOME") or Path.home() / ".local" / "share") / "pourbook"
    folder.mkdir(parents=True, exist_ok=True)
    return folder / f"{sha256(book.encode()).hexdigest()[:16]}-station-tls"


def _bound(host: str, port: int) -> socket.socket:
    family = socket.AF_INET6 if ":" in host else socket.AF_INET
    # By its full name: asyncio sends small answers at once (TCP_NODELAY) only where it knows that it is TCP.
    listening = socket.socket(family, socket.SOCK_STREAM, socket.IPPROTO_TCP)
    listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
    try:
        listening.bind((host, port))
    except (OSError, OverflowError) as error:
        listening.close()
        told = getattr(error, "strerror", None) or str(error)
        raise StoreError(
            f"the station cannot listen on port {port}: {told}", "give another one: --port 8322"
        ) from error
    return listening


def hosts_of(names: tuple[str, ...], port: int) -> tuple[str, ...]:
    """What a browser may call the station by: each name with the port, and bare where it is the usual one."""
    bare = names if port in (80, 443) else ()
    return tuple(f"{name}:{port}" for name in names) + bare


def listed_routes() -> dict[str, object]:
    """The routing table as a document."""
    from pourbook.station import pages

    return {
        "routes": [
            {"method": way.method, "path": way.path, "roles": None if way.roles is None else list(way.roles),
             "changes": way.changes, "file": way.file}
            for way in pages.ways()
        ]
    }  # fmt: skip
