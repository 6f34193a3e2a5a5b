"""Recording draft by draft: the same journal as all at once, in memory that does not grow with it."""

import contextlib

import pytest
from house import WHO, Clock, House, moment

from pourbook import Book, Draft, Item, Move, Note, Pour
from pourbook.book import book_so_far, recording, refold
from pourbook.book.recording import record_in_order
from pourbook.codes.identifiers import is_issued, write
from pourbook.errors import Refused, ToConfirm
from pourbook.liquid import Liquid


def drafts(casks, pours):
    """Casks filled, then each emptied a little into the next, round and round."""
    ids = [write("cask", n) for n in range(1, 2 * casks + 20) if is_issued("cask", n)][:casks]
    yield from (Draft(Item(identifier, {"ref": f"cask {identifier}"}), 0, WHO) for identifier in ids)
    for minute, identifier in enumerate(ids):
        filled = Move("origin", identifier, 1_000_000, composition=Liquid(1_000_000, 600_000, 0))
        yield Draft(Pour("fill", (filled,)), minute, WHO)
    for step in range(pours):
        move = Move(ids[step % casks], ids[(step + 1) % casks], 1_000 + step)
        yield Draft(Pour("rack", (move,)), casks + step, WHO)
    yield Draft(Note(ids[0], "round and round"), 0, WHO)


def recorded(take):
    with Book.create(":memory:", house="Quillmere", clock=Clock()) as book:
        with book.writing():
            answer = take(book)
        assert book.verify().faults == ()
        return book.head()[0], {item.id: item.holding[:3] for item in book.stock()}, answer


def test_the_same_as_all_at_once():
    """As many entries, and the same in every cask (only the note, which moves nothing, stands elsewhere)."""
    one = recorded(lambda book: book.record_many(drafts(7, 60)))
    other = recorded(lambda book: record_in_order(book.store, drafts(7, 60), book.clock()))
    assert one[:2] == other[:2]
    assert list(one[2].numbers) == list(other[2].numbers)


@pytest.mark.parametrize("casks", [5, 9])
def test_what_is_forgotten_on_the_way_is_looked_up_again(monkeypatch, casks):
    """With room for three items, and batches that end with an opening or not, as with room for all."""
    roomy = recorded(lambda book: record_in_order(book.store, drafts(casks, 80), book.clock()))
    monkeypatch.setattr(refold, "_REMEMBER_AT_MOST", 3)
    monkeypatch.setattr(refold, "_FLUSH_AT", 4)
    monkeypatch.setattr(book_so_far, "_REMEMBER_AT_MOST", 2)
    monkeypatch.setattr(recording, "_BATCH", 5)
    narrow = recorded(lambda book: record_in_order(book.store, drafts(casks, 80), book.clock()))
    assert roomy == narrow


def test_an_identifier_is_opened_once_however_little_is_remembered(monkeypatch):
    """What was forgotten is looked up again before it could be opened a second time."""
    monkeypatch.setattr(book_so_far, "_REMEMBER_AT_MOST", 0)
    monkeypatch.setattr(recording, "_BATCH", 2)
    opened = [draft for draft in drafts(5, 0) if isinstance(draft.entry, Item)]
    with (
        Book.create(":memory:", house="Quillmere", clock=Clock()) as book,
        pytest.raises(Refused, match="already"),
        book.writing(),
    ):
        record_in_order(book.store, [*opened, opened[0]], book.clock())


def test_forgetting_does_not_change_what_is_told(monkeypatch):
    """New items are never told as changed; an item of old is, with what it held before."""
    monkeypatch.setattr(refold, "_REMEMBER_AT_MOST", 1)
    monkeypatch.setattr(refold, "_FLUSH_AT", 2)
    with House() as house:
        house.cask("C1", liquid=Liquid(1_000_000, 500_000, 0), at="2015-01-01")
        house.open("V1", "V2", "V3")
        before = house.held("C1")
        moves = [Pour("draw", (house.move("C1", name, 1_000),)) for name in ("V1", "V2", "V3", "V1", "V2", "V3")]
        timed = [Draft(entry, moment("2016-01-01") + place, WHO) for place, entry in enumerate(moves)]
        fresh = house.book.next_id("cask")
        into = Move(house.id("C1"), fresh, 1_000)
        timed += [Draft(Item(fresh, {}), 0, WHO), Draft(Pour("rack", (into,)), moment("2017-01-01"), WHO)]
        with house.book.writing():
            answer = record_in_order(house.book.store, timed, house.clock())
        changed = {change.id: (change.before, change.after) for change in answer.changed}
        assert changed[house.id("C1")] == (before, house.held("C1"))
        assert fresh not in changed
        assert house.book.verify().faults == ()


def rehearse(house, timed, refused):
    """Record, and keep nothing."""
    with contextlib.suppress(ZeroDivisionError), house.book.writing():
        record_in_order(house.book.store, timed, house.clock(), refused)
        raise ZeroDivisionError


def test_a_refusal_is_told_with_its_draft_and_the_rest_is_tried():
    """Whoever listens hears of every refusal; else the first is raised."""
    told = []
    with House() as house:
        house.cask("C1", liquid=Liquid(1_000, 500, 0), at="2015-01-01")
        house.open("V1")
        moves = [Pour("draw", (house.move("C1", "V1", amount),)) for amount in (5_000, 100, 6_000)]
        timed = [Draft(entry, moment("2016-01-01") + place, WHO) for place, entry in enumerate(moves)]
        with pytest.raises(ToConfirm), house.book.writing():
            record_in_order(house.book.store, timed, house.clock())
        rehearse(house, timed, lambda *refusal: told.append(refusal))
    assert [draft for draft, _ in told] == [timed[0], timed[2]]
    assert all(isinstance(refusal, ToConfirm) for _, refusal in told)


def test_drafts_out_of_order_are_a_mistake_of_the_caller():
    """It would have to be recomputed, which is what `record` is for."""
    with House() as house:
        house.cask("C1", liquid=Liquid(1_000, 500, 0), at="2015-01-01")
        house.open("V1")
        draw = Pour("draw", (house.move("C1", "V1", 10),))
        late, early = (Draft(draw, moment(day), WHO) for day in ("2017-01-01", "2016-01-01"))
        with pytest.raises(ValueError, match="out of order"), house.book.writing():
            record_in_order(house.book.store, [late, early], house.clock())
