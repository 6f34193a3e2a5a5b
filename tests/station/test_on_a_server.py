"""Stations of a book on a PostgreSQL server: two of them on one book, and what either does the other shows."""

import pytest
from house import House
from stations import Caller, make_accounts, running


@pytest.fixture
def book(postgres):
    """The address of a house with a cask and accounts."""
    with House(postgres) as house:
        house.cask("C1", "200 l", "63.5", ref="Row 3/12")
        identifier = house.id("C1")
    make_accounts(postgres)
    return postgres, identifier


def test_two_stations_of_one_book(book):
    """A note written at one is read at the other; a sign-in holds at both, as both have the same accounts."""
    address, identifier = book
    with running(address) as one, running(address) as other:
        technician, manager = Caller(one.url).sign_in("technician"), Caller(other.url).sign_in("manager")
        assert technician.get(f"/item/{identifier}").status_code == 200
        written = technician.post(f"/item/{identifier}/note", {"text": "bung replaced"})
        assert written.status_code == 303, written.text
        assert "bung replaced" in manager.get(f"/item/{identifier}").text
        refused = manager.get("/backup")
    assert "has no folder for back-ups" in refused.text


def test_a_station_goes_on_when_its_server_is_back(own_server):
    """While it is away a page says so in one sentence; nothing is to be started again but the server."""
    address = own_server.fresh()
    with House(address) as house:
        house.cask("C1", "200 l", "63.5")
        identifier = house.id("C1")
    with running(address) as station:
        caller = Caller(station.url)
        assert caller.get(f"/item/{identifier}").status_code == 200
        own_server.stop()
        away = caller.post(f"/item/{identifier}/note", {"text": "never"})
        assert away.status_code == 503
        assert "cannot reach its book" in away.text
        assert address not in away.text, "anybody may ask"
        own_server.start()
        assert caller.get(f"/item/{identifier}").status_code == 200
        assert caller.post(f"/item/{identifier}/note", {"text": "after all"}).status_code == 303
        page = caller.get(f"/item/{identifier}").text
        assert "after all" in page
        assert "never" not in page
