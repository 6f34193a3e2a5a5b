"""The volume that extract takes up, against a published table and published rules.

Sucrose in water at 20 °C: grams in a litre and kg/m3 as the Handbook of Chemistry and Physics prints them, read in
full in an open program that names it as its source (the handbook itself was not seen); printed to 0.1.
Read, too: OIV-MA-AS2-03B, the rule itself (its table was not). test_hydrometer.py has 27 CFR 30.32(b).
Sugar in spirit, more than 100 g/L beside more than 20 % vol, was not checked against any table.
"""

import pytest

from pourbook.alcoholometry.apparent import density_of
from pourbook.alcoholometry.volumes import composition

SUCROSE_20C = [
    (0, 998.2), (10, 1002.1), (20.1, 1006.0), (50.9, 1017.8), (103.8, 1038.1), (158.9, 1059.2), (204.5, 1076.6),
    (263.8, 1099.0), (312.9, 1117.5), (363.7, 1136.6), (416.2, 1156.2), (470.6, 1176.5), (526.8, 1197.2),
]  # fmt: skip


@pytest.mark.parametrize(("grams", "density"), SUCROSE_20C)
def test_sugar_in_water(grams, density):
    """To 0.5 kg/m3 up to 360 g/L, to 1.8 up to 530 g/L: strength by volume of a liqueur within a part in 500."""
    found = density_of(composition(0.0, grams))
    assert found == pytest.approx(density, abs=0.5 if grams < 365 else 1.8)


@pytest.mark.parametrize("percent", [8.0, 12.0, 16.0, 20.0])
@pytest.mark.parametrize(("grams", "sucrose_kg_m3"), [(20.1, 1006.0), (50.9, 1017.8), (103.8, 1038.1)])
def test_the_rule_for_extract_of_wine(percent, grams, sucrose_kg_m3):
    """OIV-MA-AS2-03B: gravity of the wine less that of its alcohol, plus 1, is that of the sugar alone in water.

    The rule takes alcohol out of the same litre, ours out of the mass: they agree to 1.2 kg/m3 (3 g/L of sugar) here.
    """
    whole, alcohol = density_of(composition(percent, grams)), density_of(composition(percent))
    assert whole - alcohol + 998.2 == pytest.approx(sucrose_kg_m3, abs=1.2)
