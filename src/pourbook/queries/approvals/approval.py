"""What speaks for and against the approval of a batch or a lot: each ground met, not met or unknown, with its figures.

Parts beside their bounds, strength, age, what tasters found beside the trial and a reference, how it was bottled,
holds, strengths pending, the house's rules of blending, and what its label is to say. Grounds are values with the
digits they are kept in, so that what an approval rested on can be compared with what the book says later.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, batch = book.next_id("cask"), book.next_id("batch")
>>> fill = Pour("fill", (Move("origin", cask, read_amount("200 l"), read_strength("63")),))
>>> entries = (Item(cask, {}), Item(batch, {}), fill, Pour("vat", (Move(cask, batch, read_amount("50 l")),)))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [(one.name, one.stands) for one in approval(book, batch).grounds]
[('strength', 'unknown'), ('youngest', 'unknown'), ('hold', 'met'), ('pending', 'met')]
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.entries import Ground
from pourbook.codes.identifiers import hyphened, kind_of, read_or_none
from pourbook.errors import PourbookError, Refused
from pourbook.lineage.ages import Age, WoodTime, age_of
from pourbook.queries.approvals.bottled import bottled_grounds
from pourbook.queries.approvals.tasted_beside import tasted_grounds
from pourbook.queries.items.called import blend_called, called
from pourbook.queries.labels.statements_of import Statements, statements_of
from pourbook.queries.traces.behind import BLENDS, parts_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.bounds_kept import Bounded, bounds_followed
from pourbook.queries.trials.rules_kept import rules_kept

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.labels.statements import Statement
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["ApprovalCase", "Ground", "approval"]

_STANDS = {"allowed": "met", "not allowed": "not met", "cannot be said": "unknown"}


class ApprovalCase(NamedTuple):
    """What speaks for and against an approval.

    Attributes:
        id: the batch or lot.
        trial: that it follows; empty for none.
        beside: the reference; empty for none.
        rules: name of the rules on labels.
        grounds: in the order they are told.
        called: what every item among them is called beside its identifier.
        at_us: the moment asked about; None is now.
    """

    id: str
    trial: str
    beside: str
    rules: str
    grounds: tuple[Ground, ...]
    called: Mapping[str, str]
    at_us: int | None = None

    @property
    def against(self) -> tuple[Ground, ...]:
        """What is not met."""
        return tuple(one for one in self.grounds if one.stands == "not met")


def approval(
    book: "BookCore", item: str, beside: str = "", claims: Mapping[str, str] | None = None, rules: str = "",
    at_us: int | None = None,
) -> ApprovalCase:  # fmt: skip
    """What speaks for and against approving a batch or a lot, now or at a moment, as the book has it today.

    `beside` is a reference batch or lot; `claims` and `rules` as of `statements_of`.

    Raises:
        Unknown: no such item, or no such rules.
        Refused: it is neither a batch nor a lot, or nothing was poured into it.
    """
    identifier = book.find(item)
    reference = book.find(beside) if beside else ""
    if reference and kind_of(reference) not in ("batch", "lot", "trial"):
        raise Refused(f"{hyphened(reference)} is no reference", "name another batch, lot or trial")
    with book.store.snapshot():
        told = statements_of(book, identifier, claims, rules, at_us)
        trace = trace_back(book, identifier, at_us=at_us)
        batches = _batches(trace, at_us)
        trial = next((one for batch in batches if (one := _trial_of(book, batch))), "")
        others = {
            name: trace_back(book, one, at_us=at_us)
            for name, one in (("trial", trial), ("reference", reference)) if one and _was_poured(book, one, at_us)
        }  # fmt: skip
        grounds = (
            *(ground for batch, then_us in batches.items() for ground in _parts(book, batch, others, then_us, at_us)),
            *_figures(book, trace, others, told),
            *tasted_grounds(book, identifier, trial, reference, at_us),
            *bottled_grounds(book, trace.item),
            *_standing(trace),
            *(ground for batch, then_us in batches.items() for ground in _house_rules(book, batch, then_us)),
            *_statements(told),
        )
        named = {one.about for one in grounds if read_or_none(one.about)} | {identifier, trial, reference} - {""}
        names = called(book.store, named) | {trace.item.id: blend_called(trace.item)}
        return ApprovalCase(identifier, trial, reference, told.rules, grounds, names, at_us)


def _batches(trace: "Trace", at_us: int | None) -> dict[str, int | None]:
    """The batch itself as of the moment asked, or those that a lot was bottled from, each as of its last bottling.

    What goes into a vat after its bottling is not in the bottles.
    """
    if trace.item.kind == "batch":
        return {trace.item.id: at_us}
    bottled: dict[str, int | None] = {}
    for pour in trace.pours:
        if pour.target == trace.item.id and pour.source[0] == "B":
            bottled[pour.source] = max(pour.happened_us, bottled.get(pour.source) or pour.happened_us)
    return bottled


def _trial_of(book: "BookCore", batch: str) -> str:
    """The trial behind a batch, through any batch that it repeats; empty where it follows none."""
    passed = set[str]()
    item = batch
    while item not in passed:
        passed.add(item)
        before = read_or_none(book.show(item).facts.get("follows", ""))
        if not before:
            return ""
        if kind_of(before) == "trial":
            return before
        item = before
    return ""


def _was_poured(book: "BookCore", item: str, at_us: int | None) -> bool:
    try:
        parts_of(book.store, item, BLENDS, at_us)
    except PourbookError:
        return False
    return True


# -- parts -------------------------------------------------------------------------------


def _parts(
    book: "BookCore", batch: str, others: "Mapping[str, Trace]", then_us: int | None, at_us: int | None
) -> Iterator[Ground]:  # fmt: skip
    """Every component of what is followed: its part as poured, beside its bounds and the part in the trial.

    The batch is taken as it was at `then_us`, the others as they are at `at_us`.
    """
    followed = bounds_followed(book, batch)
    if followed is None:
        return
    own = _fractions(book, followed, batch, then_us)
    beside = {
        name: _fractions(book, other, one.item.id, at_us)
        for name, one in others.items() if (other := bounds_followed(book, one.item.id))
    }  # fmt: skip
    for component in dict.fromkeys((*(_called(followed, one) for one in followed.components), *own)):
        fraction = own.get(component, 0.0)
        bounds = next((one for name, one in followed.bounds.items() if _called(followed, name) == component), None)
        told = {"actual": _percent(fraction)}
        stands = "unknown"
        if bounds is not None:
            told |= {"low": _percent(float(bounds.low)), "high": _percent(float(bounds.high))}
            stands = "met" if float(told["low"]) <= float(told["actual"]) <= float(told["high"]) else "not met"
        told |= {name: _percent(found[component]) for name, found in beside.items() if component in found}
        yield Ground("part", component, stands, told)


def _called(followed: Bounded, component: str) -> str:
    """The component of the house that an item was taken for, or the item."""
    return next((part.stands_for for part in followed.parts if part.component == component), "") or component


def _fractions(book: "BookCore", followed: Bounded, item: str, at_us: int | None) -> dict[str, float]:
    volumes: dict[str, float] = {}
    for part in parts_of(book.store, item, BLENDS, at_us):
        if part.source == "water" and followed.beside_water:
            continue
        name, _ = followed.told(book.store, part)
        volumes[name] = volumes.get(name, 0.0) + part.volume_ml
    whole = sum(volumes.values())
    return {name: ml / whole for name, ml in volumes.items()}


def _percent(fraction: float) -> str:
    return f"{fraction * 100:.2f}"


# -- strength and age --------------------------------------------------------------------


def _figures(book: "BookCore", trace: "Trace", others: "Mapping[str, Trace]", told: Statements) -> Iterator[Ground]:
    said = next(one for one in told.statements if one.name == "strength")
    strengths = {"actual": trace.held_strength} | {name: one.held_strength for name, one in others.items()}
    found = {name: f"{value:.2f}" for name, value in strengths.items() if value is not None}
    if said.claim is not None and said.rule.tolerance_vol is not None and isinstance(said.value, float):
        ends = said.value - said.rule.tolerance_vol, said.value + said.rule.tolerance_vol
        found |= {"low": f"{ends[0]:.2f}", "high": f"{ends[1]:.2f}"}
    yield Ground("strength", "", _STANDS[said.stands], found)
    ages = {name: age_of(_counted(one), book.zone) for name, one in {"actual": trace, **others}.items()}
    known = {name: f"{age.years} y {age.days} d" for name, age in ages.items() if age is not None}
    other = ages.get("trial", ages.get("reference"))
    if other is not None:
        known["low"] = f"{other.years} y"
    yield Ground("youngest", "", _younger(ages["actual"], other), known)


def _counted(trace: "Trace") -> WoodTime | None:
    """The time in wood of the youngest spirit, as far as it counts by the house's rule."""
    return trace.qualifying.youngest if trace.qualifying else trace.age.youngest


