"""Before and after a correction: what it changes is said first, contents and ancestry alike."""

import pytest
from command import Desk, here

from pourbook.errors import ToConfirm


@pytest.fixture
def desk(tmp_path):
    """A batch filled from one cask, gauged whole, and bottled; a vial of a second cask."""
    desk = Desk(tmp_path / "quillmere.pourbook", here)
    desk.does(f"create {desk.book} --house Quillmere --set zone=UTC --set decimal_mark=,")
    desk.does("cask 'Row 1/01' --fill '200 l' --strength 63,5 --in-wood 0 --when 2015-03-01")
    desk.does("cask 'Row 1/02' --fill '180 l' --strength 58 --in-wood 0 --when 2018-03-01")
    desk.does("batch 'Vatting 1' --when 2024-04-01")
    desk.filling = desk.does("pour 'Vatting 1' 'Row 1/01' '30 l' --when 2024-04-01T10:00 --json").json["entries"][-1]
    desk.does("gauge 'Vatting 1' --amount '29,9 l' --strength 63,4 --when 2024-04-02")
    desk.does("bottle 'Vatting 1' --count 20 --size '700 ml' --ref 'Lot 1' --when 2024-04-08T09:00")
    desk.drawing = desk.does("draw 'Row 1/02' '200 ml' --when 2024-05-01 --json").json["entries"][-1]
    return desk


def test_a_preview_names_what_changes_though_nothing_later_is_computed_again(desk):
    """A vial of 200 ml that were 200.3: in millilitres, with the house's comma; the answer afterwards says the same."""
    replace = f"replace {desk.drawing} --amount '200,3 ml' --reason 'misread the cylinder'"
    rehearsed = desk.does(f"{replace} --dry-run").err
    assert "V-000001-R · Row 1/02: 200,00 -> 200,30 ml" in rehearsed
    assert "C-000002-F · Row 1/02: 179,80" in rehearsed
    assert "V-000001-R · Row 1/02: 200,00 -> 200,30 ml" in desk.does(replace).err


def test_a_pour_that_is_simply_recorded_says_nothing_of_changes(desk):
    """Only corrections and rehearsals do."""
    assert "before -> after" not in desk.does("draw 'Row 1/02' '100 ml'").err


def test_a_preview_names_lots_whose_sources_go_though_a_gauge_keeps_their_contents(desk):
    """The pour that filled the batch voided: the lot holds the same, but nobody knows any more what it is of."""
    void = f"void {desk.filling} --reason 'wrong cask'"
    rehearsed = desk.does(f"{void} --dry-run --json").json
    lot = desk.asks("show 'Lot 1'")["id"]
    assert lot not in {one["id"] for one in rehearsed["changed"]}
    (before, after) = next((one["before"], one["after"]) for one in rehearsed["ancestry"] if one["id"] == lot)
    traced = desk.asks("trace 'Lot 1'")
    assert before["shares"] == pytest.approx({"C000001H": 1.0})
    assert before["youngest_days"] == pytest.approx(traced["age"]["youngest_days"])
    assert after == {"shares": {"unexplained": 1.0}, "youngest_days": None}
    assert rehearsed["ancestry_whole"]
    said = desk.does(void).err
    assert "L-000001-C · Lot 1: 100,00 -> – % C-000001-H · Row 1/01, – -> 100,00 % unexplained" in said
    assert "-> unknown" in said
    assert "note: 1 later line was computed again" in said
    assert [origin["origin"] for origin in desk.asks("trace 'Lot 1'")["origins"]] == ["unexplained"]


def test_shares_that_move_are_told(desk):
    """A second cask poured in yesterday, recorded today: the lot's shares are those of its trace afterwards."""
    told = desk.does("pour 'Vatting 1' 'Row 1/02' '10 l' --when 2024-04-01T12:00 --json").json
    lot = next(one for one in told["ancestry"] if one["id"] == "L000001C")
    shares = {origin["into"]: origin["share"] for origin in desk.asks("trace 'Lot 1'")["origins"]}
    assert lot["before"]["shares"].keys() == {"C000001H"}
    assert lot["after"]["shares"] == pytest.approx(shares)
    assert shares.keys() == {"C000001H", "C000002F"}


