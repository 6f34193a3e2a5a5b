"""The rules of what a lot is known by outside: its mark, its GTIN, the numbers of its cases."""

from pourbook.book.items import facts
from pourbook.book.rules import Case
from pourbook.codes.identifiers import hyphened, key_of, kind_of, several
from pourbook.errors import Malformed, Question, Refused
from pourbook.numerals import counted

__all__ = [
    "cases_are_stacked_once", "cases_have_their_bottles", "lot_mark_is_of_one_lot", "new_mark_has_its_reason",
    "printed_gtin_stays",
]  # fmt: skip


def lot_mark_is_of_one_lot(case: Case) -> Question | None:
    """A mark names one lot, today and on every bottle that ever bore it."""
    entry = case.entry
    mark = entry.facts.get("lot_mark", "")
    if not mark or kind_of(entry.id) != "lot":
        return None
    from pourbook.book.trade_numbers import lots_of

    others = [one for one in lots_of(case.known.store, "", mark) if one != entry.id]
    if run := entry.facts.get("run"):  # whose sizes may bear one mark
        others = [one for one in others if facts(case.known.store, key_of(one)).get("run") != run]
    if not others:
        return None
    return Question(
        "lot-mark-in-use",
        f"lot mark {mark} is, or was, that of {several(others)}",
        "give this lot a mark of its own.",
        {"lot_mark": mark, "lots": " ".join(others)},
    )


def new_mark_has_its_reason(case: Case) -> None:
    """Bottles may bear the old mark; whoever finds another in the book can read why."""
    new = case.entry.facts.get("lot_mark")
    if new is None or kind_of(case.entry.id) != "lot":
        return
    old = facts(case.known.store, key_of(case.entry.id)).get("lot_mark", "")
    if old not in ("", new) and not case.draft.reason.strip():
        raise Malformed(f"lot mark {old} is changed, and that needs a reason", "give --reason")


def printed_gtin_stays(case: Case) -> Question | None:
    """A GTIN that stands on labels is not changed unseen."""
    changed = {name: case.entry.facts[name] for name in ("gtin", "case_gtin") if name in case.entry.facts}
    if not changed:
        return None
    from pourbook.book.label_prints import is_printed_since

    store, key = case.known.store, key_of(case.entry.id)
    for name, new in changed.items():
        rows = store.query(
            "SELECT value, place FROM fact WHERE item = ? AND name = ? ORDER BY happened DESC, place DESC LIMIT 1",
            (key, name),
        )
        if rows and rows[0][0] not in ("", new) and is_printed_since(store, key, rows[0][1]):
            return Question(
                "gtin-printed",
                f"labels of {hyphened(case.entry.id)} were printed with GTIN {rows[0][0]}",
                "keep it, or print new labels for all that bears the old one.",
                {"gtin": rows[0][0]},
            )
    return None


def cases_have_their_bottles(case: Case) -> Question | None:
    """No case is numbered that the bottles of its lot cannot begin to fill."""
    from pourbook.book.bottles import bottle_count
    from pourbook.book.trade_numbers import units_of

    packed, store = case.entry, case.known.store
    there = bottle_count(store, packed.id)
    if there is None:
        return None
    before = sum(one.bottles for one in units_of(store, packed.id) if one.unit == packed.unit)
    in_all = before + packed.bottles * len(packed.ssccs)
    if in_all - there.filled < packed.bottles:
        return None
    return Question(
        "more-cases-than-bottles",
        f"{packed.unit}s of {counted(in_all, 'bottle')} would be numbered, and {hyphened(packed.id)} has"
        f" {counted(there.filled, 'bottle')}",
        f"check the count; {counted(before, 'bottle')} are in those numbered before.",
        {"bottles": there.filled, "packed": in_all},
    )


def cases_are_stacked_once(case: Case) -> Question | None:
    """A pallet takes cases of its lot that are in the house, each once, and as many as it was numbered for."""
    from pourbook.book.bottles import cases_out
    from pourbook.book.trade_numbers import on_pallets, unit_of

    stacked, store = case.entry, case.known.store
    before, out = on_pallets(store, stacked.id), cases_out(store, stacked.id)
    pallet = unit_of(store, stacked.pallet)
    if pallet is None or pallet.unit != "pallet" or pallet.gone or pallet.lot != stacked.id:
        raise Refused(f"SSCC {stacked.pallet} is no pallet of {hyphened(stacked.id)}", "number it: pourbook pallets")
    for sscc in stacked.cases:
        unit = unit_of(store, sscc)
        if unit is None or unit.unit != "case" or unit.gone or unit.lot != stacked.id:
            raise Refused(f"SSCC {sscc} is no case of {hyphened(stacked.id)}", "see what it is: pourbook scan SSCC")
        if before.get(sscc) == stacked.pallet:
            raise Refused(f"case {sscc} is on that pallet already", "scan the next one")
    if sent := [sscc for sscc in (stacked.pallet, *stacked.cases) if sscc in out]:
        raise Refused(f"SSCC {sent[0]} was sent to {out[sent[0]]}", "check the label")
    elsewhere = {sscc: before[sscc] for sscc in stacked.cases if sscc in before}
    if elsewhere:
        sscc, other = next(iter(elsewhere.items()))
        said = f"case {sscc} stands on pallet {other}"
        return Question("on-another-pallet", said, "was it moved?", {"case": sscc, "pallet": other})
    there = sum(on == stacked.pallet for on in before.values()) + len(stacked.cases)
    if not pallet.cases or there <= pallet.cases:
        return None
    return Question(
        "pallet-is-full",
        f"pallet {stacked.pallet} is numbered for {counted(pallet.cases, 'case')}, and this would be {there}",
        "take the next pallet.",
        {"pallet": stacked.pallet, "cases": there},
    )
