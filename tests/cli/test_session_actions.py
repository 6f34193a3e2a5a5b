"""A tasting session by the command and from Python: the same entries, the same refusals, the same report."""

import shutil
from itertools import pairwise

import pytest
from command import WHO, Desk, here
from house import House, moment

from pourbook import Book
from pourbook.actions import tasting_session
from pourbook.actions.happening import Happening
from pourbook.actions.tasting_session import Asked
from pourbook.actions.vats import Bottling
from pourbook.book.entries import Stage, Taste
from pourbook.book.journal import journal
from pourbook.book.sessions import key_to, session_named
from pourbook.errors import FaultsFound, Held, Malformed, NotThere, OutOfRange, Refused, ToConfirm, Unknown
from pourbook.labels.templates import template
from pourbook.quantities import read_amount, read_strength
from pourbook.queries.tastings.session_plan import Wish

WHEN = "2024-05-02T19:30:00"
HOW = Happening(WHO, moment(WHEN), "Blending room", "autumn release")
OPTIONS = f"--when {WHEN} --where 'Blending room' --reason 'autumn release'"
PEOPLE = ("Isla Farrow", "Tomas Reeve")
WISH = Wish(("S 1", "S 2", "S 2"), PEOPLE, read_amount("10 ml"), read_strength("21"))
FLIGHT = "--glass 'S 1' --glass 'S 2' --repeat 'S 2' --assessor 'Isla Farrow' --assessor 'Tomas Reeve' --to 21"
TRIANGLE = WISH._replace(glasses=("S 1", "S 2"), assessors=tuple(f"Taster {n}" for n in range(1, 7)), test="triangle")


@pytest.fixture(autouse=True)
def same_draws(monkeypatch):
    """Chance that falls the same way in both books."""
    monkeypatch.setattr(tasting_session.open_session, "__defaults__", (Asked(), lambda _count: 0))


@pytest.fixture
def books(tmp_path):
    """Two equal books with two samples of 200 ml."""
    with House(tmp_path / "python.pourbook") as house:
        house.cask("C1", "200 l", "63.5", spirit="malt spirit", allergens="nuts")
        house.facts("C1", previous="almond wine")
        house.cask("C2", "180 l", "58", spirit="grain spirit")
        house.open("V1", ref="S 1")
        house.open("V2", ref="S 2")
        house.draw("C1", "V1", "200 ml")
        house.draw("C2", "V2", "200 ml")
    shutil.copy(tmp_path / "python.pourbook", tmp_path / "command.pourbook")
    return tmp_path / "python.pourbook", tmp_path / "command.pourbook"


def recorded(path):
    """Kind and all that was written of each entry, but for the time of recording and the login name."""
    with Book.open(path) as book:
        return [
            (one.kind, {name: value for name, value in one.entry.items() if name not in ("recorded", "login")})
            for one in journal(book.store)
        ]


def codes(book, name="Autumn"):
    """Codes by assessor, in the order of serving, and the items behind them."""
    flights, _ = key_to(book.store, session_named(book.store, name))
    return [(flight.assessor, glass.code, glass.item) for flight in flights for glass in flight.glasses]


