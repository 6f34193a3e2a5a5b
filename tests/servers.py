"""A PostgreSQL server of the tests' own: on loopback, as somebody without rights, gone at the end.

    with serving() as server:
        book = Book.create(server.fresh(), house="Quillmere")   # a schema that nobody else uses

`POURBOOK_TESTS_POSTGRES=postgresql://USER@HOST:PORT/NAME` takes a server that runs already, which is neither stopped
nor killed. Programs are looked for in PATH and where Debian puts them. A machine without them skips such tests, but in
the checks of a submission they fail (`the_server`).
"""

import ctypes
import os
import secrets
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
import time
from contextlib import contextmanager, suppress
from pathlib import Path
from urllib.parse import quote, urlsplit

GIVEN = os.environ.get("POURBOOK_TESTS_POSTGRES", "")
"""The address of a server that runs already, or nothing."""

USER = "pourbook"
"""Who owns the server of the tests; needs no password."""

GUARDED, PASSWORD = "keeper", "Ölkanne 7"
"""Somebody who needs a password, and theirs: not plain letters, as people choose them."""

_PATIENCE_S = 60
_FAST = ("fsync=off", "full_page_writes=off", "autovacuum=off")
"""What a server may do without whose data need not outlive a failure of the power; a killed server loses nothing."""


def binaries():
    """The folder that holds initdb and postgres, or None."""
    found = [Path(path).parent for path in [shutil.which("initdb")] if path]
    found += sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda one: int(one.parent.name), reverse=True)
    return next((one for one in found if all((one / each).exists() for each in ("initdb", "postgres"))), None)


def free_port():
    """A port that nobody listens on."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return probe.getsockname()[1]


def _unprivileged():
    """How a process gives up the superuser, as which no server runs."""
    if not hasattr(os, "geteuid") or os.geteuid():
        return {}
    import pwd

    nobody = pwd.getpwnam("nobody")
    return {"user": nobody.pw_uid, "group": nobody.pw_gid, "extra_groups": []}


class Server:
    """A server with its data in a folder; the folder is made when it is new.

    Args:
        folder: an empty folder for the data, which somebody without rights can reach.
        settings: `name=value` for the server, beside those that make it fast; later ones win.
    """

    def __init__(self, folder, *settings):
        self.data, self.port = Path(folder) / "data", free_port()
        self.log = Path(folder) / "log"
        self._settings = (*_FAST, *settings)
        self._own = _unprivileged()
        if self._own:
            os.chown(folder, self._own["user"], self._own["group"])
        made = subprocess.run(
            [binaries() / "initdb", "-D", self.data, "-U", USER, "-A", "trust", "-E", "UTF8", "--locale=C", "-N"],
            cwd="/", stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True, **self._own,
        )  # fmt: skip
        assert made.returncode == 0, made.stdout
        rules = self.data / "pg_hba.conf"
        rules.write_text(f"host all {GUARDED} 127.0.0.1/32 scram-sha-256\n{rules.read_text()}")
        self.start()
        self.does(
            f"CREATE ROLE {GUARDED} LOGIN PASSWORD '{PASSWORD}'", f"GRANT CREATE ON DATABASE postgres TO {GUARDED}"
        )

    @property
    def owner(self):
        """Numbers of the user and the group that it runs as."""
        about = self.data.stat()
        return about.st_uid, about.st_gid

    def start(self):
        """Start it, or start it again after it was stopped or killed, and wait until it answers."""
        given = (f"port={self.port}", "listen_addresses=127.0.0.1", "unix_socket_directories=", *self._settings)
        with self.log.open("ab") as log:
            self.process = subprocess.Popen(
                [binaries() / "postgres", "-D", self.data, *(word for one in given for word in ("-c", one))],
                cwd="/", stdin=subprocess.DEVNULL, stdout=log, stderr=log, preexec_fn=_dies_with_us, **self._own,
            )  # fmt: skip
        until = time.monotonic() + _PATIENCE_S
        while not self._is_ready():
            assert self.process.poll() is None, self.log.read_text()
            assert time.monotonic() < until, self.log.read_text()
            time.sleep(0.01)

    def _is_ready(self):
        """Whether this process of it takes connections: its file says so."""
        with suppress(OSError):
            told = (self.data / "postmaster.pid").read_text().splitlines()
            return len(told) > 7 and told[0] == str(self.process.pid) and told[7].strip() == "ready"
        return False

    def stop(self, sign=signal.SIGINT):
        """Stop it: SIGTERM waits for everybody, SIGINT ends their transactions, SIGQUIT is as if it had crashed."""
        if self.process.poll() is None:
            self.process.send_signal(sign)
            self.process.wait(_PATIENCE_S)

    def kill(self):
        """SIGKILL for all its processes, without a chance to tidy up; `start` recovers it."""
        others = _children(self.process.pid)
        self.process.kill()
        for process in others:
            with suppress(ProcessLookupError):
                os.kill(process, signal.SIGKILL)
        self.process.wait(_PATIENCE_S)
        until = time.monotonic() + _PATIENCE_S
        while any(_lives(process) for process in others):
            assert time.monotonic() < until, "the server did not die"
            time.sleep(0.01)

    def address(self, *, schema="", name="postgres", user=USER, port=None):
        """The address of a book on it."""
        end = f"?schema={quote(schema)}" if schema else ""
        return f"postgresql://{user}@127.0.0.1:{port or self.port}/{name}{end}"

    def fresh(self, **kept):
        """The address of a schema that is not there yet."""
        return self.address(schema=f"t_{secrets.token_hex(8)}", **kept)

    def asked(self, statement, *values):
        """The rows of a question that no store asks."""
        with _connected(self.address()) as connection:
            return connection.execute(statement, values).fetchall()

    def does(self, *statements):
        """Something done behind everybody's back."""
        with _connected(self.address()) as connection:
            for statement in statements:
                connection.execute(statement)

    def drop(self, address):
        """Away with the schema of a book; one that a failed test left locked stays until the server ends."""
        import psycopg

        with suppress(psycopg.errors.LockNotAvailable):
            self.does("SET lock_timeout = '2s'", f'DROP SCHEMA IF EXISTS "{schema_of(address)}" CASCADE')


