"""The rules of components: what a kind of spirit may be called, and what may be asked of it."""

from collections.abc import Sequence

from pourbook.bench.bounds import read_range
from pourbook.bench.components import by_volume, strengths_of
from pourbook.bench.house_rules import BlendPart, Broken, broken, contradiction
from pourbook.bench.trials import WATER, fractions
from pourbook.book.components import house_rules
from pourbook.book.entries import House
from pourbook.book.items import held
from pourbook.book.journal import entry_of
from pourbook.book.names import find
from pourbook.book.rules import Case
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, kind_of, read_or_none, refuse_as_ref
from pourbook.errors import Ambiguous, Malformed, OutOfRange, PourbookError, Question, Refused

__all__ = [
    "component_has_a_name_of_its_own", "component_is_not_overwritten", "component_is_possible", "house_rules_agree",
    "house_rules_question", "recipe_keeps_the_house_rules",
]  # fmt: skip


def component_has_a_name_of_its_own(case: Case) -> None:
    """A recipe names items and components alike, so nothing in the book goes by the name of a component."""
    name = case.entry.name
    refuse_as_ref(name)
    if not name.strip() or name == WATER:
        raise Malformed(f"'{name}' cannot be a component", "give it a name of its own")
    try:
        item = hyphened(find(case.known.store, name, suggest=False))
    except Ambiguous:
        item = "more than one item"
    except PourbookError:
        return
    raise Refused(f"'{name}' is the name of {item}", "give the component a name of its own")


def component_is_possible(case: Case) -> None:
    """Something can be of that kind: ages and bounds run from the lower to the higher, and bounds are per cent."""
    kind = case.entry
    if kind.max_age is not None and not 0 <= kind.min_age <= kind.max_age:
        raise OutOfRange(
            f"no age is at least {kind.min_age} and at most {kind.max_age} years", "give the lower one as --min-age"
        )
    if kind.bounds and read_range(kind.bounds, case.known.mark)[1] > 100:
        raise OutOfRange(f"bounds {kind.bounds} of '{kind.name}' go beyond 100 %", "write per cent of a blend: 0..15")


def house_rules_agree(case: Case) -> None:
    """Rules that are set can all be kept at once, and every component can be in a blend that keeps them."""
    entry, store = case.entry, case.known.store
    is_house = isinstance(entry, House)
    rules = house_rules(store, entry.settings) if is_house else house_rules(store, written=(entry,))
    if said := contradiction(rules):
        raise Refused(f"the house's rules contradict each other: {said}", "change one of them")


def recipe_keeps_the_house_rules(case: Case) -> Question | None:
    """A blend is within the house's rules; a batch was asked about when it was planned, by its components."""
    written, store, mark = case.entry, case.known.store, case.known.mark
    own = read_or_none(written.name)
    if own and kind_of(own) == "batch":
        return None
    parts = {one.component: one for one in written.parts if one.component != WATER}
    shares = fractions(((name, one.parts) for name, one in parts.items()), mark) if parts else {}
    if written.by:
        if not all(map(is_identifier, parts)):
            return None  # volumes are known once it is tried
        shares = by_volume(shares, strengths_of({name: held(store, key_of(name)).liquid for name in parts}))
    blend = [
        BlendPart(parts[name].stands_for or name, parts[name].role, float(share)) for name, share in shares.items()
    ]
    return house_rules_question(broken(house_rules(store), blend), mark)


def house_rules_question(found: Sequence[Broken], mark: str) -> Question | None:
    """What is asked of a blend that breaks rules."""
    if not found:
        return None
    said = "; ".join(one.said(mark) for one in found)
    values = {"rules": ", ".join(dict.fromkeys(f"{one.rule} {one.of}".strip() for one in found))}
    return Question("house-rules", said, "change its parts, or the rule (pourbook settings).", values)


def component_is_not_overwritten(case: Case) -> Question | None:
    """A component of that name stays as it is, unless a person confirms what changes."""
    known, kind = case.known, case.entry
    rows = known.store.query("SELECT entry FROM component WHERE name = ?", (kind.name,))
    if not rows:
        return None
    before = entry_of(known.store, rows[0][0]).entry["body"]
    after = {name: value for name, value in kind._asdict().items() if value != kind._field_defaults.get(name)}
    changes = [
        f"{name.replace('_', ' ')}: {before.get(name, '–')} → {after.get(name, '–')}"
        for name in kind._fields
        if before.get(name) != after.get(name) and name != "gone"
    ]
    if not changes:
        return None
    return Question(
        "component-revised",
        f"component '{kind.name}' is in the book: {'; '.join(changes)}",
        "recipes on it mean the new one from now on; or give the new one a name of its own.",
        {"component": kind.name, "entry": rows[0][0]},
    )
