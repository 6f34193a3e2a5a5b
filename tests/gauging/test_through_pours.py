"""The ± of what was blended, from the gauges of what went into it: by hand, and by `uncertainties` (PyPI)."""

from math import hypot, sqrt

import pytest
import uncertainties
from command import Desk, here
from house import House
from hypothesis import given, settings
from random_books import books, built

from pourbook import errors
from pourbook.alcoholometry.apparent import density_of, strength_of
from pourbook.alcoholometry.density import ETHANOL_20C_KG_M3
from pourbook.alcoholometry.volumes import Composition, composition
from pourbook.book.items import on_hand
from pourbook.queries.gauges.uncertainty_through_pours import uncertainty

LIMIT = 0.1 / sqrt(3)
"""Standard uncertainty of a permissible error of 0.1 % vol, shared by all readings of one hydrometer."""
EACH = 0.1 / sqrt(12)
"""Of a reading to 0.1 % vol, each by itself."""
AMOUNT = 0.005 / sqrt(3)
"""Of a permissible error of 0.5 %, as a part of the volume."""


@pytest.fixture
def desk(tmp_path):
    """Two casks and a vat; two hydrometers, a flow meter, and a hydrometer of which nothing is known."""
    path = tmp_path / "quillmere.pourbook"
    with House(path) as house:
        for name, ref in {"C1": "Row 1", "C2": "Row 2", "B1": "Vatting 1"}.items():
            house.open(name, ref=ref)
        house.fill("C1", "200 l", "63")
        house.fill("C2", "100 l", "55")
    desk = Desk(path, here)
    for name in ("H-1", "H-2"):
        desk.does(f"instrument {name} --kind hydrometer --unit '% vol' --resolution 0.1 --mpe 0.1")
    desk.does("instrument M-1 --kind 'flow meter' --unit l --mpe '0.5 %'")
    desk.does("instrument H-9 --kind hydrometer")
    return desk


def _uncertainty(desk, item="Vatting 1"):
    return desk.does(f"uncertainty '{item}' --json").json


def _blend(desk, second="H-1"):
    desk.does("gauge 'Row 1' --meter '200 l' --hydrometer 62 --instrument H-1 --instrument M-1")
    desk.does(f"gauge 'Row 2' --meter '100 l' --hydrometer 54 --instrument {second} --instrument M-1")
    desk.does("dump 'Vatting 1' 'Row 1' 'Row 2'")
    return _uncertainty(desk)


def _expected(*, shared):
    """Strength and pure alcohol in litres of the blend, with slopes by the other library."""

    def masses(*read):
        parts = [(litres * density_of(made := composition(percent, 0.0), 20.0), made) for litres, percent in
                 zip(read[::2], read[1::2], strict=True)]  # fmt: skip
        return sum(mass for mass, _ in parts), sum(mass * made.mass_fraction for mass, made in parts)

    def percent(*read):
        whole, ethanol = masses(*read)
        return strength_of(Composition(ethanol / whole, 0.0))

    hydrometers = [uncertainties.ufloat(0.0, LIMIT) for _ in range(2)]
    meter = uncertainties.ufloat(1.0, AMOUNT)
    read = [
        200 * meter, 62 + hydrometers[0] + uncertainties.ufloat(0.0, EACH),
        100 * meter, 54 + hydrometers[0 if shared else 1] + uncertainties.ufloat(0.0, EACH),
    ]  # fmt: skip
    lpa = uncertainties.wrap(lambda *values: masses(*values)[1] / ETHANOL_20C_KG_M3)
    return uncertainties.wrap(percent)(*read), lpa(*read)


@pytest.mark.parametrize("second", ["H-1", "H-2"])
def test_a_blend_of_two_gauged_casks_agrees_with_an_independent_library(desk, second):
    """Strength and pure alcohol of the blend, by one hydrometer and by two, and one meter for both."""
    found = _blend(desk, second)["uncertainty"]
    for figure, expected in zip(("strength_20c", "lpa"), _expected(shared=second == "H-1"), strict=True):
        assert found[figure]["value"] == pytest.approx(expected.nominal_value, rel=1e-4)
        assert found[figure]["standard_uncertainty"] == pytest.approx(expected.std_dev, rel=0.01)


def test_one_hydrometer_errs_alike_in_both_casks_and_two_apart(desk):
    """By hand, for parts of 2 : 1 by volume: the error common to both stays whole; errors apart add in squares."""
    parts = hypot(2 / 3, 1 / 3)
    found = _blend(desk, "H-1")["uncertainty"]["strength_20c"]
    assert found["standard_uncertainty"] == pytest.approx(hypot(LIMIT, EACH * parts), rel=0.02)
    assert found["sources"]["H-1"] == pytest.approx(LIMIT, rel=0.02)


def test_two_hydrometers_err_apart(desk):
    """By hand, as before."""
    found = _blend(desk, "H-2")["uncertainty"]["strength_20c"]
    assert found["standard_uncertainty"] == pytest.approx(hypot(LIMIT, EACH) * hypot(2 / 3, 1 / 3), rel=0.02)


