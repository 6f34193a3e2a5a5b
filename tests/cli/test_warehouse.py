"""Life in the warehouse by the real command: what lies in the way, leaking casks, stocktakes."""

import pypdfium2
import pytest
from command import Desk, here, scans

from pourbook.codes.identifiers import hyphened


@pytest.fixture
def shed(tmp_path):
    """A stow two high, open at its first end: Q 1 to Q 3 on the ground, Q 4 to Q 6 upon them; Q 7 in another row."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere")
    desk.does("location Row --storage stow --levels row/tier/position")
    desk.does("settings --set walk=serpentine")
    places = {f"Q {number}": f"Row 3, {1 + (number > 3)}, {1 + (number - 1) % 3}" for number in range(1, 7)}
    desk.ids = {
        ref: desk.does(f"cask '{ref}' --fill '200 l' --strength 60 --place '{place}' --when 2016-03-01").id
        for ref, place in (places | {"Q 7": "Row 4, 1, 1"}).items()
    }
    return desk


def test_what_is_in_the_way_is_counted_for_each_cask_and_for_all(shed):
    """Q 3 on the ground has two in front, and the upper tier in front of it and upon it; Q 6 has only its own tier."""
    found = shed.asks("reach 'Q 3' 'Q 6' 'Q 7'")
    refs = {cask: ref for ref, cask in shed.ids.items()}
    in_the_way = {one["ref"]: {refs[cask] for cask in one["in_the_way"]} for one in found["casks"]}
    assert in_the_way == {"Q 3": {"Q 1", "Q 2", "Q 4", "Q 5", "Q 6"}, "Q 6": {"Q 4", "Q 5"}, "Q 7": set()}
    # What is pulled itself is not shifted, and what is in the way of both is shifted once.
    assert {one["ref"] for one in found["shifted"]} == {"Q 1", "Q 2", "Q 4", "Q 5"}
    assert "to shift for all of them: 4 casks" in shed.does("reach 'Q 3' 'Q 6' 'Q 7'").out


def test_where_nobody_said_how_casks_lie_nothing_is_made_up(shed):
    """A place without its position, and a place of no such location, are named with what to do."""
    shed.does("move 'Q 7' --to 'Lean-to'")
    ran = shed.does("reach 'Q 7'")
    assert "not known" in ran.out
    assert "pourbook location NAME --storage KIND" in ran.err
    assert shed.asks("reach 'Q 7'")["unknown"] == [shed.ids["Q 7"]]
    assert "holds" not in ran.err
    assert shed("reach Row").status == 1


def test_an_empty_cask_is_in_the_way_until_it_is_taken_away(shed):
    """It still lies there, as far as the book knows."""
    shed.does("loss 'Q 1' all --kind leak --confirm")
    assert {"ref": "Q 1", "empty": True}.items() <= shed.asks("reach 'Q 2'")["shifted"][0].items()
    assert "empty by the book" in shed.does("reach 'Q 2'").out
    shed.does("move 'Q 1' --to 'cooperage'")
    assert [one["ref"] for one in shed.asks("reach 'Q 2'")["shifted"]] == ["Q 4", "Q 5"]


def test_a_pull_list_walks_past_the_casks_and_names_those_to_shift(shed, tmp_path):
    """Row 3 first, then row 4 backwards; a batch stands for what its plan still takes."""
    shed.does("recipe Ash --part 'Q 7=1' --part 'Q 5=1' --part 'Q 6=1'")
    shed.does("scale-up Ash --total '300 l' --open --ref 'Vatting 9'")
    shed.does(f"sheet 'Vatting 9' -o {tmp_path}/pull.pdf")
    (page,) = pypdfium2.PdfDocument(tmp_path / "pull.pdf")
    text = page.get_textpage().get_text_range()
    assert text.index("Q 5") < text.index("Q 6") < text.index("Q 7")
    assert "To reach them, shift 1 cask: Q 4 at Row 3, 2, 1." in text
    assert [one["ref"] for one in shed.asks("reach 'Vatting 9'")["shifted"]] == ["Q 4"]
    shed.does("pour 'Vatting 9' 'Q 5' '100 l'")
    assert len(shed.asks("reach 'Vatting 9'")["casks"]) == 2


def test_a_plan_of_the_book_says_what_it_takes_to_reach_its_casks(shed):
    """Its casks in the order of the walk; to shift is what is in the way of all together, as `reach` counts it."""
    shed.does("component base --spirit malt")
    for number in range(1, 8):
        shed.does(f"set 'Q {number}' spirit='malt spirit' --when 2016-03-01")
    shed.does("recipe Plain --part base=100 --confirm")
    hold = " ".join(f"'Q {number}'" for number in (1, 4, 7))
    shed.does(f"hold {hold} --reason 'kept back'")
    told = shed.asks("plan Plain --final '700 l' --to 46 --gauged-within 9999")
    taken = [one["ref"] for one in told["casks"]]
    assert taken == [ref for ref in ("Q 2", "Q 5", "Q 3", "Q 6") if ref in taken]
    together = shed.asks(f"reach {' '.join(map(repr, taken))}")["shifted"]
    assert told["to_shift"] == [one["id"] for one in together] != []


# -- a leaking cask ------------------------------------------------------------------------


@pytest.fixture
def leaking(shed):
    """Q 1 leaks; S 1 is a sound empty cask of other wood; a batch under way wants all of Q 1."""
    shed.does("set 'Q 1' wood='refill oak' spirit='malt spirit' owner=Corran --when 2016-03-02")
    shed.does("cask 'S 1' --wood 'virgin chestnut' --capacity 190")
    shed.does("component base --spirit malt --wood oak")
    shed.does("component accent --spirit malt --wood chestnut")
    shed.does("recipe Ash --part 'Q 1=1' --part 'Q 7=1'")
    shed.does("scale-up Ash --total '300 l' --open --ref 'Vatting 9'")
    return shed


def test_a_leaker_is_racked_by_three_scans(leaking):
    """What arrived is in the sound cask, the rest is booked as leaked, and nothing else left the house."""
    before = leaking.asks("show 'Q 1'")
    ran = leaking("rack --about 'stave 4 cracked'", scans("Q 1", "S 1", "13 C", "180 l"))
    assert ran.status == 0, ran.err
    assert "1 cask racked" in ran.out
    leaker, sound = leaking.asks("show 'Q 1'"), leaking.asks("show 'S 1'")
    assert leaker["mass_mg"] == 0
    # 180 l at 13 °C are somewhat more at 20 °C; spirit of 60 % vol expands by some 0.09 % for each °C.
    assert sound["volume_ml_20c"] == pytest.approx(180_000 * (1 + 7 * 0.0009), rel=5e-4)
    assert sound["strength_20c"] == pytest.approx(60, abs=1e-6)
    assert (sound["facts"]["spirit"], sound["facts"]["owner"]) == ("malt spirit", "Corran")
    lost = leaking.asks("journal --item 'Q 1'")["entries"][-1]["body"]["lines"][0]
    assert lost["facts"]["disposition"] == "leak"
    (leaked,) = leaking.asks("account --from 2016-01-01 --to 2100-01-01 --list loss:leak")["rows"]
    assert leaked["mass_mg"] + sound["mass_mg"] == before["mass_mg"]
    history = leaking.asks("provenance 'Q 1'")["history"]
    assert [(one["subject"], one["text"]) for one in history if one["subject"] != "change"] == [
        ("inspection", "stave 4 cracked")
    ]


def test_what_changes_is_said_before_anything_flows(leaking):
    """Other wood, another kind, too little room, and who wanted it."""
    ran = leaking("rack", scans("Q 1", "S 1"))
    assert ran.status == 0, ran.err
    for said in (
        "warning: other wood: refill oak before, virgin chestnut now",
        "warning: it changes its kind: base before, accent now",
        "is too small by the book, by 10.00 l",
        "Vatting 9 wanted 150.00 l of",
    ):
        assert said in ran.err
    assert leaking.asks("show 'S 1'")["mass_mg"] == 0
    told = leaking.asks("rack 'Q 1' 'S 1' '180 l'")
    assert (told["wood"], told["kinds"]) == (["refill oak", "virgin chestnut"], ["base", "accent"])
    assert [(one["ref"], round(one["to_go_ml"])) for one in told["wanted_by"]] == [("Vatting 9", 150_000)]
    assert (told["mixed"], told["measured"], told["lacks_ml"]) == (False, True, 0)  # 180 l fit into 190


def test_time_in_wood_goes_with_the_spirit(leaking):
    """The stay in the leaking cask and that in the sound one are one age."""
    leaking.does("rack 'Q 1' 'S 1' --when 2026-03-01")
    youngest = leaking.asks("provenance 'S 1' --at 2026-03-01")["fills"][0]
    assert youngest["poured"][0]["spirit"] == "malt spirit"
    trace = leaking.asks("trace 'S 1' --at 2026-03-01")
    assert [one["id"] for one in trace["items"]][-1] == leaking.ids["Q 1"]


def test_a_cask_that_is_not_empty_is_asked_about(leaking):
    """Two bodies of spirit become one only where a person says so; in the loop by one word."""
    ran = leaking("rack", scans("Q 1", "Q 7", "100 l", "done"))
    assert ran.status == 1
    assert "two bodies of spirit become one" in ran.err
    assert leaking.asks("show 'Q 1'")["mass_mg"]
    assert leaking("rack 'Q 1' 'Q 7' '10 l'").refusal.__name__ == "ToConfirm"
    ran = leaking("rack", scans("Q 1", "Q 7", "10 l", "confirm", "done"))
    assert ran.status == 0, ran.err
    assert leaking.asks("show 'Q 7'")["volume_ml_20c"] == pytest.approx(210_000, rel=1e-6)


def test_a_hold_goes_with_the_spirit(leaking):
    """A leaking cask on hold is racked all the same, and what it goes into is on hold."""
    leaking.does("hold 'Q 1' --reason 'sulphur found'")
    assert leaking("rack 'Q 1' 'S 1' '180 l'").refusal.__name__ == "ToConfirm"
    leaking.does("rack 'Q 1' 'S 1' '180 l' --confirm")
    assert "held" in leaking.asks("show 'S 1'")["facts"]
    assert "on hold" in leaking("draw 'S 1' '200 ml'").err


def test_wrong_scans_change_nothing(leaking):
    """The leaking cask scanned twice, an amount before the second cask, an empty one that is said to leak."""
    ran = leaking("rack", scans("Q 1", "180 l", "Q 1", "done"))
    assert "not both casks were scanned" in ran.err
    assert "is the leaking cask itself" in ran.err
    assert ran.status == 1
    assert "holds nothing by the book" in leaking("rack 'S 1' 'Q 1'").err
    assert "into which cask?" in leaking("rack 'Q 1'").err
    assert leaking.asks("show 'Q 1'")["volume_ml_20c"] == pytest.approx(200_000)


def test_a_racking_is_undone_by_one_word(leaking):
    """All that it recorded is voided, the leak and the hold as well; the book stays whole."""
    leaking.does("hold 'Q 1' --reason 'sulphur found'")
    before = leaking.asks("show 'Q 1'")
    ran = leaking("rack", scans("undo", "Q 1", "S 1", "180 l", "confirm", "undo", "done"))
    assert "nothing was racked" in ran.err
    assert "0 casks racked" in ran.out
    after = leaking.asks("show 'Q 1'")
    assert (after["mass_mg"], after["facts"]) == (before["mass_mg"], before["facts"])
    assert leaking.asks("show 'S 1'")["mass_mg"] == 0
    assert "held" not in leaking.asks("show 'S 1'")["facts"]
    leaking.does("verify")


def test_what_was_not_measured_is_to_be_gauged(leaking):
    """All that the book has goes over; nothing is made up as leaked."""
    ran = leaking.does("rack 'Q 1' 'S 1' --confirm")
    assert "not measured: pourbook gauge" in ran.out
    assert "leaked" not in ran.out
    assert leaking.asks("show 'S 1'")["volume_ml_20c"] == pytest.approx(200_000)


# -- stocktakes ----------------------------------------------------------------------------


def test_a_stocktake_by_two_stations_survives_a_break(shed):
    """One scans row 3, another goes on after a break; what was scanned by either is in the book at once."""
    opened = shed.asks("stocktake open May --place 'Row 3'")
    assert (opened["place"], opened["expected"]) == ("Row 3", 6)
    one = shed("stocktake scan May --who 'Isla Farrow'", scans("Q 1", "q2", "Q 7", "Q 1"))
    assert one.status == 0, one.err
    assert "C-000001-H · Q 1 found" in one.err
    assert "NOT HERE by the book" in one.err
    assert "at Row 4, 1, 1" in one.err
    assert "was scanned already" in one.err
    other = shed("stocktake scan may --who 'Tomas Reeve'", scans("Q 2", "Q 3", "Q 4", "?", "undo", "Q 5", "done"))
    assert other.status == 0, other.err
    assert "was scanned already" in other.err
    assert "2 items of Row 3 not scanned yet" in other.err
    standing = shed.asks("stocktake report May")
    refs = {cask: ref for ref, cask in shed.ids.items()}
    assert [refs[item] for item in standing["missing"]] == ["Q 4", "Q 6"]
    assert {refs[item] for item in standing["found"]} == {"Q 1", "Q 2", "Q 3", "Q 5"}
    assert standing["extra"] == [{"item": shed.ids["Q 7"], "seen_at": "Row 3", "by_book": "Row 4, 1, 1"}]
    assert standing["ended"] is None
    shed.does("verify")


def test_what_is_missing_is_due_until_it_is_found_or_written_off(shed):
    """Nothing leaves the book by a stocktake; each way of finding ends it."""
    before = [shed.asks(f"show 'Q {number}'")["mass_mg"] for number in range(1, 8)]
    shed.does("stocktake open May")
    shed("stocktake scan May", scans("Q 1"))
    ended = shed.does("stocktake end May")
    assert "nothing is written off" in ended.out
    assert [shed.asks(f"show 'Q {number}'")["mass_mg"] for number in range(1, 8)] == before
    assert _missing(shed) == {"Q 2", "Q 3", "Q 4", "Q 5", "Q 6", "Q 7"}
    assert "missing since a stocktake: 6" in shed.does("due").out
    assert shed.asks("show 'Q 2'")["missing"]["stocktake"] == "May"
    assert "warning: missing since the stocktake May" in shed.does("show 'Q 2'").err
    shed.does("move 'Q 2' --to 'Row 9, 1, 1'")
    assert "missing" not in shed.asks("show 'Q 2'")
    shed.does("gauge 'Q 3' --strength 59.8")
    shed.does("loss 'Q 4' all --kind theft --confirm --reason 'not found in May'")
    shed.does("stocktake open June")
    shed("stocktake scan June", scans("Q 5"))
    assert _missing(shed) == {"Q 6", "Q 7"}
    shed.does("stocktake end June")
    # The later stocktake did not find what was met in between, and nobody wrote it off.
    assert _missing(shed) == {"Q 1", "Q 2", "Q 3", "Q 6", "Q 7"}


def _missing(desk):
    refs = {cask: ref for ref, cask in desk.ids.items()}
    return {refs[one["id"]] for one in desk.asks("due")["missing"]}


def test_what_is_elsewhere_is_moved_by_one_word(shed):
    """At once by the station, or all together at the end; only where somebody says so."""
    shed.does("stocktake open May --place 'Row 3'")
    ran = shed("stocktake scan May", scans("here", "Q 7", "here", "at Row 3, 1, 3", "Q 1"))
    assert ran.status == 1
    assert "that is where the book has it" in ran.err
    assert "Q 7 is at Row 3 from now on" in ran.err.replace(f"{hyphened(shed.ids['Q 7'])} · ", "")
    assert shed.asks("show 'Q 7'")["facts"]["place"] == "Row 3"
    ended = shed.asks("stocktake end May --move")
    assert ended["moved"] == [shed.ids["Q 1"]]
    assert shed.asks("show 'Q 1'")["facts"]["place"] == "Row 3, 1, 3"
    assert shed.ids["Q 7"] in ended["found"]


def test_labels_that_cannot_be_read_are_to_be_printed_again(shed):
    """What alone is missing at a place is taken for it; a cask that is known by its chalk is named; else it is kept."""
    shed.does("stocktake open May --place 'Row 3'")
    lines = ("illegible Row 3, 2, 2", "illegible Q 1", "illegible Row 3", "illegible Row 7/9")
    ran = shed("stocktake scan May", scans(*lines))
    assert ran.status == 0, ran.err
    told = shed.asks("stocktake report May")
    assert told["illegible"] == [shed.ids["Q 5"], shed.ids["Q 1"], "Row 3", "Row 7/9"]
    assert {shed.ids["Q 5"], shed.ids["Q 1"]} <= set(told["found"])
    said = shed.does("stocktake report May").out
    assert f"next: pourbook label {hyphened(shed.ids['Q 5'])} {hyphened(shed.ids['Q 1'])} --template NAME" in said


def test_what_nobody_knows_and_what_is_empty_is_said(shed):
    """A foreign code, a slip of the scanner, a person's badge, an emptied cask, one label at two places."""
    shed.does("person 'Isla Farrow'")
    shed.does("loss 'Q 6' all --kind leak --confirm")
    shed.does("stocktake open May")
    lines = ("4006381333931", "C-000001-X", "Isla Farrow", "Q 6", "at Row 3, 1, 1", "Q 1", "at Row 8", "Q 1", "here")
    ran = shed("stocktake scan May", scans(*lines))
    assert "UNKNOWN" in ran.err
    assert "is a person" in ran.err
    assert "is empty by the book" in ran.err
    assert "SCANNED TWICE" in ran.err
    told = shed.asks("stocktake report May")
    assert told["unknown"] == ["4006381333931"]
    assert told["emptied"] == [shed.ids["Q 6"]]
    assert told["twice"] == {shed.ids["Q 1"]: ["Row 3, 1, 1", "Row 8"]}


