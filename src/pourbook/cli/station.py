"""The verb that opens the other door: the station."""

import sys
from typing import TYPE_CHECKING

import click

from pourbook.cli.door import Door, reading, show_json, user
from pourbook.cli.signer import signer_of_environment
from pourbook.errors import Malformed, PourbookError, StoreError

if TYPE_CHECKING:
    from pourbook.station.asked import House
    from pourbook.station.serving import Lan

__all__ = ["station_verb"]

_PORT = 8321


@click.command("station")
@click.option("--port", type=click.IntRange(1, 65535), default=_PORT, show_default=True, help="Where to listen.")
@click.option("--name", default="station", show_default=True, help="Name of this place, kept in every entry.")
@click.option("--lan", is_flag=True, help="Serve tablets and phones in the house, too, by TLS; accounts are needed.")
@click.option("--host", "hosts", multiple=True, metavar="NAME", help="With --lan: a name it is reached by.")
@click.option("--certificate", type=click.Path(), metavar="FILE", help="With --lan: a certificate of the house, PEM.")
@click.option("--key", type=click.Path(), metavar="FILE", help="The key to that.")
@click.option("--no-browser", is_flag=True, help="Do not open the page in a browser.")
@click.option("--routes", is_flag=True, help="List every address that answers, and for whom; serve nothing.")
@reading
def station_verb(
    door: Door, port: int, name: str, hosts: tuple[str, ...], certificate: str | None, key: str | None, *, lan: bool,
    no_browser: bool, routes: bool,
) -> None:  # fmt: skip
    """Serve the pages of the bench, the cellar, the desk and of guests, on this machine.

    Open the address that it prints; it ends with Ctrl-C. Without accounts (pourbook person NAME
    --role manager --pin-stdin) it serves this machine alone, and whoever is at it may do everything.

    With --lan it makes certificates beside the book, or takes yours; each tablet trusts the root once
    (the page /trust tells how). Serve no network that strangers share.

    \b
    Example:
      pourbook station
      pourbook station --port 8400 --name "bench 2" --no-browser
      pourbook station --lan --host bench.quillmere.example
      pourbook station --routes --json
    """
    _check_installed()
    from pourbook.station.serving import Lan, listed_routes

    if routes:
        listed = listed_routes()
        if door.json:
            show_json(listed)
        else:
            _show_routes(listed)
        return
    if not lan and (hosts or certificate or key):
        raise Malformed("--host, --certificate and --key are of a station for others", "give --lan, too")
    if bool(certificate) != bool(key):
        raise Malformed("a certificate and its key belong together", "give --certificate and --key")
    others = Lan(hosts, certificate or "", key or "") if lan else None
    _serve(door, port, name, others, opens=not no_browser)


def _check_installed() -> None:
    from importlib.util import find_spec

    if missing := [part for part in ("starlette", "uvicorn", "jinja2", "multipart", "argon2") if not find_spec(part)]:
        raise StoreError(
            f"the station is not installed: {', '.join(missing)} is missing", "pip install 'pourbook[station]'"
        )


def _show_routes(listed: dict[str, object]) -> None:
    from pourbook.documents.shown import table

    ways = listed["routes"]
    assert isinstance(ways, list)
    rows = [
        [way["method"], way["path"], "anybody" if way["roles"] is None else ", ".join(way["roles"]),
         "records" if way["changes"] else ""]
        for way in ways
    ]  # fmt: skip
    click.echo("\n".join(table(["", "address", "for", ""], rows)))


def _serve(door: Door, port: int, name: str, lan: "Lan | None", *, opens: bool) -> None:
    from pourbook.station.serving import serve

    def ready(house: "House") -> None:
        click.echo(house.address)
        if house.fingerprint:
            click.echo(f"root to be trusted on tablets, {house.address}trust, SHA-256: {house.fingerprint}")
        sys.stdout.flush()
        if opens:
            click.launch(house.address)

    signer = signer_of_environment()
    if signer is not None:
        signer()  # asks for its passphrase now, not in the midst of somebody's work
    serve(door.book.path, _who(), name, port, lan=lan, ready=ready, signer=signer)


def _who() -> str:
    """Whoever is at the machine; nobody need be, where everybody signs in."""
    try:
        return user()
    except PourbookError:
        return ""
