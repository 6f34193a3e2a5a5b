"""Calculators that need no book, as outside scripts and people use them: figures, units, slips, tables."""

import re
import shlex

import pytest
from command import apart, here
from hypothesis import given, settings
from hypothesis import strategies as st

from pourbook import errors

ETHANOL_KG_M3 = 789.24
"""Density of ethanol at 20 °C: OIML R 22, general formula at p = 1."""
GALLONS = 0.00015
"""The formula against the official tables, as a part: 0.015 %."""


def asks(line, *more):
    """The document that a calculator answers."""
    return here(*shlex.split(line), *more, "--json").done().json


# -- the units of the regulation -----------------------------------------------------------


def test_a_tank_weighed_in_air():
    """27 CFR 30.64: 81,000 lb of 190 proof are 11,921.6 wine gallons and 22,650.8 proof gallons."""
    found = asks("convert --mass '81000 lb' --strength '190 proof' --in-air")
    assert found["wine_gallons_60f"] == pytest.approx(11921.6, rel=GALLONS)
    assert found["proof_gallons"] == pytest.approx(22650.8, rel=GALLONS)
    assert found["proof_60f"] == pytest.approx(190.0)
    assert found["us_basis"] == "computed; a return uses the official tables"
    assert asks("convert --mass '81000 lb' --proof 190") == found  # pounds are read in air unless said otherwise


def test_a_gauge_by_volume():
    """27 CFR 30.51: 4,308.48 gal at 72 °F and 86.8 proof are 4,286.94 gal at 60 °F and 3,721.1 proof gallons."""
    found = asks("convert --volume '4308.48 gal' --proof 86.8 --temperature '72 F'")
    assert found["wine_gallons_60f"] == pytest.approx(4286.94, rel=GALLONS)
    assert found["proof_gallons"] == pytest.approx(3721.1, rel=GALLONS)
    assert found["us_rounded"]["proof_60f"] == 86.8
    assert found["volume_factor_60f"] == pytest.approx(0.995, abs=0.0005)


def test_a_tank_corrected_to_60_f():
    """27 CFR 30.67, second-hand: 1,000 gal of 190 proof at 76 °F are 991 gal at 60 °F."""
    found = asks("convert --volume '1000 gal' --proof 190 --temperature '76 F'")
    assert found["wine_gallons_60f"] == pytest.approx(991, abs=0.5)


@pytest.mark.parametrize(
    ("reading", "temperature", "proof"),
    [
        ("193", "72 F", 190.2),  # 27 CFR 30.23
        ("192", "72 F", 189.1),
        ("192", "73 F", 188.9),
        ("193", "75 F", 189.5),  # 27 CFR 30.61
        ("80", "68 F", 76.4),  # TTB, web page on interpolation of table 1
        ("81", "68 F", 77.4),
        ("80", "69 F", 76.0),
    ],
)
def test_a_proof_hydrometer(reading, temperature, proof):
    """Table 1 to its last digit, glass and temperature corrected."""
    found = asks(f"hydrometer --reading {reading} --unit proof --temperature '{temperature}'")
    assert found["proof_60f"] == pytest.approx(proof, abs=0.05)


def test_a_reading_with_both_instruments_corrected():
    """27 CFR 30.23: 192.85 at 72.10 °F, hydrometer -0.03, thermometer +0.05: 190.0 proof."""
    found = asks(
        "hydrometer --reading 192.85 --unit proof --temperature '72.10 F' --correction=-0.03"
        " --thermometer-correction 0.05"
    )
    assert (found["reading"], round(found["proof_60f"], 1)) == (192.82, 190.0)


def test_water_by_weight():
    """27 CFR 30.64: 1,000 lb of 200 proof to 190 proof take 82.03 lb; a ratio of five-digit factors, 0.05 lb."""
    found = asks("reduce --mass '1000 lb' --strength '200 proof' --to '190 proof'")
    assert found["water_lb_in_air"] == pytest.approx(82.03, abs=0.05)