def test_names_of_stocktakes_are_their_own_and_an_end_is_an_end(shed):
    """What has ended takes no scan; nothing ends that was not begun."""
    shed.does("stocktake open May")
    assert "is called 'May' already" in shed("stocktake open MAY").err
    assert "no stocktake is called" in shed("stocktake end June").err
    assert "nothing was scanned" in shed("stocktake end May").err
    shed("stocktake scan May", scans("Q 1"))
    shed.does("stocktake end May")
    assert "has ended" in shed("stocktake scan May", scans("Q 2")).err
    assert "has ended" in shed("stocktake end May").err
    assert [one["ended"] is None for one in shed.asks("stocktake list")["stocktakes"]] == [False]
    journal = shed.does("journal").out
    assert "stocktake May begun: the whole house" in journal
    assert "stocktake May ended: 1 found, 6 missing" in journal
    assert "seen C-000001-H" in journal


def test_a_stocktake_is_printed_to_be_signed_and_written_as_a_table(shed, tmp_path):
    """All that was not as in the book, lines to sign, what was found; a row for each in the table."""
    shed.does("stocktake open May --place 'Row 3'")
    shed("stocktake scan May", scans("Q 1", "illegible Q 2", "Q 7", "4006381333931"))
    shed.does(f"stocktake report May -o {tmp_path}/may.pdf --csv {tmp_path}/may.csv")
    pages = pypdfium2.PdfDocument(tmp_path / "may.pdf")
    text = "".join(page.get_textpage().get_text_range() for page in pages)
    for said in ("Missing", "Q 3", "Row 3, 1, 3", "Counted by", "print again", "4006381333931", "under way"):
        assert said in text, said
    rows = [line.split(",") for line in (tmp_path / "may.csv").read_text("utf-8").splitlines()]
    assert [row[0] for row in rows] == [
        "state", "missing", "missing", "missing", "missing", "elsewhere", "unknown code", "found", "found",
    ]  # fmt: skip
