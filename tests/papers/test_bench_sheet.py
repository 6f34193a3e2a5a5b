"""What to pour at the bench."""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest

from pourbook.codes import identifiers
from pourbook.errors import Malformed, OutOfRange
from pourbook.papers.bench_sheet import BenchRow, BenchSheet, bench_sheet, running

MARGIN_PT = 12 / 25.4 * 72 - 0.5
WOODS = ("hogshead, refill, malt", "butt, wine oak, malt", "barrel, first fill", "quarter cask, grain")


def vial(number):
    return next(
        identifiers.write("vial", n) for n in range(3 * number + 1, 3 * number + 9) if identifiers.is_issued("vial", n)
    )


@pytest.fixture(scope="module")
def row():
    def make(number, parts, what=None):
        code = vial(number)
        return BenchRow(
            ref=f"Q {number}/14",
            what=what or WOODS[number % 4],
            role=("base", "heart", "top dressing")[number % 3],
            fraction=Fraction(1, parts),
            target_ml=Fraction(1000, parts),
            target_mg=912_345 // parts + number,
            strength_vol=Decimal("63.37") - Decimal(number) / 10,
            left_ml=Decimal("31.4") - number,
            id=identifiers.hyphened(code),
            code=code,
        )

    return make


@pytest.fixture(scope="module")
def sheet(imprint, row):
    def make(parts, **changes):
        water = BenchRow(
            "water", "deionised", "reduction", Fraction(1, parts), Fraction(1000, parts), 998_000 // parts, 0
        )
        values = BenchSheet(
            imprint,
            "T-000041-8",
            "T0000418",
            "Trial 41",
            (*(row(number, parts) for number in range(1, parts)), water),
            target_volume_ml=1000,
        )
        return replace(values, **changes)

    return make


def figure(value, digits=2):
    """As a person reads it, by the standard library's half-up rounding; digits ungrouped."""
    exact = Decimal(Fraction(value).numerator) / Decimal(Fraction(value).denominator)
    return str(exact.quantize(Decimal(1).scaleb(-digits), ROUND_HALF_UP))


@pytest.mark.parametrize("paper", ["A4", "Letter"])
@pytest.mark.parametrize("parts", [2, 60])
def test_each_row_prints_its_own_figures_in_order(read, squeezed, sheet, parts, paper):
    """Every row is found whole: number, vial, what, fraction, role, strength, mL, running, g, balance, left."""
    values = sheet(parts)
    joined = read(bench_sheet(values, paper)).joined
    volume_ml, mass_mg = Fraction(0), 0
    for number, row in enumerate(values.rows, start=1):
        volume_ml, mass_mg = volume_ml + row.target_ml, mass_mg + row.target_mg
        share = {2: "50", 60: "≈1.6667"}[parts]
        figures = (row.strength_vol, row.target_ml, volume_ml)
        grams = (Fraction(row.target_mg, 1000), Fraction(mass_mg, 1000))
        left = "" if row.left_ml is None else figure(row.left_ml).replace("-", "−")
        short = "short" if row.left_ml is not None and row.left_ml < 0 else ""
        said = [str(number), row.id, row.ref, row.what, share, row.role, *map(figure, figures), *map(figure, grams)]
        assert squeezed("".join([*said, left, short])) in joined
    assert squeezed(f"Sum100{'.0000' if parts == 60 else ''}1000.00{figure(Fraction(mass_mg, 1000))}") in joined


def test_running_totals_are_exact():
    rows = tuple(BenchRow("", "", "", 0, 0.1, 100) for _ in range(10))
    assert running(rows)[-1] == (1, 1000), "ten tenths are one, though not in binary"


def test_sixty_rows_take_three_pages_with_the_head_of_the_table_on_each(read, sheet):
    pages = read(bench_sheet(sheet(60))).pages
    assert len(pages) == 3
    for page in pages:
        assert "balance" in page.text
        assert "reads g" in page.text


def test_every_vial_can_be_scanned_from_the_page_in_pouring_order(scan, sheet):
    """Read back by zxing-cpp from a picture of 200 dpi."""
    values = sheet(60)
    scanned = [text for page in scan(bench_sheet(values)) for kind, text in page if kind == "DataMatrix"]
    assert scanned == [row.code for row in values.rows if row.code]


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_the_longest_names_wrap_and_are_not_cut(read, squeezed, well_set, sheet, row, polish, greek, paper):
    values = sheet(60, name=polish, ref=polish, recipe=greek, purpose=f"{polish} {greek}", prepared_by=polish)
    long_rows = tuple(
        replace(row_, what=(polish, greek)[n % 2], role=polish[:50]) for n, row_ in enumerate(values.rows)
    )
    printed = read(bench_sheet(replace(values, rows=long_rows), paper))
    assert printed.joined.count(squeezed(polish)) >= 30
    assert printed.joined.count(squeezed(greek)) >= 30
    well_set(printed, MARGIN_PT)


