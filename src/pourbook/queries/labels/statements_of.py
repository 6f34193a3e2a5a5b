"""What may stand on the label of a batch or a lot, from the book: gathered here, judged by `labels.statements`.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, batch = book.next_id("cask"), book.next_id("batch")
>>> told = {"spirit": "malt spirit", "distilled": "2014-05-02", "wood_days": 0}
>>> fill = Pour("fill", (Move("origin", cask, read_amount("200 l"), read_strength("63"), facts=told),))
>>> entries = (Item(cask, {}), Item(batch, {}), fill, Pour("vat", (Move(cask, batch, read_amount("50 l")),)))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> found = {one.name: one for one in statements_of(book, batch).statements}
>>> found["vintage"].value, found["single-cask"].stands, found["age"].stands, found["no-colouring"].stands
(2014, 'allowed', 'not allowed', 'cannot be said')
"""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import TYPE_CHECKING, NamedTuple

from pourbook.book.items import text_listed
from pourbook.book.lineages import upstream, what_is_traced
from pourbook.codes.identifiers import hyphened, key_of, kind_of
from pourbook.errors import Refused
from pourbook.labels.label_rules import LabelRule, read_claims, rules_of
from pourbook.labels.statements import Addition, Aged, Gauged, Lay, Mixed, Origin, Seen, Statement, statements
from pourbook.lineage.ages import age_of
from pourbook.numerals import shown
from pourbook.quantities import Strength
from pourbook.queries.items.called import blend_called, called
from pourbook.queries.traces.trace import trace_back, wood_of
from pourbook.queries.traces.trace_answer import Trace, TracedPour
from pourbook.times import DAY_US

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.items import ItemView
    from pourbook.house_style import HouseStyle

__all__ = ["DECLARED", "Statements", "claims_of", "claims_typed", "statements_of"]

DECLARED = ("strength", "net-contents", "lot-mark")
"""What a label says in any case, where the book knows it."""

_OF_THE_LIQUID = ("colouring", "chill_filtered", "allergens", "claims")
"""Facts of a lot that are those of its batches where it has none of its own."""

_BOTTLED = ("batch", "lot")


class Statements(NamedTuple):
    """What may stand on a label.

    Attributes:
        id: identifier of the batch or lot.
        rules: name of the rules it is held to.
        statements: each with what it rests on.
        called: what every item among them is called beside its identifier.
        at_us: the moment asked about; None is now.
    """

    id: str
    rules: str
    statements: tuple[Statement, ...]
    called: Mapping[str, str]
    at_us: int | None = None

    @property
    def claimed(self) -> tuple[Statement, ...]:
        """Those that the label is to say."""
        return tuple(one for one in self.statements if one.claim is not None)


def claims_typed(style: "HouseStyle", claims: str, strength: str = "", size: str = "") -> dict[str, str]:
    """What a label is to say, as typed: statement to its value; claims are parted by semicolons.

    Raises:
        PourbookError: something of it cannot be read.
    """
    found = read_claims(claims)
    if strength:
        style.strength(strength)
        found["strength"] = strength
    if size:
        found["net-contents"] = f"{float(style.amount(size).volume_ml):g}"
    return found


