"""A group and its sites on PostgreSQL: joined from there and into there, the same head and the same answers."""

import pytest
from command import here
from site_houses import Sites

from pourbook import Book
from pourbook.actions.joining import join
from pourbook.book.moving import move


@pytest.fixture
def sites(tmp_path):
    with Sites(tmp_path) as two:
        two["A"].cask("C1", "600 l", "63.5", at="2026-05-01", spirit="malt")
        two.send("A", "C1", "500 l", to="B", document="D 17", at="2026-05-02")
        two.receive("B", "C1", "497 l", "63.5", source="A", document="D 17", at="2026-05-04")
        two["B"].dump("C1", "B1", at="2026-05-05")
        yield two


def test_a_group_on_a_server_is_that_of_a_file(sites, postgres, server):
    """Made there, joined again, asked, verified, repaired, and refused to record."""
    in_a_file = sites.join()
    paths = [str(sites.path(name)) for name in "AB"]
    on_the_server = join(postgres, paths)
    assert on_the_server == in_a_file
    sites["B"].note("B1", "seen")
    assert [new for _, new in join(postgres, paths).sites] == [0, 1]
    sites.join()
    with Book.open(postgres) as there, sites.group() as here:
        assert there.head() == here.head()
        assert there.verify().faults == here.verify().faults == ()
        lot = sites.id("B", "B1")
        assert there.trace_back(lot) == here.trace_back(lot)
        assert list(there.stock()) == list(here.stock())
        there.repair()
        assert there.verify().faults == ()


def test_the_command_makes_a_new_group_on_a_server(sites, postgres, server):
    """The address stands where a path would; nothing has to be created there first."""
    paths = [sites.path(name) for name in "AB"]
    made = here("group", "join", postgres, *paths, "--json").done().json
    assert (made["head"], [one["new"] for one in made["sites"]]) == (sites.join().head, [4, 5])
    assert [one["item"] for one in made["differences"]]
    assert len(here("group", "sites", "--json", book=postgres).done().json["sites"]) == 2
    assert here("verify", book=postgres).done().status == 0


def test_a_site_on_a_server_joins_a_group_in_a_file(sites, server, tmp_path):
    before = sites.join()
    address = server.fresh()
    try:
        with Book.open(sites.path("A")) as book:
            move(book.store, address)
        joined = join(str(sites.path("G")), [address])
        assert (joined.head, [new for _, new in joined.sites]) == (before.head, [0])
    finally:
        server.drop(address)


def test_nothing_is_half_joined_on_a_server(sites, postgres, tmp_path):
    """What fails leaves no book behind, and the place free for another try."""
    damaged = sites.export("A")
    damaged.write_text(damaged.read_text("utf-8").replace("600 l", "601 l"), "utf-8")
    with pytest.raises(Exception, match="do not lead to the hash"):
        join(postgres, [str(sites.path("B")), str(damaged)])
    assert [new for _, new in join(postgres, [str(sites.path("A")), str(sites.path("B"))]).sites] == [4, 5]
