"""How well the contents of casks are known on a day: as they were gauged last, and what the air took since then.

The sources of a gauge are those of its instruments, so that casks gauged by one hydrometer share its error; where no ±
is on record, a gauge is good to what `gauging.evaporation` takes for usual. What the air took is as unsure as the rate
by the cask's gauges, for the time since the last. Without a rate, it took from nothing to twice the usual.
"""

from collections.abc import Mapping
from dataclasses import replace
from math import sqrt
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.contents import EVER
from pourbook.book.fillings import fillings, outlook
from pourbook.book.last_measured import last_measured
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.gauging.evaporation import ASSUMED_RELATIVE, ASSUMED_STRENGTH_VOL, YEAR_US, Band, Evaporation
from pourbook.planning.sure_enough import Held
from pourbook.queries.gauges.uncertainty_through_pours import uncertainty
from pourbook.uncertainty.propagation import Uncertain

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["KnownContents", "known_contents"]

_ONE = 0.6826894921370859
"""Of a normal law lies within one standard deviation."""

_UNKNOWN_CHANGE = 0.5
"""A year may move the strength of a cask without a line by so many % vol: common practice, no source."""


class KnownContents(NamedTuple):
    """How well the contents of a cask are known.

    Attributes:
        held: now, litres and % vol at 20 °C.
        regauged: once it is gauged again as well as the last time.
        years: since the contents were measured; None where they never were.
        assumed: figures whose gauge has no ± on record: volume, strength.
        has_rate: whether its own gauges say what the air takes.
    """

    held: Held
    regauged: Held
    years: float | None
    assumed: tuple[str, ...]
    has_rate: bool


def known_contents(
    book: "BookCore", casks: Mapping[str, tuple[float, float]], usual: float, on_us: int
) -> dict[str, KnownContents]:
    """How well casks are known on a day, by identifier; for each the litres and % vol that it should hold then.

    `usual` is the part of its contents that a year takes of a cask without a rate of its own.
    """
    keys = {key_of(cask): cask for cask in casks}
    lines = {keys[key]: outlook(of[-1], on_us).found for key, of in fillings(book.store, list(keys)).items() if of}
    return {
        cask: _known(book, cask, expected, (lines.get(cask), usual), on_us) for cask, expected in casks.items()
    }  # fmt: skip


def _known(
    book: "BookCore", cask: str, expected: tuple[float, float], rate: tuple[Evaporation | None, float], on_us: int
) -> KnownContents:
    gauged = uncertainty(book, cask).figures
    litres, percent = expected
    volume = _about(gauged["volume_l_20c"], litres, litres / gauged["volume_l_20c"].value)
    strength = _about(gauged["strength_20c"], percent)
    assumed = [name for name, figure in (("volume", volume), ("strength", strength)) if not figure.standard]
    own = f"the gauge of {hyphened(cask)}"
    if "volume" in assumed:
        volume = Uncertain(litres, {f"amount by {own}": ASSUMED_RELATIVE * litres})
    if "strength" in assumed:
        strength = Uncertain(percent, {f"strength by {own}": ASSUMED_STRENGTH_VOL})
    measured = last_measured(book.store, key_of(cask), (min(on_us + 1, EVER), 0))
    years = None if measured is None else max(0.0, (on_us - measured.happened_us) / YEAR_US)
    air = _air(rate, Held(volume, strength), f"the air in {hyphened(cask)}", years or 0.0)
    held = Held(volume + air.volume_l, strength + air.strength_vol)
    anew = Held(_anew(volume, cask), _anew(strength, cask))
    return KnownContents(held, anew, years, tuple(assumed), rate[0] is not None)


def _about(figure: Uncertain, value: float, times: float = 1.0) -> Uncertain:
    """The same sources about another value."""
    return replace(figure * times, value=value)


def _air(rate: tuple[Evaporation | None, float], held: Held, name: str, years: float) -> Held:
    """What the air took since the last gauge errs by; nothing of either figure is added but its uncertainty."""
    line, usual = rate
    if line is None:
        lost, moved = usual / sqrt(3.0), _UNKNOWN_CHANGE / sqrt(3.0)
    else:
        lost = _half(line.volume.slope(_ONE, ASSUMED_RELATIVE))
        moved = _half(line.strength.slope(_ONE, ASSUMED_STRENGTH_VOL)) if line.strength else _UNKNOWN_CHANGE / sqrt(3.0)
    law = {name: 1, f"{name}, strength": 1} if line is None else {}
    return Held(
        Uncertain(0.0, {name: lost * years * held.volume_l.value}, law),
        Uncertain(0.0, {f"{name}, strength": moved * years}, law),
    )


def _half(band: Band) -> float:
    return (band.high - band.low) / 2.0


def _anew(figure: Uncertain, cask: str) -> Uncertain:
    """A figure gauged again: an instrument that others share errs as before, its reading anew."""

    def name(source: str) -> str:
        before, of, _ = source.partition(" of entry ")
        return f"{before} of a new gauge of {hyphened(cask)}" if of or source.endswith(hyphened(cask)) else source

    return Uncertain(
        figure.value,
        {name(source): share for source, share in figure.sources.items()},
        {name(source): count for source, count in figure.rectangles.items()},
    )
