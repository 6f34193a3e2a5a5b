"""Many gauges at once, beside the same polynomial evaluated plainly with NumPy.

    python tests/benchmarks/conversion.py [GAUGES]

A gauge is a volume at a temperature and a strength; asked are its mass and its ethanol. The peer is
given the mass fraction for nothing: it evaluates the general formula of OIML R 22 once, as it is
printed or nested, and multiplies. Ours finds the mass fraction of every strength first. Answers are
compared before anything is timed. Figures are medians of several turns, and ratios.
"""

import statistics
import sys
import time

import numpy as np

from pourbook.alcoholometry import density_array, liquid_of_volume
from pourbook.alcoholometry.coefficients import A, B, C
from pourbook.alcoholometry.conversion import gauges_array
from pourbook.alcoholometry.strength import mass_fraction_from_strength_array

TURNS, FEW = 7, 2000


def plain(volume, p, t):
    """The formula as printed, term by term, by powers kept from the term before."""
    dt = t - 20.0
    density = np.full_like(p, A[0])
    power = np.ones_like(p)
    for a in A[1:]:
        power = power * p
        density += a * power
    power = np.ones_like(p)
    for b in B:
        power = power * dt
        density += b * power
    dts = np.ones_like(p)
    for row in C:
        dts = dts * dt
        power = np.ones_like(p)
        for c in row:
            power = power * p
            density += c * power * dts
    mass = volume * density
    return np.floor(mass + 0.5).astype(np.int64), np.floor(mass * p + 0.5).astype(np.int64)


def one_by_one(volume, strength, t):
    """The scalar path, for the comparison."""
    return [liquid_of_volume(*gauge) for gauge in zip(volume, strength, t, strict=True)]


def timed(function, *arguments):
    """Median in ms."""
    taken = []
    for _ in range(TURNS):
        begin = time.perf_counter()
        function(*arguments)
        taken.append((time.perf_counter() - begin) * 1000)
    return statistics.median(taken)


def compare(name, volume, strength, t):
    """Check a few answers against each other, then time all of them."""
    few = slice(0, FEW)
    p = mass_fraction_from_strength_array(strength[few])
    peer_says = plain(volume[few], p, t[few])
    for ours, peer in zip(gauges_array(volume[few], strength[few], t[few]), peer_says, strict=True):
        assert np.abs(ours - peer).max() <= 1
    gauges = volume.size
    fractions = np.resize(p, gauges)
    ours, peer, nested = (
        timed(gauges_array, volume, strength, t),
        timed(plain, volume, fractions, t),
        timed(density_array, fractions, t),
    )
    singly = timed(one_by_one, volume[few], strength[few], t[few]) / FEW
    print(f"{name}: {gauges} gauges in {ours:.0f} ms; {ours / gauges * 1e6:.0f} ns each, singly {singly * 1e6:.0f}")
    print(f"    the polynomial alone: as printed {peer:.0f} ms, ours is {ours / peer:.2f}x", end="")
    print(f"; nested {nested:.0f} ms, ours is {ours / nested:.2f}x")


def main(gauges: int) -> None:
    """Measure and print."""
    draw = np.random.default_rng(1)
    volume, t = draw.uniform(1e3, 1e6, gauges), draw.uniform(-5, 35, gauges)
    compare("strengths as typed, two decimals", volume, draw.uniform(35, 72, gauges).round(2), t)
    compare("strengths of all digits", volume, draw.uniform(0, 100, gauges), t)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1_000_000)
