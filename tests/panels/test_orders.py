"""Orders of serving and codes: balanced as claimed, drawn by the chance that is handed in, and fit to be read."""

import random
import re
from collections import Counter
from itertools import combinations

import pytest
from command import here
from hypothesis import given
from hypothesis import strategies as some

from pourbook.errors import OutOfRange
from pourbook.panels.orders import CODES, SETS, balance, draw_codes, serving_orders, set_orders, whole_set

PUBLISHED = {
    # read: printed output of the R package crossdes for 3 treatments
    "ABC BCA CAB CBA ACB BAC": (2, 2),
    # read: a public discussion of bioequivalence designs
    "ABCD BDAC CADB DCBA": (1, 1),
    # remembered: the textbook square of Williams (1949)
    "ABDC BCAD CDBA DACB": (1, 1),
    # read: printed output of crossdes for 10 treatments, its first six rows; the others follow its rule
    "ABJCIDHEGF BCADJEIFHG CDBEAFJGIH DECFBGAHJI EFDGCHBIAJ FGEHDICJBA GHFIEJDACB HIGJFAEBDC IJHAGBFCED JAIBHCGDFE": (
        1,
        1,
    ),
}
"""Published sets of orders; how often each product stands in each place, and comes after each other one."""


def chance(seed):
    """A draw that can be made again."""
    return random.Random(seed).randrange


@pytest.mark.parametrize(("rows", "times"), PUBLISHED.items())
def test_published_squares_are_counted_as_even(rows, times):
    """What is said of an order's balance is true of squares that others made."""
    found = balance([["ABCDEFGHIJ".index(letter) for letter in row] for row in rows.split()])
    assert found == ((times[0],) * 2, (times[1],) * 2)
    assert found.is_whole


@pytest.mark.parametrize("rows", [row for row in PUBLISHED if len(row.split()[0]) == 4 or "ABC " in row])
def test_our_squares_are_the_published_ones_under_other_names(rows):
    """The crossdes and the textbook squares are drawn by some chance (all draws are gone through)."""
    wanted = {tuple("ABCD".index(letter) + 1 for letter in row) for row in rows.split()}
    count = len(rows.split()[0])
    assert any(set(serving_orders(count, len(wanted), chance(seed))) == wanted for seed in range(300))