def test_where_too_much_lies_downstream_it_is_said(desk, monkeypatch):
    """What is looked at is bounded; lots come first."""
    from pourbook.book import ancestry

    monkeypatch.setattr(ancestry, "_MOST_ITEMS", 1)
    void = desk.does(f"void {desk.filling} --reason 'wrong cask' --dry-run")
    assert "L-000001-C · Lot 1: 100,00 -> – % C-000001-H · Row 1/01" in void.err
    assert "too many items lie downstream" in void.err
    assert not desk.does(f"void {desk.filling} --reason 'wrong cask' --dry-run --json").json["ancestry_whole"]


def test_a_trace_of_a_day_is_of_that_day_alone(desk):
    """Header and stock are as of the moment asked about; before anything was poured, the refusal says by when."""
    said = desk.does("trace 'Vatting 1' --at 2024-04-01T10:30").out
    assert "holds 30,00 l" in said
    assert "as of 2024-04-01 10:30 UTC" in said
    back = desk.asks("trace 'Lot 1' --at 2024-04-09")
    desk.does("pour 'Vatting 1' 'Row 1/01' '50 l' --when 2024-06-01")
    assert desk.asks("trace 'Lot 1' --at 2024-04-09") == back
    refused = desk("trace 'Vatting 1' --at 2024-04-01T09:00")
    assert refused.status == 1
    assert "nothing had been poured into B-000001-Y · Vatting 1 by 2024-04-01 09:00 UTC" in refused.err
    desk.does("batch 'Vatting 2'")
    assert "nothing was ever poured into B-000002-W · Vatting 2" in desk("trace 'Vatting 2'").err


def test_refusals_name_house_time(desk):
    """A closed period and a moment ahead, in a house an hour from UTC."""
    desk.does("settings --set zone=Europe/Berlin")
    desk.does("close --when '2024-06-01 08:00' --reason 'stock-take'")
    assert "closed at 2024-06-01 08:00 CEST" in desk("draw 'Row 1/02' '100 ml' --when 2024-05-02").err
    assert "2199-01-01 00:00 CET is in the future" in desk("draw 'Row 1/02' '100 ml' --when 2199-01-01").err


def test_identifiers_in_documents_have_no_hyphens_and_on_screens_they_have(desk):
    """What a trial follows and was revised from."""
    first = desk.asks("trial --part V-000001-R=1 --part water=1")["id"]
    second = desk.asks(f"trial --part V-000001-R=3 --part water=1 --revised-from {first}")["id"]
    facts = desk.asks(f"show {second}")["facts"]
    assert (facts["follows"], facts["revised_from"]) == (second, first)
    assert f"revised from: T-{first[1:-1]}-{first[-1]}" in desk.does(f"show {second}").out
    assert desk.asks(f"recipe {second}")["name"] == second


def test_a_comparison_gives_strength_and_days(desk):
    """As the trace of either does."""
    trials = [desk.asks(f"trial --part V-000001-R={parts} --part water=1")["id"] for parts in (1, 3)]
    for trial in trials:
        desk.does(f"pour {trial} V-000001-R '20 ml' water '10 ml'")
    summaries = desk.asks(f"compare {trials[0]} {trials[1]}")["summaries"]
    for trial, told in zip(trials, summaries, strict=True):
        assert told["strength_20c"] == desk.asks(f"show {trial}")["strength_20c"]
        assert told["youngest_days"] == desk.asks(f"trace {trial}")["age"]["youngest_days"]


def test_what_a_cask_lost_by_the_gauges_up_to_a_day(desk):
    """A later gauge does not count, and what to expect is of that day."""
    for day, amount in (("2025-03-01", "164,5"), ("2026-03-01", "161")):
        desk.does(f"gauge 'Row 1/01' --amount '{amount} l' --strength 63,2 --when {day}")
    by_then = desk.asks("evaporation 'Row 1/01' --at 2025-12-31")
    (cask,), (later,) = by_then["casks"], desk.asks("evaporation 'Row 1/01'")["casks"]
    assert by_then["on"] == "2025-12-31T23:59:59.999999Z", "the whole of that day"
    assert [one["happened"] for one in cask["readings"]] == [one["happened"] for one in later["readings"]][:-1]