def test_a_session_by_command_and_from_python_is_the_same(books, tmp_path):
    """Opened, poured, answered by code and by table, closed: entry by entry."""
    by_python, by_command = books
    desk = Desk(by_command, here)
    with Book.open(by_python) as book:
        book.open_session(HOW, "Autumn", WISH, Asked("choose", "Which is richer?", 3))
        book.pour_session(HOW, "Autumn", ("tomas reeve",))
        glasses = codes(book)
        found = Taste(stages={"nose": Stage("shy", {"pear": "4"})}, score="81", rank=2, too_much="oak")
        book.take_ballot(HOW, "autumn", glasses[0][1], found)
        table = tmp_path / "ballots.csv"
        rows = [f"{code},{assessor},{60 + n},too short" for n, (assessor, code, _) in enumerate(glasses[1:])]
        table.write_text("\n".join(["code,assessor,score,missing", *rows]))
        assert book.take_ballots(HOW, "Autumn", table).waiting == 0
        book.close_session(HOW, "Autumn")
        report = book.session_report("Autumn")
    asked = "--purpose choose --ask 'Which is richer?' --rest 3"
    desk.does(f"session open Autumn {FLIGHT} --amount '10 ml' {asked} {OPTIONS}")
    desk.does(f"session pour Autumn --absent 'tomas reeve' {OPTIONS}")
    answers = "--nose 'pear 4; shy' --score 81 --rank 2 --too-much oak"
    desk.does(f"session ballot autumn --code {glasses[0][1]} {answers} {OPTIONS}")
    desk.does(f"session ballot Autumn {table} {OPTIONS}")
    desk.does(f"session close Autumn {OPTIONS}")
    assert recorded(by_python) == recorded(by_command)
    told = desk.asks("session report Autumn")
    assert told["repeat_deviation"] == pytest.approx(report.repeat_deviation)
    assert [one["id"] for one in told["by_glass"]] == [one.item for one in report.glasses]


def test_papers_by_command_and_from_python_are_the_same(books, tmp_path):
    """Entries but for the names of files; each paper is recorded."""
    by_python, by_command = books
    desk = Desk(by_command, here)
    desk.does(f"session open Autumn {FLIGHT} --amount '10 ml' {OPTIONS}")
    sheets = f"--ballots {tmp_path}/ballots.pdf --pour-sheet {tmp_path}/pour-sheet.pdf"
    desk.does(f"session sheets Autumn {sheets} {OPTIONS}")
    desk.does(f"session labels Autumn -o {tmp_path}/glass-labels.pdf {OPTIONS}")
    desk.does(f"session close Autumn --confirm {OPTIONS}")
    desk.does(f"session report Autumn -o {tmp_path}/session-report.pdf {OPTIONS}")
    with Book.open(by_python) as book:
        book.open_session(HOW, "Autumn", WISH)
        book.print_pour_sheet(HOW, "Autumn")
        book.print_ballots(HOW, "Autumn")
        book.print_glass_labels(HOW, "Autumn", template("glass-sheet-a4-65-38x21"))
        book.close_session(HOW._replace(confirm=True), "Autumn")
        printed = book.print_session_report(HOW, "Autumn")
    assert all(data.startswith(b"%PDF-") for data in printed.files.values())
    papers = [[body for kind, body in recorded(path) if kind == "paper"] for path in books]
    without = [[{**one["body"]["facts"], "head": "", "entries": 0} for one in own] for own in papers]
    assert without[0] == without[1]
    assert [one["paper"] for one in (entry["body"] for entry in papers[0])] == [
        "pour sheet", "ballots", "glass labels", "session report",
    ]  # fmt: skip


def test_a_dry_run_keeps_nothing(books):
    """Neither a session nor what it takes."""
    with Book.open(books[0]) as book:
        before = book.head()
        book.open_session(HOW._replace(dry_run=True), "Autumn", WISH)
        assert book.head() == before
        assert book.sessions_listed() == []


# -- refused --------------------------------------------------------------------------------


@pytest.fixture
def evening(books):
    """An open session, its codes."""
    with Book.open(books[0]) as book:
        book.open_session(HOW, "Autumn", WISH)
        yield book, codes(book)


def test_ballots_that_cannot_be_are_refused_one_by_one(evening):
    """Unknown, foreign and repeated codes, scores off the scale, ranks beyond the glasses."""
    book, glasses = evening
    (isla, own, _), (_, second, _), *_, (tomas, other, _) = glasses
    take = lambda code, found, who="": book.take_ballot(HOW, "Autumn", code, found, who)  # noqa: E731
    with pytest.raises(Unknown, match="has no glass 999"):
        take("999", Taste(score="70"))
    with pytest.raises(Malformed, match="not the code of a glass"):
        take("4l7", Taste(score="70"))
    with pytest.raises(Unknown, match=f"{tomas} has no glass {own}"):
        take(own, Taste(score="70"), tomas)
    with pytest.raises(Unknown, match="another session"):
        take(f"SESSION1-{own}", Taste(score="70"))
    with pytest.raises(OutOfRange, match="off the house's scale"):
        take(own, Taste(score="101"))
    with pytest.raises(OutOfRange, match="rank 4 among 3 glasses"):
        take(own, Taste(rank=4))
    with pytest.raises(Malformed, match="is empty"):
        take(own, Taste())
    take(own, Taste(score="70"), isla)
    with pytest.raises(Refused, match="has its ballot already"):
        take(own, Taste(score="71"))
    assert len(list(journal(book.store))) == book.head_number()
    assert other != second


