"""Obscuration: what dissolved solids hide from a hydrometer, and what the US rule makes of it.

Any two of solids, true and apparent strength give the third, by density. The rule of 27 CFR 30.31 and 30.32
stands beside it and says where it does not hold.

The example of 27 CFR 30.32(b): 0.125 g from 25 mL are 500 mg per 100 mL and hide 2 degrees of proof.

>>> solids = solids_of_residue(0.125)
>>> solids, us_rule(solids * 100, proof=90.0).add_proof
(5.0, Decimal('2.0'))
>>> f"{obscured(90.0 / 2, solids, SIXTY_F_C).hidden_proof:.1f}"  # by density
'2.1'
"""

from decimal import Decimal
from typing import NamedTuple

from pourbook.alcoholometry.apparent import (
    REFERENCE_C,
    apparent_strength_of,
    composition_from_hydrometer,
    composition_of_liquid,
    density_of,
    percent_of,
    strength_of,
)
from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.alcoholometry.us_gauging import rounded_tenth
from pourbook.alcoholometry.volumes import Composition, composition, volume_ml
from pourbook.errors import Malformed, OutOfRange
from pourbook.liquid import Liquid
from pourbook.quantities import Strength

__all__ = [
    "Obscuration",
    "UsRule",
    "obscuration",
    "obscured",
    "obscured_between",
    "obscured_from",
    "obscured_liquid",
    "solids_of_residue",
    "us_rule",
]

_NOT_ADDED_MG = 400.0
_DISTIL_MG = 600.0
_LOW_PROOF, _HIGH_PROOF = 80.0, 100.0
_PROOF_PER_MG = 0.4 / 100.0
_HALVINGS = 100
_MOST_G_PER_L = 600.0  # more than any liqueur; far above it no room is left for spirit


class Obscuration(NamedTuple):
    """True and apparent strength of a liquid with solids.

    Attributes:
        solids_g_per_l: dissolved solids per litre at the reference temperature.
        true_20c: true strength, % vol at 20 °C.
        apparent_20c: what a hydrometer shows at 20 °C, % vol; None where the liquid is heavier than water.
        true_proof_60f: true US proof.
        apparent_proof_60f: what a proof hydrometer shows at 60 °F; None likewise.
    """

    solids_g_per_l: float
    true_20c: float
    apparent_20c: float | None
    true_proof_60f: float
    apparent_proof_60f: float | None

    @property
    def hidden_20c(self) -> float | None:
        """The obscuration, % vol at 20 °C."""
        return None if self.apparent_20c is None else self.true_20c - self.apparent_20c

    @property
    def hidden_proof(self) -> float | None:
        """The obscuration, degrees of US proof."""
        return None if self.apparent_proof_60f is None else self.true_proof_60f - self.apparent_proof_60f

    @property
    def us_rule(self) -> "UsRule":
        """What the US rule makes of the solids."""
        return us_rule(self.solids_g_per_l * 100.0, self.apparent_proof_60f)


class UsRule(NamedTuple):
    """Degrees that 27 CFR 30.31 and 30.32 add to the proof by hydrometer (None where they give none), and why."""

    add_proof: Decimal | None
    says: str


def solids_of_residue(residue_g: float, sample_ml: float = 25.0) -> float:
    """Solids in g/L from the residue of an evaporated sample, 27 CFR 30.32(b)."""
    if not (sample_ml > 0.0 and 0.0 <= residue_g <= sample_ml):
        raise OutOfRange(
            f"{sample_ml:g} ml cannot leave a residue of {residue_g:g} g", "was it weighed in mg, or with the dish?"
        )
    return residue_g / sample_ml * 1000.0


def us_rule(solids_mg_per_100ml: float, proof: float | None) -> UsRule:
    """The rule for solids at a proof by hydrometer, corrected to 60 °F: 27 CFR 30.31, 30.32(a) and (b), 30.71.

    >>> us_rule(650, 90).says
    'above 600 mg/100 ml: true proof is found by distillation or an equal laboratory method (30.31)'
    """
    if solids_mg_per_100ml <= _NOT_ADDED_MG:
        return UsRule(
            Decimal("0.0"),
            "up to 400 mg/100 ml: the hydrometer's proof stands, nothing is added (30.31; optional 30.71)",
        )
    if solids_mg_per_100ml > _DISTIL_MG:
        return UsRule(
            None, "above 600 mg/100 ml: true proof is found by distillation or an equal laboratory method (30.31)"
        )
    if proof is None or not _LOW_PROOF <= proof <= _HIGH_PROOF:
        seen = "no proof by hydrometer" if proof is None else f"{proof:.1f} proof"
        return UsRule(
            None,
            f"{seen}: 0.4 degree per 100 mg/100 ml holds only from 80 to 100 proof;"
            " find the obscuration by distillation or pycnometer (30.32)",
        )
    return UsRule(
        rounded_tenth(_PROOF_PER_MG * solids_mg_per_100ml),
        "400 to 600 mg/100 ml at 80 to 100 proof: 0.4 degree is added per 100 mg/100 ml (30.32)",
    )


