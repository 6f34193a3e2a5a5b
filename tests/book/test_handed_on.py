"""Owner and duty status go with the liquid, and an account by owner shows it where it belongs."""

import pytest
from command import here

from pourbook.codes.identifiers import hyphened


@pytest.fixture
def book(tmp_path):
    """Casks A1 and A2 of Corran Vale, both under suspension, and B1 of Ferrow, whose duty status is not stated."""
    path = tmp_path / "house.pourbook"
    here("create", path, "--house", "Quillmere").done()
    for ref, words in (
        ("A1", ("--owner", "Corran Vale", "--duty", "suspended")),
        ("A2", ("--owner", "Corran Vale", "--duty", "suspended")),
        ("B1", ("--owner", "Ferrow")),
    ):
        here("cask", ref, "--fill", "200 l", "--strength", "60", *words, "--when", "2024-01-01", book=path).done()
    return path


def status(book, item):
    facts = here("show", item, "--json", book=book).done().json["facts"]
    return facts.get("owner"), facts.get("duty")


def made(book, *words):
    """What a recording made, and what it said beside it."""
    ran = here(*words, book=book).done()
    return ran.id, [line for line in ran.err.splitlines() if "owner" in line or "duty" in line]


def test_a_sample_belongs_to_whom_its_cask_belongs(book):
    """Both facts, from the first drop on, and not a word about it."""
    vial, said = made(book, "draw", "A1", "200 ml")
    assert (status(book, vial), said) == (("Corran Vale", "suspended"), [])


def test_a_batch_of_one_owner_and_its_bottles(book):
    """Dumped into a batch opened before, and bottled: the lot takes what the batch took."""
    batch = made(book, "batch", "Vatting 1")[0]
    assert made(book, "dump", "Vatting 1", "A1", "A2")[1] == []
    lot, said = made(book, "bottle", "Vatting 1", "--count", "100", "--size", "700 ml")
    assert status(book, batch) == status(book, lot) == ("Corran Vale", "suspended")
    assert said == []


def test_sources_that_differ_leave_both_open_and_say_so(book):
    """One line for each fact, naming what the sources have; nothing is stated."""
    batch = made(book, "batch", "Vatting 1")[0]
    _, said = made(book, "dump", "Vatting 1", "A1", "B1")
    assert status(book, batch) == (None, None)
    assert [line.partition(": ")[2] for line in said] == [
        "owner of B-000001-Y · Vatting 1 is left open: its sources have 'Corran Vale' and 'Ferrow'",
        "duty status of B-000001-Y · Vatting 1 is left open: its sources have 'suspended' or none",
    ]


@pytest.mark.parametrize("when", ["at the opening", "with the pour"])
def test_what_a_person_states_stands_before_the_sources(book, when):
    """The house bought both casks for the vatting; later pours of another's spirit change nothing and are told."""
    stated = ("--owner", "Quillmere")
    batch = made(book, "batch", "Vatting 1", *(stated if when == "at the opening" else ()))[0]
    made(book, "dump", "Vatting 1", "A1", "B1", *(stated if when == "with the pour" else ()))
    said = made(book, "pour", "Vatting 1", "A2", "10 l")[1]
    assert status(book, batch)[0] == "Quillmere"
    assert said == ["note: owner of B-000001-Y · Vatting 1 stays: 'Corran Vale' went in beside 'Quillmere'"]


def test_a_trial_poured_glass_by_glass_is_nobodys_once_two_owners_met(book):
    """The first glass gives its owner, the second one's differs: no trial stays with the owner of its first glass."""
    first, second = (made(book, "draw", cask, "200 ml")[0] for cask in ("A1", "B1"))
    trial = made(book, "trial", "--part", f"{first}=1", "--part", f"{second}=1")[0]
    assert made(book, "pour", trial, first, "50 ml")[1] == []
    assert status(book, trial) == ("Corran Vale", "suspended")
    said = made(book, "pour", trial, second, "50 ml")[1]
    glass = f"{hyphened(trial)} · B1 + A1"
    assert said == [
        f"note: owner of {glass} is open now: 'Ferrow' went in beside 'Corran Vale'",
        f"note: duty status of {glass} is open now: spirit that states none went in beside 'suspended'",
    ]
    assert status(book, trial) == (None, None)


def test_what_states_none_ends_what_was_taken_over_but_not_what_was_stated(book):
    """Spirit of no stated owner in a batch of Corran Vale's: nobody's, unless a person said whose it is."""
    here("cask", "C1", "--fill", "50 l", "--strength", "60", "--when", "2024-01-01", book=book).done()
    taken_over = made(book, "batch", "Vatting 1")[0]
    stated = made(book, "batch", "Vatting 2", "--owner", "Corran Vale", "--duty", "suspended")[0]
    for ref, cask in (("Vatting 1", "A1"), ("Vatting 2", "A2")):
        made(book, "dump", ref, cask)
    said = made(book, "pour", "Vatting 1", "C1", "10 l")[1]
    lost = "spirit that states none went in beside 'Corran Vale'"
    assert said[0] == f"note: owner of B-000001-Y · Vatting 1 is open now: {lost}"
    assert made(book, "pour", "Vatting 2", "C1", "10 l")[1] == []
    assert (status(book, taken_over), status(book, stated)) == ((None, None), ("Corran Vale", "suspended"))


def test_after_a_wrong_pour_is_voided_the_right_one_decides(book):
    """What came with the wrong cask goes with it."""
    batch = made(book, "batch", "Vatting 1")[0]
    wrong = here("dump", "Vatting 1", "A1", "--json", book=book).done().json["entries"][-1]
    here("void", str(wrong), "--reason", "the wrong cask", book=book).done()
    assert made(book, "dump", "Vatting 1", "B1")[1] == []
    assert status(book, batch)[0] == "Ferrow"


def test_water_and_spirit_from_outside_have_no_owner_of_their_own(book):
    """Reduced with water, the batch stays with its owner; a filling states one where it is told."""
    batch = made(book, "batch", "Vatting 1")[0]
    here("dump", "Vatting 1", "A1", book=book).done()
    assert made(book, "pour", "Vatting 1", "water", "40 l")[1] == []
    assert status(book, batch)[0] == "Corran Vale"
    tank = made(book, "batch", "Tank 1")[0]
    here("fill", "Tank 1", "100 l", "--strength", "96", "--owner", "Ferrow", "--duty", "paid", book=book).done()
    assert status(book, tank) == ("Ferrow", "paid")


def test_the_account_by_owner_keeps_the_spirit_with_its_owner(book):
    """Through vat and bottle nothing is transferred, and nothing is left to an owner not stated."""
    made(book, "batch", "Vatting 1")
    made(book, "dump", "Vatting 1", "A1", "A2")
    made(book, "bottle", "Vatting 1", "--count", "100", "--size", "700 ml")
    period = ("--from", "2024-01-01", "--to", "2030-01-01")
    answer = here("account", *period, "--group-by", "owner", "--json", book=book).done()
    groups = {tuple(group["group"].values()): group for group in answer.json["groups"]}
    assert set(groups) == {("Corran Vale",), ("Ferrow",)}
    assert not [line for group in groups.values() for line in group["lines"] if "transferred" in line["heading"]]
