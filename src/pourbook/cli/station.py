"""The verb that opens the other door: the station."""

import sys

import click

from pourbook.cli.door import Door, reading, show_json, user
from pourbook.errors import PourbookError, StoreError

__all__ = ["station_verb"]

_PORT = 8321


@click.command("station")
@click.option("--port", type=click.IntRange(1, 65535), default=_PORT, show_default=True, help="Where to listen.")
@click.option("--name", default="station", show_default=True, help="Name of this place, kept in every entry.")
@click.option("--no-browser", is_flag=True, help="Do not open the page in a browser.")
@click.option("--routes", is_flag=True, help="List every address that answers, and for whom; serve nothing.")
@reading
def station_verb(door: Door, port: int, name: str, no_browser: bool, routes: bool) -> None:
    """Serve the pages of the bench, the cellar, the desk and of guests, on this machine.

    Open the address that it prints; it ends with Ctrl-C. Without accounts (pourbook person NAME
    --role manager --pin-stdin) it serves this machine alone, and whoever is at it may do everything.

    \b
    Example:
      pourbook station
      pourbook station --port 8400 --name "bench 2" --no-browser
      pourbook station --routes --json
    """
    _check_installed()
    from pourbook.station.serving import listed_routes

    if routes:
        listed = listed_routes()
        if door.json:
            show_json(listed)
        else:
            _show_routes(listed)
        return
    _serve(door, port, name, opens=not no_browser)


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


def _serve(door: Door, port: int, name: str, *, opens: bool) -> None:
    from pourbook.station.asked import House
    from pourbook.station.serving import hosts_of, serve

    path = door.book.files[0]
    address = f"http://127.0.0.1:{port}/"

    def ready() -> None:
        click.echo(address)
        sys.stdout.flush()
        if opens:
            click.launch(address)

    house = House(_who(), name, hosts_of(("127.0.0.1", "localhost"), port), address=address)
    serve(path, house, "127.0.0.1", port, ready=ready)


def _who() -> str:
    """Whoever is at the machine; nobody need be, where everybody signs in."""
    try:
        return user()
    except PourbookError:
        return ""
