"""A recall as a person types it: from a suspicion to a held, printed, balanced report, and its end.

The house is filled with the same verbs; the printed report is read back by a reader that is not the writer.
"""

import re

import pypdfium2
import pytest
from command import Desk, apart, here

from pourbook.codes.identifiers import hyphened


@pytest.fixture(scope="module")
def filled(tmp_path_factory):
    """Two deliveries vatted twice with one water lot, bottled as two lots, sent, one case back."""
    desk = Desk(tmp_path_factory.mktemp("recall") / "quillmere.pourbook", here)
    tell = desk.does
    tell(f"create {desk.book} --house Quillmere --set zone=UTC --set company_prefix=9521234")
    outside = "--strength 63.5 --in-wood 0 --spirit malt"
    tell(f"cask 'Row 1/01' --fill '200 l' {outside} --distiller 'Corran Vale' --when 2015-03-01")
    tell(f"cask 'Row 1/02' --fill '180 l' {outside} --distiller Quillmere --when 2015-03-02")
    tell("instrument H-3 --kind hydrometer --unit '% vol' --certificate 'CAL 24' --when 2015-04-01")
    tell("person 'Isla Farrow' --when 2015-04-01")
    for number, month in ((1, "04"), (2, "05")):
        tell(f"batch 'Vatting {number}' --place 'Vat {number}' --when 2024-{month}-01")
        casks = "'Row 1/01' '30 l' 'Row 1/02' '20 l'" if number == 1 else "'Row 1/02' '40 l'"
        tell(f"pour 'Vatting {number}' {casks} --when 2024-{month}-02 --who 'Isla Farrow'")
        tell(f"pour 'Vatting {number}' water '15 l' --about 'Spring 4, lot 26-3' --when 2024-{month}-03")
    tell("gauge 'Vatting 1' --hydrometer 48 --instrument H-3 --when 2024-04-04 --confirm")
    bottle = "bottle 'Vatting 1' --count 30 --size '700 ml' --when 2024-04"
    tell(f"{bottle}-08T09:00 --ref 'Lot 1' --lot-mark L24-1 --closure 'stopper K-88' --bottle-lot 'flint G 7'")
    tell(f"{bottle}-08T10:00 --ref 'Lot 2' --lot-mark L24-2 --closure 'stopper K-91' --label 'paper E 3'")
    tell("cases 'Lot 1' --count 5 --bottles 6 --when 2024-04-08T11:00")
    tell("despatch 'Lot 1' 12 --customer 'Harbour Row' --document DN-2214 --when 2024-04-20")
    tell("return 'Lot 1' 6 --customer 'Harbour Row' --when 2024-04-25")
    return desk


@pytest.fixture
def desk(filled, tmp_path):
    """A copy of the house, to be recalled in."""
    copy = tmp_path / "quillmere.pourbook"
    filled.does(f"backup {copy}")
    return Desk(copy, here)


def refs(found):
    return {one["ref"] for one in found["items"]}


SUSPICIONS = {
    "--item 'Row 1/01'": {"Row 1/01", "Vatting 1", "Lot 1", "Lot 2"},
    "--item 'Lot 1'": {"Lot 1"},
    "--origin 'Corran Vale'": {"Row 1/01", "Vatting 1", "Lot 1", "Lot 2"},
    "--origin distiller=quillmere": {"Row 1/02", "Vatting 1", "Vatting 2", "Lot 1", "Lot 2"},
    "--water 'lot 26-3'": {"Vatting 1", "Vatting 2", "Lot 1", "Lot 2"},
    "--water 'lot 26-3' --to 2024-04-30": {"Vatting 1", "Lot 1", "Lot 2"},
    "--closure K-88": {"Lot 1"},
    "--bottle-lot 'flint g 7'": {"Lot 1"},
    "--label 'E 3'": {"Lot 2"},
    "--closure K-88 --label 'E 3'": {"Lot 1", "Lot 2"},
    "--instrument H-3": {"Vatting 1", "Lot 1", "Lot 2"},
    "--instrument H-3 --since-check": {"Vatting 1", "Lot 1", "Lot 2"},
    "--person 'Isla Farrow'": {"Vatting 1", "Vatting 2", "Lot 1", "Lot 2"},
    "--person 'isla farrow' --from 2024-05-01": {"Vatting 2"},
    "--place 'Vat 2'": {"Vatting 2"},
    "--from 2024-05-03 --to 2024-05-03": {"Vatting 2"},
}
"""What is said to be suspect, and what it reaches, worked out from the pours above."""


