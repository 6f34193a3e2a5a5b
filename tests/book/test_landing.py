"""A long recording beside others who work: what comes out is what one after the other would have given."""

from random import Random

import pytest
from house import House, in_folder, moment, new_make

from pourbook import Draft, Facts, Gauge, Hold, Item, Move, Note, Pour
from pourbook import House as Settings
from pourbook.actions.happening import Happening
from pourbook.actions.importing import import_casks, import_history
from pourbook.book.landing import landed
from pourbook.errors import InTheWay, PourbookError, Refused

STOCK = ("C1", "C2", "C3", "C4", "C5", "C6")
HOW = Happening("M. Aldane")
DAY_US = 86_400_000_000
START_US = moment("2020-01-01")


def stocked(path):
    """Six casks that were filled and drawn from on some days."""
    with House(path) as house:
        for name in STOCK:
            house.cask(name, liquid=new_make(1_000_000), at="2019-01-01")
        house.open("B1", "B2", "V1")
        for number in range(10):
            house.pour(STOCK[number % 6], STOCK[(number + 1) % 6], 1000, at=START_US + number * DAY_US)
    return house.ids


def poured(ids, source, target, mass, at, verb="pour"):
    """A draft of one pour."""
    liquid = new_make(mass) if source == "origin" else None
    move = Move(ids.get(source, source), ids[target], mass, composition=liquid)
    return Draft(Pour(verb, (move,)), moment(at), "M. Aldane", confirmed=True)


@pytest.fixture
def both(tmp_path):
    """Does `mine` beside `theirs`, and one after the other in a second book: all rows of both, and how often it ran."""

    def run(theirs, mine):
        paths = tmp_path / "beside.pourbook", tmp_path / "after.pourbook"
        ids, _ = map(stocked, paths)
        tried = []
        with House.reopened(paths[0], ids) as house, House.reopened(paths[0], ids) as other:

            def work():
                # The copy has no name any more: nothing of it would be left by a process that is killed now.
                assert [entry.name for entry in tmp_path.iterdir() if entry.name.startswith(".")] == []
                recorded = house.book.record(*mine(ids))
                if not tried:
                    other.book.record(*theirs(ids))
                tried.append(recorded)
                return recorded

            landed(house.book.store, work)
            assert house.book.verify().faults == ()
            beside = house.dump_tables()
        with House.reopened(paths[1], ids) as house:
            house.book.record(*theirs(ids))
            house.book.record(*mine(ids))
            after = house.dump_tables()
        return beside, after, len(tried)

    return run


def test_what_lands_is_numbered_after_what_others_recorded(both):
    """Numbers, hashes, lines and states: to the last bit what recording after them gives, without working again."""
    beside, after, tried = both(
        lambda ids: [poured(ids, "C6", "B2", 10, "2021-01-01"), Draft(Note(ids["C5"], "x"), 0, "T. Verrow")],
        lambda ids: [poured(ids, "C1", "B1", 10, "2021-01-01"), poured(ids, "B1", "V1", 5, "2021-01-02")],
    )
    assert beside == after
    assert tried == 1


def test_a_fill_of_the_past_lands_with_all_that_follows(both):
    """Lines applied again, states that change, and shares kept of them are replaced."""
    beside, after, tried = both(
        lambda ids: [poured(ids, "origin", "B2", 10, "2021-01-01", "fill")],
        lambda ids: [poured(ids, "origin", "C1", 5000, "2019-06-01", "fill")],
    )
    assert beside == after
    assert tried == 1


@pytest.mark.parametrize(
    "theirs",
    [
        lambda ids: [poured(ids, "C1", "B2", 10, "2021-01-01")],
        lambda ids: [Draft(Gauge(ids["C1"], 900_000, None), moment("2021-01-01"), "T. Verrow", confirmed=True)],
        lambda ids: [Draft(Facts(ids["C1"], {"place": "Row 2"}), moment("2021-01-01"), "T. Verrow")],
        lambda ids: [Draft(Hold(ids["C3"], True), moment("2021-01-01"), "T. Verrow", "leaking")],
        lambda ids: [poured(ids, "C6", "B2", 10, "2019-01-02")],  # in the past: it changes what it reached since
        lambda ids: [Draft(Settings({"decimal_mark": ","}), moment("2021-01-01"), "T. Verrow")],
    ],
)
def test_what_matters_to_it_is_taken_into_account(both, theirs):
    """An item it touches, a rule it is held to: it is worked out again."""
    beside, after, tried = both(
        theirs,
        lambda ids: [poured(ids, "C1", "B1", 10, "2021-02-01"),
                     Draft(Note(ids["C3"], "x"), 0, "M. Aldane")],
    )  # fmt: skip
    assert beside == after
    assert tried == 2


def random_drafts(random, names):
    """A few pours, fills, gauges and notes among these items, now and in the past."""

    def one(ids):
        source, target = random.sample(names, 2)
        at = START_US + random.randint(0, 20) * DAY_US + random.randint(0, 9)
        return random.choice((
            poured(ids, source, target, random.randint(1, 5000), at),
            poured(ids, "origin", target, random.randint(1, 5000), at, "fill"),
            Draft(Gauge(ids[source], random.randint(990_000, 1_010_000), None), at, "M. Aldane"),
            Draft(Note(ids[source], "x"), at, "M. Aldane"),
        ))._replace(confirmed=True)  # fmt: skip

    return lambda ids: [one(ids) for _ in range(random.randint(1, 6))]