def test_a_name_without_a_space_breaks_and_figures_of_any_size_stay_in_their_column(read, squeezed, well_set, sheet):
    values = sheet(3)
    word = "Bezprzymiotnikowo" * 8
    large = replace(values.rows[0], what=word, target_ml=1_234_567.89, target_mg=1_234_567_890, left_ml=-7_654_321)
    printed = read(bench_sheet(replace(values, name=word, rows=(large, *values.rows))))
    assert word in printed.joined
    assert squeezed("1 234 567.89") in printed.joined
    assert "−7654321.00short" in printed.joined
    well_set(printed, MARGIN_PT)


def test_every_row_has_a_box_to_write_in_and_one_to_tick_between_its_rules(read, well_set, sheet):
    """A hand writes five figures on 19 mm or more (common practice, no source)."""
    printed = read(bench_sheet(sheet(5)))
    sizes = [
        (round((right - left) / 72 * 25.4), round((top - bottom) / 72 * 25.4))
        for left, bottom, right, top in printed.pages[0].shapes
    ]
    assert sum(width >= 19 and height >= 8 for width, height in sizes) == 5
    assert sizes.count((5, 5)) == 5
    well_set(printed, MARGIN_PT)


def test_what_is_not_known_is_said_and_never_a_zero(read, sheet):
    values = sheet(2)
    unknown = replace(values.rows[0], strength_vol=None, left_ml=None)
    text = read(bench_sheet(replace(values, rows=(unknown,)))).joined
    for said in (
        "pending500.00",
        "Costperlitreunknown",
        "Youngestspiritunknown",
        "Volumeofthemixat20°Cunknown",
        "Contractiononmixingunknown",
        "Nonerecorded;thisdoesnotmeantherearenone.",
    ):
        assert said in text


def test_expected_figures_warnings_contents_and_notes_are_printed(read, sheet):
    """Contraction is the plain sum less the volume of the mix: 1000.00 - 987.41."""
    values = sheet(
        2,
        revised_from="T-000039-W",
        recipe="Winter Marmalade",
        expected_strength_vol=Decimal("46.0349"),
        mixed_ml=Decimal("987.412"),
        density_g_per_ml=Decimal("0.93915"),
        cost_per_litre=Decimal("18.405"),
        currency="EUR",
        youngest_age="8 years 41 days",
        warnings=("the strength of V-000004-7 is pending",),
        remarks=("Poured already. The table is the plan.",),
        notes=("Rest twenty minutes.",),
        previous_contents=("Q 1/14 oloroso wine", "Q 2/14 plum liqueur"),
        allergens=("sulphites may come from the wine casks",),
    )
    text = read(bench_sheet(values)).joined
    for said in (
        "Expectedstrength46.03%vol",
        "Volumeofthemixat20°C987.41mL",
        "Plainsumofvolumes1000.00mL",
        "Contractiononmixing12.59mL",
        "Densityat20°C0.9392g/mL",
        "Costperlitre18.41EUR",
        "Youngestspirit8years41days",
        "Provisional:thestrengthofV-000004-7ispending",
        "Pouredalready.Thetableistheplan.",
        "Taretheemptyglassto0",
        "Resttwentyminutes.",
        "Previouscontents:Q1/14olorosowine",
        "Previouscontents:Q2/14plumliqueur",
        "Allergens:sulphitesmaycomefromthewinecasks",
        "WinterMarmalade",
        "RevisedfromT-000039-W",
        "Pouredby",
        "Checkedby",
    ):
        assert said in text


def test_facts_that_are_not_given_are_left_out(read, sheet):
    text = read(bench_sheet(sheet(2))).text
    for label in ("Recipe", "Revised from", "Purpose", "Prepared by", "Notes", "Provisional"):
        assert label not in text


def test_digits_and_decimal_mark_follow_the_instruments_and_the_house(read, imprint, sheet):
    values = sheet(2, imprint=replace(imprint, decimal_mark=","), volume_digits=1, mass_digits=3)
    text = read(bench_sheet(values)).joined
    assert "63,27500,0500,0456,173456,17330,4" in text
    assert "." not in "".join(character for character in text.split("deionised")[1].split("Sum")[0])


def test_fractions_show_all_their_digits_or_say_that_they_do_not(read, sheet):
    values = sheet(2)
    fractions = (Decimal("0.125"), Decimal("0.375"), Fraction(1, 2))
    rows = tuple(replace(values.rows[1], fraction=fraction) for fraction in fractions)
    assert all(said in read(bench_sheet(replace(values, rows=rows))).text for said in ("12.5", "37.5", "50.0", "100.0"))
    rows = (*rows[:2], replace(values.rows[1], fraction=Fraction(1, 3)))
    text = read(bench_sheet(replace(values, rows=rows))).text
    assert "≈33.3333" in text
    assert "≈12.5" not in text


def test_equal_sheets_give_equal_bytes_and_unequal_ones_do_not(sheet):
    assert bench_sheet(sheet(3)) == bench_sheet(sheet(3))
    assert bench_sheet(sheet(3)) != bench_sheet(sheet(3, notes=("Rest.",)))


def test_a_vial_that_would_scan_as_another_is_refused(sheet):
    values = sheet(2)
    with pytest.raises(Malformed, match="would scan as"):
        bench_sheet(replace(values, rows=(replace(values.rows[0], code=vial(9)),)))
    with pytest.raises(OutOfRange, match="is not a number"):
        bench_sheet(replace(values, rows=(replace(values.rows[0], target_ml=float("nan")),)))