@given(some.integers(2, 12), some.integers(1, 3), some.integers())
def test_whole_sets_are_quite_even(products, times, seed):
    """Williams (1949): each product equally often in each place, each ordered pair equally often adjacent."""
    size = whole_set(products) * times
    found = balance(serving_orders(products, size, chance(seed)))
    assert found == ((size // products,) * 2, (size // products,) * 2)


@given(some.integers(2, 12), some.integers(1, 40), some.integers())
def test_other_numbers_are_as_even_as_can_be(products, assessors, seed):
    """Places within one of each other; pairs too, or within two where a mirror image is lacking."""
    orders = serving_orders(products, assessors, chance(seed))
    assert [sorted(order) for order in orders] == [list(range(1, products + 1))] * assessors
    (least, most), (seldom, often) = balance(orders)
    assert most - least <= 1
    assert often - seldom <= (2 if products % 2 else 1)


def test_balance_counts_places_and_neighbours():
    """Worked by hand: A before B twice, B before A never."""
    assert balance([(1, 2), (1, 2)]) == ((0, 2), (0, 2))
    assert not balance([(1, 2), (1, 2)]).is_whole


@pytest.mark.parametrize(("products", "assessors"), [(1, 6), (27, 6), (6, 0), (6, 10_001)])
def test_what_cannot_be_served_is_refused(products, assessors):
    """One product, more than letters, nobody, and a crowd."""
    with pytest.raises(OutOfRange):
        serving_orders(products, assessors, chance(1))


@pytest.mark.parametrize("test", SETS)
def test_sets_of_a_test_are_served_equally_often(test):
    """The six of a triangle are ABB BAB BBA AAB ABA BAA (ISO 4120)."""
    if test == "triangle":
        assert {"".join("AB"[one - 1] for one in row) for row in SETS[test]} == {
            "ABB", "BAB", "BBA", "AAB", "ABA", "BAA",
        }  # fmt: skip
    served = Counter(set_orders(test, 3 * len(SETS[test]), chance(5)))
    assert served == dict.fromkeys(SETS[test], 3)


# -- codes ----------------------------------------------------------------------------------------


def test_codes_carry_no_meaning():
    """Three digits, no leading zero, none twice, no run, not another code upside down (common practice, no source)."""
    assert len(CODES) == len(set(CODES)) == 585
    assert all(len(code) == 3 and code.isdigit() and code[0] != "0" for code in CODES)
    assert not {"111", "123", "321", "666", "747", "911", "168", "901", "100"} & set(CODES)
    assert {"104", "135", "472"} <= set(CODES)


@given(some.integers(1, 12), some.integers(1, 30), some.integers())
def test_no_code_is_drawn_twice(glasses, assessors, seed):
    """ISO 4120:2021, 5.5: no assessor meets a code twice in a session, and each has own ones if possible."""
    drawn = [code for own in draw_codes(glasses, assessors, chance(seed), taken=CODES[:100]) for code in own]
    assert len(drawn) == len(set(drawn)) == glasses * assessors
    assert not set(drawn) & set(CODES[:100])


@pytest.mark.parametrize("seed", range(5))
def test_a_slip_of_the_pen_makes_no_other_glass_of_the_same_assessor(seed):
    """Two digits differ at least, and no code is another rearranged."""
    for own in draw_codes(8, 20, chance(seed)):
        for code, other in combinations(own, 2):
            assert sum(one != another for one, another in zip(code, other, strict=True)) >= 2
            assert sorted(code) != sorted(other)


def test_chance_is_what_was_handed_in():
    """The same draws give the same orders and codes, others give others."""
    assert serving_orders(6, 12, chance(1)) == serving_orders(6, 12, chance(1)) != serving_orders(6, 12, chance(2))
    assert draw_codes(6, 1, chance(1)) == draw_codes(6, 1, chance(1)) != draw_codes(6, 1, chance(2))


def test_every_code_is_drawn_alike():
    """None is favoured: 585 codes, 50 of them again and again; chi-squared stays near that of free draws."""
    draw = chance(3)
    times = Counter(own[0] for _ in range(234) for own in draw_codes(1, 50, draw))
    chi_squared = sum((times[code] - 20) ** 2 / 20 for code in CODES)
    assert chi_squared < 584 + 6 * (2 * 584) ** 0.5


def test_more_glasses_than_codes_are_refused():
    """With what to do instead."""
    with pytest.raises(OutOfRange, match="not enough"):
        draw_codes(6, 100, chance(1))
    again = draw_codes(6, 200, chance(1), may_return=True)
    assert len(again) == 200
    assert all(len(set(own)) == 6 for own in again)


# -- the command ----------------------------------------------------------------------------------


def test_scripts_get_orders_and_codes():
    """The contract: `orders` is a list of lists of products from 1, `codes` one for each product."""
    found = here("panel", "orders", "--products", 6, "--assessors", 12, "--json").done().json
    assert [sorted(order) for order in found["orders"]] == [[1, 2, 3, 4, 5, 6]] * 12
    assert found["in_each_place"] == found["after_each_other"] == [2, 2]
    assert len(set(found["codes"])) == 6
    assert set(found["codes"]) <= set(CODES)
    assert found["own_codes"] == []


def test_own_codes_follow_the_glasses():
    """A code of its own for each glass of each assessor."""
    found = here("panel", "orders", "--products", 3, "--assessors", 4, "--own-codes", "--json").done().json
    assert found["codes"] == []
    assert len({code for own in found["own_codes"] for code in own}) == 12


def test_the_key_shows_code_and_product_glass_by_glass():
    """One set of codes: the same product has the same code in every line; how even it is stands beside."""
    ran = here("panel", "orders", "--products", 3, "--assessors", 4, "--seed", 1).done()
    cells = [re.findall(r"(\d{3}) = (\d)", line) for line in ran.out.splitlines()[1:]]
    assert list(map(len, cells)) == [3] * 4
    assert len({cell for row in cells for cell in row}) == 3
    assert "each product stands 1 to 2 times in each place" in ran.err
    assert "multiple of 6 assessors" in ran.err


def test_the_reference_of_a_duo_trio_has_no_code():
    """It is marked R, as ISO 10399 does."""
    found = here("panel", "orders", "--test", "duo-trio", "--assessors", 8, "--json").done().json
    assert {own[0] for own in found["own_codes"]} == {"R"}
    assert sorted(map(tuple, found["orders"])) == sorted(2 * SETS["duo-trio"])


def test_a_large_test_says_that_codes_come_back():
    """300 triangles have 900 glasses, and there are 585 codes; no assessor meets one twice."""
    ran = here("panel", "orders", "--test", "triangle", "--assessors", 300).done()
    assert "codes come back, for other assessors" in ran.err
    assert "come back" not in here("panel", "orders", "--test", "triangle", "--assessors", 60).done().err


@pytest.mark.parametrize("asked", [(), ("--products", 3, "--test", "tetrad"), ("--products", 1)])
def test_what_cannot_be_ordered_is_refused(asked):
    """Neither, both, and one product alone."""
    ran = here("panel", "orders", "--assessors", 6, *asked)
    assert ran.status == 1
    assert "do: give" in ran.err
