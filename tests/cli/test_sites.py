"""A site of a house: numbers of its own ranges, and liquid that goes to other sites and comes from them.

That books which are joined later must not give the same number, and that a receipt names sender and document, is common
practice, no source.
"""

import json

import pytest
from command import Desk, here
from hypothesis import example, given
from hypothesis import strategies as st
from three_sites import SITES, afterwards, in_site_books, month

from pourbook import Book
from pourbook.actions.casks import Filling
from pourbook.actions.happening import Happening
from pourbook.actions.leaving import Leaving
from pourbook.codes.gs1 import number_in_sscc
from pourbook.codes.identifiers import KINDS, is_issued, kind_of, write
from pourbook.codes.number_ranges import has_number, next_number, read_ranges, shared, shown_ranges
from pourbook.errors import Malformed, Refused
from pourbook.quantities import read_amount, read_strength

PERIOD = "--from 2024-01-01 --to 2024-12-31"


@pytest.fixture
def quay(tmp_path):
    """QUAY with numbers from 100000 on, and a cask."""
    here(
        "create", tmp_path / "quay.pourbook", "--house", "Quillmere", "--site", "quay", "--numbers", "100000-100020"
    ).done()
    desk = Desk(tmp_path / "quay.pourbook", here)
    desk.does("cask 'Q 1' --fill '200 l' --strength 60 --in-wood 0 --spirit 'malt spirit' --when 2024-02-01")
    return desk


# -- numbers -------------------------------------------------------------------------------


def test_every_kind_has_its_numbers_from_the_ranges(quay):
    """The first of the range that may be issued; what is printed ahead, packed and imported, too."""
    assert quay.does("vial '100 ml' --supplier Tarn --strength 60").id == write("vial", 100_000)
    assert quay.asks("reserve cask 2")["ids"] == [write("cask", 100_001), write("cask", 100_002)]
    quay.does("batch Vat")
    quay.does("dump Vat 'Q 1'")
    quay.does("settings --set company_prefix=9521234")
    lot = quay.does("bottle Vat --count 100 --size '700 ml' --ref Lot --confirm").id
    cases = quay.does(f"cases {lot} --count 2 --bottles 6").out.split()
    assert [number_in_sscc(one, "9521234") for one in cases] == [100_000, 100_001]


def test_imported_casks_have_numbers_of_the_site(quay, tmp_path):
    (tmp_path / "casks.csv").write_text("ref,spirit\nQ 8,malt\nQ 9,malt\n", "utf-8")
    quay.does(f"import casks {tmp_path / 'casks.csv'}")
    assert [quay.asks(f"show '{ref}'")["id"] for ref in ("Q 8", "Q 9")] == [
        write("cask", 100_001), write("cask", 100_002),
    ]  # fmt: skip


def test_numbers_that_are_given_out_are_refused_with_what_to_do(quay):
    """Of casks; other kinds have theirs; a further range goes on."""
    left = [number for number in range(100_001, 100_021) if is_issued("cask", number)]
    quay.does(f"reserve cask {len(left)}")
    ran = quay("cask 'Q 99'")
    assert ran.refusal is Refused
    assert "100000-100020" in ran.err
    assert "settings --set numbers=" in ran.err
    assert quay("reserve cask 1").refusal is Refused
    quay.does("settings --set numbers='100000-100020, 300000-300099'")
    assert quay.does("cask 'Q 99'").id == write("cask", 300_000 if is_issued("cask", 300_000) else 300_001)


def test_another_sites_label_is_told_as_such(quay):
    """Typed, scanned, or given to something new."""
    other = write("cask", 7)
    for line in (f"show {other}", f"draw {other} '200 ml'", f"scan {other}"):
        assert "outside this site's ranges, 100000-100020" in quay(line).err
    assert "outside this site's ranges" in quay(f"cask New --id {other}").err


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ("numbers=1-99999", "were given already"),
        ("numbers='100000-100020, 5-7'", "would never be given"),
        ("numbers=", "no numbers of its own"),
        ("site=HILL", "this is site QUAY"),
        ("site=", "this is site QUAY"),
        ("numbers='9-1'", "cannot be a site's range"),
        ("numbers='1-9,9-12'", "names 9 twice"),
        ("numbers=many", "is no range"),
        ("numbers=1-100000000000", "cannot be a site's range"),
        ("site='Q U'", "cannot name a site"),
    ],
)
def test_name_and_numbers_stay(quay, change, said):
    assert said in quay(f"settings --set {change}").err


