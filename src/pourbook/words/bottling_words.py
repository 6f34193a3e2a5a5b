"""A bottling run in words, for the screen and the run sheet alike.

>>> from pourbook.gauging.average_contents import UK
>>> from pourbook.gauging.average_contents import judged
>>> judged_words(judged(UK, 700.0, 400, [701.0] * 30), ".")
'by uk-2006-659: 20 more to measure; so far 0 of at most 3 lack more than 15.0 ml'
>>> accounted_words(BottlesMade(240, 216, 16, 6, {"broken": 2}, 0))
'all 240 bottles: 216 in cases, 16 loose, 6 retained, 2 broken'
"""

from collections.abc import Callable, Iterator

from pourbook.book.bottling_runs import Tally
from pourbook.codes.identifiers import hyphened
from pourbook.gauging.average_contents import Judged
from pourbook.numerals import counted, shown
from pourbook.queries.bottling.run import BottlesMade, Good, Kept, LotOfRun, Measure, Stretch, VatOfRun

__all__ = [
    "CAUTION", "accounted_words", "balance_rows", "counted_words", "fills_words", "good_words", "judged_words",
    "kept_words", "label_words", "run_words", "short_by", "stretch_words",
]  # fmt: skip

CAUTION = "what is judged here is what the house measured; check with your authority"

_COUNTED = {
    "put_back": "put back", "broken": "broken", "destroyed": "destroyed", "sampled": "for the laboratory",
    "retained": "retained", "otherwise": "gone since",
}  # fmt: skip


def counted_words(tally: Tally) -> str:
    """Bottles filled, and what was counted of them."""
    more = [f"{count} {_COUNTED[name]}" for name, count in tally._asdict().items() if count and name in _COUNTED]
    return ", ".join((f"{counted(tally.filled, 'bottle')} filled", *more))


def stretch_words(one: Stretch, time_shown: Callable[[int], str]) -> str:
    """Which bottles one vat filled, and when they were counted."""
    when = time_shown(one.from_us)
    until = "" if one.to_us == one.from_us else f" to {time_shown(one.to_us)}"
    return f"bottles {one.first} to {one.last} from {hyphened(one.vat)}, counted {when}{until}"


def fills_words(lot: LotOfRun, mark: str) -> str:
    """What the bottles measured hold."""
    spread = "" if lot.sd_ml is None else f", standard deviation {shown(lot.sd_ml, 2, mark)} ml"
    return f"{counted(lot.measured, 'bottle')} measured: mean {shown(lot.mean_ml or 0.0, 2, mark)} ml{spread}"


def judged_words(one: Judged, mark: str) -> str:
    """Whether the lot passes its rule of contents, and by what it does not."""

    def ml(value: float) -> str:
        return f"{shown(value, 1, mark)} ml"

    beyond = f"{one.defective} of at most {one.accepted} lack more than {ml(one.tolerable_ml)}"
    if one.rule.startswith("us"):
        beyond = f"{one.defective} differ by more than {ml(one.tolerable_ml)}; {one.over} over, {one.under} under"
    if one.result == "measure more":
        return f"by {one.rule}: {one.needed - one.measured} more to measure; so far {beyond}"
    if one.result == "passes":
        mean = "" if one.least_mean_ml is None else f"; the mean is at least {shown(one.least_mean_ml, 2, mark)} ml"
        return f"by {one.rule}: the lot passes: {beyond}{mean}"
    said = {
        "mean": f"the mean is below {shown(one.least_mean_ml or 0.0, 2, mark)} ml",
        "defective": beyond,
        "inadequate": f"{one.inadequate} lack more than {ml(2 * one.tolerable_ml)}, and none may",
    }
    why = "; ".join(said[name] for name in one.fails_by)
    return f"by {one.rule}: the lot does not pass: {why}. Keep it back and fill it up, or measure every bottle"


def kept_words(one: Kept) -> str:
    """Reference samples: how many, where and how long."""
    where, until = (f"{word} {text}" if text else "" for word, text in (("at", one.place), ("until", one.until)))
    return " ".join(part for part in (counted(one.bottles, "bottle"), "kept", where, until) if part)


def run_words(lot: LotOfRun, time_shown: Callable[[int], str], mark: str) -> Iterator[tuple[str, str]]:
    """All that is to be said of a lot, each with what it is about."""
    if lot.counted.filled:
        yield "counted", counted_words(lot.counted)
    yield from (("vat", stretch_words(one, time_shown)) for one in lot.stretches)
    if lot.mean_ml is not None:
        yield "fills", fills_words(lot, mark)
    if lot.judged:
        yield "contents", judged_words(lot.judged, mark)
    if lot.counted.filled:
        yield "contents", label_words(lot, mark)
        yield "bottles", accounted_words(lot.made)
    yield from (("reference", kept_words(one)) for one in lot.kept)


def label_words(lot: LotOfRun, mark: str) -> str:
    """Actual and nominal contents, and what is between them."""
    over = lot.overfill
    word = "overfill" if over.litres >= 0 else "underfill"
    return (
        f"in the bottles {_both(lot.actual, mark)}; by the label {_both(lot.nominal, mark)};"
        f" {word} {_both(Measure(abs(over.litres), abs(over.lpa)), mark)}"
    )


def _both(one: Measure, mark: str) -> str:
    return f"{shown(one.litres, 2, mark)} l, {shown(one.lpa, 3, mark)} LPA"


def accounted_words(made: BottlesMade) -> str:
    """Where all bottles are."""
    where = [(made.packed, "in cases"), (max(0, made.loose), "loose"), (made.retained, "retained")]
    where += [(count, _COUNTED[name]) for name, count in made.gone.items()]
    told = ", ".join(f"{count} {word}" for count, word in where if count)
    too_many = f"; {short_by(made)} too many" if short_by(made) else ""
    return f"all {counted(made.filled, 'bottle')}: {told}{too_many}" if told else "no bottle is left"


def short_by(made: BottlesMade) -> int:
    """How many more bottles are packed, kept or gone than were filled; none in a sound run."""
    return max(0, -made.loose)


def good_words(one: Good) -> str:
    """Dry goods, and from which bottle on."""
    since = f", from bottle {one.after_bottles + 1} on" if one.after_bottles else ""
    return f"{one.kind.replace('_', ' ')}: {one.text}{since}"


def balance_rows(vat: VatOfRun) -> Iterator[tuple[str, Measure, float]]:
    """What left a vat, by where it went, each with its part of the pure alcohol that did, %; then what is left."""
    difference = vat.difference or Measure(0.0, 0.0)
    parts = [("in bottles", vat.bottles), *((f"lost: {kind}", lost) for kind, lost in vat.losses.items())]
    if vat.difference is not None:
        parts.append(("missing" if difference.lpa >= 0 else "more than expected", difference))
    whole = Measure(sum(one.litres for _, one in parts), sum(one.lpa for _, one in parts))
    for name, one in (*parts, ("left the vat", whole)):
        yield name, one, 100 * one.lpa / whole.lpa if whole.lpa else 0.0
    yield ("left in it, measured" if vat.is_measured else "left in it by the book"), vat.left, 0.0
