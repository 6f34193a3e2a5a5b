"""The rules of components and recipes: what they may be called, what may be asked of them, what a blend may be of."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from pourbook.bench.bounds import read_range
from pourbook.bench.components import by_volume, strengths_of
from pourbook.bench.house_rules import BlendPart, Broken, broken, contradiction
from pourbook.bench.trials import WATER, fractions
from pourbook.book.components import component_of, house_rules
from pourbook.book.entries import House
from pourbook.book.items import held
from pourbook.book.journal import entry_of, fields
from pourbook.book.names import find
from pourbook.book.rules import Case
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, kind_of, named, read_or_none, refuse_as_ref
from pourbook.errors import Ambiguous, Malformed, OutOfRange, PourbookError, Question, Refused
from pourbook.numerals import read_decimal, shown, with_mark

__all__ = [
    "component_has_a_name_of_its_own", "component_is_not_overwritten", "component_is_possible", "component_words",
    "house_rules_agree", "house_rules_question", "kept_of", "recipe_is_not_overwritten",
    "recipe_keeps_the_house_rules", "recipe_words",
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
    before = component_of(entry_of(known.store, rows[0][0]), known.mark)
    changes = [
        f"{name.replace('_', ' ')}: {was or '–'} → {will or '–'}"
        for name, was, will in zip(kind._fields, before, kind, strict=True)
        if was != will and name != "gone"
    ]
    if not changes:
        return None
    return Question(
        "component-revised",
        f"component '{kind.name}' is in the book: {'; '.join(changes)}",
        "recipes on it mean the new one from now on; or give the new one a name of its own.",
        {"component": kind.name, "entry": rows[0][0]},
    )


def recipe_is_not_overwritten(case: Case) -> Question | None:
    """A recipe of that name keeps its parts, unless a person confirms the new ones."""
    written, known = case.entry, case.known
    rows = known.store.query("SELECT entry FROM recipe WHERE name = ?", (written.name,))
    if not rows:
        return None
    kept = entry_of(known.store, rows[0][0]).entry["body"]
    before = _percents(kept["parts"], known.mark, kept.get("by", ""))
    after = _percents(map(fields, written.parts), known.mark, written.by)
    changes = [
        f"{named(one)}: {before.get(one, '0')} → {after.get(one, '0')} %"
        for one in dict.fromkeys((*before, *after))
        if before.get(one) != after.get(one)
    ]
    if not changes:
        return None
    return Question(
        "recipe-revised",
        f"recipe '{written.name}' is in the book with other parts: {'; '.join(changes)}",
        "give the new one a name of its own, or revise this one.",
        {"recipe": written.name, "entry": rows[0][0]},
    )


def _percents(parts: Iterable[Mapping[str, Any]], mark: str, by: str) -> dict[str, str]:
    """Each component in per cent, with its bounds, what is kept of it, and what it is per cent of, if of no volume."""
    typed = {part["component"]: part for part in parts}
    read = {name: Fraction(read_decimal(with_mark(part["parts"], mark), mark)) for name, part in typed.items()}
    whole, of = sum(read.values()), f" ({by})" if by else ""
    return {
        one: f"{shown(float(100 * value / whole), 2, mark)}{kept_of(typed[one], mark)}{of}"
        for one, value in read.items()
    }


def kept_of(part: Mapping[str, Any], mark: str) -> str:
    """What a recipe says of a part beside how much it is: its bounds, and what is kept of it."""
    said = f" in {with_mark(part['bounds'], mark)}" if "bounds" in part else ""
    return f"{said}{' fixed' if 'fixed' in part else ''}" + (f" in ratio {part['ratio']}" if "ratio" in part else "")


def component_words(body: Mapping[str, Any], _mark: str) -> str:
    """What a component says in one line of the journal."""
    said = [f"{name} {body[name]}" for name in ("spirit", "wood", "previous", "role", "bounds") if name in body]
    said += [f"at least {body['min_age']} years"] if "min_age" in body else []
    said += [f"at most {body['max_age']} years"] if "max_age" in body else []
    told = f"component {body['name']}: {', '.join(said)}" if said else f"component {body['name']}"
    return f"{told} (retired)" if "gone" in body else told


def recipe_words(body: Mapping[str, Any], mark: str) -> str:
    """What a recipe says in one line of the journal, with this decimal mark."""
    parts = ", ".join(
        f"{part['parts']} {named(part['component'])}"
        + (f" as {part['stands_for']}" if "stands_for" in part else "")
        + kept_of(part, mark)
        for part in body["parts"]
    )
    before = f", revised from {body['revised_from']}" if "revised_from" in body else ""
    by = " by pure alcohol" if "by" in body else ""
    return f"recipe {body['name']}{by}: {parts}{before}"
