"""What to take from which cask."""

from dataclasses import replace
from fractions import Fraction

import pytest

from pourbook.codes import identifiers
from pourbook.papers.pull_list import Expected, PullList, PullRow, pull_list

MARGIN_PT = 12 / 25.4 * 72 - 0.5
WOODS = ("refill oak hogshead", "butt, wine oak", "barrel, first fill", "quarter cask")


def cask(number):
    return next(
        identifiers.write("cask", n) for n in range(3 * number + 1, 3 * number + 9) if identifiers.is_issued("cask", n)
    )


@pytest.fixture(scope="module")
def values(imprint):
    def make(casks, **changes):
        rows = []
        for number in range(1, casks + 1):
            code, litres = cask(number), Fraction(5000 + number, 100)
            row = PullRow(
                identifiers.hyphened(code), code, f"Q {number}", WOODS[number % 4], f"Warehouse 1, row {number}",
                Expected(200 - number, 180 - number, Fraction(6337 - number, 100), ("book", "evaporation")[number % 2]),
                litres, 45_000_000, litres * Fraction(9, 10),
            )  # fmt: skip
            rows.append(row)
        water = PullRow("", "", "water", "to 46 % vol", "", None, Fraction(3456, 100), 34_500_000, Fraction(3450, 100))
        made = PullList(imprint, "B-000002-W", "B000002W", "Vatting 7", (*rows, water), target_strength="46 % vol")
        return replace(made, **changes)

    return make


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("casks", [1, 12, 60])
def test_each_row_prints_its_own_figures_in_order(read, squeezed, well_set, values, casks, paper):
    """Number, place, cask, ref, wood, what is expected and by what, litres and kg to take; sums by hand."""
    printed = read(pull_list(values(casks), paper))
    well_set(printed, MARGIN_PT)
    for number in (1, casks):
        litres = f"{50 + number / 100:.2f}"
        code = identifiers.hyphened(cask(number))
        holds = f"{200 - number}.0l{180 - number}.0kg,{63.37 - number / 100:.2f}%vol"
        by = "by evaporation" if number % 2 else "by the book"
        said = f"{code}Q {number} {WOODS[number % 4]}{holds}{by}{litres}l{0.9 * (50 + number / 100):.2f}kg"
        assert squeezed(said) in printed.joined
        assert squeezed(f"Warehouse 1, row {number}") in printed.joined
    whole = sum(Fraction(5000 + number, 100) for number in range(1, casks + 1))
    kg = whole * Fraction(9, 10) + Fraction(3450, 100)
    assert squeezed(f"Sum as poured{float(whole) + 34.56:.2f} l {float(kg):.2f} kg") in printed.joined


@pytest.mark.parametrize(("casks", "pages"), [(1, 1), (12, 1), (60, 4)])
def test_a_dozen_casks_fit_a_page_and_sixty_take_four_with_the_head_on_each(read, values, casks, pages):
    found = read(pull_list(values(casks))).pages
    assert len(found) == pages
    for page in found:
        assert "kg on scale" in page.text
        assert "B-000002-W" in page.text


@pytest.mark.parametrize("casks", [1, 12, 60])
def test_every_cask_can_be_scanned_in_the_order_of_the_list(scan, values, casks):
    """Read back by zxing-cpp from a picture of 200 dpi; the batch itself stands at the head of each page."""
    made = values(casks)
    pages = scan(pull_list(made))
    assert [text for page in pages for kind, text in page if kind == "DataMatrix"] == [
        row.code for row in made.rows if row.code
    ]
    assert all("B000002W" in [text for kind, text in page if kind == "QRCode"] for page in pages)


def test_there_are_boxes_to_write_in(read, values):
    """What was found, strength, temperature, what was taken, initials; of water nothing is found."""
    boxes = [shape for shape in read(pull_list(values(2))).pages[0].shapes if 21.5 < shape[3] - shape[1] < 26]
    widths = sorted(round((box[2] - box[0]) / 72 * 25.4) for box in boxes)
    assert widths == sorted([15, 11, 8, 15, 8] * 2 + [8, 15, 8])


def test_what_was_taken_stands_in_place_of_its_boxes(read, squeezed, values):
    """A part of it stands beside them."""
    made = values(2)
    first, second, water = made.rows
    rows = (replace(first, taken_l=50.02, is_taken=True), replace(second, taken_l=20, is_all=True), water)
    printed = read(pull_list(replace(made, rows=rows)))
    assert squeezed("50.02 l in the book") in printed.joined
    assert squeezed("50.02 l 45.02 kg all of it 20.00 taken") in printed.joined
    assert len([shape for shape in printed.pages[0].shapes if 21.5 < shape[3] - shape[1] < 26]) == 5 + 3


def test_litres_are_at_the_temperature_of_the_cellar_where_it_is_known(read, squeezed, values):
    """Litres at 20 °C stand below, and are summed; those of the cellar have no sum."""
    made = values(1)
    assert "at12.5°C" not in read(pull_list(made)).joined
    assert squeezed("take, l at 20 °C") in read(pull_list(made)).joined
    rows = tuple(replace(row, cellar_l=row.take_l * Fraction(99, 100)) for row in made.rows)
    printed = read(pull_list(replace(made, rows=rows, temperature_c=12.5)))
    assert squeezed("take, l at 12.5 °C") in printed.joined
    assert squeezed("49.51 l 45.01 kg 50.01 l at 20 °C") in printed.joined
    assert squeezed("Sum as poured 84.57 l 79.51 kg at 20 °C") in printed.joined


def test_what_must_be_moved_and_which_plan_it_is(read, squeezed, values):
    made = values(1)
    rows = (replace(made.rows[0], shifts="shift first: Q 7, Q 8"), made.rows[1])
    printed = read(pull_list(replace(made, rows=rows, plan="second plan")))
    assert squeezed("Warehouse 1, row 1 shift first: Q 7, Q 8") in printed.joined
    assert squeezed("Plan second plan") in printed.joined


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_longest_names_wrap_and_are_not_cut(read, squeezed, well_set, values, polish, greek, paper):
    made = values(20, name=polish, ref=polish, follows=greek, fills=polish, prepared_by=polish, temperature_c=9)
    rows = tuple(replace(row, ref=polish, what=greek, place=greek, cellar_l=row.take_l) for row in made.rows[:-1])
    printed = read(pull_list(replace(made, rows=(*rows, made.rows[-1]), remarks=(polish,), warnings=(greek,)), paper))
    well_set(printed, MARGIN_PT)
    assert printed.joined.count(squeezed(polish)) >= 20 + 4


def test_a_strength_that_is_not_read_yet_is_pending(read, squeezed, values):
    made = values(1)
    holds = replace(made.rows[0].expected, strength_vol=None)
    rows = (replace(made.rows[0], expected=holds), made.rows[1])
    assert (
        squeezed("199.0 l 179.0 kg, pending by evaporation 50.01") in read(pull_list(replace(made, rows=rows))).joined
    )


def test_equal_values_give_equal_bytes(values):
    assert pull_list(values(3)) == pull_list(values(3))
