"""Who is served what: orders, what is in a glass, what a flight takes and offers.

Water is held against mixing by mass with the book's own densities, and pure alcohol against volume times strength times
the density of ethanol at 20 °C, 0.78924 g/mL (OIML R 22).
"""

from collections import Counter
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pourbook.alcoholometry.standard_drinks import DRINKS, drinks
from pourbook.alcoholometry.volumes import liquid_of_volume, strength_20c, volume_ml
from pourbook.bench.serving import TESTS, expected_ballots, glass_of, laid_out, most_of_each, passes
from pourbook.book.entries import Coded, Flight
from pourbook.book.sealing import is_seal, seal_of, seal_text, sealed_up, unsealed
from pourbook.errors import Damaged, Malformed
from pourbook.liquid import Liquid


def chance(seed):
    return Random(seed).randrange


PEOPLE = tuple(f"assessor {n}" for n in range(24))


# -- orders ------------------------------------------------------------------------------


@given(st.integers(2, 8), st.integers(1, 24), st.integers())
def test_everybody_is_served_every_glass_once(glasses, people, seed):
    """And in a whole set every glass stands equally often in every place, and after every other."""
    items = tuple(f"T{n}" for n in range(glasses))
    served = laid_out(items, PEOPLE[:people], chance(seed))
    assert tuple(served) == PEOPLE[:people]
    assert all(sorted(order) == sorted(items) for order in served.values())
    whole = glasses if glasses % 2 == 0 else 2 * glasses
    if people % whole == 0:
        places = Counter(cell for order in served.values() for cell in enumerate(order))
        after = Counter(pair for order in served.values() for pair in pairwise(order))
        assert set(places.values()) == {people // glasses}
        assert len(set(after.values())) == 1


@pytest.mark.parametrize("test", TESTS)
@given(seed=st.integers())
def test_every_order_of_a_test_is_served_equally_often(test, seed):
    """ISO 4120 of the triangle: the six orders equally often; of the others, every order that there is."""
    orders = TESTS[test].orders
    served = laid_out(("T1", "T2"), PEOPLE[: 2 * len(orders)], chance(seed), test)
    letters = Counter("".join("A" if item == "T1" else "B" for item in order) for order in served.values())
    assert letters == dict.fromkeys(orders, 2)


@pytest.mark.parametrize("test", TESTS)
@given(people=st.integers(1, 24), seed=st.integers())
def test_what_is_asked_of_the_vials_is_never_too_little(test, people, seed):
    """Whatever is drawn, no item has more glasses than was planned for."""
    served = laid_out(("T1", "T2"), PEOPLE[:people], chance(seed), test)
    poured = Counter(item for order in served.values() for item in order)
    most = most_of_each(("T1", "T2"), people, test)
    assert all(poured[item] <= most[item] for item in most)


def test_a_test_compares_two_items():
    """One glass twice, or three, is no test."""
    for glasses in (("T1", "T1"), ("T1", "T2", "T3")):
        with pytest.raises(Malformed, match="compares two"):
            laid_out(glasses, PEOPLE[:6], chance(1), "triangle")


@pytest.mark.parametrize(
    ("test", "served", "picked", "right"),
    [
        ("triangle", "ABB", [0], True), ("triangle", "ABB", [1], False), ("triangle", "AAB", [2], True),
        ("duo-trio", "ABA", [2], True), ("duo-trio", "ABA", [1], False),
        ("paired", "BA", [0], True), ("paired", "AB", [0], False),
        ("three-afc", "AAB", [2], True), ("three-afc", "ABA", [2], False),
        ("tetrad", "ABAB", [0, 2], True), ("tetrad", "ABAB", [1, 3], True), ("tetrad", "ABAB", [0, 1], False),
    ],
)  # fmt: skip
def test_the_right_answer_of_every_test(test, served, picked, right):
    """The odd one; the one like the first; the second item named; two alike."""
    assert passes(test, served, picked) is right
    assert expected_ballots(test, len(served)) == len(picked)


# -- what is in a glass ------------------------------------------------------------------


@given(st.floats(21.5, 75), st.floats(5, 40), st.floats(15, 21))
def test_a_glass_is_reduced_to_its_strength_and_volume(strength, glass_ml, to):
    """Spirit and water by mass make the glass again; its alcohol is volume times strength times 0.78924 g/mL."""
    vial = liquid_of_volume(200, strength)
    glass = glass_of(vial, glass_ml, to)
    spirit = vial.scaled(round(glass.spirit_mg))
    water = Liquid(round(glass.water_ml * 998.2012), 0)  # 998.2012 kg/m³ at 20 °C (OIML R 22)
    assert volume_ml(spirit + water) == pytest.approx(glass_ml, abs=0.005)
    assert strength_20c(spirit + water) == pytest.approx(to, abs=0.03)  # a glass of 5 mL in whole mg
    assert glass.ethanol_mg / 1000 == pytest.approx(glass_ml * to / 100 * 0.78924, rel=1e-3)


def test_a_glass_that_is_weaker_stays_as_it_is():
    """Nothing is made stronger with water."""
    glass = glass_of(liquid_of_volume(200, 18.0), 15, 21.0)
    assert (glass.water_ml, glass.spirit_ml) == (0, pytest.approx(15))
    assert glass.percent_vol == pytest.approx(18.0, abs=0.01)
    assert not glass.is_reduced


def test_the_sums_of_the_safety_sheet():
    """2 mL at 23 % vol is 0.36 g of ethanol, twelve of them 4.4 g: about half a UK unit (computed there)."""
    one = glass_of(liquid_of_volume(100, 23.0), 2.0, None).ethanol_mg / 1000
    assert one == pytest.approx(0.36, abs=0.005)
    assert 12 * one == pytest.approx(4.4, abs=0.05)
    assert drinks(12 * one, "uk") == pytest.approx(0.5, abs=0.06)


def test_every_standard_drink_has_its_source():
    """Grams that could be, a source, and whether it was read: none was, so all say that they are remembered."""
    for drink in DRINKS.values():
        assert 5 <= drink.grams <= 25
        assert drink.source
        assert drink.status == "remembered"


# -- the seal ------------------------------------------------------------------------------

FLIGHTS = (
    Flight("Isla Farrow", (Coded("417", "T000002M"), Coded("582", "C000001H"))),
    Flight("M. Aldane", (Coded("639", "C000001H"), Coded("204", "T000002M"))),
)
WHO = tuple(flight.assessor for flight in FLIGHTS)


def test_a_seal_of_format_2_named_assessors_and_still_agrees():
    """Its text is shown as it was; today's names nobody, so that nobody need stay in it."""
    from hashlib import sha256
    from json import dumps

    glasses = [[{"code": glass.code, "item": glass.item} for glass in one.glasses] for one in FLIGHTS]
    told = [{"assessor": name, "glasses": each} for name, each in zip(WHO, glasses, strict=True)]
    then = dumps({"flights": told, "salt": "salt"}, sort_keys=True, separators=(",", ":")).encode()
    seal = sha256(then).hexdigest()
    assert is_seal(seal, FLIGHTS, "salt")
    assert seal_text(FLIGHTS, "salt", seal) == then
    assert not is_seal(seal, FLIGHTS[::-1], "salt")
    assert b"Farrow" not in seal_text(FLIGHTS, "salt")


def test_what_is_sealed_is_what_comes_out():
    """And the seal is the SHA-256 of the text that anybody can write down from the reveal."""
    from hashlib import sha256

    sealed, seal = sealed_up(FLIGHTS, "salt")
    assert unsealed(sealed, WHO) == (FLIGHTS, "salt")
    assert seal == sha256(seal_text(FLIGHTS, "salt")).hexdigest()
    assert not any(code in sealed for code in ("417", "582", "639", "204", "T000002M"))


def test_any_other_reveal_has_another_seal():
    """Two glasses changed about, another salt, another person."""
    first, second = FLIGHTS
    swapped = first._replace(glasses=(Coded("417", "C000001H"), Coded("582", "T000002M")))
    seal = seal_of(FLIGHTS, "salt")
    for flights, salt in (((swapped, second), "salt"), (FLIGHTS, "salz"), ((second, first), "salt")):
        assert seal_of(flights, salt) != seal


@pytest.mark.parametrize("sealed", ["", "no base64 !", "bm9uZQ==", sealed_up(FLIGHTS, "salt")[0][:-8]])
def test_a_damaged_seal_is_told(sealed):
    """It is not taken for a session without glasses."""
    with pytest.raises(Damaged):
        unsealed(sealed, WHO)