def test_what_was_printed_ahead_or_voided_counts_as_given(tmp_path):
    for line in ("reserve cask 1", "cask C"):
        path = tmp_path / f"{line[:4]}.pourbook"
        here("create", path, "--house", "Quillmere", "--site", "A", "--numbers", "5-9").done()
        desk = Desk(path, here)
        number = desk.asks(line)["entries"][-1]
        if line == "cask C":
            desk.does(f"void {number} --reason mistaken")
        assert "were given already" in desk("settings --set numbers=50-90").err


def test_a_house_may_become_a_site_later(tmp_path):
    """Its ranges hold what it gave so far."""
    here("create", tmp_path / "b", "--house", "Quillmere").done()
    desk = Desk(tmp_path / "b", here)
    desk.does("cask C")
    desk.does("settings --set site=stills --set numbers=1-500")
    assert desk.asks("settings")["site"] == "STILLS"


def test_a_house_of_one_site_may_have_a_range(tmp_path):
    """Above its earlier labels, say; and a station sets one thing at a time: first the range, then the site."""
    here("create", tmp_path / "b", "--house", "Quillmere", "--numbers", "5000-99999").done()
    desk = Desk(tmp_path / "b", here)
    assert desk.does("cask C").id == write("cask", 5000)
    assert "this book is no site's" in desk("despatch C '1 l' --site HILL --document D7").err
    desk.does("settings --set site=stills")
    assert desk.asks("settings")["site"] == "STILLS"


_SPANS = st.lists(st.integers(1, 10**6), min_size=2, max_size=8, unique=True).map(
    lambda ends: tuple(range(first, last + 1) for first, last in zip(*[iter(sorted(ends))] * 2, strict=False))
)


@given(_SPANS, st.integers(1, 10**6 + 100), st.sampled_from(list(KINDS)))
@example((range(1, 3), range(100, 105)), 3, "cask")
def test_the_next_number_is_the_first_that_may_be_given(ranges, number, kind):
    """No sooner one is issued and of the ranges; there is none only where none is left."""
    found = next_number(ranges, number, kind)
    assert read_ranges(shown_ranges(ranges)) == ranges
    if found is not None:
        assert found >= number
        assert has_number(ranges, found)
        assert is_issued(kind, found)
    passed = range(number, number + 40 if found is None else found)
    assert not any(has_number(ranges, one) and is_issued(kind, one) for one in passed)


@given(_SPANS, _SPANS, st.integers(1, 10**6))
def test_what_two_sites_share_is_what_both_have(some, others, number):
    assert has_number(shared(some, others), number) == (has_number(some, number) and has_number(others, number))


# -- what goes to another site, and comes from one -------------------------------------------


def test_a_despatch_to_a_site_leaves_the_house_and_names_it(quay):
    """The site is the customer where none is named; told in the journal, the account and whom to call in a recall."""
    ran = quay.does("despatch 'Q 1' '50 l' --site stills --document 'MD 1' --when 2024-03-01")
    assert "to site STILLS" in ran.out
    body = quay.asks("journal")["entries"][-1]["body"]["lines"][0]
    assert body["facts"] == {"customer": "STILLS", "document": "MD 1", "site": "STILLS"}
    assert "(to site STILLS under MD 1)" in quay("journal").out
    headings = {line["heading"]: line["bulk_l"] for line in _account(quay) if line["side"] == "out"}
    assert headings == {"to other sites": pytest.approx(50, abs=1e-3)}
    assert [one["name"] for one in quay.asks("affected --item 'Q 1'")["customers"]] == ["site STILLS"]


