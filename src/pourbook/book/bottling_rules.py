"""The rules of bottling runs: of counts and measured fills, of a change of vat, and of what a vat has left.

Of one shape, as in `rules.py`: nothing, a `Question`, or a refusal. Before them stands what both entries say in a line.
"""

from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

from pourbook.alcoholometry.volumes import volume_ml
from pourbook.book.bottling_runs import Tally, counts, tally
from pourbook.book.items import facts, held
from pourbook.book.rules import Case, Rule
from pourbook.codes.identifiers import hyphened, key_of, kind_of
from pourbook.errors import Malformed, Question, Refused
from pourbook.numerals import counted, shown

__all__ = [
    "OF_CHANGES", "OF_COUNTS", "OF_ENDS", "OF_FILLS", "ChangeCase", "EndCase", "counted_words", "fills_words",
]  # fmt: skip

_Body = Mapping[str, Any]
_WORDS = {
    "filled": "filled", "put_back": "put back", "broken": "broken", "destroyed": "destroyed",
    "sampled": "for the laboratory", "retained": "retained",
}  # fmt: skip
_STRENGTH_AWAY = 0.3
"""In % vol, as much as a label may be off: 27 CFR 19.356(c) (read)."""
_FAR = 0.2
_MOST_FILLED = 1.005
"""Of what a vat holds by the book: as in `batches.bottling`, where what was filled is poured."""


def counted_words(body: _Body, _mark: str) -> str:
    """What was counted."""
    said = [f"{body[name]} {word}" for name, word in _WORDS.items() if name in body]
    where = "".join(f", {name} {body[name]}" for name in ("place", "until", "witness") if name in body)
    return f"bottles of {hyphened(body['item'])} from {hyphened(body['vat'])}: {', '.join(said)}{where}"


def fills_words(body: _Body, mark: str) -> str:
    """How many bottles were measured, and what they hold on average."""
    contents = body["contents_ul"]
    mean = shown(sum(contents) / len(contents) / 1000, 1, mark)
    return f"fills of {hyphened(body['item'])}: {counted(len(contents), 'bottle')}, mean {mean} ml"


# -- of counts ----------------------------------------------------------------------------


def lot_is_being_filled(case: Case) -> None:
    """Bottles are counted while a run fills them, from the vat that they say; what is gone later is a loss."""
    entry, store = case.entry, case.known.store
    case.known.key(entry.id)
    case.known.key(entry.vat)
    known = facts(store, key_of(entry.id))
    if "filling_from" not in known:
        raise Refused(
            f"{hyphened(entry.id)} is not being filled",
            "begin a run: pourbook bottling begin; bottles gone later are a loss: pourbook loss LOT '1 bottle'",
        )
    if known["filling_from"] != entry.vat and not case.draft.replaces:
        raise Refused(
            f"{hyphened(entry.id)} is being filled from {hyphened(known['filling_from'])}, not {hyphened(entry.vat)}",
            "change the vat first: pourbook bottling change",
        )


def bottles_were_filled_first(case: Case) -> None:
    """No more bottles are put back, broken, opened or kept than were filled; nothing is counted below none."""
    entry = case.entry
    new = Tally(*(getattr(entry, name) for name in Tally._fields))
    if min(new) < 0 or not any(new):
        raise Malformed("nothing was counted", "give how many: --filled, --broken …")
    before = [one for one in counts(case.known.store, entry.id) if one.entry != case.draft.replaces]
    whole = Tally(*map(sum, zip(new, tally(before) if before else Tally(), strict=True)))
    short = whole.retained - whole.stay
    if short > 0:
        raise Refused(
            f"{counted(whole.filled, 'bottle')} of {hyphened(entry.id)} were counted as filled, {short} too few for"
            " what is said of them",
            "count those filled first: --filled",
        )


def destruction_has_its_witness(case: Case) -> None:
    """Bottles emptied to the drain were seen by somebody; else duty may be asked for them."""
    if case.entry.destroyed and not case.entry.witness.strip():
        raise Malformed("bottles were destroyed, and nobody is said to have seen it", "give --witness NAME")


def vat_holds_what_was_filled(case: Case) -> Question | None:
    """More bottles than the vat could fill are a slip of the counter, or a code that was scanned for a number."""
    entry, store = case.entry, case.known.store
    size_ml = float(facts(store, key_of(entry.id))["size_ml"])
    there_ml = volume_ml(held(store, key_of(entry.vat)).liquid)
    filled_ml = entry.filled * size_ml
    if case.draft.replaces or filled_ml <= there_ml * _MOST_FILLED:
        return None
    mark = case.known.mark
    return Question(
        "more-than-the-vat",
        f"{counted(entry.filled, 'bottle')} of {size_ml:g} ml are {shown(filled_ml / 1000, 1, mark)} l, and"
        f" {hyphened(entry.vat)} holds {shown(there_ml / 1000, 1, mark)} l",
        "check the count, or gauge the vat.",
        {"filled": entry.filled, "held_ul": round(there_ml * 1000)},
    )


