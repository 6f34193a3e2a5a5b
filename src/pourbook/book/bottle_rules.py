"""The rules of bottles: of lots that are counted, of what customers have of them, of the cases they are sent in."""

from pourbook.book.bottles import bottle_count, bottle_mg, cases_out, same_name, with_customers
from pourbook.book.items import facts
from pourbook.book.line_case import LineCase, as_asked, taken
from pourbook.codes.identifiers import hyphened
from pourbook.errors import Malformed, NotThere, Question, Refused
from pourbook.numerals import counted, shown

__all__ = [
    "bottles_are_counted", "bottles_hold_their_size", "cases_leave_once", "retained_bottles_stay",
    "returns_are_of_that_customer",
]  # fmt: skip


def bottles_are_counted(case: LineCase) -> None:
    """Bottles opened are gone: a counted lot is left by the bottle, by no more than it has, and filled again so."""
    move, comes_back = case.move, case.move.source == "return"
    lot = move.target if comes_back else move.source
    there = bottle_count(case.known.store, lot, None, case.unwritten) if lot[:1] == "L" else None
    if "bottles" not in move.facts:
        if there and (there.with_customers if comes_back else there.left) > 0:
            _refuse_uncounted(case, lot)
        return
    count = int(move.facts["bottles"])
    if there and comes_back and not 0 < count <= there.with_customers:
        raise Refused(f"{_are(there.with_customers)} with customers, not {count}", "check the count")
    if there and not comes_back and count > there.left:
        raise NotThere(f"{_are(there.left)} left, not {count}", "check the count: pourbook show LOT")
    if count < 1:
        raise Malformed(f"{count} bottles cannot be moved", "give a count above zero")
    each_mg = bottle_mg(case.known.store, lot, case.unwritten) if there else 0
    if there and "all" not in case.line and 2 * abs(case.line.get("mass", 0) - count * each_mg) > each_mg:
        _refuse_uncounted(case, lot)


def _refuse_uncounted(case: LineCase, lot: str) -> None:
    """An amount that does not tell how many bottles it was."""
    each_mg = bottle_mg(case.known.store, lot, case.unwritten)
    opened = max(1, -((each_mg // 100 - case.line.get("mass", 0)) // each_mg))  # a rounded figure opens no further one
    raise Refused(
        f"{hyphened(lot)} is counted in bottles, and '{as_asked(case.move.amount)}' does not say how many were opened",
        f"write how many: '{counted(opened, 'bottle')}'",
    )


def _are(bottles: int) -> str:
    return f"{counted(bottles, 'bottle')} {'is' if bottles == 1 else 'are'}"


_FILL_AWAY = 0.05
"""Wide: a bottle of 50 ml may lack 9 %, of 500 ml 3 % and less of more (`gauging.average_contents`)."""


def bottles_hold_their_size(case: LineCase) -> Question | None:
    """What is bottled is as much as so many bottles of that size hold."""
    move, key = case.move, case.ends[1]
    count = int(move.facts.get("bottles", 0))
    if key is None or move.target[:1] != "L" or move.source == "return" or count < 1:
        return None
    size_ml = float(facts(case.known.store, key, case.draft.happened_us).get("size_ml", 0))
    if not size_ml:
        return None
    from pourbook.alcoholometry.volumes import volume_ml

    filled_ml = volume_ml(taken(case))
    if abs(filled_ml - count * size_ml) <= _FILL_AWAY * count * size_ml:
        return None
    mark = case.known.mark
    each = shown(filled_ml / count, 1, mark)
    return Question(
        "unlikely-filling",
        f"'{as_asked(move.amount)}' in {counted(count, 'bottle')} is {each} ml in each, and they are of"
        f" {shown(size_ml, 1, mark)} ml",
        "check the amount and the count of bottles.",
        {"filled_ul": round(filled_ml * 1000), "bottles": count, "size_ul": round(size_ml * 1000)},
    )


def returns_are_of_that_customer(case: LineCase) -> Question | None:
    """Nobody sends back more than they were sent, unless they bought it elsewhere."""
    move, customer = case.move, str(case.move.facts.get("customer", ""))
    if move.source != "return" or "bottles" not in move.facts or not customer:
        return None
    have = with_customers(case.known.store, move.target, case.unwritten)
    count, has = int(move.facts["bottles"]), have.get(same_name(customer), (customer, 0))[1]
    if count <= has or not have:
        return None
    of_others = ", ".join(f"{name} {number}" for name, number in have.values() if number > 0)
    return Question(
        "not-with-customer",
        f"{customer} has {counted(has, 'bottle')} of {hyphened(move.target)} by the book, not {count}",
        f"check the name: {of_others}.",
        {"customer": customer, "bottles": has},
    )


def retained_bottles_stay(case: LineCase) -> Question | None:
    """Bottles kept back as reference samples are not for sale, as long as they are to be kept."""
    move = case.move
    if move.target != "despatch" or move.source[:1] != "L" or "bottles" not in move.facts:
        return None
    from pourbook.book.bottling_runs import retained  # few lots have any
    from pourbook.times import written

    kept = retained(case.known.store, move.source, written(case.draft.happened_us)[:10])
    there = bottle_count(case.known.store, move.source, None, case.unwritten)
    count = int(move.facts["bottles"])
    if not kept or there is None or count <= there.left - kept:
        return None
    return Question(
        "retained-bottles",
        f"{_are(there.left)} left of {hyphened(move.source)}, and {kept} of them kept as reference",
        f"send no more than {max(0, there.left - kept)}.",
        {"bottles": there.left, "retained": kept},
    )


def cases_leave_once(case: LineCase) -> None:
    """A case or pallet is sent once, with its own bottles, and comes back from whoever it was sent to."""
    move, units = case.move, str(case.move.facts.get("units", "")).split()
    if not units:
        return
    from pourbook.book.trade_numbers import bottles_in, on_pallets, unit_of  # few despatches name their cases

    comes_back, customer = move.source == "return", str(move.facts.get("customer", ""))
    lot = move.target if comes_back else move.source
    out, bottles = cases_out(case.known.store, lot, case.unwritten), 0
    on = on_pallets(case.known.store, lot)
    if len(set(units)) < len(units):
        raise Malformed("a case is named twice", "scan each once")
    for sscc in units:
        unit = unit_of(case.known.store, sscc)
        if unit is None or unit.lot != lot or unit.gone:
            raise Refused(f"SSCC {sscc} is not of {hyphened(lot)}", "see whose it is: pourbook scan SSCC")
        if comes_back and sscc not in out:
            raise Refused(f"{unit.unit} {sscc} is not with a customer", "check the label")
        if comes_back and same_name(out[sscc]) != same_name(customer):
            raise Refused(f"{unit.unit} {sscc} was sent to {out[sscc]}, not {customer}", "check label and customer")
        if not comes_back and sscc in out:
            raise Refused(
                f"{unit.unit} {sscc} was already sent, to {out[sscc]}",
                "check the label; if it came back, record that first: pourbook return",
            )
        if not comes_back and (pallet := on.get(sscc)) and (pallet in out or pallet in units):
            raise Refused(f"case {sscc} goes with pallet {pallet}, on which it stands", "name the pallet or the case")
        bottles += bottles_in(case.known.store, unit, on)
    if not comes_back and bottles > int(move.facts.get("bottles", 0)):
        raise Refused(
            f"{counted(len(units), 'case')} named: {counted(bottles, 'bottle')}, more than are sent",
            "check the count, or leave out what stays",
        )