def statements_of(
    book: "BookCore", item: str, claims: Mapping[str, str] | None = None, rules: str = "", at_us: int | None = None
) -> Statements:
    """What may stand on the label of a batch or a lot, now or at a moment.

    `claims` is what the label is to say beside what its facts say (`claims`, `labelled_strength`, `size_ml`): statement
    to its value. `rules` is the name of a set; empty: the house's.

    Raises:
        Unknown: no such item, or no such rules.
        Refused: it is neither a batch nor a lot, or nothing was poured into it.
        Malformed: a claim that cannot be read.
    """
    identifier, settings = book.find(item), book.settings
    if kind_of(identifier) not in _BOTTLED:
        raise Refused(f"{hyphened(identifier)} bears no label for sale", "name a batch or a lot")
    with book.store.snapshot():
        name = rules or settings["label_rules"]
        by_statement = rules_of(name, settings)
        trace = trace_back(book, identifier, at_us=at_us)
        known = _facts(trace)
        wanted = claims_of(known) | dict(claims or {})
        seen = _seen(book, trace, known, at_us)
        declared = _declared(known, wanted, by_statement["strength"], settings["decimal_mark"])
        if declared is not None:
            seen = seen._replace(gauged=_gauged(book, trace, declared, by_statement["strength"], at_us))
            wanted.setdefault("strength", "")
        found = statements(seen, wanted, by_statement)
        named = (point.item for one in found for point in (*one.rests_on, *one.against) if point.item)
        names = called(book.store, dict.fromkeys(named)) | {identifier: blend_called(trace.item)}
        return Statements(identifier, name, found, names, at_us)


def claims_of(known: Mapping[str, str]) -> dict[str, str]:
    """What a label is to say by the facts of its item."""
    found = read_claims(known.get("claims", ""))
    if known.get("size_ml"):
        found.setdefault("net-contents", "")
    if known.get("lot_mark"):
        found.setdefault("lot-mark", "")
    return found


def _facts(trace: Trace) -> dict[str, str]:
    """Of the item; what is not stated of it and lies in its liquid is that of its batches, if they agree."""
    before = {pour.source for pour in trace.pours if pour.target == trace.item.id}
    batches = [one.item.facts for one in trace.items if one.item.id in before and one.item.kind == "batch"]
    known = dict(trace.item.facts)
    for name in _OF_THE_LIQUID:
        values = {one.get(name, "") for one in batches}
        if not known.get(name) and len(values) == 1:
            known[name] = values.pop()
    return known


def _seen(book: "BookCore", trace: Trace, known: Mapping[str, str], at_us: int | None) -> Seen:
    pours = trace.pours
    since_us = _into_wood_us(pours)
    water = [pour for pour in pours if pour.source == "water" and pour.happened_us > since_us.get(pour.target, -1)]
    return Seen(
        trace.item.id,
        known,
        _origins(book, trace, at_us),
        tuple(_addition(pour) for pour in water),
        tuple(_addition(pour) for pour in pours if pour.source == "additive"),
        _mixed(pours),
        _lay(trace),
        age_rule=trace.qualifying.rule.name if trace.qualifying else "",
        allergens=_allergens((trace.item, *(other.item for other in trace.items))),
    )


def _into_wood_us(pours: Iterable[TracedPour]) -> dict[str, int]:
    """When spirit from outside first went into each cask; water until then makes the strength that it is filled at."""
    found: dict[str, int] = {}
    for pour in pours:
        if pour.source == "origin" and kind_of(pour.target) == "cask":
            found.setdefault(pour.target, pour.happened_us)
    return found


def _origins(book: "BookCore", trace: Trace, at_us: int | None) -> tuple[Origin, ...]:
    if trace.qualifying:
        times = trace.qualifying.times
    else:
        holding, until_us = what_is_traced(book.store, key_of(trace.item.id), at_us, book.clock())
        times = wood_of(trace, upstream(book.store, holding.state, until_us).lineage, holding.state, until_us)
    found = []
    for one in trace.origins:
        if not one.ethanol_mg:
            continue
        age = age_of(times.get(one.line), book.zone)
        told = {name: str(one.facts.get(name, "")) for name in ("spirit", "distiller", "distilled")}
        wood = Aged(*age) if age else None
        found.append(Origin(one.entry, one.into, one.share, **told, wood=wood, pending=one.pending))
    return tuple(found)


def _addition(pour: TracedPour) -> Addition:
    told = pour.facts
    named = told.get("about") or told.get("spirit") or told.get("supplier") or pour.typed
    return Addition(pour.entry, pour.target, str(named), str(told.get("allergens", "")))


