"""What speaks for and against an approval, what an approval keeps, and how it stands afterwards."""

import pytest
from house import House, moment

from pourbook import Facts, Move, Pour, Recipe, RecipePart
from pourbook.actions.approving import Wished, approve, reject
from pourbook.actions.happening import Happening
from pourbook.alcoholometry.volumes import strength_20c
from pourbook.book.approvals import covering
from pourbook.book.entries import House as HouseSettings
from pourbook.book.entries import Stage, Taste
from pourbook.book.journal import entry_of
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Held, Malformed, Refused, ToConfirm
from pourbook.paperwork.dossier_of import dossier_of
from pourbook.quantities import read_amount
from pourbook.queries.approvals.approval import approval
from pourbook.queries.approvals.approved import approved
from pourbook.queries.approvals.tasted_beside import glasses_of
from pourbook.queries.items.due import due

BOSS = Happening("P. Wibor")
NEW = {"wood_days": 0, "spirit": "malt spirit", "distilled": "2012-02-27"}


@pytest.fixture
def house():
    """A trial of seven parts of C1 in a hundred, within 6.5 to 7.5; a batch by it, reduced and half of it bottled."""
    with House() as house:
        house.cask("C1", "200 l", "63.5", at="2012-03-01", **NEW)
        house.cask("C2", "200 l", "62.0", at="2014-10-05", **NEW)
        parts = (
            RecipePart(house.id("C1"), "7", "rich", "6.5..7.5"),
            RecipePart(house.id("C2"), "93", "base"),
        )
        house.record(Recipe("Ash", parts), at="2024-02-01")
        house.record(house.opening("T1", follows="Ash", total="100 ml"), at="2024-02-01 01:00")
        house.pour("C1", "T1", "7 ml", at="2024-02-01 02:00")
        house.pour("C2", "T1", "93 ml", at="2024-02-01 02:01")
        house.record(
            house.opening("B1", follows=house.id("T1"), claims="age 9", target_strength="48.3"), at="2024-03-01"
        )
        house.pour("C1", "B1", "7.2 l", verb="vat", at="2024-03-01 01:00")
        house.pour("C2", "B1", "92.8 l", verb="vat", at="2024-03-01 02:00")
        house.water("B1", "30 l", at="2024-03-02")
        house.book.clock.us = moment("2024-03-10")
        yield house


def by_name(case):
    return {(one.name, one.about): one for one in case.grounds}


def stands(house, item="B1", **wished):
    wished = {name: house.id(value) if name == "beside" else value for name, value in wished.items()}
    return {key: one.stands for key, one in by_name(approval(house.book, house.id(item), **wished)).items()}


def decide(house, item="B1", how=BOSS, at=None, **wished):
    wished = {name: house.id(value) if name == "beside" else value for name, value in wished.items()}
    when = house.book.clock.us if at is None else moment(at)
    house.book.clock.us = max(when, house.book.clock.us)
    return approve(house.book, how._replace(when_us=when, confirm=True), house.id(item), Wished(**wished))


# -- grounds -------------------------------------------------------------------------------------


def test_every_figure_is_that_of_the_book(house):
    """Each ground again by other means: volumes of the pours, the liquid held, years by the calendar."""
    found = by_name(approval(house.book, house.id("B1")))
    rich, base = found["part", house.id("C1")], found["part", house.id("C2")]
    assert rich.figures == {"actual": "7.20", "low": "6.50", "high": "7.50", "trial": "7.00"}
    assert (rich.stands, base.stands, base.figures["actual"]) == ("met", "unknown", "92.80")
    assert found["strength", ""].figures["actual"] == f"{strength_20c(house.held('B1')):.2f}"
    assert found["strength", ""].figures["trial"] == f"{strength_20c(house.held('T1')):.2f}"
    # from 2014-10-05 to 2024-03-01 are 9 years and 148 days, to 2024-02-01 (the trial) 119
    assert found["youngest", ""].figures == {"actual": "9 y 148 d", "trial": "9 y 119 d", "low": "9 y"}
    assert (found["youngest", ""].stands, found["hold", ""].stands, found["pending", ""].stands) == ("met",) * 3
    assert found["statement", "age"].figures == {"claim": "9", "actual": "9", "unit": "years"}
    assert found["statement", "age"].stands == "met"


