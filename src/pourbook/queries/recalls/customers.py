"""What customers were sent of affected liquid, what came back, and what is still with them.

Bottles are counted, cases and pallets known by the serial numbers recorded with the despatch; whatever came back is in
the house, in its lot.

>>> from pourbook.liquid import Liquid
>>> sent = Departure("L000001C", "despatch", 9, 0, "M. Aldane", Liquid(900, 400), 1.0,
...     {"customer": "Harbour Row", "bottles": 12, "units": "095212340000000013", "contact": "01632 960201"})
>>> back = Departure("L000001C", "return", 10, 1, "M. Aldane", Liquid(450, 200), 1.0,
...     {"customer": "harbour row", "bottles": 6})
>>> (customer,) = customers((sent, back))
>>> (of_lot,) = customer.items
>>> customer.contact, of_lot.bottles, of_lot.outstanding_mg, of_lot.units
('01632 960201', 6, 450, ('095212340000000013',))
>>> [(one.bottles, one.units) for one in came_back((sent, back))]
[(6, ())]
"""

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from pourbook.book.bottles import same_name
from pourbook.consignments import recipient
from pourbook.queries.recalls.affected import Departure

__all__ = ["CameBack", "Customer", "WithCustomer", "came_back", "customers"]


class WithCustomer(NamedTuple):
    """What a customer was sent of one item (by identifier), and sent back.

    Attributes:
        bottles_sent: None for what was sent in bulk, or as a sample.
        bottles_returned: likewise.
        sent_mg: mass.
        returned_mg: mass.
        units: cases and pallets (SSCC) that are still there.
    """

    item: str
    bottles_sent: int | None
    bottles_returned: int | None
    sent_mg: int
    returned_mg: int
    units: tuple[str, ...]

    @property
    def bottles(self) -> int | None:
        """Bottles sent and not returned; below zero where more came back than was sent while it was suspect."""
        return None if self.bottles_sent is None else self.bottles_sent - (self.bottles_returned or 0)

    @property
    def outstanding_mg(self) -> int:
        """Mass sent and not returned."""
        return self.sent_mg - self.returned_mg


class Customer(NamedTuple):
    """A customer by name as written last (empty where nobody named one), and items that went there.

    `address` and `contact` are those stated last with a despatch; empty where none was.
    """

    name: str
    address: str
    contact: str
    items: tuple[WithCustomer, ...]


class CameBack(NamedTuple):
    """What came back into the house of one item (by identifier): bottles, and their mass.

    `units` are cases and pallets not sent out again, `places` where all of it was put.
    """

    item: str
    bottles: int
    mass_mg: int
    units: tuple[str, ...]
    places: tuple[str, ...]


def customers(departures: Sequence[Departure]) -> tuple[Customer, ...]:
    """Every customer of affected liquid, in order of names; `departures` are in order of time."""
    out = _units_out(departures)
    of_name: dict[str, list[Departure]] = {}
    for one in departures:
        of_name.setdefault(same_name(_told(one, "customer")), []).append(one)
    return tuple(
        Customer(
            recipient(every[-1].facts),
            _latest(every, "address"),
            _latest(every, "contact"),
            tuple(
                _with_customer(item, [one for one in every if one.item == item], name, out)
                for item in dict.fromkeys(one.item for one in every)
            ),
        )
        for name, every in sorted(of_name.items())
    )


def came_back(departures: Sequence[Departure]) -> tuple[CameBack, ...]:
    """What customers sent back, item by item; `departures` are in order of time."""
    out = _units_out(departures)
    back: dict[str, list[Departure]] = {}
    for one in departures:
        if one.what == "return":
            back.setdefault(one.item, []).append(one)
    return tuple(
        CameBack(
            item,
            sum(_bottles(every) or (0,)),
            sum(one.liquid.mass_mg for one in every),
            tuple(unit for unit in dict.fromkeys(unit for one in every for unit in _units(one)) if unit not in out),
            tuple(dict.fromkeys(place for one in every if (place := _told(one, "place")))),
        )
        for item, every in back.items()
    )


def _with_customer(item: str, every: Iterable[Departure], name: str, out: dict[str, tuple[str, str]]) -> WithCustomer:
    sent: list[Departure] = []
    back: list[Departure] = []
    for one in every:
        (sent if one.what == "despatch" else back).append(one)
    counts = _bottles(sent), _bottles(back)
    is_counted = any(counts)
    return WithCustomer(
        item,
        sum(counts[0]) if is_counted else None,
        sum(counts[1]) if is_counted else None,
        sum(one.liquid.mass_mg for one in sent),
        sum(one.liquid.mass_mg for one in back),
        tuple(unit for unit, held in out.items() if held == (item, name)),
    )


def _units_out(departures: Iterable[Departure]) -> dict[str, tuple[str, str]]:
    """Cases and pallets that did not come back, each with its item and customer."""
    out: dict[str, tuple[str, str]] = {}
    for one in departures:
        for unit in _units(one):
            if one.what == "despatch":
                out[unit] = one.item, same_name(_told(one, "customer"))
            else:
                out.pop(unit, None)
    return out


def _told(one: Departure, name: str) -> str:
    return str(one.facts.get(name, ""))


def _latest(every: Sequence[Departure], name: str) -> str:
    return next((_told(one, name) for one in reversed(every) if _told(one, name)), "")


def _units(one: Departure) -> list[str]:
    return _told(one, "units").split()


def _bottles(every: Iterable[Departure]) -> list[int]:
    return [int(one.facts["bottles"]) for one in every if "bottles" in one.facts]