def _mixed(pours: Iterable[TracedPour]) -> tuple[Mixed, ...]:
    """Items filled from more than one; spirit from outside beside another item counts as one."""
    sources: dict[str, dict[str, None]] = {}
    for pour in pours:
        if pour.source not in ("water", "additive"):
            sources.setdefault(pour.target, {})[pour.source] = None
    return tuple(Mixed(into, tuple(out_of)) for into, out_of in sources.items() if len(out_of) > 1)


def _lay(trace: Trace) -> tuple[Lay, ...]:
    """The last casks on every way, each with how long the spirit lay there when it left, at the least."""
    wood = {one.item.id: " · ".join(filter(None, map(one.item.facts.get, ("wood", "previous")))) for one in trace.items}
    into: dict[str, list[TracedPour]] = {}
    for pour in trace.pours:
        if pour.source not in ("water", "additive"):
            into.setdefault(pour.target, []).append(pour)
    found: dict[str, Lay] = {}
    ahead, passed = [trace.item.id], {trace.item.id}
    while ahead:
        for pour in into.get(ahead.pop(), ()):
            if not pour.source[0].isupper():
                continue
            if kind_of(pour.source) != "cask":
                ahead += [] if pour.source in passed else [pour.source]
                passed.add(pour.source)
                continue
            came = [one for one in into.get(pour.source, ()) if one.happened_us <= pour.happened_us]
            days = (pour.happened_us - max((one.happened_us for one in came), default=pour.happened_us)) // DAY_US
            if pour.source not in found or days < found[pour.source].days:
                first = not any(one.source[0].isupper() for one in came)
                found[pour.source] = Lay(pour.source, wood.get(pour.source, ""), first, days, pour.entry)
    return tuple(found.values())


def _allergens(views: "Iterable[ItemView]") -> tuple[tuple[str, str], ...]:
    return tuple((view.id, text) for view in views for text in text_listed(view.facts.get("allergens", "")))


def _declared(known: Mapping[str, str], wanted: Mapping[str, str], rule: LabelRule, mark: str) -> Strength | None:
    """The strength on the label: as claimed, as it was bottled under, or that a batch was reduced to.

    One that nobody typed for the label has as many decimals as the label shows.
    """
    from pourbook.house_style import HouseStyle

    if claim := wanted.get("strength"):
        style = HouseStyle({"decimal_mark": "." if "." in claim else mark})
        return style.strength(claim, "vol60f" if rule.at_60f else "vol20")
    if kept := known.get("labelled_strength"):
        decimals = rule.decimals if rule.decimals is not None else 1
        value = Decimal(shown(Decimal(kept.replace(",", ".")), min(decimals, 1)))
        return Strength(f"{value} % vol", value, "vol20")
    target = known.get("target_strength")
    return HouseStyle({"decimal_mark": mark}).strength(target, "vol20") if target else None


def _gauged(book: "BookCore", trace: Trace, declared: Strength, rule: LabelRule, at_us: int | None) -> Gauged:
    """The declared strength beside the book's, at the reference temperature of the rule."""
    from pourbook.queries.gauges.label_strength_of import label_strength_of
    from pourbook.queries.gauges.last_gauge import last_gauge
    from pourbook.uncertainty.labelling import Rule, label_strength
    from pourbook.uncertainty.propagation import Uncertain

    law = Rule(rule.tolerance_vol or 0.3, rule.at_60f, rule.source)
    held, decimals = trace.held_strength, max(0, -int(declared.value.as_tuple().exponent))
    if held is None:
        return Gauged(float(declared.value), None, decimals=decimals)
    try:
        found = label_strength_of(book, trace.item.id, declared, law, at_us=at_us)
    except Refused:
        exact = label_strength(Uncertain(held, {}), declared, law)
        return Gauged(exact.label, exact.gauge.value, decimals=decimals)
    gauge = last_gauge(book.store, trace.item.id, at_us)
    check = found.check
    return Gauged(
        found.label, found.gauge.value, check.verdict, check.probability, found.gauge.standard,
        gauge.entry if gauge else 0, decimals,
    )  # fmt: skip