def test_a_table_is_taken_whole_or_not_at_all(evening, tmp_path):
    """Every row that cannot be taken is named with its number; nothing of the others is kept."""
    book, glasses = evening
    isla, first, _ = glasses[0]
    table = tmp_path / "ballots.csv"
    rows = [f"{first},{isla},70", f"{first},{isla},71", f"999,{isla},70", f"{glasses[1][1]},Tomas Reeve,70"]
    rows += [f"{glasses[2][1]},,{170}", f"{glasses[3][1]},,"]
    table.write_text("\n".join(["code,assessor,score", *rows]))
    before = book.head()
    with pytest.raises(FaultsFound) as refused:
        book.take_ballots(HOW, "Autumn", table)
    assert [fault.row for fault in refused.value.faults] == [3, 4, 5, 6]
    assert book.head() == before


def test_what_the_vials_hold_is_known_before_anything_is_poured(books):
    """Which is short, by how much, and which glass would do: 200 ml are 4 glasses of 50, and one twice as often."""
    with Book.open(books[0]) as book:
        plan = book.session_plan(WISH._replace(amount=read_amount("60 ml"), strength=None))
        assert [need.short_ml for need in plan.needs] == [pytest.approx(0, abs=0.1), pytest.approx(40, abs=0.1)]
        assert plan.fitting_ml == pytest.approx(50, abs=0.5)
        with pytest.raises(NotThere, match="cannot fill the glasses"):
            book.open_session(HOW, "Autumn", plan.wish)
        assert book.session_plan(plan.wish._replace(amount=read_amount("49 ml"))).short == ()


def test_the_house_is_asked_about_much_alcohol_and_many_glasses(books):
    """Its limits with and without a spittoon; a yes records it, with what was asked."""
    strong = WISH._replace(amount=read_amount("20 ml"), strength=None, glasses=("S 1", "S 2"))
    with Book.open(books[0]) as book:
        assert book.session_plan(strong).alcohol_mg / 1000 == pytest.approx(20 * (0.635 + 0.58) * 0.78924, rel=2e-3)
        book.change_settings(HOW, {"alcohol_limit_g": "15"})
        with pytest.raises(ToConfirm, match="limit without a spittoon is 15"):
            book.open_session(HOW, "Strong", strong._replace(swallowed=True))
        book.open_session(HOW, "Spat", strong)
        book.change_settings(HOW, {"most_glasses": "2"})
        with pytest.raises(ToConfirm, match="offers 2 at most"):
            book.open_session(HOW, "Long", WISH)
        book.open_session(HOW._replace(confirm=True), "Long", WISH)
        assert [card.opened.session.name for card in book.sessions_listed()] == ["Spat", "Long"]


def test_nobody_tastes_what_is_on_hold(books):
    """Nor is it planned."""
    with Book.open(books[0]) as book:
        book.hold(HOW, ["S 2"])
        with pytest.raises(Held, match="nobody tastes it"):
            book.session_plan(WISH)


def test_a_session_is_poured_once_and_closed_once(evening):
    """A second time is asked about; ballots that are missing, too; afterwards it is closed."""
    book, _ = evening
    book.pour_session(HOW, "Autumn")
    with pytest.raises(ToConfirm, match="was poured already"):
        book.pour_session(HOW, "Autumn")
    with pytest.raises(ToConfirm, match="6 ballots of session 'Autumn' did not come back yet"):
        book.close_session(HOW, "Autumn")
    book.close_session(HOW._replace(confirm=True), "Autumn")
    for again in (book.close_session, book.pour_session, book.print_ballots, book.print_pour_sheet):
        with pytest.raises(Refused, match="closed"):
            again(HOW._replace(confirm=True), "Autumn")


