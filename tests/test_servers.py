"""The server that tests start, stop and kill is there, and does what it is told."""

import os

import psycopg
import pytest
from cut_line import CutLine
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


def load(connection, rows):
    """Rows by COPY, in several messages."""
    with connection.cursor().copy("COPY copied FROM STDIN") as copy:
        for begin in range(0, len(rows), 60_000):
            copy.write(rows[begin : begin + 60_000])


@pytest.mark.parametrize("answered", [False, True])
def test_a_line_is_cut_in_every_statement(server, answered):
    """Each in turn: one that never arrived did nothing, one whose answer is lost did all."""
    table = f"cut_{answered}".lower()
    server.does(f"CREATE TABLE {table} (n int)")
    for number in (1, 2, 3):
        with CutLine(server.port) as line:
            connection = psycopg.connect(server.address(port=line.port), autocommit=True)
            line.cut_at(number, answered=answered)
            for _ in range(number - 1):
                connection.execute(f"INSERT INTO {table} VALUES (%s)", (number,))
            with pytest.raises(psycopg.OperationalError):
                connection.execute(f"INSERT INTO {table} VALUES (%s)", (number,))
            assert line.was_cut
            again = psycopg.connect(server.address(port=line.port), autocommit=True)
            assert again.execute("SELECT 1").fetchall() == [(1,)], "whoever connects again gets through"
            again.close()
        assert server.asked(f"SELECT count(*) FROM {table} WHERE n = {number}") == [(number - 1 + answered,)]
    server.does(f"DROP TABLE {table}")


def test_rows_of_a_copy_are_statements_of_their_own(server):
    """A bulk load can be cut half-way, and nothing of it stays."""
    server.does("CREATE TABLE copied (n int)")
    with CutLine(server.port) as line:
        connection = psycopg.connect(server.address(port=line.port), autocommit=True)
        line.cut_at(3)
        with pytest.raises(psycopg.OperationalError):
            load(connection, "7\n" * 600_000)
        assert line.was_cut
    assert server.asked("SELECT count(*) FROM copied") == [(0,)]
    server.does("DROP TABLE copied")