@pytest.mark.parametrize("said", SUSPICIONS)
def test_a_suspicion_reaches_what_it_touched(filled, said):
    """Every kind of suspect, through the command; nothing is recorded, and the balance is whole."""
    before = filled.asks("journal-hash")
    found = filled.asks(f"affected {said}")
    assert refs(found) == SUSPICIONS[said]
    assert found["balance"]["unexplained"] == {"mass_mg": 0, "ethanol_mg": 0, "extract_mg": 0}
    assert all(0 < one["share_now"]["mass"] <= 1 + 1e-12 for one in found["items"])
    assert filled.asks("journal-hash") == before


def test_what_is_affected_is_told_with_place_cases_and_customers(filled):
    """On the screen: where it is, bottles, cases, who got it, and a balance that closes."""
    said = filled.does("affected --item 'Row 1/01'").out
    assert re.search(r"B-\d{6}-\w  Vatting 1  Vat 1 ", said)
    assert re.search(r"L24-1 +30 +24 +12 +6 +0 +5 +0\n", said)
    assert "case 095212340000000013" in said
    assert "despatch" in said
    assert "Harbour Row  DN-2214" in said
    assert re.search(r"unexplained +0\.000000 +0\.000000", said)


def test_a_moment_of_the_past(filled):
    """Before the bottling there was no lot."""
    assert refs(filled.asks("affected --item 'Row 1/01' --at 2024-04-05")) == {"Row 1/01", "Vatting 1"}


def test_from_a_suspicion_to_a_held_printed_balanced_report(desk, tmp_path):
    """One command; the report says what the entry says, and what is held cannot be poured until the release."""
    report = tmp_path / "recall.pdf"
    recalled = desk.asks(f"recall --item 'Row 1/01' --actual --reason 'cork taint' --hold -o {report}")
    number = recalled["recall"]
    assert len(recalled["held"]) == 4
    refused = desk("pour 'Vatting 2' 'Row 1/01' '1 l'")
    assert refused.status == 1
    assert "on hold" in refused.err
    desk.does("pour 'Vatting 2' 'Row 1/02' '1 l'")
    pages = read(report)
    text = " ".join(" ".join(pages).split())
    head = desk.asks(f"journal --from {number} --to {number}")["entries"][0]["hash"]
    for said in (
        "Recall report", f"RECALL-{number}", "cork taint", "Row 1/01", "put on hold", "L24-1", "095212340000000013",
        "Harbour Row", "DN-2214", "Signatures", head, "Vapour of strong spirit ignites", "unexplained 0.000000",
        "any positive amount",
    ):  # fmt: skip
        assert said in text, said
    assert all(hyphened(one["id"]) in text for one in recalled["items"])
    assert desk.asks("verify")["faults"] == []
    released = desk.asks(f"recall --release {number} --reason 'laboratory: clean'")
    assert released["released"] == recalled["held"]
    desk.does("pour 'Vatting 2' 'Row 1/01' '1 l'")


def read(path):
    """The text of each page."""
    with pypdfium2.PdfDocument(path) as pdf:
        return [page.get_textpage().get_text_bounded() for page in pdf]


def test_a_mock_recall_with_its_times_and_a_threshold(desk, tmp_path):
    """Begun and ended as given, in the entry, the list and the paper; small shares are left out."""
    report = tmp_path / "mock.pdf"
    window = "--begun 2024-05-10T09:00 --ended 2024-05-10T09:41:30"
    line = f"recall --origin 'Corran Vale' --mock --reason 'yearly exercise' --threshold 0.9 {window} -o {report}"
    told = desk.does(line)
    assert "1 item affected; nothing was put on hold" in told.out
    text = " ".join(" ".join(read(report)).split())
    assert "41 min 30 s" in text
    assert "a share of 0.9 or more" in text
    assert "Report of a mock recall" in text
    (listed,) = desk.asks("recall --list")["recalls"]
    assert (listed["mock"], listed["held"], listed["begun"]) == (1, [], "2024-05-10T09:00:00Z")
    assert "yearly exercise" in desk.does("recall --list").out


def test_a_recall_is_shown_as_it_was_found_and_as_it_is(desk):
    """The difference is what was done since; also where the suspect was voided."""
    fill = desk.asks("journal --item 'Row 1/01'")["entries"][1]["number"]
    number = desk.asks(f"recall --origin {fill} --mock --reason exercise")["recall"]
    assert desk.asks(f"recall --show {number}")["differs"] == {}
    desk.does("loss 'Row 1/01' '2 l' --kind leak")
    differs = desk.asks(f"recall --show {number}")["differs"]
    assert differs["lost_mg"] == -differs["on_hand_mg"] > 0
    kg = f"{differs['lost_mg'] / 1e6:.6f}"
    assert re.search(rf"lost, kg +[\d.]+ +[\d.]+ +\+{kg}\n", desk.does(f"recall --show {number}").out)
    desk.does(f"replace {fill} --amount '201 l' --strength 63.5 --reason misread")
    shown = desk.does(f"recall --show {number}")
    assert "no origin in force" in shown.err
    assert "items" in shown.out


