"""What may stand on a label, from a book: each figure again by hand from what was recorded."""

import pytest
from house import House

from pourbook.book.entries import House as HouseSettings
from pourbook.errors import Malformed, Refused, Unknown
from pourbook.queries.labels.statements_of import statements_of

NEW = {"wood_days": 0, "spirit": "malt spirit", "distiller": "Ostrewick"}


def found(house, item, claims=None, rules="", at=None):
    answer = statements_of(house.book, house.id(item), claims, rules, at)
    return {one.name: one for one in answer.statements}


def items_against(house, statement):
    return {house.name(one.item) for one in statement.against}


@pytest.fixture
def house():
    """Two casks of 2012 and 2014 vatted, reduced and bottled in 2024; a third finished in a second wood."""
    with House() as house:
        for cask, wood in (("C1", "oak barrel"), ("C2", "oak hogshead"), ("C3", "oak barrel"), ("C4", "port pipe")):
            house.open(cask)
            house.facts(cask, wood=wood, capacity_l="250")
        house.cask("C1", "200 l", "63.5", at="2012-03-01", distilled="2012-02-27", **NEW)
        house.cask("C2", "180 l", "62.0", at="2014-10-05", distilled="2014-10-01", **NEW)
        house.cask("C3", "190 l", "62.0", at="2012-05-01", distilled="2012-04-20", **NEW)
        house.pour("C3", "C4", "150 l", verb="rack", at="2023-01-01")
        house.pour("C1", "B1", "100 l", verb="vat", at="2024-03-01")
        house.pour("C2", "B1", "50 l", verb="vat", at="2024-03-01 01:00")
        house.water("B1", "50 l", at="2024-03-02", about="demineralised")
        house.pour("C4", "B2", "100 l", verb="vat", at="2024-03-01 02:00")
        house.book.clock.us = house.clock.us + 86_400_000_000
        yield house


def test_a_blend_of_two_years(house):
    """12 years from 2012-03-01 to 2024-03-01, 9 years from 2014-10-05: by the calendar."""
    said = found(house, "B1", {"age": "12"})
    assert (said["age"].stands, said["age"].value) == ("not allowed", 9)
    assert items_against(house, said["age"]) == {"C2"}
    assert items_against(house, said["vintage"]) == {"C1", "C2"}
    assert items_against(house, said["single-cask"]) == {"C1", "C2"}
    assert items_against(house, said["cask-strength"]) == {"B1"}
    assert (said["distilled-by"].value, said["kinds"].value) == ("Ostrewick", "malt spirit")
    pure = [house.held("C1").ethanol_mg, house.held("C2").ethanol_mg]
    assert said["kinds"].rests_on[0].value == "1.0000 malt spirit"
    assert all(pure)


def test_one_cask_after_another_is_a_single_cask_and_a_finish(house):
    """From 2023-01-01 to 2024-03-01 are 425 days."""
    said = found(house, "B2", {"finish": "port"})
    assert [said[name].stands for name in ("single-cask", "finish", "vintage", "cask-strength")] == ["allowed"] * 4
    assert [(one.value, house.name(one.item)) for one in said["finish"].rests_on] == [("425", "C4")]
    assert (said["age"].value, said["vintage"].value) == (11, 2012)
    assert found(house, "B2", {"finish": "sherry"})["finish"].stands == "not allowed"
    house.pour("C1", "C4", "10 l", verb="top up", at="2024-03-02")
    house.pour("C4", "B3", "20 l", verb="vat", at="2024-03-03")
    later = found(house, "B3")
    assert items_against(house, later["single-cask"]) == {"C3", "C1"}
    assert later["finish"].rests_on[0].value == "1"  # the last that came in lay there a day


def test_water_that_makes_the_filling_strength_is_none_of_cask_strength(house):
    house.open("C9")
    house.pour("water", "C9", "20 l", verb="fill", at="2024-01-01")
    house.cask("C9", "150 l", "70", at="2024-01-01 00:01", **NEW)
    house.pour("C9", "B9", "10 l", verb="vat", at="2024-05-01")
    assert found(house, "B9")["cask-strength"].stands == "allowed"
    house.pour("water", "C9", "1 l", verb="reduce", at="2024-05-02")
    house.pour("C9", "B8", "10 l", verb="vat", at="2024-05-03")
    assert items_against(house, found(house, "B8")["cask-strength"]) == {"C9"}


def test_a_lot_says_what_its_batches_agree_on(house):
    house.facts("B1", colouring="none", claims="age 9; single cask", chill_filtered="no")
    house.pour("B1", "L1", "70 l", verb="bottle", at="2024-04-01")
    house.facts("L1", lot_mark="L24-1", size_ml="700", labelled_strength="46.43")
    said = found(house, "L1")
    assert [name for name, one in said.items() if one.claim is not None] == [
        "strength", "age", "single-cask", "net-contents", "lot-mark"
    ]  # fmt: skip
    assert [said[name].stands for name in ("no-colouring", "not-chill-filtered", "age")] == ["allowed"] * 3
    assert said["strength"].value == 46.4  # a label shows a tenth
    house.facts("L1", colouring="caramel")
    assert found(house, "L1")["no-colouring"].stands == "not allowed"


def test_additives_and_allergens_behind_it_are_found(house):
    house.pour("additive", "B1", "200 g", verb="pour", at="2024-03-03", about="caramel E 150a", allergens="sulphites")
    house.facts("C2", allergens="nuts")
    said = found(house, "B1", {"no-colouring": ""})
    assert [one.value for one in said["no-colouring"].against] == ["caramel E 150a"]
    assert said["allergens"].value == "nuts; sulphites"


def test_as_of_a_moment_what_happened_later_is_not_said(house):
    """On 2020-10-05 the spirit of 2014 has lain six years."""
    assert found(house, "B1", at=house.book.clock.us)["age"].value == 9
    house.pour("C2", "B7", "10 l", verb="vat", at="2020-10-05")
    early = found(house, "B7", at=house.clock.us)
    house.pour("water", "B7", "1 l", verb="reduce", at="2024-06-01")
    assert early["age"].value == 6
    assert early["cask-strength"].stands == "allowed"
    assert found(house, "B7")["cask-strength"].stands == "not allowed"


def test_the_wood_that_counts_is_the_house_s(house):
    """Oak of not over 700 l: the port pipe is recorded of no oak, so its year does not count."""
    house.record(HouseSettings({"age_rule": "uk-oak-700"}))
    assert found(house, "B2", rules="uk")["age"].value == 10  # 2012-05-01 to 2023-01-01
    assert found(house, "B2", rules="us")["age"].stands == "cannot be said"


def test_rules_of_the_house_are_asked_by_default(house):
    house.record(
        HouseSettings(
            {"label.harbour.age.unit": "months", "label.harbour.age.source": "circular 7", "label_rules": "harbour"}
        )
    )
    age = found(house, "B1")["age"]
    assert (age.value, age.rule.rules, age.rule.source) == (9 * 12 + 4, "harbour", "circular 7")  # and 148 days
    with pytest.raises(Unknown, match="no label rules 'mars'") as refused:
        found(house, "B1", rules="mars")
    assert refused.value.remedy == "choose from: eu, us, uk, harbour"


def test_what_bears_no_label_is_refused(house):
    with pytest.raises(Refused, match="bears no label for sale"):
        found(house, "C1")
    house.open("B9")
    with pytest.raises(Refused, match="nothing was ever poured"):
        found(house, "B9")
    with pytest.raises(Malformed):
        found(house, "B1", {"age": "twelve"})