@pytest.mark.parametrize(
    ("proof", "to", "water", "cut"),
    [(191, 188, 1.84, 7.36 * (95.5 / 94 - 1.01)), (112, 100, 12.42, 0.01)],
)
def test_water_by_volume(proof, to, water, cut):
    """27 CFR 30.66: 1.84 and 12.42 gallons for 100; the examples cut quotient and product to two decimals."""
    found = asks(f"reduce --volume '100 gal' --proof {proof} --to '{to} proof' --temperature '60 F'")
    assert found["water_per_100_volumes_60f"] == pytest.approx(water, abs=0.005 + cut)
    assert found["water_l"] / 3.785411784 == pytest.approx(found["water_per_100_volumes_60f"], rel=1e-6)


def test_obscuration_by_weight():
    """27 CFR 30.32(b): 0.125 g from 25 ml are 0.50 g in 100 ml; two degrees are added."""
    found = asks("obscuration --residue '0.125 g' --apparent '86.8 proof'")
    assert found["solids_mg_per_100ml"] == pytest.approx(500)
    assert found["us_rule"]["add_proof"] == 2.0
    assert found["us_rule"]["true_proof_60f"] == pytest.approx(88.8, abs=1e-6)
    assert found["proof_60f"] == pytest.approx(88.8, abs=0.25)  # by density


# -- litres and kilograms -----------------------------------------------------------------------


def test_a_reduction_by_hand():
    """1,000 l of 62.4 % vol hold 624 l of alcohol: at 46 % vol that is 1,356.52 l; contraction is the rest."""
    found = asks("reduce --volume '1000 L' --strength 62.4 --to 46")
    assert found["final_volume_l"] == pytest.approx(624 / 0.46, abs=0.001)
    assert found["contraction_l"] == pytest.approx(1000 + found["water_l"] - found["final_volume_l"], abs=1e-6)
    assert found["water_kg"] == pytest.approx(found["water_l"] * 0.99820, rel=1e-5)  # water at 20 °C, 998.20 kg/m3
    assert found["after"]["mass_kg"] == pytest.approx(found["before"]["mass_kg"] + found["water_kg"])


def test_a_conversion_by_hand():
    """100 kg of 40 % vol: 948.05 kg/m3 (alcoholimetric table at 20 °C, second-hand), 789.24 for ethanol."""
    found = asks("convert --mass '100 kg' --strength 40")
    assert found["weighed"] == "in vacuum"
    assert found["volume_l_20c"] == pytest.approx(100 / 0.94805, abs=0.001)
    assert found["lpa"] == pytest.approx(40 / 0.94805, abs=0.001)
    assert found["proof_60f"] == pytest.approx(79.86, abs=0.005)  # not 80


def test_a_weighing_in_air_is_corrected_for_the_air():
    """A litre of 40 % vol displaces 1.2 g of air, and the steel weights 0.14 g: 0.112 % in all."""
    for said in ("--mass '100 kg' --in-air", "--mass '100 kg air'"):
        assert asks(f"convert {said} --strength 40")["mass_kg"] == pytest.approx(100.112, abs=0.001)
    assert asks("convert --mass '100 lb' --strength 40 --in-vacuum")["mass_kg"] == pytest.approx(45.359237)


@settings(max_examples=25)
@given(st.floats(1, 1e5).map(lambda x: round(x, 3)), st.floats(1, 95).map(lambda x: round(x, 2)), st.integers(0, 35))
def test_mass_and_volume_go_there_and_back(litres, strength, temperature):
    """Volume to mass, mass to volume; and both without the strength give it back."""
    here_ = f"--temperature {temperature}"
    there = asks(f"convert --volume '{litres} l' --strength {strength} {here_}")
    kilos = f"{there['mass_kg']:.9f} kg"
    back = asks(f"convert --mass '{kilos}' --strength {strength} {here_}")
    assert back["volume_l"] == pytest.approx(litres, rel=1e-7)
    found = asks(f"convert --mass '{kilos}' --volume '{litres} l' {here_}")
    assert found["strength_20c"] == pytest.approx(strength, abs=1e-4)
    assert found["lpa"] * ETHANOL_KG_M3 / 1000 <= found["mass_kg"]


