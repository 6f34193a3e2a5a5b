"""Serve a station: find a port, say where it is once it answers, stop when told to."""

import logging
import socket
import sys
from collections.abc import Callable

import uvicorn

from pourbook.errors import StoreError
from pourbook.station.app import application
from pourbook.station.asked import House
from pourbook.station.workers import Workers
from pourbook.whole_book import Book

__all__ = ["hosts_of", "listed_routes", "serve"]

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


def serve(
    book: str, house: House, host: str, port: int, *, ready: Callable[[], None],
    certificate: tuple[str, str] | None = None,
) -> None:  # fmt: skip
    """Serve the book at that path until the process is told to stop.

    `certificate` are the paths of the leaf, with its chain, and of its key.

    Raises:
        StoreError: the port is taken, or may not be listened on.
    """
    logging.basicConfig(stream=sys.stderr, format="%(asctime)s %(levelname)s %(message)s")
    bound = _bound(host, port)
    leaf, key = certificate or (None, None)
    config = uvicorn.Config(
        application(Workers(lambda: Book.open(book)), house), host=host, port=port, log_config=None,
        access_log=False, lifespan="off", server_header=False, proxy_headers=False, ws="none",
        timeout_graceful_shutdown=_GRACE_S, limit_concurrency=400, ssl_certfile=leaf, ssl_keyfile=key,
    )  # fmt: skip
    _Server(config, ready).run([bound])


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