# -- tests of differences ------------------------------------------------------------------------


def test_a_triangle_is_picked_and_judged(books):
    """Six assessors, all right: (1/3)^6 = 0.00137; the third glass of an assessor who picked one is refused."""
    with Book.open(books[0]) as book:
        book.open_session(HOW, "Odd", TRIANGLE)
        flights, _ = key_to(book.store, session_named(book.store, "Odd"))
        for flight in flights:
            items = [glass.item for glass in flight.glasses]
            (odd,) = (glass.code for glass in flight.glasses if items.count(glass.item) == 1)
            book.take_ballot(HOW, "Odd", odd, Taste(rank=1))
            (other, *_) = (glass.code for glass in flight.glasses if glass.code != odd)
            with pytest.raises(Refused, match=f"has picked {odd} already"):
                book.take_ballot(HOW, "Odd", other, Taste(rank=1))
        poured = book.pour_session(HOW, "Odd")
        assert [(line.assessor, line.glasses) for line in poured.lines] == [("", 9), ("", 9)]
        book.close_session(HOW, "Odd")
        report = book.session_report("Odd")
    assert (report.test.answered, report.test.right) == (6, 6)
    assert report.test.judged.p_value == pytest.approx((1 / 3) ** 6)
    assert report.test.judged.verdict == "different"


@pytest.mark.parametrize(
    ("scores", "said"),
    [
        ([(80, 60)] * 6, "show that the glasses differ (Friedman, p = 0.031)"),  # 2 of 64 orders are as far apart
        ([(80, 60), (60, 80)] * 3, "do not show that the glasses differ (Friedman, p = 1.000)"),
        ([(70, 70)] * 6, "nobody told any two apart"),
    ],
)
def test_ranks_of_scores_are_compared(books, scores, said):
    """Two glasses and six assessors: by chance all agree in 2 of 2^6 cases; half and half always is as far apart."""
    people = tuple(f"Taster {n}" for n in range(1, 7))
    desk = Desk(books[0], here)
    with Book.open(books[0]) as book:
        book.open_session(HOW, "Two", WISH._replace(glasses=("S 1", "S 2"), assessors=people))
        given = dict(zip(people, scores, strict=True))
        for assessor, code, item in codes(book, "Two"):
            score = given[assessor][("V000001R", "V000002P").index(item)]
            book.take_ballot(HOW, "Two", code, Taste(score=str(score)), assessor)
        book.close_session(HOW, "Two")
    out = desk.does("session report Two").out
    assert said in out
    assert "caution" in desk.does("session report Two").err


def test_what_a_test_can_show_is_said_before(books):
    """Two assessors can show nothing by a triangle: even (1/3)^2 = 0.11 is no rarity."""
    with Book.open(books[0]) as book:
        few = TRIANGLE._replace(assessors=PEOPLE)
        assert book.session_plan(few).shows.critical is None
        with pytest.raises(ToConfirm, match="can show nothing"):
            book.open_session(HOW, "Odd", few)


def test_no_session_says_a_strength_that_a_glass_cannot_have(books):
    """Its ballots would say that the glass was tasted at it."""
    with Book.open(books[0]) as book, pytest.raises(OutOfRange, match=r"58\.0 % vol, and water does not"):
        book.open_session(HOW, "Strong", WISH._replace(strength=read_strength("60")))


# -- line by line --------------------------------------------------------------------------------