@settings(max_examples=25)
@given(st.integers(20, 90), st.floats(0.2, 0.98), st.floats(0, 40).map(lambda x: round(x, 1)), st.integers(5, 30))
def test_reduce_then_gauge(strength, part, extract, temperature):
    """The stated water in the stated spirit: the vatting of both has the target strength, to 0.001 % vol."""
    target = round(strength * part, 2)
    sweet = f" --extract '{extract} g/l'" if extract and strength < 80 else ""
    plan = asks(f"reduce --volume '1000 l' --strength {strength} --to {target} --temperature {temperature}{sweet}")
    spirit = f"{strength}+{extract} g/l" if sweet else f"{strength}"
    vat = asks(
        "vatting", "--part", f"{spirit}=1000 l", "--part", f"water={plan['water_kg']:.6f} kg",
        "--temperature", str(temperature),
    )  # fmt: skip
    assert vat["strength_20c"] == pytest.approx(target, abs=0.001)
    assert vat["volume_l"] == pytest.approx(plan["final_volume_l"], abs=0.001)
    assert vat["contraction_l"] == pytest.approx(plan["contraction_l"], abs=0.001)


def test_steps_rests_and_a_vat():
    """Three equal steps a week apart; what the vat cannot hold in the end is drawn off first."""
    plan = asks("reduce --volume '1000 l' --strength 62.4 --to 46 --steps 3 --rest-days 7 --vat '1200 l'")
    assert [step["day"] for step in plan["steps"]] == [0, 7, 14]
    assert [step["strength_20c"] for step in plan["steps"]] == pytest.approx(
        [62.4 - 16.4 / 3, 46 + 16.4 / 3, 46], abs=1e-3
    )
    assert sum(step["water_kg"] for step in plan["steps"]) == pytest.approx(plan["water_kg"])
    assert plan["final_volume_l"] == pytest.approx(1200, abs=0.001)
    assert plan["draw_off_l"] == pytest.approx(1000 * (1 - 1200 / (624 / 0.46)), abs=0.001)


def test_strengths_to_rest_at():
    """Listed strengths, the target last."""
    plan = asks("reduce --mass '500 kg' --strength 63 --to 43 --via 57 --via 50")
    assert [step["strength_20c"] for step in plan["steps"]] == pytest.approx([57, 50, 43], abs=1e-3)


def test_strengthening():
    """200 l of 40 % vol with 96 % vol to 43: the alcohol of both over the volume of the whole."""
    plan = asks("reduce --volume '200 l' --strength 40 --to 43 --with-spirit 96")
    alcohol_l = 200 * 0.40 + plan["spirit_l"] * 0.96
    assert 100 * alcohol_l / plan["final_volume_l"] == pytest.approx(43, abs=0.001)
    assert plan["water_kg"] == 0


def test_extract_hides_strength_from_the_hydrometer_but_not_from_the_target():
    """The true strength is the target; a hydrometer will show less, and the extract is thinned."""
    plan = asks("reduce --volume '500 l' --strength 60 --extract '20 g/l' --to 40")
    assert plan["after"]["strength_20c"] == pytest.approx(40, abs=1e-3)
    assert plan["after"]["apparent_strength_20c"] < 38
    assert plan["after"]["extract_g_per_l"] == pytest.approx(20 * 500 / plan["final_volume_l"], rel=1e-6)


LIQUEURS = [
    "convert --volume '500 l' --strength 25 --extract '250 g/l'",
    "convert --mass '500 kg' --strength 25 --extract '250 g/l'",
    "reduce --volume '500 l' --strength 25 --extract '250 g/l' --to 20",
    "obscuration --true 25 --extract '250 g/l'",
]


@pytest.mark.parametrize("line", LIQUEURS)
def test_a_liqueur_heavier_than_water_is_computed_without_an_apparent_strength(line):
    """No hydrometer of strength floats in it; all else is the same as ever. No source: density above water's."""
    document = asks(line)
    seen = document.get("after", document)
    assert seen["apparent_strength_20c"] is None
    assert seen["proof_60f"] > 0
    assert "heavier than water, so it has no apparent strength" in here(*shlex.split(line)).done().out


