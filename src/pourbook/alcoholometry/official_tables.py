"""Values of the official US tables that a house has loaded, looked up as the regulation does.

A file holds one value a row: table, proof, temperature_f (for tables 1 and 7 only) and value. The
`table` is one of `TABLES`: its number in 27 CFR Part 30, subpart E, and its column where it has several.
Tables 2 and 3 are products of table 4 and are not needed. Loading compares each value with the formula, to find
copying slips. A value between tabulated ones is interpolated, only from neighbours as close as the table prints them.

The example of 27 CFR 30.23, a reading of 192.82 at 72.15 °F:

>>> cells = [("192", "72", "189.1"), ("193", "72", "190.2"), ("192", "73", "188.9")]
>>> rows = [{"table": "1", "proof": p, "temperature_f": t, "value": v} for p, t, v in cells]
>>> tables = official_tables("gauging.csv", enumerate(rows, 2))
>>> tables.value("1", 192.82, 72.15)
Decimal('189.972')
>>> tables.value("1", 192.82, 75) is None
True
"""

from collections.abc import Callable, Iterable, Mapping
from decimal import Decimal
from typing import NamedTuple

from pourbook.alcoholometry.density import SIXTY_F_C
from pourbook.alcoholometry.us_gauging import (
    gallons_per_pound,
    parts_of_100,
    pounds_per_gallon,
    rounded_tenth,
    specific_gravity,
    true_proof,
    volume_factor_60f,
)
from pourbook.errors import Fault, FaultsFound, OutOfRange, PourbookError
from pourbook.numerals import as_decimal, read_decimal

__all__ = ["COLUMNS", "TABLES", "OfficialTables", "official_tables"]

COLUMNS = ("table", "proof", "temperature_f", "value")
"""Columns of a file of official values."""


class _Kind(NamedTuple):
    """What a table shows, and how finely.

    Attributes:
        shows: what its values are.
        step_proof: proof from one printed value to the next.
        step_f: °F from one printed value to the next; None where temperature does not matter.
        formula: the value by formula, of a proof and a temperature in °C.
        off: how far a value may lie from the formula; wide, as only copying slips are sought.
        off_part: a further allowance, as a part of the value.
    """

    shows: str
    step_proof: Decimal
    step_f: Decimal | None
    formula: Callable[[float, float], float]
    off: float
    off_part: float = 0.0


_ONE, _TENTH = Decimal(1), Decimal("0.1")


def _pounds_per_proof_gallon(proof: float, _: float) -> float:
    return pounds_per_gallon(proof) * 100.0 / proof if proof else 0.0


TABLES = {
    "1": _Kind("true proof of a hydrometer reading", _ONE, _ONE, true_proof, 0.5),
    "4 wine": _Kind("wine gallons per pound", _TENTH, None, lambda proof, _: gallons_per_pound(proof)[0], 1e-5, 0.001),
    "4 proof": _Kind(
        "proof gallons per pound", _TENTH, None, lambda proof, _: gallons_per_pound(proof)[1], 1e-5, 0.001
    ),
    "5 wine": _Kind("pounds per wine gallon", _ONE, None, lambda proof, _: pounds_per_gallon(proof), 1e-5, 0.001),
    "5 proof": _Kind("pounds per proof gallon", _ONE, None, _pounds_per_proof_gallon, 1e-5, 0.001),
    "6 water": _Kind("parts of water in 100 of spirit", _ONE, None, lambda proof, _: parts_of_100(proof)[1], 0.1),
    "6 air": _Kind("specific gravity in air", _ONE, None, lambda proof, _: specific_gravity(proof), 0.0005),
    "6 vacuum": _Kind(
        "specific gravity in vacuum", _ONE, None, lambda proof, _: specific_gravity(proof, in_air=False), 0.0005
    ),
    "7": _Kind("volume at 60 °F per volume", Decimal(5), Decimal(2), volume_factor_60f, 0.0015),
}
"""Every table that can be loaded, by the name it has in a file."""

_Cells = Mapping[Decimal, Mapping[Decimal | None, Decimal]]