OF_COUNTS: tuple[Rule, ...] = (
    lot_is_being_filled, bottles_were_filled_first, destruction_has_its_witness, vat_holds_what_was_filled,
)  # fmt: skip


# -- of measured fills --------------------------------------------------------------------


def fills_are_of_a_lot(case: Case) -> None:
    """Contents are measured of a lot whose size is known."""
    entry = case.entry
    case.known.key(entry.id)
    if kind_of(entry.id) != "lot" or "size_ml" not in facts(case.known.store, key_of(entry.id)):
        raise Refused(f"{hyphened(entry.id)} is no lot of bottles of a size", "name the lot that is being filled")
    if not entry.contents_ul:
        raise Malformed("no bottle was measured", "give what was read of each")


def contents_are_likely(case: Case) -> Question | None:
    """A bottle that holds a fifth more or less than its label says is a slip, or of another size."""
    size_ml = float(facts(case.known.store, key_of(case.entry.id))["size_ml"])
    far = [ul / 1000 for ul in case.entry.contents_ul if abs(ul / 1000 - size_ml) > _FAR * size_ml]
    if not far:
        return None
    mark = case.known.mark
    return Question(
        "unlikely-contents",
        f"{counted(len(far), 'bottle')} would hold {shown(far[0], 1, mark)} ml, and they are of"
        f" {shown(size_ml, 1, mark)} ml",
        "check readings, unit and tare.",
        {"contents_ul": round(far[0] * 1000), "size_ul": round(size_ml * 1000)},
    )


OF_FILLS: tuple[Rule, ...] = (fills_are_of_a_lot, contents_are_likely)


# -- of a change of vat, and of what a vat has left ---------------------------------------


class ChangeCase(NamedTuple):
    """A `lot` to be filled from another vat: strengths `before` and `after`, % vol; the house's decimal `mark`."""

    lot: str
    before: float
    after: float
    mark: str


def vats_are_alike(case: ChangeCase) -> Question | None:
    """Whatever bears one lot mark has the strength on its label."""
    if abs(case.after - case.before) <= _STRENGTH_AWAY:
        return None
    before, after = (shown(one, 2, case.mark) for one in (case.before, case.after))
    return Question(
        "other-strength",
        f"{hyphened(case.lot)} was filled at {before} % vol, and the next vat has {after} % vol",
        "give it a lot of its own: pourbook bottling begin.",
        {"before_ppm": round(case.before * 10_000), "after_ppm": round(case.after * 10_000)},
    )


class EndCase(NamedTuple):
    """What a vat has left after a run.

    Attributes:
        vat: the vat.
        left_it_ml: pure alcohol that left it in the run, what is missing included, mL.
        missing_ml: pure alcohol that the book expected and that was not there; below zero where more was.
        most_percent: of what left, that may be missing or too much.
        kind: where it went, as somebody said; empty where nobody did.
        mark: the house's decimal mark.
    """

    vat: str
    left_it_ml: float
    missing_ml: float
    most_percent: float
    kind: str
    mark: str


def difference_is_explained(case: EndCase) -> Question | None:
    """Bottles times contents, losses and what is left are what was in the vat, but for the house's tolerance."""
    if abs(case.missing_ml) <= case.most_percent / 100 * case.left_it_ml:
        return None
    percent = shown(100 * abs(case.missing_ml) / case.left_it_ml, 2, case.mark) if case.left_it_ml else "100"
    lpa, most = shown(abs(case.missing_ml) / 1000, 3, case.mark), shown(case.most_percent, 2, case.mark)
    is_short = case.missing_ml > 0
    return Question(
        "bottling-difference",
        f"{hyphened(case.vat)}: {lpa} LPA are {'missing' if is_short else 'too much'} after the run, {percent} % of"
        f" what left it, and {most} % are tolerated",
        "check the counts, the fills measured and what is left.",
        {"missing_ul": round(case.missing_ml * 1000), "left_it_ul": round(case.left_it_ml * 1000)},
        "" if case.kind or not is_short else "say where it went: --kind",
    )


OF_CHANGES: tuple[Callable[[ChangeCase], Question | None], ...] = (vats_are_alike,)
OF_ENDS: tuple[Callable[[EndCase], Question | None], ...] = (difference_is_explained,)