@pytest.mark.parametrize(
    "read",
    [
        "--meter '299 l' --temperature 17 --hydrometer 59.2 --instrument M-1",
        "--gross '300 kg' --tare '30 kg' --strength 59.3 --instrument S-1",
        "--dip 30.5 --vessel 'Vat 2' --hydrometer '118 proof' --sample-temperature 15 --instrument D-1",
        "--amount '299 l' --strength 59.3 --extract '2 g/l' --instrument M-1",
    ],
)
def test_a_gauged_batch_gives_its_own_gauge(desk, read):
    """What the casks were gauged with no longer matters; its figures are those that the gauge itself told."""
    _blend(desk)
    desk.does("instrument S-1 --kind scale --unit kg --resolution 0.1 --mpe 0.2")
    desk.does("instrument D-1 --kind 'dip rod' --unit cm --resolution 0.1 --mpe 0.1")
    desk.does("instrument T-1 --kind thermometer --unit C --mpe 0.5")
    desk.does("instrument L-1 --kind other --unit '% vol' --mpe 0.05")
    desk.does("vessel 'Vat 2' --capacity 1200 --table '0 12.5; 50 480; 100 962.5'")
    told = desk.does(f"gauge 'Vatting 1' {read} --instrument H-2 --instrument L-1 --json --confirm").json
    found = _uncertainty(desk)
    assert len(found["uncertainty"]) == 4
    for name, figure in found["uncertainty"].items():
        assert figure["value"] == pytest.approx(told["uncertainty"][name]["value"], rel=1e-4)
        assert figure["standard_uncertainty"] == pytest.approx(
            told["uncertainty"][name]["standard_uncertainty"], rel=1e-3
        )
    assert not any("H-1" in source for source in found["uncertainty"]["lpa"]["sources"])
    assert len(found["taken_as_exact"]) == len(told["taken_as_exact"])


def test_a_pour_of_an_exact_amount_leaves_the_strength_alone_uncertain(desk):
    """10 l of a cask whose content is known to 0.5 %: the volume poured is exact, the strength that of the cask."""
    desk.does("gauge 'Row 1' --meter '200 l' --hydrometer 62 --instrument H-1 --instrument M-1")
    desk.does("pour 'Vatting 1' 'Row 1' '10 l'")
    found = _uncertainty(desk)
    assert found["uncertainty"]["volume_l_20c"]["standard_uncertainty"] == pytest.approx(0.0, abs=1e-9)
    assert found["uncertainty"]["strength_20c"]["standard_uncertainty"] == pytest.approx(hypot(LIMIT, EACH), rel=0.01)
    assert found["uncertainty"]["lpa"]["standard_uncertainty"] == pytest.approx(hypot(LIMIT, EACH) / 10, rel=0.01)
    assert "amounts poured" in found["taken_as_exact"]
    left = _uncertainty(desk, "Row 1")["uncertainty"]["volume_l_20c"]
    assert left["standard_uncertainty"] == pytest.approx(200 * AMOUNT, rel=0.01)


def test_reducing_with_water_reduces_the_uncertainty_with_the_strength(desk):
    """By hand: half spirit, half water, halves the ± of the strength (to the contraction); the water is exact."""
    desk.does("gauge 'Row 1' --meter '200 l' --hydrometer 62 --instrument H-1 --instrument M-1")
    desk.does("pour 'Vatting 1' 'Row 1' '10 l'")
    desk.does("pour 'Vatting 1' water '10 l'")
    found = _uncertainty(desk)
    assert found["uncertainty"]["strength_20c"]["standard_uncertainty"] == pytest.approx(
        hypot(LIMIT, EACH) / 2, rel=0.06
    )
    assert "water" in found["taken_as_exact"]


def test_the_strength_alone_keeps_what_is_known_of_the_volume(desk):
    """A gauge of the strength by the second hydrometer: its strength, and the volume of the gauge before."""
    desk.does("gauge 'Row 1' --meter '200 l' --hydrometer 62 --instrument H-1 --instrument M-1")
    desk.does("gauge 'Row 1' --hydrometer 61.9 --instrument H-2")
    found = _uncertainty(desk, "Row 1")["uncertainty"]
    assert {source.split(" of ")[0] for source in found["strength_20c"]["sources"]} == {"H-2", "H-2, gauge"}
    assert found["volume_l_20c"]["standard_uncertainty"] == pytest.approx(200 * AMOUNT, rel=0.01)


def test_what_has_no_known_instrument_is_named(desk):
    """A filling without a gauge, a gauge by an instrument of unknown error: named, and not made up."""
    desk.does("gauge 'Row 1' --amount '200 l' --hydrometer 62 --instrument H-9")
    desk.does("dump 'Vatting 1' 'Row 1' 'Row 2'")
    ran = desk.does("uncertainty 'Vatting 1'")
    assert "(no ± known)" in ran.out
    assert "strength of the gauge of C-000001-H" in ran.out
    assert "amount of the gauge of C-000001-H" in ran.out
    assert "what went from origin to C-000002-F" in ran.out
    assert "hydrometer 'H-9' has no permissible error recorded" in ran.err


def test_an_item_and_a_reading_are_two_gauges(desk):
    """And an empty item has no figures."""
    assert desk("uncertainty 'Row 1' --strength 46 --instrument 'limit 0.1'").refusal == errors.Malformed
    assert desk("uncertainty 'Vatting 1'").refusal == errors.Refused


@settings(max_examples=15, deadline=None)
@given(books)
def test_any_book_without_instruments_has_its_own_figures_and_no_uncertainty(operations):
    """Pours, gauges, losses and corrections in any order: nothing is made up, and the figures are the book's."""
    house, _ = built(operations)
    with house:
        for view in on_hand(house.book.store):
            found = uncertainty(house.book, view.id)
            assert found.figures["mass_kg"].value == pytest.approx(view.holding.mass_mg / 1e6)
            assert found.figures["volume_l_20c"].value == pytest.approx(view.volume_ml_20c / 1e3)
            assert not any(figure.sources for figure in found.figures.values())
            assert found.exact