def _younger(own: Age | None, other: Age | None) -> str:
    if own is None or other is None:
        return "unknown"
    return "met" if own.years >= other.years else "not met"


# -- holds, strengths pending, rules, labels ---------------------------------------------


def _standing(trace: "Trace") -> Iterator[Ground]:
    views = (trace.item, *(other.item for other in trace.items))
    held = [view.id for view in views if view.facts.get("held")]
    yield from (Ground("hold", item, "not met") for item in held)
    if not held:
        yield Ground("hold", "", "met")
    pending = [origin for origin in trace.origins if origin.pending]
    yield from (Ground("pending", one.into, "not met", {"entry": str(one.entry)}) for one in pending)
    if not pending:
        yield Ground("pending", "", "met")


def _house_rules(book: "BookCore", batch: str, at_us: int | None) -> Iterator[Ground]:
    for one in rules_kept(book, batch, at_us):
        is_count = one.rule == "least_components"
        figures = {"actual": one.found, "low": one.low, "high": one.high}
        told = {name: f"{value:.0f}" if is_count else _percent(value) for name, value in figures.items() if value < 1e9}
        yield Ground("house rule", one.of or one.rule, "not met", {"rule": one.rule, **told})


def _statements(told: Statements) -> Iterator[Ground]:
    for one in told.claimed:
        if one.name != "strength":
            value = f"{one.value:g}" if isinstance(one.value, float) else str(one.value)
            found = {"claim": one.claim or "", "actual": value, "unit": _unit(one) if value else ""}
            yield Ground(
                "statement", one.name, _STANDS[one.stands], {name: text for name, text in found.items() if text}
            )


def _unit(one: "Statement") -> str:
    return {"age": one.rule.unit, "net-contents": "ml"}.get(one.name, "")
