"""Trials found again: by what they were made of, by words, persons, scores, dates and families."""

import pytest
from house import HOW, House

from pourbook import Note, Recipe, RecipePart
from pourbook.book.entries import Component, Stage, Taste
from pourbook.errors import Unknown
from pourbook.queries.trials.chosen_trials import PartWanted, Wanted, chosen
from pourbook.times import house_zone, read_time


@pytest.fixture
def bench():
    """Two casks of ash and one of chestnut; four trials, one never poured, and a revision."""
    with House() as house:
        for cask, vial, wood in (("C1", "V1", "ash"), ("C2", "V2", "virgin ash"), ("C3", "V3", "chestnut")):
            house.cask(cask, "200 l", "60", spirit="malt spirit")
            house.facts(cask, wood=wood, ref=f"Q {cask[1]}")
            house.draw(cask, vial, "500 ml")
        house.record(Component("accent", wood="chestnut"))
        house.record(Recipe("Ash", (RecipePart(house.id("V1"), "1"),)))
        for trial, (at, parts) in {
            "T1": ("2024-03-01", {"V1": 90, "V3": 10}), "T2": ("2024-03-02", {"V1": 50, "V2": 30, "V3": 20}),
            "T3": ("2024-03-03", {"V2": 80, "water": 20}), "T4": ("2024-03-04", {}),
        }.items():  # fmt: skip
            more = {"revised_from": house.id("T1")} if trial == "T2" else {}
            house.record(house.opening(trial, name=f"{trial} for autumn" if trial == "T3" else "", **more), at=at)
            for source, ml in parts.items():
                house.pour(source, trial, f"{ml} ml")
        for trial, who, score, text in (
            ("T1", "Isla Farrow", "70", "short"), ("T1", "Tomas Reeve", "90", "long and sweet"),
            ("T2", "Isla Farrow", "85", "pears, long"), ("T3", "Tomas Reeve", "60", "thin"),
        ):  # fmt: skip
            note = Taste(house.id(trial), who, text, {"nose": Stage("", {"oak": "2"})}, score=score)
            house.book.taste(HOW._replace(confirm=True), note)
        house.record(Note(house.id("T4"), "winter, perhaps"), who="Isla Farrow")
        yield house


def found(house, *parts, **wanted):
    """Short names; a part as its name, and the least and the most in per cent."""
    asked = tuple(PartWanted(name, least / 100 - 0.0005, most / 100 + 0.0005) for name, least, most in parts)
    return [house.name(trial) for trial in chosen(house.book, Wanted(asked, **wanted))]


def test_by_fractions_of_casks_woods_components_and_water(bench):
    """Through every vial; a range takes in its ends; several must all be so."""
    assert found(bench) == ["T1", "T2", "T3", "T4"]
    assert found(bench, ("chestnut", 10, 15)) == ["T1"]
    assert found(bench, ("accent", 10, 20)) == ["T1", "T2"]
    assert found(bench, ("ash", 80, 90)) == ["T1", "T2", "T3"], "virgin ash is ash; T2 has 80 of both"
    assert found(bench, ("virgin ash", 1, 100)) == ["T2", "T3"]
    assert found(bench, ("Q 1", 60, 100)) == ["T1"]
    assert found(bench, ("Q 1", 0, 60)) == ["T2", "T3", "T4"], "nothing of it is within the range, too"
    assert found(bench, (bench.id("V3"), 5, 100)) == ["T1", "T2"], "a vial stands for its cask"
    assert found(bench, ("water", 20, 20)) == ["T3"]
    assert found(bench, ("ash", 50, 100), ("chestnut", 15, 100)) == ["T2"]
    assert found(bench, ("malt spirit", 100, 100)) == ["T1", "T2"]
    with pytest.raises(Unknown, match="no trial has anything of 'elm'"):
        found(bench, ("elm", 1, 100))


def test_by_words_persons_and_scores(bench):
    """Words of notes, names and remarks; a person's own word and score; whoever composed it."""
    assert found(bench, word="long") == ["T1", "T2"]
    assert found(bench, word="pear") == ["T2"]
    assert found(bench, word="autumn") == ["T3"]
    assert found(bench, word="winter", who="isla farrow") == ["T4"]
    assert found(bench, word="winter", who="Tomas Reeve") == []
    assert found(bench, word="long", who="Isla Farrow") == ["T2"]
    assert found(bench, who="Isla Farrow") == ["T1", "T2", "T4"]
    assert found(bench, who="M. Aldane") == ["T1", "T2", "T3", "T4"], "who composed them all"
    assert found(bench, score=(80, 100)) == ["T1", "T2"], "the mean of 70 and 90 is 80"
    assert found(bench, score=(80, 100), who="Tomas Reeve") == ["T1"]
    assert found(bench, score=(80, 100), word="pear") == ["T2"]


def test_by_date_and_family(bench):
    """When they were composed; relatives, whichever is named."""

    def at(text):
        return read_time(text, house_zone("UTC"))

    assert found(bench, since_us=at("2024-03-02")) == ["T2", "T3", "T4"]
    assert found(bench, since_us=at("2024-03-02"), until_us=at("2024-03-03")) == ["T2", "T3"]
    assert found(bench, family=bench.id("T2")) == ["T1", "T2"]
    assert found(bench, ("chestnut", 15, 100), family=bench.id("T1"), score=(80, 90), who="Isla Farrow") == ["T2"]