def test_a_liqueur_weighs_what_its_parts_weigh():
    """500 l with 250 g/l: 125 kg of sugar in 0.155 of the volume (0.62 ml for a gram), and spirit in the rest.

    By Table I of OIML R 22, spirit of 30 % mass has 953.78 kg/m3 at 20 °C, so 30 x 953.78 / 789.24 % vol.
    """
    percent = 30 * 953.78 / ETHANOL_KG_M3 * 0.845
    found = asks(f"convert --volume '500 l' --strength {percent:.6f} --extract '250 g/l'")
    assert found["mass_kg"] == pytest.approx(125 + 0.5 * 0.845 * 953.78, abs=0.005)
    assert found["lpa"] == pytest.approx(5 * percent, abs=1e-4)
    vat = asks("vatting --part '25+250 g/l=500 l' --part water --to 20")
    assert vat["volume_l"] == pytest.approx(625, abs=1e-3)
    assert vat["apparent_strength_20c"] is None


def test_a_liqueur_heavier_than_water_by_the_us_rule():
    """27 CFR 30.41(b), read: 0.120074 over the gravity at 60 °F are the wine gallons of a pound.

    Proof gallons are those times the true proof over 100. The gravity is taken in vacuum here: 0.0001 of slack.
    """
    found = asks("convert --mass '1000 lb' --strength 25 --extract '250 g/l' --temperature '60 F'")
    gravity = found["density_kg_m3"] / asks("density --strength 0 --temperature '60 F'")["density_kg_m3"]
    assert gravity > 1.05
    assert found["wine_gallons_60f"] == pytest.approx(1000 * 0.120074 / gravity, rel=1e-4)
    assert found["proof_gallons"] == pytest.approx(found["wine_gallons_60f"] * found["proof_60f"] / 100, rel=1e-9)


def test_obscured_spirit_by_hydrometer():
    """What a hydrometer shows of 40 % vol with 12 g/l is read back as 40 % vol."""
    shows = asks("obscuration --true 40 --extract '12 g/l'")["apparent_strength_20c"]
    found = asks(f"hydrometer --reading {shows:.9f} --extract '12 g/l'")
    assert found["strength_20c"] == pytest.approx(40, abs=1e-5)
    assert found["apparent_strength_20c"] == pytest.approx(shows, abs=1e-5)


@pytest.mark.parametrize("unit", ["% vol", "vol60f", "proof"])
def test_at_its_own_temperature_a_hydrometer_shows_the_truth(unit):
    """20 °C for % vol, 60 °F for proof and % vol at 60 °F."""
    temperature = "20 C" if unit == "% vol" else "60 F"
    found = asks(f"hydrometer --reading 62 --unit '{unit}' --temperature '{temperature}'")
    expected = {"% vol": found["strength_20c"], "vol60f": found["proof_60f"] / 2, "proof": found["proof_60f"]}
    assert expected[unit] == pytest.approx(62, abs=1e-6)


# -- likely slips ---------------------------------------------------------------------------------

