"""Spirit between two sites of a group: what one sent and another received, met by document. Pure.

A despatch to a site pours into a *consignment*, a batch of the group; a receipt pours out of it. Despatches and
receipts of one document between the same two sites share it. Receipts that follow one another are one delivery: the
first of them gauges the consignment to what was received in all, each takes its own, the last takes all.

A receipt is never earlier than what it received. Where the clocks say so, it is moved to just after the despatch, and
with it whatever its own site did meanwhile with that liquid, each just after the one before (`moved`): so a site's
own order stays, and nothing is taken before it is there.

>>> sent = Leg(1, 2, "D-17", 100, 12001, 12001, 0, "C000001H")
>>> got = Leg(2, 1, "d-17", 90, 7002, 7002, 0, "C900001H", Liquid(1000, 400))
>>> did = (Touch(90, 7002, 7002, ("C900001H",)), Touch(95, 8002, 8002, ("C900001H", "V900001R")))
>>> moments = moved((sent,), (got,), lambda _: did)
>>> moments
{7002: 101, 8002: 102}
>>> consignments, _ = met((sent,), (got,), moments)
>>> [(one.id, one.received.mass_mg) for one in consignments]
[('B900000024002P', 1000)]
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from pourbook.book.site_numbers import consignment_id
from pourbook.liquid import EMPTY, Liquid
from pourbook.texts import lookup_form

__all__ = ["Consignment", "Delivery", "Leg", "Touch", "met", "moved"]


class Leg(NamedTuple):
    """A line that sends spirit to another site, or takes it in from one.

    Attributes:
        site: code of the site that recorded it.
        other: code of the other; 0 where no such site has joined.
        document: that it travelled under.
        happened_us: when, by its own site.
        place: of the entry among those of one moment.
        entry: number in the group.
        line: its place in the entry.
        item: that it left, or went into.
        liquid: what was received; None of what was sent, which only the source can tell.
        wood_days: time in wood that the receipt states, in days; None where it states none.
    """

    site: int
    other: int
    document: str
    happened_us: int
    place: int
    entry: int
    line: int
    item: str
    liquid: Liquid | None = None
    wood_days: int | None = None


class Touch(NamedTuple):
    """A pour or gauge of a site.

    Attributes:
        happened_us: when, by its own site.
        place: of the entry among those of one moment.
        entry: number in the group.
        items: that it touches.
    """

    happened_us: int
    place: int
    entry: int
    items: tuple[str, ...]


class Delivery(NamedTuple):
    """Receipts that follow one another; `despatches` of the consignment came before them."""

    despatches: int
    receipts: tuple[Leg, ...]

    @property
    def liquid(self) -> Liquid:
        """What was received in all."""
        return _sum(self.receipts)


class Consignment(NamedTuple):
    """What travelled from one site to another under one document.

    Attributes:
        id: its identifier in the group.
        despatches: in the order sent.
        deliveries: in the order received.
    """

    id: str
    despatches: tuple[Leg, ...]
    deliveries: tuple[Delivery, ...]

    @property
    def receipts(self) -> tuple[Leg, ...]:
        """All of them, in the order received."""
        return tuple(leg for delivery in self.deliveries for leg in delivery.receipts)

    @property
    def received(self) -> Liquid:
        """What was received in all."""
        return _sum(self.receipts)


_Key = tuple[int, int, str]
_Order = Callable[[Leg], tuple[int, int]]


def met(
    despatches: Iterable[Leg], receipts: Iterable[Leg], moments: Mapping[int, int]
) -> tuple[tuple[Consignment, ...], tuple[Leg, ...]]:
    """The consignments, in the order sent; and the receipts that no despatch is known of.

    `moments` are those of entries that were `moved`.
    """
    order = _order_of(moments)
    sent, got = _by_document(despatches, order), _by_document(receipts, order)
    lonely = [leg for key, legs in got.items() if key not in sent for leg in legs]
    found = [_consignment(legs, got.get(key, []), order) for key, legs in sent.items()]
    for one in found:  # clocks that no order of things agrees with
        lonely += [leg for delivery in one.deliveries if not delivery.despatches for leg in delivery.receipts]
    kept = (one._replace(deliveries=tuple(each for each in one.deliveries if each.despatches)) for one in found)
    return tuple(sorted(kept, key=lambda one: order(one.despatches[0]))), tuple(sorted(lonely, key=order))


def _consignment(despatches: Sequence[Leg], receipts: Sequence[Leg], order: _Order) -> Consignment:
    deliveries = []
    before = 0
    got = set(receipts)
    for is_receipt, legs in groupby(sorted((*despatches, *receipts), key=order), key=got.__contains__):
        run = tuple(legs)
        if is_receipt:
            deliveries.append(Delivery(before, run))
        else:
            before += len(run)
    return Consignment(consignment_id(min(leg.place for leg in despatches)), tuple(despatches), tuple(deliveries))


def _by_document(legs: Iterable[Leg], order: _Order) -> dict[_Key, list[Leg]]:
    """Legs by sender, receiver and document."""
    found: defaultdict[_Key, list[Leg]] = defaultdict(list)
    for leg in sorted(legs, key=order):
        ends = (leg.site, leg.other) if leg.liquid is None else (leg.other, leg.site)
        found[*ends, lookup_form(leg.document)].append(leg)
    return found


def _order_of(moments: Mapping[int, int]) -> _Order:
    return lambda leg: (moments.get(leg.entry, leg.happened_us), leg.place)


def _sum(legs: Iterable[Leg]) -> Liquid:
    whole = EMPTY
    for leg in legs:
        whole += leg.liquid or EMPTY
    return whole


# -- clocks that disagree --------------------------------------------------------------


def moved(
    despatches: Sequence[Leg], receipts: Sequence[Leg], touching: Callable[[int], Iterable[Touch]]
) -> dict[int, int]:
    """When entries happened in the group that their own sites place before what they used was sent, by number.

    `touching` gives the pours and gauges of a site that count. Where a loop of documents contradicts every order, the
    receipt that closes it stays where it is.
    """
    moments: dict[int, int] = {}
    known: dict[int, list[Touch]] = {}
    sent, got = (_by_document(legs, _order_of({})) for legs in (despatches, receipts))
    both = [(leg, sent[key]) for key, legs in got.items() if key in sent for leg in legs]
    for _ in range(len(both) + 1):
        order = _order_of(moments)
        early = ((leg, min(order(one) for one in before)) for leg, before in both)
        pair = next(((leg, first) for leg, first in early if order(leg) < first), None)
        if pair is None:
            break
        leg, (first_us, _place) = pair
        if leg.site not in known:
            known[leg.site] = list(touching(leg.site))
        _move(leg, first_us, known[leg.site], moments)
    return moments


def _move(receipt: Leg, after_us: int, touches: Iterable[Touch], moments: dict[int, int]) -> None:
    """Move a receipt to just after a moment, and what its site did by then with that liquid to just after that."""
    wet = {receipt.item}

    def now(touch: Touch) -> tuple[int, int]:
        return moments.get(touch.entry, touch.happened_us), touch.place

    start = moments.get(receipt.entry, receipt.happened_us), receipt.place
    for touch in sorted((one for one in touches if now(one) >= start), key=now):
        if now(touch)[0] > after_us:
            return
        if touch.entry == receipt.entry or not wet.isdisjoint(touch.items):
            after_us += 1
            moments[touch.entry] = after_us
            wet.update(touch.items)