def test_a_receipt_is_an_origin_with_what_the_document_says(quay):
    """Into a cask, a batch, a vial; with its time in wood; told in the trace and the account."""
    told = "--strength 61.5 --from-site stills --document 'MD 7' --in-wood '8 y' --when 2024-03-01"
    quay.does(f"fill 'Q 1' '20 l' {told}")
    vial = quay.does(f"vial '200 ml' --ref S {told}").id
    cask = quay.does(f"cask 'Q 2' --fill '100 l' {told}").id
    assert kind_of(vial) == "vial"
    (origin,) = quay.asks(f"trace {cask}")["origins"]
    assert (origin["facts"]["from_site"], origin["facts"]["document"]) == ("STILLS", "MD 7")
    assert "site STILLS, MD 7" in quay(f"trace {cask}").out
    assert "from site STILLS, MD 7" in quay("show S").out
    assert "(from site STILLS under MD 7)" in quay("journal").out
    headings = {line["heading"]: line["bulk_l"] for line in _account(quay) if line["side"] == "in"}
    assert headings == {"received": pytest.approx(200, abs=1e-3), "from other sites": pytest.approx(120.2, abs=1e-3)}


def _account(desk):
    return desk.asks(f"account {PERIOD}")["total"]["lines"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("despatch 'Q 1' '5 l' --site STILLS", "no document is named"),
        ("despatch 'Q 1' '5 l'", "not said to whom"),
        ("despatch 'Q 1' '5 l' --site QUAY --document D", "site QUAY is this one"),
        ("despatch 'Q 1' '5 l' --site 'S/1' --document D", "cannot name a site"),
        ("fill 'Q 1' '5 l' --strength 60 --from-site QUAY --document D", "site QUAY is this one"),
        ("fill 'Q 1' '5 l' --strength 60 --from-site STILLS", "no document is named"),
        ("despatch Lot 6 --site STILLS --document D", "no bottles"),
    ],
)
def test_what_cannot_go_between_sites_is_refused(quay, line, said):
    quay.does("batch Vat")
    quay.does("pour Vat 'Q 1' '20 l'")
    quay.does("bottle Vat --count 20 --size '700 ml' --ref Lot --confirm")
    before = quay.asks("journal-hash")
    ran = quay(line)
    assert said in ran.err
    assert ran.status == 1
    assert quay.asks("journal-hash") == before


def test_a_house_without_sites_sends_to_none(tmp_path):
    here("create", tmp_path / "b", "--house", "Quillmere").done()
    desk = Desk(tmp_path / "b", here)
    desk.does("cask C --fill '200 l' --strength 60")
    assert "this book is no site's" in desk("despatch C '5 l' --site STILLS --document D").err


def test_the_same_document_twice_is_asked_about(quay):
    """In any case and spacing, of the same item; another part of the consignment is confirmed, or goes elsewhere."""
    quay.does("despatch 'Q 1' '5 l' --site STILLS --document 'MD 1'")
    ran = quay("despatch 'Q 1' '5 l' --site stills --document 'md 1'")
    assert "is already under MD 1" in ran.err
    quay.does("despatch 'Q 1' '5 l' --site stills --document 'md 1' --confirm")
    assert quay.asks("journal")["entries"][-1]["body"]["lines"][0]["confirmed"][0]["rule"] == "consigned-before"
    quay.does("despatch 'Q 1' '5 l' --site HILL --document 'MD 1'")
    came = "--strength 60 --from-site STILLS --document 'MD 9'"
    number = quay.asks(f"cask 'Q 3' --fill '90 l' {came}")["entries"][-1]
    quay.does(f"cask 'Q 4' --fill '90 l' {came}")
    assert "is already under MD 9" in quay(f"fill 'Q 3' '5 l' {came}").err
    quay.does(f"replace {number} --amount '91 l' --reason misread")  # the receipt itself is not in its own way


def test_time_in_wood_told_in_years_is_restated(quay):
    """As it was told, counted to the day it came."""
    told = "--strength 60 --from-site STILLS --document D --in-wood '8 y' --when 2024-03-01"
    number = quay.asks(f"cask 'Q 3' --fill '90 l' {told}")["entries"][-1]
    before = quay.asks("journal")["entries"][-1]["body"]["lines"][0]["facts"]
    quay.does(f"replace {number} --amount '91 l' --reason misread")
    assert quay.asks("journal")["entries"][-1]["body"]["lines"][0]["facts"] == before