def test_what_goes_into_a_vat_after_its_bottling_is_not_in_the_bottles(house):
    """The lot keeps the parts of its bottling, 7.2 in 100; the vat has those of today."""
    house.pour("B1", "L1", "70 l", verb="bottle", at="2024-03-03")
    house.record(HouseSettings({"most_of_one": "92.9"}), at="2024-03-03")
    house.pour("C2", "B1", "50 l", verb="vat", at="2024-03-04")
    house.book.clock.us = moment("2024-03-10")
    vat, lot = (by_name(approval(house.book, house.id(item))) for item in ("B1", "L1"))
    part, rule = ("part", house.id("C1")), ("house rule", house.id("C2"))
    assert (lot[part].figures["actual"], lot[part].stands, rule in lot) == ("7.20", "met", False)
    assert float(vat[part].figures["actual"]) < 5
    assert (vat[part].stands, rule in vat) == ("not met", True)


def test_what_is_against_it_is_not_met(house):
    house.pour("C1", "B1", "5 l", verb="vat", at="2024-03-03")
    house.record(Facts(house.id("B1"), {"claims": "age 12", "target_strength": "46 % vol"}), at="2024-03-03")
    house.record(HouseSettings({"most_of_one": "80"}), at="2024-03-03")
    house.hold("C1", at="2024-03-04")
    found = stands(house)
    assert {key for key, stood in found.items() if stood == "not met"} == {
        ("part", house.id("C1")), ("strength", ""), ("hold", house.id("C1")), ("statement", "age"),
        ("house rule", house.id("C2")),
    }  # fmt: skip


def test_a_pending_strength_is_told_with_its_entry(house):
    filled = house.pour("origin", "C3", "50 l", "60", pending=True, at="2024-03-02")
    house.pour("C3", "B1", "1 l", verb="vat", at="2024-03-03")
    found = by_name(approval(house.book, house.id("B1")))["pending", house.id("C3")]
    assert (found.stands, found.figures) == ("not met", {"entry": str(filled.numbers[0])})


def test_attributes_are_met_where_tasters_cannot_tell_them_apart(house):
    """Differences −2, −1, −3: mean −2, s = 1, half width 4.303 × 1 / √3 = 2.48 (t of 2 degrees of freedom, 95 %)."""
    house.draw("B1", "V1", "200 ml", at="2024-03-03")
    for who, own, trial in (("Ann", "70", "72"), ("Bob", "80", "81"), ("Cyd", "75", "78")):
        for item, score in (("V1", own), ("T1", trial)):
            words = {"nose": Stage("", {"pear": "2" if item == "T1" else "4"})}
            house.record(Taste(house.id(item), who, score=score, stages=words), at="2024-03-04")
    found = by_name(approval(house.book, house.id("B1")))
    score, pear = found["attribute", "score"], found["attribute", "pear"]
    assert score.figures == {"actual": "75.00", "trial": "77.00", "apart": "-2.00", "tasters": "3", "band": "2.48"}
    assert (score.stands, pear.stands, pear.figures["apart"]) == ("met", "not met", "2.00")
    assert house.id("V1") in glasses_of(house.book.store, house.id("B1"))
    house.record(*(Taste(house.id(item), "Dee", liking="7") for item in ("B1", "T1")), at="2024-03-05")
    assert by_name(approval(house.book, house.id("B1")))["attribute", "liking"].stands == "unknown"


def test_a_vial_of_two_is_a_glass_of_neither(house):
    house.draw("B1", "V1", "200 ml", at="2024-03-03")
    house.draw("C1", "V1", "20 ml", at="2024-03-03 01:00")
    assert glasses_of(house.book.store, house.id("B1")) == {house.id("B1")}


def test_a_lot_is_judged_by_its_batch_and_its_own_label(house):
    house.pour("B1", "L1", "70 l", verb="bottle", at="2024-03-05")
    house.record(Facts(house.id("L1"), {"size_ml": "750", "labelled_strength": "48.9"}), at="2024-03-05 01:00")
    found = stands(house, "L1", beside="B1")
    assert found["part", house.id("C1")] == "met"
    assert found["statement", "net-contents"] == "not met"
    assert found["statement", "age"] == "met"  # the batch claims it
    with pytest.raises(Refused, match="no reference"):
        approval(house.book, house.id("L1"), house.id("C1"))


# -- what an approval keeps ------------------------------------------------------------------------


def test_grounds_are_frozen_in_the_entry(house):
    """What the entry keeps is what the book says of that moment, recomputed from the book."""
    done = decide(house)
    body = entry_of(house.book.store, done.recorded.numbers[0]).entry["body"]
    again = approval(house.book, house.id("B1"), at_us=house.book.clock.us)
    assert [(one["name"], one["about"], one["stands"], one.get("figures", {})) for one in body["grounds"]] == [
        (one.name, one.about, one.stands, one.figures) for one in again.grounds
    ]  # fmt: skip
    assert (body["approved"], body["trial"], body["rules"]) == (1, house.id("T1"), "eu")
    assert approved(house.book, house.id("B1")).covering.stands == "approved"