def test_a_rehearsal_keeps_nothing(desk, tmp_path):
    """No entry, no hold, no file."""
    before = desk.asks("journal-hash")
    told = desk.does(f"recall --item 'Row 1/01' --mock --reason exercise --hold -o {tmp_path / 'r.pdf'} --dry-run")
    assert "dry run" in told.err
    assert not (tmp_path / "r.pdf").exists()
    assert desk.asks("journal-hash") == before


def test_it_says_whom_to_call_and_what_is_still_where(desk, tmp_path):
    """Worked by hand: 12 sent and 6 back, then a case sent, another customer's case back; the latest contact counts."""
    desk.does("settings --set contact='Isla Farrow, 01632 960100' --set address='Quill Lane 1' --set licence='Q 7'")
    first, second = (f"09521234000000{tail}" for tail in ("0013", "0020"))
    desk.does(f"despatch 'Lot 1' 6 --customer 'harbour row' --contact 'night desk, 01632 960201' --case {first}")
    desk.does(f"despatch 'Lot 1' 6 --customer Ostrey --address 'Quay 2' --case {second}")
    desk.does(f"return 'Lot 1' 6 --customer Ostrey --case {second} --place 'cage 2' --document 'CN 4'")
    found = desk.asks("affected --item 'Lot 1'")
    told = {one["name"]: one for one in found["customers"]}
    harbour, ostrey = told["harbour row"], told["Ostrey"]
    assert (harbour["contact"], ostrey["contact"], ostrey["address"]) == ("night desk, 01632 960201", "", "Quay 2")
    counts = [tuple(one["items"][0][f"bottles_{what}"] for what in ("sent", "returned", "outstanding"))
              for one in (harbour, ostrey)]  # fmt: skip
    assert counts == [(18, 6, 12), (6, 6, 0)]
    assert (harbour["items"][0]["units"], ostrey["items"][0]["units"]) == ([first], [])
    assert sum(one["items"][0]["outstanding_mg"] for one in told.values()) == (
        found["figures"]["despatched_mg"] - found["figures"]["returned_mg"]
    )
    (back,) = found["came_back"]
    assert (back["bottles"], back["units"], back["places"]) == (12, [second], ["cage 2"])
    report = tmp_path / "r.pdf"
    said = desk.does(f"recall --item 'Lot 1' --actual --reason glass --hold -o {report}").out
    text = " ".join(" ".join(read(report)).split())
    for words in ("01632 960100", "night desk, 01632 960201", "no contact on record", "Quay 2", "cage 2", first):
        assert words in said, words
        assert words in text, words
    assert "Quill Lane 1" in text
    number = desk.asks("recall --list")["recalls"][0]["recall"]
    desk.does("return 'Lot 1' 5 --customer 'Harbour Row' --reason recall")
    now = desk.asks(f"recall --show {number}")
    assert now["differs"]["bottles_outstanding"] == -5
    assert {one["name"]: one["items"][0]["bottles_outstanding"] for one in now["customers_now"]} == {
        "Harbour Row": 7, "Ostrey": 0
    }  # fmt: skip


