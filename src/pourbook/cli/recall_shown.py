"""What a suspicion reaches, on the screen and as JSON; and what a recall found, then and now."""

from collections.abc import Collection, Mapping
from typing import TYPE_CHECKING, Any

import click

from pourbook.cli.output import show_table
from pourbook.codes.identifiers import hyphened, key_of
from pourbook.numerals import shown
from pourbook.times import written
from pourbook.words.figure_words import percent, strength_shown

if TYPE_CHECKING:
    from pourbook.book.logged import Logged
    from pourbook.cli.door import Door
    from pourbook.liquid import Liquid
    from pourbook.queries.recalls.affected import AffectedItem, Departure
    from pourbook.queries.recalls.recall_balance import Balance
    from pourbook.queries.recalls.recalls import Finding

__all__ = ["finding_document", "recall_document", "show_finding", "show_recall"]

# -- as JSON -------------------------------------------------------------------------------


def finding_document(found: "Finding") -> dict[str, Any]:
    """All that was found; amounts in mg, times in UTC."""
    return {
        "scope": [suspect.body for suspect in found.affected.suspects],
        "least_share": found.affected.least_share,
        "figures": found.figures,
        "items": [_item_document(one, found) for one in found.affected.items],
        "departures": [_departure_document(one) for one in found.affected.departures],
        "balance": _balance_document(found.balance),
    }


def _item_document(one: "AffectedItem", found: "Finding") -> dict[str, Any]:
    from pourbook.documents.items_shown import view_document
    from pourbook.queries.recalls.recall_balance import Balance

    bottles = one.bottles
    return view_document(one.item) | {
        "is_suspect": one.is_suspect,
        "share": one.ever._asdict(),
        "share_now": one.now._asdict() if one.item.holding.mass_mg else None,
        "suspect_mg": one.suspect_mg,
        "is_held": "held" in one.item.facts,
        "bottles": bottles and {**bottles._asdict(), "left": bottles.left},
        "units": [{"sscc": unit.sscc, "unit": unit.unit, "bottles": unit.bottles} for unit in one.units],
        "balance": _balance_document(found.balances.get(key_of(one.item.id), Balance())),
    }


def _departure_document(one: "Departure") -> dict[str, Any]:
    return {
        "item": one.item, "what": one.what, "entry": one.entry, "happened": written(one.happened_us), "by": one.who,
        **one.liquid._asdict(), "part": one.part, "facts": one.facts,
    }  # fmt: skip


def _balance_document(balance: "Balance") -> dict[str, dict[str, int]]:
    sides = {**balance._asdict(), "unexplained": balance.unexplained}
    return {side: liquid._asdict() for side, liquid in sides.items()}


def recall_document(logged: "Logged", released: int) -> dict[str, Any]:
    """A recall as it stands in the journal."""
    entry = logged.entry
    return {
        "recall": logged.number, "happened": entry["happened"], "recorded": entry["recorded"], "by": entry["who"],
        "reason": entry.get("reason"), "released_by": released or None, **entry["body"],
    }  # fmt: skip


# -- on the screen -----------------------------------------------------------------------------


def show_finding(door: "Door", found: "Finding", held: Collection[str] = ()) -> None:
    """Items, lots, what left and to whom, and the balance; `held` are items that are put on hold by it."""
    from pourbook.words.scope_words import in_words

    for suspect in found.affected.suspects:
        click.echo(f"suspect: {in_words(door.book.store, suspect, door.book.zone)}")
    click.echo()
    _show_items(door, found, held)
    _show_lots(found)
    _show_departures(door, found)
    _show_balance(door, found.balance)


def _show_items(door: "Door", found: "Finding", held: Collection[str]) -> None:
    mark, on_hand = door.decimal_mark, found.affected.on_hand
    click.echo("on hand (share of it that is suspect)")
    rows = [
        (
            hyphened(one.item.id),
            one.item.ref,
            one.item.facts.get("place", ""),
            *(percent(share, mark) for share in one.now),
            shown(one.item.volume_ml_20c / 1000, 3, mark),
            strength_shown(one.item.strength_20c, mark),
            "on hold" if one.item.id in held or "held" in one.item.facts else "",
        )
        for one in on_hand
    ]
    heads = ("item", "ref", "place", " alcohol %", " mass %", " volume %", " l at 20 °C", " % vol", "")
    show_table(heads, rows)
    if gone := len(found.affected.items) - len(on_hand):
        click.echo(f"and {gone} items that hold none of it any more (all of them with --json)")