def test_a_comparison_of_a_day(desk):
    """What was poured into a trial later does not count."""
    trial = desk.asks("trial --part V-000001-R=1 --part water=1 --when 2024-05-02")["id"]
    desk.does(f"pour {trial} V-000001-R '20 ml' --when 2024-05-03")
    before = desk.asks(f"compare {trial} V-000001-R")["summaries"][0]["strength_20c"]
    desk.does(f"pour {trial} water '10 ml' --when 2024-05-04")
    assert desk.asks(f"compare {trial} V-000001-R --at 2024-05-03")["summaries"][0]["strength_20c"] == before
    assert desk.asks(f"compare {trial} V-000001-R")["summaries"][0]["strength_20c"] < before


# -- a replacement is asked what the first recording is asked --------------------------------


def test_a_replacement_is_asked_as_the_first_recording(desk):
    """A gauge of the batch restated 34 % lower; a filling of 20 bottles of 700 ml that were 9,5 l."""
    gauge = next(one["number"] for one in desk.asks("journal")["entries"] if one["kind"] == "gauge")
    asked = desk(f"replace {gauge} --amount '19,8 l' --reason misread")
    assert (asked.status, asked.refusal) == (1, ToConfirm)
    assert "where the book has 30,00 l and at least 29,40 l was expected" in asked.err, "as it was just before"
    verbs = {one["body"].get("verb"): one["number"] for one in desk.asks("journal")["entries"]}
    filling = verbs["bottle"]
    asked = desk(f"replace {filling} --amount '9,5 l' --reason misread")
    assert (asked.status, asked.refusal) == (1, ToConfirm)
    assert "'9,5 l' in 20 bottles is 475,0 ml in each, and they are of 700,0 ml" in asked.err
    desk.does(f"replace {filling} --amount '14,1 l' --reason misread --dry-run")


def test_what_was_confirmed_once_is_asked_again_when_it_is_restated(desk):
    """A yes is to the figure that was asked about."""
    told = desk.does("gauge 'Row 1/02' --amount '90 l' --kind leak --confirm --when 2024-06-01 --json").json
    again = f"replace {told['entries'][-1]} --amount '20 l' --reason misread"
    assert desk(again).refusal is ToConfirm
    said = desk.does(f"{again} --confirm")
    assert "difference from the book: −159,80 l" in said.out
    assert desk.asks("journal")["entries"][-1]["body"]["facts"] == {"disposition": "leak"}


def test_a_reading_is_restated_as_it_was_read(desk):
    """A hydrometer, a weighing, a dip, in place of what was read so; the same entry as if it had been read at first."""
    when = "--when 2024-06-01"
    desk.does("vessel 'Vat 1' --table '0 0; 100 400' --when 2024-01-01")
    desk.does("instrument 'H-3' --kind hydrometer --unit '% vol' --mpe 0,1 --when 2024-01-01")
    wrong = desk.does(f"gauge 'Row 1/02' --amount '179 l' --hydrometer 59,2 --sample-temperature 18 {when} --json").json
    number = wrong["entries"][-1]
    for wanted in (
        "--hydrometer 58,2 --sample-temperature 15 --instrument H-3",
        "--gross '206 kg' --tare '43 kg'",
        "--dip 44,6 --vessel 'Vat 1'",
        "--density 912",
    ):
        number = desk.does(f"replace {number} {wanted} --reason misread --json").json["entries"][-1]
    restated = desk.asks("journal")["entries"][-1]["body"]
    assert restated["reading"].keys() == {"dip", "density"}
    held = desk.asks("show 'Row 1/02'")
    desk.does(f"void {number} --reason 'to read it anew'")
    desk.does(f"gauge 'Row 1/02' --dip 44,6 --vessel 'Vat 1' --density 912 {when}")
    assert desk.asks("journal")["entries"][-1]["body"] == restated
    assert desk.asks("show 'Row 1/02'")["mass_mg"] == held["mass_mg"]


def test_a_pour_has_no_reading_to_restate(desk):
    """It is told; so is a kind of loss for what was not lost."""
    assert "no instrument was read" in desk(f"replace {desk.drawing} --hydrometer 61 --reason misread").err
    assert "was not lost" in desk(f"replace {desk.drawing} --kind leak --reason misread").err