def obscuration(true: Strength | None, apparent: Strength | None, solids_g_per_l: float | None) -> Obscuration:
    """The third of true strength, apparent strength and solids from the other two, by density.

    Raises:
        Malformed: not two of them are given.
        OutOfRange: they contradict each other.
    """
    if (true is None) + (apparent is None) + (solids_g_per_l is None) != 1:
        raise Malformed(
            "exactly two of true strength, apparent strength and solids are needed",
            "give --apparent and --residue, for example",
        )
    if apparent is None:
        assert true is not None
        assert solids_g_per_l is not None
        return obscured(percent_of(true), solids_g_per_l, REFERENCE_C[true.scale])
    if true is None:
        assert solids_g_per_l is not None
        return obscured_from(percent_of(apparent), solids_g_per_l, REFERENCE_C[apparent.scale])
    return obscured_between(
        percent_of(true), percent_of(apparent), REFERENCE_C[true.scale], REFERENCE_C[apparent.scale]
    )


# -- by density ------------------------------------------------------------------------


def obscured(true_percent: float, solids_g_per_l: float, reference_c: float = 20.0) -> Obscuration:
    """What solids hide of a true strength, both of the whole at the reference temperature."""
    return _of(composition(true_percent, solids_g_per_l, reference_c), solids_g_per_l)


def obscured_from(apparent_percent: float, solids_g_per_l: float, reference_c: float = 20.0) -> Obscuration:
    """The true strength behind an apparent one, at its reference temperature."""
    found = composition_from_hydrometer(apparent_percent, reference_c, reference_c, solids_g_per_l)
    return _of(found, solids_g_per_l)


def obscured_between(
    true_percent: float, apparent_percent: float, true_c: float = 20.0, apparent_c: float = 20.0
) -> Obscuration:
    """The solids that explain the difference of a true and an apparent strength, each at its reference temperature."""
    wanted = density_of(composition_from_hydrometer(apparent_percent, apparent_c, apparent_c), apparent_c)
    plain = density_of(composition(true_percent, 0.0, true_c), apparent_c)
    if wanted < plain - 1e-9:
        raise OutOfRange(
            f"the apparent strength {apparent_percent:g} is above the true one, {true_percent:g}",
            "solids can only hide strength: were the two swapped?",
        )
    low, high = 0.0, min(_MOST_G_PER_L, (100.0 - true_percent) / 100.0 * 1000.0 / 0.62)
    if density_of(composition(true_percent, high, true_c), apparent_c) < wanted:
        raise OutOfRange(
            f"no solids explain {true_percent:g} true and {apparent_percent:g} apparent", "check both readings"
        )
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        heavier = density_of(composition(true_percent, middle, true_c), apparent_c) > wanted
        low, high = (low, middle) if heavier else (middle, high)
    return _of(composition(true_percent, low, true_c), low)


def obscured_liquid(liquid: Liquid) -> Obscuration | None:
    """What the solids of a liquid hide; None where it has none.

    >>> found = obscured_liquid(Liquid(1_000_000, 330_000, 10_000))
    >>> f"{found.solids_g_per_l:.2f} g/L hide {found.hidden_20c or 0:.2f} % vol" if found else "nothing"
    '9.52 g/L hide 2.28 % vol'
    """
    if not liquid.extract_mg:
        return None
    return _of(composition_of_liquid(liquid), liquid.extract_mg / volume_ml(liquid))


def _of(made_of: Composition, solids_g_per_l: float) -> Obscuration:
    at_60f = apparent_strength_of(made_of, SIXTY_F_C)
    return Obscuration(
        solids_g_per_l,
        strength_of(made_of),
        apparent_strength_of(made_of),
        2.0 * strength_of(made_of, SIXTY_F_C),
        None if at_60f is None else 2.0 * at_60f,
    )
