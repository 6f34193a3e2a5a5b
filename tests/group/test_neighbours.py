"""Numbers of a group have holes: whoever goes through its journal goes from entry to entry all the same."""

from command import here

from pourbook import Book


def test_neighbours_are_entries_that_exist(tmp_path):
    """From the first to the last, each once, and back."""
    for site, numbers in (("A", "1-99"), ("B", "100-199")):
        book = tmp_path / f"{site}.pourbook"
        here("create", book, "--house", "Quillmere", "--site", site, "--numbers", numbers).done()
        here("cask", f"Cask {site}", book=book).done()
    group = tmp_path / "g.pourbook"
    here("group", "join", group, tmp_path / "A.pourbook", tmp_path / "B.pourbook").done()
    with Book.open(group) as book:
        numbers = [one.number for one in book.entries_listed()]
        cards = [book.entry_card(number) for number in numbers]
    assert [card.after for card in cards] == [*numbers[1:], None]
    assert [card.before for card in cards] == [None, *numbers[:-1]]
