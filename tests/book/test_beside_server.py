"""What is kept beside a book on a server: in its schema, private to it, shared by stations, no part of the book."""

import threading

import pytest
from house import Clock, House
from servers import schema_of

from pourbook import Book
from pourbook.actions.accounts import sign_in
from pourbook.actions.happening import Happening
from pourbook.book.beside_book import BesideBook
from pourbook.errors import Damaged, NewerBook, PourbookError, Refused

HOW = Happening("M. Aldane")
PIN = "482913"


@pytest.fixture
def path(postgres):
    """A house with a manager."""
    with Book.create(postgres, house="Quillmere", clock=Clock()) as book:
        book.make_account(HOW, "Isla Farrow", "manager", PIN)
    return postgres


def named(server, path):
    rows = server.asked("SELECT tablename FROM pg_tables WHERE schemaname = %s ORDER BY 1", schema_of(path))
    return [name for (name,) in rows if name.startswith("station_")]


def test_nothing_is_made_until_something_is_kept(postgres, server):
    """Asking is not keeping."""
    with House(postgres) as house:
        assert house.book.accounts() == ()
        assert house.book.signed_in("nobody") is None
        assert named(server, postgres) == []


def test_accounts_are_the_same_for_every_process(path, server):
    """Made by one, used by the other, ended by the first; verification and repair leave them alone."""
    with Book.open(path) as one, Book.open(path) as other:
        token = sign_in(other, "Isla Farrow", PIN)
        again = sign_in(other, "Isla Farrow", PIN)
        assert one.signed_in(token.token).name == "Isla Farrow"
        first, second = one.beside.sign_ins()
        assert second.number > first.number
        with pytest.raises(Refused):
            sign_in(one, "Isla Farrow", "111111")
        assert len(other.beside.failures("name", first.person)) == 1
        one.beside.end_sign_ins([first.number, second.number])
        assert other.signed_in(token.token) is None
        assert sign_in(one, "Isla Farrow", PIN).token != again.token
        assert one.beside.sign_ins()[0].number > second.number, "a number is never given twice"
        assert one.verify().faults == ()
        one.repair()
        assert len(one.accounts()) == 1
    assert named(server, path) == [
        "station_account", "station_book", "station_failure", "station_in_hand", "station_invitation",
        "station_secret", "station_sign_in",
    ]  # fmt: skip


def test_work_in_hand_and_guests(path):
    """Kept, replaced, dropped; an invitation holds until it is ended; one secret for all."""
    with Book.open(path, clock=Clock()) as book, Book.open(path, clock=Clock()) as other:
        for value in ({"parts": [12]}, {"parts": []}):
            book.beside.keep_in_hand("P000002G", "pour T000001J", value)
        assert other.beside.in_hand("P000002G", "pour T000001J") == {"parts": []}
        other.beside.drop_in_hand("P000002G", "pour T000001J")
        assert book.beside.tasks_in_hand("P000002G") == []
        first, second, third = (book.beside.invite(*of) for of in (("May", "318"), ("May", "542"), ("June", "318")))
        other.beside.end_invitations("May", "318")
        assert [book.beside.invited(one) for one in (first, second)] == [None, ("May", "542")]
        other.beside.end_invitations("May")
        assert [book.beside.invited(one) for one in (second, third)] == [None, ("June", "318")]
        assert book.beside.secret == other.beside.secret


def test_many_at_once_make_it_and_write_it(postgres):
    """Eight stations begin at the same moment: all that was kept is there."""
    with House(postgres):
        failed = []

        def station(number):
            try:
                with Book.open(postgres) as book:
                    book.beside.keep_in_hand(f"P{number}", "pour", number)
                    book.beside.keep_failure("name", "X")
            except PourbookError as refused:  # a thread cannot raise
                failed.append(refused)

        stations = [threading.Thread(target=station, args=(number,)) for number in range(8)]
        for one in stations:
            one.start()
        for one in stations:
            one.join()
        assert failed == []
        with Book.open(postgres) as book:
            assert [book.beside.in_hand(f"P{number}", "pour") for number in range(8)] == list(range(8))
            assert len(book.beside.failures("name", "X")) == 8


def test_all_of_it_or_nothing(path, server):
    """What fails half-way leaves nothing; a server's line that was cut is made anew."""
    with Book.open(path) as book:

        def half_way():
            with book.beside.transaction():
                book.beside.keep_in_hand("P1", "pour", 1)
                raise Refused("no")

        with pytest.raises(Refused):
            half_way()
        assert book.beside.in_hand("P1", "pour") is None
        server.asked("SELECT pg_terminate_backend(%s)", book.beside._file._line.connection.info.backend_pid)
        book.beside.keep_in_hand("P1", "pour", 2)
        assert book.beside.in_hand("P1", "pour") == 2


def test_another_books_accounts_and_a_later_versions_are_refused(path, server):
    """Accounts that stayed behind must not open another book."""
    with Book.open(path) as book:
        other = BesideBook(path, book.clock, "the hash of another book")
        with pytest.raises(Damaged, match="another book"):
            other.accounts()
        other.close()
    server.does(f"UPDATE {schema_of(path)}.station_book SET version = 99")
    with Book.open(path) as book, pytest.raises(NewerBook):
        book.accounts()