def test_ballots_come_back_by_scan(books):
    """Codes as a reader sends them from a glass or a ballot; a refused glass stays in hand until it is put right."""
    desk = Desk(books[1], here)
    desk.does(f"session open Autumn {FLIGHT} --amount '10 ml' {OPTIONS}")
    with Book.open(books[1]) as book:
        number = session_named(book.store, "Autumn").entry.number
        (_, first, _), (_, second, _), (_, third, _), *_ = codes(book)
    lines = (
        f"]d1SESSION{number}-{first}", "score 70", "nose pear 4, oak 2; shy", "too much oak", f"]d1{second}",
        "score 700", third, "score 70", third, "rank 1", "colour red", "drop", "done",
    )  # fmt: skip
    ran = desk(f"session ballot Autumn {OPTIONS}", "\n".join(lines))
    assert ran.status == 1  # two lines were refused
    assert "3 ballots taken in" not in ran.out
    assert "2 ballots taken in" in ran.out
    assert [text in ran.err for text in ("off the house's scale", "'colour' is nothing that a ballot answers")] == [
        True, True,
    ]  # fmt: skip
    found = {one["code"]: one for one in desk.asks("tastings")["tastings"]}
    assert set(found) == {first, second}
    assert (found[first]["score"], found[first]["too_much"]) == (70, "oak")


def test_what_is_typed_after_a_code_that_is_none_falls_to_no_glass(books):
    """After a wrong code the answers are nobody's, and the glass before is kept as it was."""
    desk = Desk(books[1], here)
    desk.does(f"session open Autumn {FLIGHT} --amount '10 ml' {OPTIONS}")
    with Book.open(books[1]) as book:
        (_, first, _), (_, second, _), *_ = codes(book)
    lines = (first, "score 70", "999", "score 4", second, second, "score 60", "done")
    ran = desk(f"session ballot Autumn {OPTIONS}", "\n".join(lines))
    assert ran.status == 1
    assert "has no glass 999; check the code on the ballot (no glass is in hand)" in ran.err
    found = {one["code"]: one["score"] for one in desk.asks("tastings")["tastings"]}
    assert found == {first: 70, second: 60}


def test_a_refused_glass_is_said_to_be_in_hand(books):
    """So nobody types the answers of the next ballot to it."""
    desk = Desk(books[1], here)
    desk.does(f"session open Autumn {FLIGHT} --amount '10 ml' {OPTIONS}")
    with Book.open(books[1]) as book:
        (_, first, _), (_, second, _), *_ = codes(book)
    ran = desk(f"session ballot Autumn {OPTIONS}", f"{first}\nscore 700\n{second}\ndrop\ndone\n")
    assert f"(glass {first} is still in hand)" in ran.err


def test_a_dry_run_of_the_close_tells_no_code(books):
    """The session stays open, so people are still blind: neither codes nor what would go on hold for a fault."""
    desk = Desk(books[1], here)
    desk.does("settings --set hold_off_notes=yes")
    desk.does("word sulphur --fault")
    asked = desk.does(f"session open Autumn {FLIGHT} --amount '10 ml' --dry-run {OPTIONS}")
    assert "is open" not in asked.out
    desk.does(f"session open Autumn {FLIGHT} --amount '10 ml' {OPTIONS}")
    with Book.open(books[1]) as book:
        (_, code, _), *_ = drawn = codes(book)
    desk.does(f"session ballot Autumn --code {code} --nose 'sulphur 3' {OPTIONS}")
    said = desk.does(f"session close Autumn --confirm --dry-run {OPTIONS}")
    told = f"{said.out}{said.err}"
    assert "session Autumn stays open" in told
    assert not [text for _, one, item in drawn for text in (one, item, "V-00000", "on hold") if text in told]
    answer = desk.asks("session close Autumn --confirm --dry-run")
    assert (answer["flights"], answer["held"], answer["dry_run"]) == ([], [], True)


def test_the_house_holds_what_has_a_fault_once_it_is_known(evening):
    """Blind, nobody can tell which item it is in; at the reveal it goes on hold, if the house wishes."""
    book, glasses = evening
    book.change_settings(HOW, {"hold_off_notes": "yes"})
    book.write_word(HOW, "sulphur", {"off": True})
    _, code, item = glasses[0]
    book.take_ballot(HOW, "Autumn", code, Taste(stages={"nose": Stage("", {"sulphur": "3"})}))
    assert "held" not in book.show(item).facts
    closed = book.close_session(HOW._replace(confirm=True), "Autumn")
    assert closed.held == (item,)
    assert book.show(item).facts["held"] == "yes"
    assert book.verify().faults == ()


