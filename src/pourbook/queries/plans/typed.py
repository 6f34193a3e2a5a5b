"""What is asked of a plan, read from what a person typed: options of the command, fields of a page.

>>> asked = asked_typed(HouseStyle(), {"final": "1500 l", "to_strength": "46", "most_casks": 9, "aims": ("cost=2",)})
>>> float(asked.final.volume_ml), asked.limits.most_casks, asked.objective
(1500000.0, 9, {'cost': 2.0})
>>> bottles_wanted(HouseStyle(), ("400 x 700 ml",), "4").losses
Decimal('4')
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from pourbook.alcoholometry.spirit_body import target_percent
from pourbook.batches.bottles_wanted import BottlesWanted, Filled
from pourbook.errors import Malformed, OutOfRange
from pourbook.house_style import HouseStyle
from pourbook.numerals import number_and_rest
from pourbook.planning.recipe import Limits
from pourbook.quantities import Amount, Strength
from pourbook.queries.plans.asked import PlanAsked
from pourbook.queries.plans.candidates import Choice
from pourbook.queries.plans.limits_table import LimitsTable

__all__ = ["AIMS", "asked_typed", "bottles_wanted", "heel_wanted"]

AIMS = {"casks": "casks", "cost": "cost", "left": "left_l", "shifts": "shifts", "distance": "distance"}
"""What a plan is to have the least of, as it is typed, and as the planner calls it."""

_NO_TABLE = LimitsTable()


def asked_typed(style: HouseStyle, typed: Mapping[str, Any], read: LimitsTable = _NO_TABLE) -> PlanAsked:
    """What is asked of a plan; whatever was typed takes the place of what a file of limits said (`read`).

    `typed` are texts, and whole numbers for counts, by the names of the options of `pourbook plan` in Python; what is
    left out, or None, was not typed. Repeated ones (bottles, aims, only, without, despite) are sequences.

    Raises:
        Malformed: something cannot be read.
        OutOfRange: it cannot be asked.
    """
    told, plain = {name: value for name, value in typed.items() if value is not None}, PlanAsked()
    losses = told.get("losses")
    bottles = bottles_wanted(style, told.get("bottles", ()), losses if told.get("bottles") else None)
    house, each = read.house, told.get("casks_of_each")
    return PlanAsked(
        style.amount(told["final"]) if "final" in told else None,
        bottles,
        None if losses is None or bottles else _losses(style, losses),
        _strength(style, told.get("to_strength")),
        _within(style.number(told["within"])) if "within" in told else plain.within,
        style.number(told["tolerance"]) if "tolerance" in told else None,
        told.get("near_years", plain.near_years),
        _limits(style, told, read.limits),
        house if each is None else house._replace(casks_of_each=each),
        _objective(style, told.get("aims", ())) or read.objective or plain.objective,
        read.attributes,
        heel_wanted(style, *told["heel"]) if "heel" in told else None,
        _choice(style, told),
        style.as_of(told.get("on_day")),
    )


def bottles_wanted(style: HouseStyle, texts: Sequence[str], losses: str | None) -> BottlesWanted | None:
    """Bottles to be filled, with their losses, as typed; None where no bottles are."""
    if not texts:
        if losses is not None:
            raise Malformed("--losses goes with --bottles", "give --bottles, or leave --losses out")
        return None
    found = []
    for text in texts:
        count, times, size = text.replace("×", "x").partition("x")
        if not times or not count.strip().isdecimal():
            raise Malformed(f"'{text}' does not say how many bottles of what size", "write it like 400 x 700 ml")
        found.append(Filled(int(count), style.amount(size)))
    return BottlesWanted(tuple(found), None if losses is None else _losses(style, losses))


def heel_wanted(style: HouseStyle, batch: str, amount: str) -> tuple[str, Amount | None]:
    """The batch that a heel is of, and how much of it, as typed; None is all."""
    return batch, style.amount_or_all(amount)


def _strength(style: HouseStyle, text: str | None) -> Strength | None:
    return None if text is None else style.strength(text)


def _within(percent: Decimal) -> Decimal:
    if not 0 <= percent < 100:
        raise OutOfRange(f"a volume cannot be within {percent} % of what is aimed at", "give 0 to less than 100")
    return percent


def _losses(style: HouseStyle, text: str) -> Decimal | Amount:
    number, unit = number_and_rest(text, style.mark)
    return number if unit in ("", "%") else style.amount(text)


def _limits(style: HouseStyle, told: Mapping[str, Any], read: Limits) -> Limits:
    """Those of the file, each replaced by what was typed beside it."""
    litres = {
        f"{name}_l": float(style.amount(told[name]).volume_ml) / 1000.0
        for name in ("least_left", "least_taken", "vat") if name in told
    }  # fmt: skip
    counts = {name: told[name] for name in ("most_casks", "most_part_casks") if name in told}
    given: dict[str, Any] = litres | counts
    if strength := _strength(style, told.get("least_strength")):
        given["least_strength_before"] = target_percent(strength)
    if "least_age" in told:
        given |= {"least_age_years": told["least_age"], "least_age_days": None}
    return read._replace(**given)


def _objective(style: HouseStyle, aims: Sequence[str]) -> dict[str, float]:
    found: dict[str, float] = {}
    for text in aims:
        name, equals, weight = text.partition("=")
        if name not in AIMS:
            raise Malformed(f"'{text}' is nothing to have the least of", f"write one of: {', '.join(AIMS)}")
        found[AIMS[name]] = float(style.number(weight)) if equals else 1.0
    if any(weight < 0 for weight in found.values()):
        raise OutOfRange("a weight below zero asks for the most", "give weights of 0 or more")
    return found


def _choice(style: HouseStyle, told: Mapping[str, Any]) -> Choice:
    least, most = style.between(told["age"]) if "age" in told else (0.0, None)
    plain = Choice()
    return Choice(
        tuple(told.get("only", ())),
        tuple(told.get("without", ())),
        told.get("spirit", ""),
        told.get("wood", ""),
        told.get("previous", ""),
        told.get("place", ""),
        int(max(0.0, least)),
        None if most is None or most > 1000 else int(most),
        gauged_within_days=told.get("gauged_within", plain.gauged_within_days),
        despite=frozenset(told.get("despite", ())),
    )