SLIPS = [
    ("proof typed as % vol", "convert --volume '200 l' --strength 124", "124 proof"),
    ("°F typed as °C", "convert --volume '200 l' --strength 62 --temperature 68", "68 F"),
    ("°F typed as °C at the hydrometer", "hydrometer --reading 86.8 --unit proof --temperature 72", "72 F"),
    ("gallons typed as litres", "convert --volume '53 l' --mass '398 lb'", "was it in gal?"),
    ("litres typed as gallons", "convert --volume '200 gal' --mass '180 kg'", "was it in l?"),
    ("pounds typed as kilograms", "convert --volume '200 l' --mass '398 kg'", "was it in lb?"),
    ("litres, the strength known", "convert --volume '53 l' --mass '398 lb' --strength 62", "was it in gal?"),
    ("three readings that do not agree", "convert --volume '200 l' --mass '170 kg' --strength 62", "check all three"),
    ("weighed with the cask", "convert --volume '200 l' --mass '226 kg'", "--tare"),
    ("net below nothing", "convert --mass '53 lb' --tare '100 lb' --strength 62", "swapped"),
    ("a density in g/ml", "strength --density 0.9", "g/ml? write 900.00"),
    ("a density in pounds per gallon", "strength --density 7.5", "lb per US gallon?"),
    ("a bare target beside a proof", "reduce --volume '53 gal' --proof 124 --to 92", "'92 proof' or '92 % vol'"),
    ("a target in proof typed as % vol", "reduce --volume '200 l' --strength 62 --to 92", "'92 proof' meant?"),
    ("a target above the strength", "reduce --volume '200 l' --strength 40 --to 96", "--with-spirit"),
    ("% vol given as proof", "convert --volume '200 l' --proof '62 %'", "--strength"),
    ("a reading above 200 proof", "hydrometer --reading 203 --unit proof --temperature '82 F'", "cool the sample"),
    ("a reading no spirit gives", "hydrometer --reading 100 --temperature 0", "°C or in °F?"),
    ("two units for one reading", "hydrometer --reading '61 %' --unit proof", "write the number alone"),
    ("true and apparent swapped", "obscuration --true 40 --apparent 41", "swapped"),
    ("a residue in mg", "obscuration --residue '125 g' --apparent '86 proof'", "in mg"),
    ("extract without a unit", "reduce --volume '200 l' --strength 60 --to 40 --extract 20", "g/l"),
    ("a volume without a unit", "convert --volume 200 --strength 60", "write '200 ml'"),
    ("a mass as a volume", "convert --volume '200 kg' --strength 60", "l or gal"),
    ("a vat smaller than the spirit", "reduce --volume '1000 l' --strength 60 --to 46 --vat '300 l'", "gallons?"),
    ("water of ice", "reduce --volume '1000 l' --strength 60 --to 46 --water-temperature -5", "of the water"),
    ("rests that rise", "reduce --volume '1000 l' --strength 60 --to 46 --via 50 --via 55", "from strong to weak"),
    ("too little said", "convert --strength 60", "--volume and --strength"),
    ("a vatting beyond its parts", "vatting --part 61 --part 45 --to 70 --total '500 l'", "61.00 and 45.00"),
]  # fmt: skip


@pytest.mark.parametrize(("line", "asks_back"), [slip[1:] for slip in SLIPS], ids=[slip[0] for slip in SLIPS])
def test_a_slip_is_asked_back_and_nothing_is_computed(line, asks_back):
    """One refusal, a remedy that names the slip, and no figure."""
    for ran in (here(*shlex.split(line)), here(*shlex.split(line), "--json")):
        assert (ran.status, ran.out) == (1, "")
        said, remedy = ran.err.splitlines()
        assert said.startswith("refused: ")
        assert asks_back in remedy
        assert issubclass(ran.refusal, errors.PourbookError)


# -- official tables --------------------------------------------------------------------------------


@pytest.fixture
def tables(tmp_path):
    """A house's file of official values: 27 CFR 30.23, 30.64 and 30.66; table 7 second-hand."""
    path = tmp_path / "gauging.csv"
    path.write_text(
        "table,proof,temperature_f,value\n"
        "1,192,72,189.1\n1,193,72,190.2\n1,192,73,188.9\n"
        "4 wine,190,,0.14718\n4 proof,190,,0.27964\n4 proof,200,,0.30258\n"
        "6 water,112,,47.75\n6 water,100,,53.73\n7,190,76,0.991\n",
        "utf-8",
    )
    return path


def test_official_values_are_used_where_they_are_loaded(tables):
    """The figures of the regulation's own examples to the last digit, with the formula and the difference."""
    found = asks("convert --mass '81000 lb' --proof 190", "--tables", tables)
    assert found["wine_gallons_60f"] == pytest.approx(11921.58, abs=1e-6)
    assert found["us_rounded"] == {"proof_60f": 190.0, "wine_gallons_60f": 11921.6, "proof_gallons": 22650.8}
    beside = found["official"]["proof_gallons"]
    assert beside["official"] == pytest.approx(22650.84, abs=1e-6)
    assert beside["difference"] == pytest.approx(beside["official"] - beside["formula"])
    assert abs(beside["difference"]) < GALLONS * 22650.84
    assert found["us_basis"] == "official tables as loaded from gauging.csv"