def test_time_is_taken_from_the_first_suspicion(desk, tmp_path):
    """Suspected at 8, found at 9.41.30: 1 h 41 min 30 s; within 2 h without a hold, and not within 1.5 h."""
    times = "--suspected 2024-05-10T08:00 --begun 2024-05-10T09:00 --ended 2024-05-10T09:41:30"
    for within, is_within in (("2", True), ("1.5 h", False)):
        report = tmp_path / f"{is_within}.pdf"
        line = f"recall --item 'Lot 1' --mock --reason exercise {times} --within '{within}' -o {report}"
        took = desk.asks(line)["times"]
        assert (took["seconds_to_found"], took["seconds_to_held"], took["is_within"]) == (6090.0, None, is_within)
        text = " ".join(" ".join(read(report)).split())
        assert "From suspicion to all found" in text
        assert "1 h 41 min 30 s" in text
        assert ("h: met" if is_within else "h: not met") in text
    number = desk.asks("recall --list")["recalls"][-1]["recall"]
    assert "first suspected 2024-05-10T08:00:00Z" in desk.does(f"journal --from {number}").out
    assert "all found in 1 h 41 min 30 s" in desk.does(f"recall --show {number}").out
    held = desk.asks(f"recall --item 'Lot 1' --mock --reason exercise {times} --hold --within 2")["times"]
    assert held["seconds_to_held"] > 6090
    assert held["is_within"] is False  # found in time, and held only now


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("recall --item 'Lot 1' --mock --reason x --suspected 2031-01-01", "begins before anything was suspected"),
        ("recall --item 'Lot 1' --mock --reason x --within 0", "nothing is done within 0"),
        ("affected", "no suspect is named"),
        ("affected --closure K-8", "no lot has a closure 'K-8'"),
        ("affected --water 'Spring 5'", "no water is recorded as 'Spring 5'"),
        ("affected --origin 1", "entry 1 records no origin in force"),
        ("affected --from 2024-06-01 --to 2024-05-01", "the window is empty"),
        ("affected --from 2031-01-01", "no liquid was touched by any pour in that window"),
        ("affected --person Nobody", "no person is called 'Nobody'"),
        ("affected --item 'Row 9/99'", "nothing in the book is called"),
        ("affected --item H-3", "no liquid was touched by item N-"),
        ("affected --item 'Row 1/01' --since-check", "--since-check needs an instrument"),
        ("recall --item 'Row 1/01' --reason exercise", "mock recall or actual?"),
        ("recall --item 'Row 1/01' --mock", "need a reason"),
        ("recall --item 'Row 1/01' --mock --reason exercise --threshold 2", "not between 0 and 1"),
        ("recall --item 'Row 1/01' --mock --reason exercise --begun 2031-01-01", "ends before it begins"),
        ("recall --release 1 --reason clean", "entry 1 is not a recall"),
        ("recall --show 1", "entry 1 is not a recall"),
        ("recall --list --show 1", "one thing at a time"),
    ],
)
def test_what_cannot_be_is_refused_in_one_sentence(desk, line, said):
    """Exit status 1, the sentence, and nothing recorded."""
    before = desk.asks("journal-hash")
    ran = desk(line)
    assert (ran.status, ran.out) == (1, "")
    assert said in ran.err
    assert desk.asks("journal-hash") == before


def test_a_voided_cask_and_a_second_release(desk):
    """A cask that left the book again is unknown; a recall is released once; a file is not written over."""
    desk.does("cask 'Row 7/01' --when 2024-05-20")
    number = desk.asks("journal --item 'Row 7/01'")["entries"][0]["number"]
    desk.does(f"void {number} --reason 'entered twice'")
    assert "nothing in the book is called" in desk("affected --item 'Row 7/01'").err
    recall = desk.asks("recall --item 'Lot 2' --actual --reason complaint --hold")["recall"]
    desk.does(f"recall --release {recall} --reason clean")
    assert "was released by entry" in desk(f"recall --release {recall} --reason clean").err
    there = desk.book.with_name("there.pdf")
    there.write_bytes(b"kept")
    assert "already exists" in desk(f"recall --item 'Lot 2' --actual --reason complaint -o {there}").err
    assert there.read_bytes() == b"kept"


def test_the_whole_of_it_in_a_process_of_its_own(desk, tmp_path):
    """As from a shell, and again on Letter in a house that writes commas."""
    desk.does("settings --set decimal_mark=,")
    report = tmp_path / "recall.pdf"
    ran = apart(
        "recall", "--water", "lot 26-3", "--mock", "--reason", "exercise", "--threshold", "0,2", "--hold", "-o", report,
        "--paper", "Letter", "--json", book=desk.book,
    ).done().json  # fmt: skip
    assert refs(ran) == {"Vatting 1", "Vatting 2", "Lot 1", "Lot 2"}
    text = " ".join(read(report))
    assert "a share of 0.2 or more" in text
    assert "0,000000" in text


def test_a_report_is_a_pdf(desk, tmp_path):
    """Any other ending is refused before anything is held."""
    told = f"recall --item 'Row 1/01' --mock --reason 'yearly exercise' --hold -o '{tmp_path}/report.txt'"
    assert "'report.txt' is not PDF" in desk(told).err
    assert desk.asks("recall --list")["recalls"] == []


def test_a_release_says_why_each_item_stays_held(desk):
    """By hand, by another recall, or not held any more."""
    first = desk.asks("recall --item 'Row 1/01' --mock --reason 'yearly exercise' --hold")
    held = first["held"]
    hand = desk.asks(f"hold {held[0]} --reason 'leaking'")["entries"][-1]
    desk.does(f"release {held[1]} --reason 'clean'")
    other = desk.asks(f"recall --item {held[2]} --mock --reason 'another' --hold")["recall"]
    ended = desk.asks(f"recall --release {first['recall']} --reason 'laboratory: clean' --json")
    why = {one["id"]: (one["why"], one["entry"]) for one in ended["why_kept"]}
    assert why[held[0]] == ("hand", hand)
    assert why[held[1]][0] == "free"
    assert why[held[2]] == ("recall", other)
    assert set(ended["kept"]) == set(why)
