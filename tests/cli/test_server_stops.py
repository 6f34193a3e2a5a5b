"""A server that stops while a loop takes lines: what was recorded, what was not, and how it goes on."""

import pytest
from command import here

from pourbook.actions.pouring_session import PouringSession
from pourbook.errors import NotShown, NotTaken


@pytest.fixture
def vials(own_server):
    """The address of a house with a vat and two vials."""
    book = own_server.fresh()
    here("create", book, "--house", "Quillmere").done()
    for ref in ("S 1", "S 2"):
        bought = ("--strength", "60", "--supplier", "Tarn Bulk Spirit", "--in-wood", "5 y")
        here("vial", "50 ml", "--ref", ref, *bought, book=book).done()
    here("batch", "Vat 2", book=book).done()
    return book


def _recorded(book):
    return [entry["number"] for entry in here("journal", "--json", book=book).done().json["entries"]]


def test_a_glass_scanned_as_the_server_stops_is_said_not_to_be_recorded(own_server, vials):
    """The pour before it is complete: nothing that follows it failed, and nothing is to be done again of it."""

    def lines():
        yield from ("S 1\n", "5 ml\n")
        own_server.stop()
        yield "S 2\n"

    ran = here("pour", "Vat 2", book=vials, typed=lines())
    own_server.start()
    last = _recorded(vials)[-1]
    assert (ran.status, ran.refusal) == (1, NotTaken)
    assert f"'S 2' was not recorded; the last entry recorded is {last}, 5 ml from S 1\n" in ran.err
    assert "the same command goes on; begin with what was scanned last" in ran.err
    assert "what follows failed" not in ran.err
    assert here("pour", "Vat 2", book=vials, typed="S 2\n5 ml\n").status == 0, "the same command goes on"
    assert _recorded(vials)[-1] == last + 1


def test_a_loop_that_recorded_nothing_yet_says_so(own_server, vials):
    """No earlier entry of the book is taken for one of the loop's."""

    def lines():
        own_server.stop()
        yield "S 2\n"

    ran = here("pour", "Vat 2", book=vials, typed=lines())
    own_server.start()
    assert ran.refusal is NotTaken
    assert "'S 2' was not recorded; nothing was recorded before it\n" in ran.err


def test_what_fails_after_the_line_was_recorded_is_told_as_before(own_server, vials, monkeypatch):
    """The amount stands, and what should follow failed: it must not be typed again."""
    rests = PouringSession._rests

    def rests_of_a_server_that_stops(session, beside_plan):
        if session._book.kept:
            own_server.stop()
        return rests(session, beside_plan)

    monkeypatch.setattr(PouringSession, "_rests", rests_of_a_server_that_stops)
    ran = here("pour", "Vat 2", book=vials, typed="S 1\n5 ml\n")
    own_server.start()
    assert ran.refusal is NotShown
    assert f"recorded as entry {_recorded(vials)[-1]}, but what follows failed" in ran.err