def test_a_ballot_by_mistake_is_voided_and_taken_again(evening):
    """Before the reveal; what is revealed is the second one, and a book made anew says the same."""
    book, glasses = evening
    _, code, item = glasses[0]
    (slip,) = book.take_ballot(HOW, "Autumn", code, Taste(score="7")).entries
    book.void(HOW, slip)
    book.take_ballot(HOW, "Autumn", code, Taste(score="70"))
    book.close_session(HOW._replace(confirm=True), "Autumn")
    assert [note.score for note in book.notes_of(item)] == [70.0]
    before = list(journal(book.store))
    book.repair()
    assert list(journal(book.store)) == before
    assert [note.score for note in book.notes_of(item)] == [70.0]
    assert book.verify().faults == ()


def test_an_assessor_may_be_a_person_of_the_house(books, tmp_path):
    """Named by badge; papers, tables and reports have the name."""
    with Book.open(books[0]) as book:
        badge = book.enter(HOW, "person", "Isla Farrow").id
        book.open_session(HOW, "Autumn", WISH._replace(assessors=(badge, "Tomas Reeve")))
        assert [one.called for one in book.session_card("Autumn").ballots] == list(PEOPLE)
        table = tmp_path / "ballots.csv"
        table.write_text(f"code,assessor,score\n{codes(book)[0][1]},isla farrow,70\n")
        assert [note.assessor for note in book.take_ballots(HOW, "Autumn", table).notes] == [badge]


def test_no_glass_is_poured_from_bottles(books):
    """A counted lot is left by the bottle: that is opened into a vial, and the vial is offered."""
    with Book.open(books[0]) as book:
        book.open_batch(HOW, {"ref": "Vat"})
        book.pour(HOW, "Vat", [("C000001H", read_amount("20 l"))])
        lot = book.bottle(HOW, "Vat", Bottling(10, read_amount("700 ml"))).lot
        with pytest.raises(Refused, match="counted in bottles"):
            book.session_plan(WISH._replace(glasses=("S 1", lot)))


def test_allergens_are_one_list_over_all_glasses(books):
    """So that it does not say which glass brings what."""
    with Book.open(books[0]) as book:
        plan = book.session_plan(WISH)
    assert plan.brings == (("nuts",), ("almond wine",))


def test_orders_are_balanced_over_the_assessors(books):
    """A whole set of a flight of four: every item in every place once, after every other once (Williams)."""
    with Book.open(books[0]) as book:
        four = WISH._replace(glasses=("S 1", "S 2", "Q 1", "Q 2"), assessors=tuple("ABCD"), strength=None)
        for ref, cask in (("Q 1", "C000001H"), ("Q 2", "C000002F")):
            book.set_facts(HOW, cask, {"ref": ref})
        book.open_session(HOW._replace(confirm=True), "Four", four)
        flights, _ = key_to(book.store, session_named(book.store, "Four"))
    orders = [[glass.item for glass in flight.glasses] for flight in flights]
    assert all(len(set(column)) == 4 for column in zip(*orders, strict=True))
    assert len({pair for order in orders for pair in pairwise(order)}) == 12


def test_whoever_tastes_is_asked_before_the_pour_sheet_is_printed(books, tmp_path):
    """By name in any case; nothing is printed or recorded, and somebody else prints it unasked."""
    _, by_command = books
    desk = Desk(by_command, here)
    desk.does(f"session open Autumn {FLIGHT} --amount '10 ml' {OPTIONS}")
    sheet = tmp_path / "sealed.pdf"
    asked = desk(f"session sheets Autumn --ballots {tmp_path}/b.pdf --pour-sheet {sheet} --who 'isla FARROW'")
    assert asked.status == 1
    assert "would see which code is which glass" in asked.err
    assert not sheet.exists()
    assert not (tmp_path / "b.pdf").exists()
    desk.does(f"session sheets Autumn --pour-sheet {sheet} --who 'Isla Farrow' --confirm")
    desk.does(f"session sheets Autumn --pour-sheet {tmp_path}/other.pdf --who 'Hollis Quay'")
