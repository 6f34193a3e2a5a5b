"""One entry, with what it changed and what became of it; and the journal by pages, the newest first."""

import pytest

from pourbook import Book, Draft, Facts, Gauge, Item, Move, Note, Pour, Void
from pourbook.book.search import Wanted
from pourbook.quantities import read_amount, read_strength

DAY = 86_400_000_000


@pytest.fixture
def book():
    """A cask filled on day 1, drawn from on day 3; on day 2, told last, it was drawn from, too."""
    book = Book.create(":memory:", house="Quillmere", clock=lambda: 9 * DAY)
    fill = Move("origin", "C000001H", read_amount("200 l"), read_strength("60"))
    for entry, day in (
        (Item("C000001H", {"ref": "Q 31", "place": "Row 3"}), 1), (Item("V000001R", {}), 1), (Pour("fill", (fill,)), 1),
        (draw("1 l"), 3), (Facts("C000001H", {"place": "Row 4", "wood": "ash"}), 4), (draw("2 l"), 2),
    ):  # fmt: skip
        book.record(Draft(entry, day * DAY, "M. Aldane", where="desk"))
    return book


def draw(amount):
    return Pour("draw", (Move("C000001H", "V000001R", read_amount(amount)),))


def litres(book, number, item):
    """What an item held before and after an entry, in litres of 60 % vol."""
    (held,) = [one.held for one in book.entry_card(number).items if one.item == item]
    return tuple(round(one.mass_mg / 909_000, 1) for one in held)  # 0.909 kg/l: 60 % vol at 20 °C, OIML R 22


def test_what_an_entry_changed_is_what_stood_around_it_in_time(book):
    """The draw of day 2 was told last and lies before that of day 3."""
    assert litres(book, 4, "C000001H") == (0, 200)
    assert litres(book, 7, "C000001H") == (200, 198)
    assert litres(book, 5, "C000001H") == (198, 197)
    assert litres(book, 5, "V000001R") == (2, 3)


def test_items_are_named_and_facts_told_before_and_after(book):
    card = book.entry_card(6)
    (one,) = card.items
    assert (one.called, one.held) == ("Q 31 · ash", None)
    assert one.facts == {"place": ("Row 3", "Row 4"), "wood": ("", "ash")}
    assert card.entry.entry["where"] == "desk"
    assert card.hash_before == book.entry_card(5).entry.hash


def test_what_took_its_place_and_what_it_took_back(book):
    book.record(Draft(draw("3 l"), 3 * DAY, "Isla Farrow", reason="misread", replaces=5, confirmed=True))
    book.record(Draft(Void(8), 9 * DAY, "Isla Farrow", reason="never happened"))
    old, new, void = (book.entry_card(number) for number in (5, 8, 9))
    assert (old.taken_back_by.number, old.took_back) == (8, None)
    assert [one.held for one in old.items] == [None, None]
    assert (new.took_back.number, new.taken_back_by.number) == (5, 9)
    assert (void.took_back.number, void.taken_back_by) == (8, None)


def test_a_replacement_stands_where_the_first_stood(book):
    """What is told around it is what is there now, not what was there when it was told."""
    book.record(Draft(draw("3 l"), 2 * DAY, "Isla Farrow", reason="misread", replaces=7, confirmed=True))
    assert litres(book, 8, "C000001H") == (200, 197)
    assert litres(book, 5, "C000001H") == (197, 196)


def test_a_gauge_is_about_one_item(book):
    book.record(
        Draft(
            Gauge("C000001H", read_amount("190 l"), read_strength("59"), facts={"disposition": "evaporation"}),
            5 * DAY,
            "A",
            confirmed=True,
        )
    )
    (one,) = book.entry_card(8).items
    assert one.held[0].mass_mg > one.held[1].mass_mg


def test_no_such_entry(book):
    from pourbook.errors import Unknown

    with pytest.raises(Unknown, match="no entry 99"):
        book.entry_card(99)


def numbers(page):
    return [entry.number for entry in page.entries]


def test_pages_are_the_whole_journal_from_its_end(book):
    first = book.journal_page(most=3)
    second = book.journal_page(most=3, before=first.older)
    third = book.journal_page(most=3, before=second.older)
    assert [numbers(page) for page in (first, second, third)] == [[7, 6, 5], [4, 3, 2], [1]]
    assert third.older is None


def test_pages_are_narrowed(book):
    assert numbers(book.journal_page(Wanted(kind="pour"))) == [7, 5, 4]
    assert numbers(book.journal_page(Wanted(kind="pour"), most=1, before=7)) == [5]
    assert numbers(book.journal_page(item="V000001R")) == [7, 5, 3]
    assert numbers(book.journal_page(Wanted(since_us=4 * DAY))) == [6, 1]
    assert numbers(book.journal_page(Wanted(who="m. aldane"))) == [7, 6, 5, 4, 3, 2]


def test_a_page_looks_back_only_so_far(book, monkeypatch):
    """Where nobody of that name recorded anything lately, the page is empty and says where to go on."""
    from pourbook.queries.journal import entry_card

    monkeypatch.setattr(entry_card, "_SEARCHED", 3)
    book.record(Draft(Note("C000001H", "bung"), 5 * DAY, "Isla Farrow"))
    for _ in range(3):
        book.record(Draft(Note("C000001H", "hoop"), 5 * DAY, "M. Aldane"))
    page = book.journal_page(Wanted(who="Isla Farrow"))
    assert (numbers(page), page.older, page.searched_to) == ([], 9, 9)
    assert numbers(book.journal_page(Wanted(who="Isla Farrow"), before=page.older)) == [8]