def _show_lots(found: "Finding") -> None:
    lots = [(one, one.bottles) for one in found.affected.items if one.bottles is not None]
    if not lots:
        return
    click.echo("\nbottles")
    heads = ("lot", "lot mark", " filled", " left", " despatched", " returned", " lost", " cases", " pallets")
    rows = []
    for one, bottles in lots:
        counts = (bottles.filled, bottles.left, bottles.despatched, bottles.returned, bottles.lost)
        packed = (sum(unit.unit == kind for unit in one.units) for kind in ("case", "pallet"))
        mark = one.item.facts.get("lot_mark", "")
        rows.append((hyphened(one.item.id), mark, *map(str, counts), *map(str, packed)))
    show_table(heads, rows)
    for one, _ in lots:
        if one.units:
            units = [f"{unit.unit} {unit.sscc}" for unit in one.units]
            more = f" … ({len(units)})" if len(units) > 8 else ""
            click.echo(f"{hyphened(one.item.id)}: {', '.join(units[:8])}{more}")


def _show_departures(door: "Door", found: "Finding") -> None:
    if not found.affected.departures:
        return
    click.echo("\nleft the house, and came back")
    mark = door.decimal_mark
    rows = [
        (
            door.time_shown(one.happened_us),
            str(one.entry),
            one.what,
            hyphened(one.item),
            str(one.facts.get("bottles", "")),
            shown(one.liquid.mass_mg / 1e6, 3, mark),
            percent(one.part, mark),
            str(one.facts.get("customer", "")),
            str(one.facts.get("document", "")),
        )
        for one in found.affected.departures
    ]
    show_table(("when", " entry", "", "item", " bottles", " kg", " mass %", "customer", "document"), rows)


def _show_balance(door: "Door", balance: "Balance") -> None:
    from pourbook.queries.recalls.recall_balance import CAME, WENT
    from pourbook.words.scope_words import SIDES

    click.echo("\nbalance of all affected liquid")
    rows = [("+" if side in CAME else "-", SIDES[side], *_kg(door, getattr(balance, side))) for side in (*CAME, *WENT)]
    show_table(("", "", " kg", " kg of ethanol"), [*rows, ("=", "not explained", *_kg(door, balance.unexplained))])


def _kg(door: "Door", liquid: "Liquid") -> tuple[str, str]:
    """Both masses to the milligram."""
    from decimal import Decimal

    masses = (Decimal(mg).scaleb(-6) for mg in liquid[:2])
    return tuple(shown(mass, 6, door.decimal_mark) for mass in masses)  # type: ignore[return-value]


def show_recall(door: "Door", logged: "Logged", released: int, now: Mapping[str, int]) -> None:
    """A recall: as it was found, and the same figures now."""
    from pourbook.book.scope import Suspect
    from pourbook.times import moment_of
    from pourbook.words.scope_words import in_words, taken

    entry, body = logged.entry, logged.entry["body"]
    kind = "drill" if body["mock"] else "recall"
    click.echo(f"{kind} {logged.number}, {door.time_shown(logged.happened_us)}, {entry['who']}: {entry['reason']}")
    for suspect in body["scope"]:
        click.echo(f"suspect: {in_words(door.book.store, Suspect.of_body(suspect), door.book.zone)}")
    begun, ended = moment_of(body["begun"]), moment_of(body["ended"])
    click.echo(f"time taken: {taken(ended - begun)}; journal before it: {body['head']}")
    state = f"released by entry {released}" if released else "not released" if body["held"] else "held nothing"
    click.echo(f"{len(body['held'])} of {len(body['items'])} affected items put on hold; {state}\n")
    figures = {name: body["figures"][name] for name in now} or body["figures"]
    rows = [
        (name.replace("_", " "), str(then), str(now.get(name, "")), _change(now.get(name, then) - then))
        for name, then in figures.items()
    ]
    show_table(("figure", " as found", " now", " difference"), rows)


def _change(difference: int) -> str:
    return f"{difference:+d}" if difference else ""