def test_what_happens_later_changes_nothing_of_it(house):
    decide(house)
    house.pour("B1", "L1", "70 l", verb="bottle", at="2024-03-12")
    house.hold("C1", at="2024-03-13")
    house.record(Taste(house.id("B1"), "Ann", score="10"), at="2024-03-13")
    found = approved(house.book, house.id("B1"))
    assert (found.covering.stands, found.changed) == ("approved", ())
    house.book.clock.us = moment("2024-04-01")
    assert due(house.book).approvals == ()


def test_a_later_correction_shows_that_it_was_approved_on_other_figures(house):
    done = decide(house)
    house.record(Facts(house.id("C1"), {"place": "row 4"}), at="2024-03-11")
    assert approved(house.book, house.id("B1")).changed == ()
    first = next(pour.entry for pour in house.back("B1").pours if pour.target == house.id("B1"))
    right = Pour("vat", (Move(house.id("C1"), house.id("B1"), read_amount("8.2 l")),))
    house.replace(first, right, at="2024-03-01 01:00")
    found = approved(house.book, house.id("B1"))
    changed = {(one.name, one.about): (one.then.get("actual"), one.now.get("actual")) for one in found.changed}
    assert changed["part", house.id("C1")] == ("7.20", f"{100 * 8.2 / 101:.2f}")
    assert ("hold", "") not in changed
    assert found.covering.entry.number == done.recorded.numbers[0]
    house.book.clock.us = moment("2024-04-01")
    assert [one.item for one in due(house.book).approvals] == [house.id("B1")]
    assert found.grounds == done.case.grounds  # what was frozen stays


def test_a_voided_approval_counts_no_longer(house):
    done = decide(house)
    house.void(done.recorded, at="2024-03-11")
    assert covering(house.book.store, house.id("B1")).stands == "not approved"


# -- who, and what stands above it -------------------------------------------------------------------


def test_what_is_not_met_is_asked_about(house):
    house.record(Facts(house.id("B1"), {"claims": "age 12"}), at="2024-03-03")
    with pytest.raises(ToConfirm, match="statement age: not met"):
        approve(house.book, BOSS, house.id("B1"))
    assert decide(house).recorded.numbers


def test_a_hold_stands_above_approval(house):
    house.hold("B1", at="2024-03-04")
    with pytest.raises(Held, match="on hold"):
        decide(house)
    assert reject(house.book, BOSS._replace(reason="tainted"), house.id("B1")).approved is False


def test_a_rejection_needs_a_reason(house):
    with pytest.raises(Malformed, match="a rejection needs a reason"):
        reject(house.book, BOSS, house.id("B1"))


def test_who_poured_it_is_asked_or_refused(house):
    pourer = Happening("m. aldane")
    with pytest.raises(ToConfirm, match="poured"):
        approve(house.book, pourer, house.id("B1"))
    house.record(HouseSettings({"pourer_approves": "no"}), at="2024-03-03")
    with pytest.raises(Refused, match="wants somebody else"):
        decide(house, how=pourer)
    assert decide(house).approved


def test_a_house_names_who_approves(house):
    house.record(HouseSettings({"approvers": "Maud Aldane; P. Tarn"}), at="2024-03-03")
    with pytest.raises(Refused, match=r"P\. Wibor is not among those who approve") as refused:
        decide(house)
    assert refused.value.remedy == "they are: Maud Aldane, P. Tarn"
    assert reject(house.book, BOSS._replace(reason="dull"), house.id("B1")).recorded.numbers
    assert decide(house, how=Happening("p. tarn")).approved


def test_only_what_leaves_the_house_is_approved(house):
    with pytest.raises(Refused, match="bears no label"):
        decide(house, "C1")


# -- despatch ----------------------------------------------------------------------------------------


def bottled(house, lot="L1", at="2024-03-12"):
    house.pour("B1", lot, "20 l", verb="bottle", at=at)
    house.book.clock.us = moment("2024-05-01")


def send(house, item="L1", at="2024-04-01", **draft):
    move = house.move(item, "despatch", "1 l", customer="Harbour Row")
    return house.record(Pour("despatch", (move,)), at=at, **draft)


def test_a_house_that_wants_no_approval_sends_as_ever(house):
    bottled(house)
    assert send(house)
    reject(house.book, BOSS._replace(reason="dull", when_us=moment("2024-04-02")), house.id("L1"))
    with pytest.raises(ToConfirm, match="is rejected in entry"):
        send(house, at="2024-04-03")