def test_official_values_by_volume_by_hydrometer_and_for_water(tables):
    """Tables 7, 1, 6 and 4."""
    found = asks("convert --volume '1000 gal' --proof 190 --temperature '76 F'", "--tables", tables)
    assert found["wine_gallons_60f"] == pytest.approx(991.0)
    read = asks("hydrometer --reading 192.82 --unit proof --temperature '72.15 F'", "--tables", tables)
    assert read["proof_60f"] == pytest.approx(189.972)
    by_volume = asks("reduce --volume '100 gal' --proof 112 --to '100 proof'", "--tables", tables)
    assert by_volume["water_per_100_volumes_60f"] == pytest.approx(12.4276)
    by_weight = asks("reduce --mass '1000 lb' --proof 200 --to '190 proof'", "--tables", tables)
    assert by_weight["water_lb_in_air"] == pytest.approx(82.03, abs=0.005)


def test_what_the_file_lacks_is_said(tables):
    """Computed figures stay, and the answer says that they are computed."""
    found = asks("convert --mass '500 lb' --proof 120", "--tables", tables)
    assert found["official"]["proof_gallons"]["official"] is None
    assert found["us_basis"] == "gauging.csv lacks the values needed here; computed; a return uses the official tables"
    mixed = asks("reduce --mass '1000 lb' --proof 200 --to '190 proof'", "--tables", tables)
    assert "where they have the value" in mixed["us_basis"]
    shown = here("convert", "--mass", "500 lb", "--proof", "120", "--tables", tables).done().out
    assert "the file lacks the official value" in shown


def test_a_slip_in_the_file_is_listed(tables):
    """File, row, column and value; nothing is computed."""
    tables.write_text(tables.read_text("utf-8").replace("0.14718", "0.41718") + "9,1,,1\n", "utf-8")
    ran = here("convert", "--mass", "81000 lb", "--proof", "190", "--tables", tables)
    assert (ran.status, ran.out) == (1, "")
    assert "2 faults found in the official tables of 'gauging.csv'" in ran.err
    assert "gauging.csv, row 5, value: '0.41718' is far from" in ran.err
    tables.write_text("table,proof\n1,192\n", "utf-8")
    ran = here("convert", "--mass", "81000 lb", "--proof", "190", "--tables", tables)
    assert ran.status == 1
    assert "the column is missing" in ran.err


# -- for people ---------------------------------------------------------------------------------------

FOR_PEOPLE = [
    "density --strength 62.4",
    "strength --density 900.1 --temperature 14",
    "convert --volume '53 gal' --proof 124 --temperature '76 F'",
    "convert --volume '500 l' --strength 40 --extract '20 g/l'",
    "hydrometer --reading 38.2 --temperature 22 --extract '12 g/l'",
    "obscuration --true '80 proof' --apparent '78.2 proof'",
    "obscuration --true 40 --extract '20 g/l'",
    "reduce --volume '1000 l' --strength 62.4 --to 46",
    "reduce --volume '1000 l' --strength 62.4 --to 46 --steps 3 --vat '1200 l' --extract '1 g/l'",
    "reduce --volume '200 l' --strength 40 --to 43 --with-spirit 96",
    "vatting --part 61.2 --part 45 --to 50 --total '500 l'",
]


@pytest.mark.parametrize("line", FOR_PEOPLE)
def test_people_get_aligned_lines_and_the_caution_apart(line):
    """Figures on standard output in columns, the caution on standard error."""
    ran = here(*shlex.split(line)).done()
    lines = ran.out.splitlines()
    assert all(text == text.rstrip() for text in lines)
    assert "ignites at room temperature" in ran.err
    assert "caution" not in ran.out
    labelled = [text for text in lines if text[0].isalpha() and not text.startswith(("step", "part", "whole", "27"))]
    assert len({re.match(r".*?\s{2,}", text).end() for text in labelled}) == 1


@pytest.mark.parametrize("line", FOR_PEOPLE)
def test_programs_get_one_document(line):
    """The same question with --json: one document, nothing beside it."""
    ran = here(*shlex.split(line), "--json").done()
    assert isinstance(ran.json, dict)
    assert ran.err == ""


def test_no_book_is_needed(tmp_path):
    """In a process of its own, in an empty folder, with no book named."""
    ran = apart("reduce", "--volume", "1000 l", "--strength", "62.4", "--to", "46", cwd=tmp_path).done()
    assert "368.36 kg" in ran.out
    assert list(tmp_path.iterdir()) == []