class GivenServer(Server):
    """A server that runs already and is somebody's: schemas come and go, all else stays."""

    def __init__(self, address):
        self._address = address.partition("?")[0]

    def address(self, *, schema="", **others):
        """The address of a book on it."""
        assert not others, "a server that was given has one database and one user"
        return f"{self._address}?schema={quote(schema)}" if schema else self._address

    def start(self):
        raise AssertionError("a server that was given is not ours to start")

    stop = kill = start


def schema_of(address):
    """The schema that an address names."""
    from urllib.parse import parse_qs

    return parse_qs(urlsplit(address).query).get("schema", ["public"])[0]


@contextmanager
def serving(*settings):
    """A server for as long as it is wanted."""
    if GIVEN:
        yield GivenServer(GIVEN)
        return
    folder = tempfile.mkdtemp(prefix="pourbook-server-")
    os.chmod(folder, 0o755)
    server = None
    try:
        server = Server(folder, *settings)
        yield server
    finally:
        if server is not None:
            server.stop(signal.SIGQUIT)
        shutil.rmtree(folder, ignore_errors=True)


def the_server():
    """A server, or the test is skipped; in the checks of a submission, which install it, that fails."""
    from stations import need

    need("PostgreSQL", GIVEN or binaries())
    return serving()


def _dies_with_us():
    """The server stops at once when the process of the tests is killed, where the system can do that."""
    if sys.platform == "linux":
        set_death_signal = 1  # linux/prctl.h
        ctypes.CDLL(None).prctl(set_death_signal, signal.SIGQUIT, 0, 0, 0)


def _connected(address):
    import psycopg

    return psycopg.connect(address.partition("?")[0], autocommit=True)


def _children(process):
    """Processes of that parent, where the system tells."""
    found = []
    for status in Path("/proc").glob("[0-9]*/stat"):
        with suppress(OSError):
            after_name = status.read_text().rpartition(")")[2].split()
            if int(after_name[1]) == process:
                found.append(int(status.parent.name))
    return found


def _lives(process):
    """Whether it runs; one that died and was not fetched yet does not."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] != "Z"
    except OSError:
        return False