@pytest.mark.parametrize(("wanted", "refusal"), [("asked", ToConfirm), ("needed", Refused)])
def test_despatch_before_approval_is_refused_where_the_house_wants_approvals(house, wanted, refusal):
    house.record(HouseSettings({"approval": wanted}), at="2024-03-01")
    bottled(house)
    with pytest.raises(refusal, match="is not approved"):
        send(house)
    if wanted == "needed":
        with pytest.raises(Refused, match="does not leave the house"):
            send(house, confirmed=True)
    assert [one.item for one in due(house.book).approvals] == [house.id("L1")]
    decide(house, at="2024-03-20")
    assert send(house)
    assert due(house.book).approvals == ()
    with pytest.raises(refusal, match="is not approved"):
        send(house, at="2024-03-19")  # it left before


def test_samples_of_casks_leave_without_approval(house):
    house.record(HouseSettings({"approval": "needed"}), at="2024-03-01")
    house.draw("C1", "V9", "100 ml", at="2024-03-02")
    assert house.despatch("V9", "50 ml", at="2024-03-03", customer="laboratory")
    with pytest.raises(Refused, match="is not approved"):
        house.despatch("B1", "1 l", at="2024-03-04", customer="Corran Vale")


def test_a_lot_has_the_approval_of_its_batch_unless_it_has_one_of_its_own(house):
    decide(house)
    bottled(house)
    found = approved(house.book, house.id("L1"))
    assert (found.covering.stands, found.covering.of, found.who) == ("approved", house.id("B1"), "P. Wibor")
    reject(house.book, BOSS._replace(reason="corked", when_us=moment("2024-04-01")), house.id("L1"))
    assert approved(house.book, house.id("L1")).covering.stands == "rejected"
    decide(house, "L1", at="2024-04-02")
    assert approved(house.book, house.id("L1")).covering.of == house.id("L1")


def test_what_is_poured_in_afterwards_ends_it(house):
    decide(house)
    watered = house.water("B1", "1 l", at="2024-03-11")
    found = covering(house.book.store, house.id("B1"))
    assert (found.stands, found.lapsed_by) == ("lapsed", watered.numbers[0])
    bottled(house)
    assert covering(house.book.store, house.id("L1")).stands == "lapsed"
    decide(house, at="2024-03-20")
    assert covering(house.book.store, house.id("L1")).stands == "approved"  # of what was bottled
    house.water("B1", "1 l", at="2024-03-21")
    assert covering(house.book.store, house.id("L1")).stands == "approved"  # the lot was bottled before
    assert covering(house.book.store, house.id("B1")).stands == "lapsed"


def test_what_came_out_of_it_and_goes_back_is_the_same_liquid(house):
    decide(house)
    house.draw("B1", "V1", "200 ml", at="2024-03-11")
    house.pour("V1", "B1", at="2024-03-11 01:00")
    assert covering(house.book.store, house.id("B1")).stands == "approved"
    house.draw("C1", "V1", "20 ml", at="2024-03-12")
    house.pour("V1", "B1", at="2024-03-12 01:00")
    assert covering(house.book.store, house.id("B1")).stands == "lapsed"


def test_a_lot_of_two_batches_needs_both(house):
    house.pour("C2", "B2", "30 l", verb="vat", at="2024-03-02")
    decide(house)
    house.pour("B2", "L1", "10 l", verb="bottle", at="2024-03-12")
    bottled(house, at="2024-03-12 01:00")
    assert covering(house.book.store, house.id("L1")).stands == "not approved"
    decide(house, "B2", at="2024-03-20")
    assert covering(house.book.store, house.id("L1")).stands == "approved"


# -- on paper ----------------------------------------------------------------------------------------


def test_the_dossier_of_a_lot_says_who_approved_it_and_what_its_label_may_say(house):
    decide(house)
    bottled(house)
    values = dossier_of(house.book, house.id("L1"), people="names")
    (line,) = values.approvals
    assert (line.said, line.text, line.who, line.item.id) == (
        "approved", "counts for this lot", "P. Wibor", hyphened(house.id("B1"))
    )  # fmt: skip
    assert [(one.statement, one.stands) for one in values.statements] == [("age 9", "allowed")]
    first = next(pour.entry for pour in house.back("B1").pours if pour.target == house.id("B1"))
    right = Pour("vat", (Move(house.id("C1"), house.id("B1"), read_amount("8.2 l")),))
    house.replace(first, right, at="2024-03-01 01:00")
    (line,) = dossier_of(house.book, house.id("L1")).approvals
    assert line.text == "on other figures than the book has now"
    assert line.who != "P. Wibor"  # persons leave the house as codes


def test_persons_behind_approvals_are_counted_among_people(house):
    decide(house)
    bottled(house)
    people = {one.name: one.part for one in dossier_of(house.book, house.id("L1"), people="names").people}
    assert people["P. Wibor"] == "approve 1"