@pytest.mark.parametrize("seed", range(12))
def test_random_work_beside_random_work(both, seed):
    """On the same items or on others: as one after the other, or refused as that would be."""
    random = Random(seed)
    mine = random.sample(STOCK, 3)
    others = [name for name in STOCK if name not in mine] if seed % 2 else list(STOCK)
    made = {}

    def once(name, drafts):
        return lambda ids: made.setdefault(name, None) or made.update({name: drafts(ids)}) or made[name]

    beside, after, _ = both(once("theirs", random_drafts(random, others)), once("mine", random_drafts(random, mine)))
    assert beside == after


def test_who_is_never_left_alone_is_done_while_others_wait(tmp_path):
    """Somebody draws from the same cask each time: the last time they have to wait, and all is well."""
    with in_folder(tmp_path) as house:
        house.cask("C1", liquid=new_make(1000), at="2020-01-01")
        house.open("V1", "V2")
        path, ids, tried = tmp_path / "quillmere.pourbook", dict(house.ids), []
        with House.reopened(path, ids) as other:

            def work():
                tried.append(1)
                if len(tried) < 3:
                    other.draw("C1", "V2", 10, at="2021-01-01")
                return house.draw("C1", "V1", 10, at="2022-01-01")

            landed(house.book.store, work)
        assert len(tried) == 3
        assert house.held("C1").mass_mg == 970
        assert house.book.verify().faults == ()


def test_what_is_refused_leaves_nothing(tmp_path):
    """No row, no copy; nor where it is refused while others worked."""
    with in_folder(tmp_path) as house:
        house.cask("C1", liquid=new_make(1000), at="2020-01-01")
        house.open("V1")
        house.draw("C1", "V1", 900, at="2021-01-01")
        before = house.dump_tables()
        with pytest.raises(InTheWay):
            landed(house.book.store, lambda: house.gauge("C1", 0, at="2020-06-01"))
        assert house.dump_tables() == before
    assert [entry.name for entry in tmp_path.iterdir()] == ["quillmere.pourbook"]


def test_inside_a_transaction_it_is_part_of_it(house):
    """Nothing lands by itself."""
    house.cask("C1", liquid=new_make(1000))
    before = house.dump_tables()

    def fail_afterwards():
        landed(house.book.store, lambda: house.note("C1", "x"))
        raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError), house.book.writing():
        fail_afterwards()
    assert house.dump_tables() == before


# -- imports, and dry runs -----------------------------------------------------------------


@pytest.fixture
def files(tmp_path):
    """A small history with a cask and two vials."""
    (tmp_path / "items.csv").write_text("ref,kind\nRow 1,cask\nS 1,vial\nS 2,vial\n")
    (tmp_path / "pours.csv").write_text(
        "source,target,quantity,unit,strength,happened,by\n"
        "origin,Row 1,200,l,63,2015-01-01 08:00,M. Aldane\nRow 1,S 1,100,ml,,2016-01-01 08:00,M. Aldane\n"
        "Row 1,S 2,100,ml,,2017-01-01 08:00,M. Aldane\n"
    )
    return tmp_path


def meanwhile(monkeypatch, act):
    """Act once, while an import is being worked out; however short it is, in a copy."""
    from pourbook.actions import importing
    from pourbook.book import landing

    monkeypatch.setattr(landing, "_WORTH_A_COPY", 0)

    plain, done = importing.record_in_order, []

    def recorded(*arguments):
        answer = plain(*arguments)
        if not done:
            done.append(True)
            act()
        return answer

    monkeypatch.setattr(importing, "record_in_order", recorded)


def test_an_import_leaves_room_for_those_who_take_the_same_numbers(files, monkeypatch):
    """A vial opened meanwhile keeps its number; those of the import begin a thousand later."""
    with in_folder(files) as house, House.reopened(files / "quillmere.pourbook", {}) as other:
        meanwhile(monkeypatch, lambda: other.open("V1"))
        assert import_history(house.book, HOW, files)[:3] == (3, 3, 7)
        opened = house.book.store.query("SELECT key FROM item WHERE kind = 'vial' ORDER BY key")
        assert len(opened) == 3
        assert house.book.find("S 1")[:-1] == "V001002"
        assert house.book.find("Row 1")[:-1] == "C000001"
        assert house.book.verify().faults == ()


def test_the_same_file_imported_by_two_at_once_is_imported_once(files, monkeypatch):
    """The second finds out when it has worked it out."""
    with in_folder(files) as house, House.reopened(files / "quillmere.pourbook", {}) as other:
        meanwhile(monkeypatch, lambda: import_history(other.book, HOW, files))
        with pytest.raises(Refused, match="was imported before"):
            import_history(house.book, HOW, files)
        assert house.book.store.query("SELECT count(*) FROM entry WHERE kind = 'imported'") == [(1,)]
        assert house.book.verify().faults == ()


@pytest.mark.in_a_file("others wait for a dry run on a server")
@pytest.mark.parametrize("is_import", [True, False])
def test_nobody_waits_for_a_dry_run(files, is_import):
    """Another station writes in the middle of it; it keeps nothing, and no copy."""
    with in_folder(files) as house, House.reopened(files / "quillmere.pourbook", {}) as other:
        other.book.store.execute("PRAGMA busy_timeout = 0")
        with house.book.undone():
            if is_import:
                (files / "casks.csv").write_text("ref\nRow 9\n")
                import_casks(house.book, HOW, files / "casks.csv")
            house.cask("C1", liquid=new_make(1000), at="2020-01-01")
            other.record(Item(other.book.next_id("vial"), {}))
            assert house.held("C1") == new_make(1000)
        assert [row[1] for row in house.dump_tables()["entry"]] == ["house", "item"]
        with pytest.raises(PourbookError):
            house.held("C1")
    assert [entry.name for entry in files.iterdir() if entry.name.startswith(".")] == []
