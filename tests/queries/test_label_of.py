"""What stands on a label, against what was typed when the item was filled, drawn or bottled."""

import pytest
from house import House

from pourbook.book.entries import Item, Paper, Reserve
from pourbook.book.label_prints import label_prints
from pourbook.book.names import is_reserved
from pourbook.codes.identifiers import key_of
from pourbook.errors import Ambiguous, Mistyped, Unknown
from pourbook.paperwork.label_of import label_of


def test_a_cask_shows_what_it_was_filled_with(vatted):
    """Regauged and partly emptied since: the label still says what was filled, and when, by whom."""
    vatted.gauge("C2", "80 l", "58.9", at="2024-06-05")
    label = label_of(vatted.book, "Row 4/02")
    assert (label.code, label.kind) == (vatted.id("C2"), "cask")
    assert (label.strength, label.date, label.who) == ("filled at 62.0 % vol", "2014-10-05", "M. Aldane")
    assert (label.wood, label.spirit, label.house) == ("fortified-wine hogshead", "rye spirit", "Quillmere")


def test_a_strength_read_lower_fills_nothing(house):
    """200 l at 62.4 % vol, read later as 61 and 59: the same volume is heavier, and the filling was at 62.4."""
    house.cask("C1", "200 l", "62.4", at="2024-01-01")
    house.gauge("C1", None, "61", at="2025-01-01")
    house.gauge("C1", None, "59", at="2026-01-01")
    assert label_of(house.book, house.id("C1")).strength == "filled at 62.4 % vol"


def test_an_empty_cask_says_nothing_of_what_it_held(vatted):
    label = label_of(vatted.book, vatted.id("C1"))
    assert (label.strength, label.date, label.who, label.spirit) == ("", "", "", "")
    assert (label.volume, label.wood, label.place) == ("225 L", "virgin chestnut", "Cooperage")


def test_a_cask_filled_again_shows_the_filling_it_holds(vatted):
    vatted.cask("C1", "50 l", "70", at="2025-03-01", spirit="young spirit")
    vatted.fill("C1", "50 l", "60", at="2025-03-02", spirit="young spirit")
    label = label_of(vatted.book, vatted.id("C1"))
    assert (label.date, label.spirit) == ("2025-03-01", "young spirit")
    assert label.strength == "filled at 65.0 % vol", "two pours of one filling, half and half"


def test_a_cask_says_what_it_held_before_the_latest_first(vatted):
    """Previous contents as typed, and the fills of this book; of an empty cask all of them."""
    vatted.facts("C1", previous="red wine; fortified wine", at="2001-01-01")
    assert label_of(vatted.book, vatted.id("C1")).previous == "malt spirit; earlier: fortified wine; red wine"
    vatted.fill("C1", "50 l", "70", at="2025-03-01", spirit="rye spirit")
    assert label_of(vatted.book, vatted.id("C1")).previous == "malt spirit; earlier: fortified wine; red wine"
    vatted.open("C9")
    assert label_of(vatted.book, vatted.id("C9")).previous == ""


def test_a_vial_names_its_cask_and_keeps_the_volume_drawn(benched):
    benched.pour("V2", "T1", "20 ml", at="2024-03-03")
    label = label_of(benched.book, benched.id("V2"))
    assert (label.ref, label.wood, label.date) == ("Row 4/02", "fortified-wine hogshead", "2024-03-01")
    assert (label.volume, label.strength) == ("50 mL", "62.0 % vol")
    own = label_of(benched.book, "S 1")
    assert (own.ref, own.name) == ("S 1", "Row 3/12, virgin chestnut")


def test_a_vial_shows_the_latest_strength(benched):
    benched.gauge("V2", None, "61.5", at="2024-03-04")
    assert label_of(benched.book, benched.id("V2")).strength == "61.5 % vol"


def test_trial_batch_and_lot(vatted):
    batch = label_of(vatted.book, "Vatting 7")
    assert (batch.name, batch.strength, batch.date) == ("Ostrewick", "46.2 % vol", "2024-03-01")
    lot = label_of(vatted.book, "Lot 24-1")
    assert (lot.lot_mark, lot.count, lot.volume, lot.date) == ("L24-066", "300 × 700 mL", "", "2024-03-06")
    assert (lot.who, lot.strength) == ("Isla Farrow", "46.2 % vol")
    trial = label_of(vatted.book, _opened(vatted, "T1", name="Ash", follows="Ash"))
    assert (trial.kind, trial.name, trial.strength, trial.volume) == ("trial", "Ash", "", "")


