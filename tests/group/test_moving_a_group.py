"""A group's book is moved as its sites' journals, and derived anew where it arrives (common practice, no source)."""

import pytest
from moved import move
from site_houses import Sites

from pourbook import Book
from pourbook.book import moving
from pourbook.errors import StoreError


@pytest.fixture
def sites(tmp_path):
    """Two sites that joined: spirit went from one to the other and was bottled there."""
    with Sites(tmp_path) as two:
        two["A"].cask("C1", "600 l", "63.5", at="2026-05-01", spirit="malt")
        two.send("A", "C1", "500 l", to="B", document="D 17", at="2026-05-02")
        two.receive("B", "C1", "497 l", "63.5", source="A", document="D 17", at="2026-05-04")
        two["B"].pour("C1", "L1", "400 l", verb="bottle", at="2026-05-06")
        two.join()
        yield two


def said(path):
    """What a group's book says: its head, its entries, a lineage and its own check."""
    with Book.open(path) as group:
        assert group.verify().faults == ()
        entries = group.store.query("SELECT * FROM entry ORDER BY number")
        lot = next(group.stock(kind="lot")).id
        return group.head(), entries, [(part.item.id, part.share) for part in group.trace_back(lot).items]


def test_it_is_the_same_in_a_file_and_on_a_server(sites, tmp_path, postgres):
    """And when a site has joined again since, the rest follows."""
    source = sites.path("G")
    for target in (tmp_path / "to", postgres):
        moved = move(source, target)
        assert (moved.entries, moved.head) == said(source)[0]
        assert said(target) == said(source)
    with pytest.raises(StoreError, match="is the book itself"):
        move(source, source)
    sites["A"].note("C1", "bung replaced", at="2026-06-01")
    sites.join()
    move(tmp_path / "to", tmp_path / "old")
    for target in (tmp_path / "to", postgres):
        move(source, target)
        assert said(target) == said(source)
        with pytest.raises(StoreError, match="went on where this one ends"):
            move(tmp_path / "old", target)
    move(postgres, tmp_path / "back")
    assert said(tmp_path / "back") == said(source)


def test_a_group_and_a_site_take_nothing_of_each_other(sites, tmp_path):
    """Nor does one group take another's."""
    move(sites.path("A"), tmp_path / "a")
    move(sites.path("G"), tmp_path / "g")
    (tmp_path / "other").mkdir()
    with Sites(tmp_path / "other") as others:
        others["A"].cask("C1", "60 l", "61", at="2026-05-01")
        others.join()
    for source, target in (("g.pourbook", "a"), ("a.pourbook", "g"), ("other/g.pourbook", "g")):
        with pytest.raises(StoreError, match="is another one"):
            move(tmp_path / source, tmp_path / target)


def test_one_interrupted_goes_on(sites, tmp_path, monkeypatch):
    """Between its journals and what follows from them."""
    with monkeypatch.context() as stopped:
        stopped.setattr(moving, "repair", _stop)
        with pytest.raises(KeyboardInterrupt):
            move(sites.path("G"), tmp_path / "to")
    with pytest.raises(StoreError, match="not all of the book"):
        Book.open(tmp_path / "to")
    move(sites.path("G"), tmp_path / "to")
    assert said(tmp_path / "to") == said(sites.path("G"))


def _stop(_):
    raise KeyboardInterrupt