class OfficialTables(NamedTuple):
    """Official values from a file: cells by table, proof and temperature in °F (None where it does not matter)."""

    file: str
    cells: Mapping[str, _Cells]

    def value(self, table: str, proof: float, temperature_f: float | None = None) -> Decimal | None:
        """A value, interpolated as 27 CFR 30.23 does; None where the file has none, or no neighbours.

        The difference to the next proof and that to the next temperature, each in proportion, are
        added to the value of the lower proof and temperature.
        """
        kind, cells = TABLES[table], self.cells.get(table, {})
        proofs = _between(cells, _hundredths(proof), kind.step_proof)
        if proofs is None:
            return None
        low, high, part = proofs
        if kind.step_f is None or temperature_f is None:
            return _moved(cells[low].get(None), [(cells[high].get(None), part)])
        temperatures = _between([t for t in cells[low] if t is not None], _hundredths(temperature_f), kind.step_f)
        if temperatures is None:
            return None
        cold, warm, warmer = temperatures
        return _moved(cells[low].get(cold), [(cells[high].get(cold), part), (cells[low].get(warm), warmer)])

    def gallons_of_weight(
        self, pounds: float, proof: float, apparent_proof: float | None = None
    ) -> tuple[Decimal, Decimal] | None:
        """Wine and proof gallons of net pounds in air, by table 4 (27 CFR 30.64); None where it lacks them.

        The true proof is rounded to the tenth first (30.31); with solids, wine gallons go by the apparent proof.
        """
        true = rounded_tenth(proof)
        if apparent_proof is not None:
            wine = self.value("4 wine", float(rounded_tenth(apparent_proof)))
            return None if wine is None else (as_decimal(pounds) * wine, as_decimal(pounds) * wine * true / 100)
        wine, proof_gallons = self.value("4 wine", float(true)), self.value("4 proof", float(true))
        if wine is None or proof_gallons is None:
            return None
        return as_decimal(pounds) * wine, as_decimal(pounds) * proof_gallons

    def gallons_of_volume(self, gallons: float, proof: float, temperature_f: float) -> tuple[Decimal, Decimal] | None:
        """Wine and proof gallons of a volume at a temperature, by table 7 (27 CFR 30.51); None where it lacks them.

        The factor is that of the true proof, also with solids (30.25).
        """
        true = rounded_tenth(proof)
        factor = self.value("7", float(true), temperature_f)
        return None if factor is None else (as_decimal(gallons) * factor, as_decimal(gallons) * factor * true / 100)

    def water_per_100_volumes(self, proof: float, to_proof: float) -> Decimal | None:
        """Volumes of water for 100 of spirit by table 6 and the rule of 27 CFR 30.66; None where it lacks."""
        given, required = rounded_tenth(proof), rounded_tenth(to_proof)
        water, required_water = self.value("6 water", float(given)), self.value("6 water", float(required))
        return None if water is None or required_water is None else given / required * required_water - water

    def pounds_of_water(self, pounds: float, proof: float, to_proof: float) -> Decimal | None:
        """Pounds of water that reduce pounds of spirit, by table 4 (27 CFR 30.64); None where it lacks."""
        per_pound = self.value("4 proof", float(rounded_tenth(proof)))
        after = self.value("4 proof", float(rounded_tenth(to_proof)))
        return None if per_pound is None or not after else as_decimal(pounds) * (per_pound / after - 1)


def _hundredths(value: float) -> Decimal:
    """Instruments are read to hundredths at most; rounding noise must not ask for a neighbour."""
    return as_decimal(value).quantize(Decimal("0.01"))


def _between(known: Iterable[Decimal], wanted: Decimal, step: Decimal) -> tuple[Decimal, Decimal, Decimal] | None:
    """The values printed next below and above, and how far between them; None where one is missing."""
    low = max((value for value in known if value <= wanted), default=None)
    high = min((value for value in known if value >= wanted), default=None)
    if low is None or high is None or high - low > step:
        return None
    return low, high, (wanted - low) / (high - low) if high > low else Decimal(0)


def _moved(base: Decimal | None, towards: list[tuple[Decimal | None, Decimal]]) -> Decimal | None:
    """A value, and of its differences to neighbours a part each; None where one that counts is missing."""
    if base is None or any(neighbour is None for neighbour, part in towards if part):
        return None
    return base + sum((part * (neighbour - base) for neighbour, part in towards if neighbour is not None), Decimal(0))


# -- loading ---------------------------------------------------------------------------


def official_tables(file: str, rows: Iterable[tuple[int, Mapping[str, str]]]) -> OfficialTables:
    """Values from the rows of a file: number of the row, and text by column.

    Raises:
        FaultsFound: every fault found; among them values far from what the formula gives.
    """
    faults: list[Fault] = []
    cells: dict[str, dict[Decimal, dict[Decimal | None, Decimal]]] = {}
    for number, row in rows:
        try:
            table, proof, temperature, value = _cell(row)
        except _Wrong as wrong:
            faults.append(Fault(file, number, wrong.column, row.get(wrong.column, ""), wrong.problem, wrong.remedy))
            continue
        known = cells.setdefault(table, {}).setdefault(proof, {})
        if known.setdefault(temperature, value) != value:
            faults.append(Fault(file, number, "value", str(value), "stands twice, with two values", "keep one"))
    if faults:
        count = f"{len(faults)} fault{'s' if len(faults) > 1 else ''}"
        raise FaultsFound(f"{count} found in the official tables of '{file}': nothing was computed", tuple(faults))
    return OfficialTables(file, cells)


class _Wrong(Exception):
    """A cell that cannot be."""

    def __init__(self, column: str, problem: str, remedy: str) -> None:
        super().__init__(problem)
        self.column, self.problem, self.remedy = column, problem, remedy


def _cell(row: Mapping[str, str]) -> tuple[str, Decimal, Decimal | None, Decimal]:
    table = " ".join(row.get("table", "").casefold().split())
    if table not in TABLES:
        raise _Wrong("table", "is not a table known here", f"write one of: {', '.join(TABLES)}")
    proof, value = _number(row, "proof"), _number(row, "value")
    temperature = _number(row, "temperature_f") if TABLES[table].step_f is not None else None
    if temperature is None and row.get("temperature_f"):
        raise _Wrong("temperature_f", "does not belong in this table", "leave it blank")
    _compare_with_formula(table, proof, temperature, value)
    return table, proof, temperature, value


def _number(row: Mapping[str, str], column: str) -> Decimal:
    try:
        return read_decimal(row.get(column, ""))
    except PourbookError as refusal:
        raise _Wrong(column, refusal.message, refusal.remedy) from refusal


def _compare_with_formula(table: str, proof: Decimal, temperature: Decimal | None, value: Decimal) -> None:
    kind = TABLES[table]
    try:
        expected = kind.formula(float(proof), SIXTY_F_C if temperature is None else (float(temperature) - 32.0) / 1.8)
    except OutOfRange:
        return  # the table goes further than the formula
    if abs(float(value) - expected) > kind.off + kind.off_part * expected:
        raise _Wrong(
            "value",
            f"is far from {expected:.5g}, which the formula gives for {kind.shows} at {proof} proof",
            "compare it with the printed table",
        )
