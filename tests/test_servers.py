"""The server that tests start, stop and kill is there, and does what it is told."""

import os

import psycopg
import pytest
from servers import GUARDED, PASSWORD, schema_of


def written(server, word):
    server.does(f"CREATE TABLE {word} (n int)", f"INSERT INTO {word} VALUES (7)")


def test_a_server_answers_and_every_book_has_its_own_place(server):
    """Two addresses never meet."""
    one, other = server.fresh(), server.fresh()
    assert schema_of(one) != schema_of(other)
    assert server.asked("SELECT 1 + 1") == [(2,)]


def test_it_runs_as_nobody(own_server):
    """PostgreSQL itself refuses to run as the superuser; its data are not ours either."""
    assert os.stat(own_server.data).st_uid != 0


def test_what_was_committed_outlives_a_killed_server(own_server):
    """All processes of it die at once; started again, it recovers."""
    written(own_server, "kept")
    own_server.kill()
    with pytest.raises(psycopg.OperationalError):
        own_server.asked("SELECT 1")
    own_server.start()
    assert own_server.asked("SELECT n FROM kept") == [(7,)]


def test_somebody_needs_a_password(own_server):
    """The right one opens, a wrong one and none do not."""
    address = own_server.address(user=GUARDED)
    psycopg.connect(address, password=PASSWORD).close()
    for wrong in ({"password": "guess"}, {}):
        with pytest.raises(psycopg.OperationalError):
            psycopg.connect(address, **wrong)
