"""A bottling run, shown: bottles, what they hold, where the rest of what left the vat went."""

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, fields, listed, recorded_shown
from pourbook.numerals import counted
from pourbook.times import written
from pourbook.words.bottling_words import (
    CAUTION,
    balance_rows,
    good_words,
    run_words,
    short_by,
)

if TYPE_CHECKING:
    from pourbook.actions.bottling_run import RunRecorded
    from pourbook.house_style import HouseStyle
    from pourbook.queries.bottling.run import BottlingRun, LotOfRun, VatOfRun

__all__ = ["run_document", "run_recorded_shown", "run_shown", "runs_shown"]


def run_shown(run: "BottlingRun", style: "HouseStyle") -> Shown:
    """A run, lot by lot and vat by vat."""
    document = {"run": run_document(run), "caution": CAUTION}
    return Shown(document, tuple(_run_lines(run, style)), (CAUTION,), _warnings(run))


def runs_shown(runs: "Sequence[BottlingRun]", style: "HouseStyle") -> Shown:
    """Every run under way, in a line each."""
    lines = listed(
        [(run, lot) for run in runs for lot in run.lots],
        ("run", lambda one: hyphened(one[0].id)),
        ("lot", lambda one: f"{hyphened(one[1].view.id)} {one[1].view.ref}".rstrip()),
        (" ml", lambda one: style.shown(one[1].size_ml, 0)),
        (" bottles", lambda one: one[1].counted.of_the_lot),
        ("from", lambda one: hyphened(one[1].view.facts.get("filling_from", ""))),
    )
    return Shown({"runs": [run_document(run) for run in runs]}, lines if runs else ("no run is under way",))


def run_recorded_shown(answer: "RunRecorded", style: "HouseStyle") -> Shown:
    """The lot first, then how its run stands."""
    lot = next(one for one in answer.run.lots if one.view.id == answer.lot)
    said = (hyphened(answer.lot), *_lot_lines(lot, style), *(_balance(answer.run, style)))
    shown = recorded_shown(answer.recorded, {"id": answer.lot, "run": run_document(answer.run)}, said, style)
    return shown.warned(*_warnings(answer.run))


def _warnings(run: "BottlingRun") -> tuple[str, ...]:
    return tuple(
        f"warning: {hyphened(lot.view.id)}: {counted(short, 'bottle')} more packed, kept or gone than were filled"
        for lot in run.lots
        if (short := short_by(lot.made))
    )


def _run_lines(run: "BottlingRun", style: "HouseStyle") -> Iterator[str]:
    yield f"run {hyphened(run.id)}, {'under way' if run.under_way else 'ended'}"
    for lot in run.lots:
        yield ""
        yield f"{hyphened(lot.view.id)}  {lot.view.ref}  {style.shown(lot.size_ml, 0)} ml".replace("    ", "  ")
        yield from (f"  {line}" for line in _lot_lines(lot, style))
    yield from ("", *_balance(run, style))


def _lot_lines(lot: "LotOfRun", style: "HouseStyle") -> Iterator[str]:
    if not lot.counted.filled:
        yield f"nothing counted yet, from {hyphened(lot.view.facts.get('filling_from', ''))}"
    said = run_words(lot, style.time_shown, style.mark)
    yield from (text for about, text in said if about != "vat" or len(lot.stretches) > 1)
    yield from (good_words(one) for one in lot.goods)


def _balance(run: "BottlingRun", style: "HouseStyle") -> Iterator[str]:
    for vat in run.vats:
        if any(vat.bottles) or vat.losses or vat.is_measured:
            yield from listed(
                list(balance_rows(vat)),
                (f"{hyphened(vat.view.id)} {vat.view.ref}".rstrip(), lambda row: row[0]),
                (" l at 20 °C", lambda row: style.shown(row[1].litres, 2)),
                (" LPA", lambda row: style.shown(row[1].lpa, 3)),
                (" % of LPA", lambda row: style.shown(row[2], 2)),
            )
        if vat.to_pour:
            bottles, name = counted(vat.to_pour, "bottle"), hyphened(vat.view.id)
            yield f"{bottles} from {name} are poured in the book when that vat is done with: bottling end or change"


# -- for programs -------------------------------------------------------------------------


def run_document(run: "BottlingRun") -> dict[str, Any]:
    """A run; figures not rounded."""
    return {
        "id": run.id,
        "under_way": run.under_way,
        "lots": [_lot_document(lot) for lot in run.lots],
        "vats": [_vat_document(vat) for vat in run.vats],
    }


def _lot_document(lot: "LotOfRun") -> dict[str, Any]:
    return {
        "id": lot.view.id,
        "ref": lot.view.ref or None,
        "filling_from": lot.view.facts.get("filling_from"),
        "size_ml": lot.size_ml,
        "tolerable_ml": lot.tolerable_ml,
        "counted": lot.counted._asdict(),
        "stretches": [
            {**fields(one, "from_us", "to_us"), "from": written(one.from_us), "to": written(one.to_us)}
            for one in lot.stretches
        ],
        "fills": {"measured": lot.measured, "mean_ml": lot.mean_ml, "sd_ml": lot.sd_ml},
        "judged": lot.judged and {**lot.judged._asdict(), "fails_by": list(lot.judged.fails_by)},
        "actual": lot.actual._asdict(),
        "nominal": lot.nominal._asdict(),
        "overfill": lot.overfill._asdict(),
        "bottles": {**lot.made._asdict(), "gone": dict(lot.made.gone)},
        "dry_goods": [fields(one) for one in lot.goods],
        "kept": [{name: value or None for name, value in one._asdict().items()} for one in lot.kept],
    }


def _vat_document(vat: "VatOfRun") -> dict[str, Any]:
    return {
        "id": vat.view.id,
        "bottles": vat.bottles._asdict(),
        "losses": {kind: lost._asdict() for kind, lost in vat.losses.items()},
        "difference": vat.difference and vat.difference._asdict(),
        "left": vat.left._asdict(),
        "left_is_measured": vat.is_measured,
        "to_pour": vat.to_pour,
    }