def test_python_and_the_command_write_the_same(quay, tmp_path):
    quay.does("despatch 'Q 1' '50 l' --site stills --document 'MD 1' --when 2024-03-01")
    quay.does("fill 'Q 1' '20 l' --strength 61 --from-site stills --document 'MD 7' --in-wood 0 --when 2024-03-02")
    by_command = [one["body"] for one in quay.asks("journal")["entries"][-2:]]
    path = tmp_path / "python.pourbook"
    with Book.create(path, house="Quillmere", site="QUAY", numbers="100000-100020") as book:
        book.take_in_cask(
            Happening("M. Aldane", 0),
            {"ref": "Q 1"},
            Filling(read_amount("200 l"), read_strength("60"), facts={"in_wood": "0"}),
        )
        told = {"site": "stills", "document": "MD 1"}
        book.despatch(Happening("M. Aldane", 10**15), "Q 1", Leaving(read_amount("50 l")), facts=told)
        came = Filling(
            read_amount("20 l"), read_strength("61"), facts={"from_site": "stills", "document": "MD 7", "in_wood": "0"}
        )
        book.fill(Happening("M. Aldane", 10**15), "Q 1", came)
        with pytest.raises(Malformed, match="not said to whom"):
            book.despatch(Happening("M. Aldane"), "Q 1", Leaving(read_amount("1 l")))
    assert [one["body"] for one in Desk(path, here).asks("journal")["entries"][-2:]] == by_command


# -- what leaves as data -----------------------------------------------------------------------


def test_a_document_for_other_houses_names_sites_as_parties(quay, tmp_path):
    """Shipping to a site and receiving from it name the same document."""
    quay.does("despatch 'Q 1' '50 l' --site stills --document 'MD 1'")
    quay.does("fill 'Q 1' '20 l' --strength 61 --from-site stills --document 'MD 1' --in-wood 0 --confirm")
    quay.does("settings --set uri=https://quillmere.example")
    file = tmp_path / "events.json"
    quay.does(f"export epcis 'Q 1' -o {file}")
    events = json.loads(file.read_text("utf-8"))["epcisBody"]["eventList"]
    shipped = next(one for one in events if one.get("bizStep") == "shipping")
    came = next(one for one in events if "sourceList" in one)
    assert shipped["bizTransactionList"] == came["bizTransactionList"]
    assert shipped["destinationList"][0]["destination"] == came["sourceList"][0]["source"]


def test_tables_of_a_history_carry_sites(quay, tmp_path):
    """Written out and taken in at a site of that name again."""
    quay.does("despatch 'Q 1' '50 l' --site stills --document 'MD 1' --when 2024-03-01")
    quay.does("fill 'Q 1' '20 l' --strength 61 --from-site hill --document 'MD 7' --in-wood 0 --when 2024-03-02")
    quay.does(f"export history -o {tmp_path / 'tables'}")
    here("create", tmp_path / "again", "--house", "Quillmere", "--site", "QUAY", "--numbers", "100000-100020").done()
    again = Desk(tmp_path / "again", here)
    again.does(f"import history {tmp_path / 'tables'}")
    for desk in (quay, again):
        told = [
            line.get("facts", {})
            for one in desk.asks("journal --kind pour")["entries"]
            for line in one["body"]["lines"]
        ]
        assert [(one.get("site"), one.get("from_site"), one.get("document")) for one in told] == [
            (None, None, None), ("STILLS", None, "MD 1"), (None, "HILL", "MD 7"),
        ]  # fmt: skip


# -- a month of three sites ----------------------------------------------------------------------


def test_a_month_at_three_sites_gives_no_number_twice(tmp_path):
    """Each book by itself verifies, and every identifier lies in the ranges of its site."""
    books = in_site_books(tmp_path, month(), afterwards())
    given_out = []
    for site, path in books.paths.items():
        with Book.open(path) as book:
            assert not book.verify().faults
            found = [one.id for kind in KINDS for one in book.of_kind(kind)]
        assert all(has_number(read_ranges(SITES[site]), int(one[1:-1])) for one in found)
        given_out += found
    assert len(given_out) == len(set(given_out)) > 20