def _opened(house, item, **facts):
    house.open(item, **facts)
    return house.id(item)


@pytest.mark.parametrize("kind", ["instrument", "person", "place"])
def test_what_holds_no_spirit_carries_no_caution_about_it(house, kind):
    identifier = house.book.next_id(kind)
    house.record(Item(identifier, {"name": "density meter 1", "place": "laboratory"}))
    label = label_of(house.book, identifier)
    assert (label.kind, label.name, label.place, label.caution) == (kind, "density meter 1", "laboratory", "")


def test_an_instrument_a_vat_and_a_person_say_what_one_looks_for(house):
    """What it is, in which unit and until when it is good; how much it holds; a name in the place of a name."""
    facts = {
        "instrument": {"ref": "H-3", "instrument": "hydrometer", "unit": "% vol", "due": "2027-03-01"},
        "place": {"ref": "Vat 2", "capacity_l": "1200"},
        "person": {"ref": "Isla Farrow", "note": "blending room"},
    }
    for kind, known in facts.items():
        house.record(Item(house.book.next_id(kind), known))
    rod, vat, isla = (label_of(house.book, known["ref"]) for known in facts.values())
    assert (rod.ref, rod.name, rod.date) == ("H-3", "hydrometer, % vol", "2027-03-01")
    assert (vat.ref, vat.volume) == ("Vat 2", "1200 L")
    assert (isla.ref, isla.name, isla.note) == ("", "Isla Farrow", "blending room")


def test_a_pending_strength_is_no_strength(house):
    house.cask("C1", "200 l", "60", pending=True)
    assert label_of(house.book, house.id("C1")).strength == "strength pending"


@pytest.mark.parametrize(
    ("scale", "said"),
    [
        ("vol20", "40,0 % vol"),
        ("proof60f", "79,9 US proof"),  # 40.00 % vol at 20 °C is 79.86 US proof, not 80 (OIML R 22 at 60 °F)
        ("vol60f", "39,9 % vol at 60 °F"),
    ],
)
def test_strength_keeps_its_reference_and_the_mark_of_the_house(scale, said):
    with House(strength_scale=scale, decimal_mark=",") as house:
        house.cask("C1", "200 l", "40 % vol")
        assert label_of(house.book, house.id("C1")).strength == f"filled at {said}"


def test_a_house_that_counts_in_gallons_reads_gallons():
    """A barrel of 200 l is 52.8 gal: 200 / 3.785411784 (27 CFR 30.11)."""
    with House(volume_unit="gal") as house:
        house.open("C1", capacity_l="200")
        assert label_of(house.book, house.id("C1")).volume == "52.8 gal"


def test_a_capacity_in_words_stands_as_it_was_written(house):
    house.open("C1", capacity_l="about a butt")
    assert label_of(house.book, house.id("C1")).volume == "about a butt"


def test_a_reserved_number_is_labelled_with_nothing_but_itself(house):
    number = house.book.next_id("vial")
    house.record(Reserve((number,)))
    assert is_reserved(house.book.store, key_of(number))
    label = label_of(house.book, number)
    assert (label.code, label.kind, label.house) == (number, "vial", "Quillmere")
    assert (label.ref, label.name, label.strength, label.date) == ("", "", "", "")
    house.record(Item(number, {"ref": "S 9"}))
    assert not is_reserved(house.book.store, key_of(number))
    assert label_of(house.book, number).ref == "S 9"


def test_what_is_not_in_the_book_has_no_label(house):
    house.open("C1", ref="Twin")
    house.open("C2", ref="Twin")
    for text, refusal in (("V000777K", Mistyped), ("V-000002-P", Unknown), ("Twin", Ambiguous)):
        with pytest.raises(refusal):
            label_of(house.book, text)


def test_prints_are_counted_by_run_and_by_item(house):
    house.open("C1", "C2", "C3")
    one, two, three = (house.id(name) for name in ("C1", "C2", "C3"))
    for paper, ids in (("label", (one, two)), ("label", (one,)), ("dossier", (one, two))):
        house.record(Paper(paper, ids, {"count": 3}))
    assert label_prints(house.book.store, [one, two, three, one]) == {one: 2, two: 1}
