"""A cask as it is opened for a batch that has its plan, a glass for a trial: what is asked before anything flows.

What happened is recorded, whatever was planned; a cask that is still closed has not happened yet, so here alone a plan
stops somebody.

>>> from pourbook import Book, Draft, Item, Move, Pour, Recipe, RecipePart
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> fills = [Move("origin", one, read_amount("200 l"), read_strength("60")) for one in ("C000001H", "C000002F")]
>>> entries = *(Item(one.target, {"place": "Row 9"}) for one in fills), Pour("fill", tuple(fills))
>>> batch = Item("B000001Y", {"plan": "B-000001-Y", "total": "9 l"})
>>> plan = Recipe("B-000001-Y", (RecipePart("C000001H", "1"),)), batch
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in (*entries, *plan)))
>>> before_it_flows(book, "B000001Y", "C000001H")
>>> asked = before_it_flows(book, "B000001Y", "C000002F")
>>> asked.rule, asked.said
('not-in-plan', 'C-000002-F is not in the plan of B-000001-Y; still closed: C-000001-H in Row 9')
"""

from collections.abc import Sequence
from typing import TYPE_CHECKING

from pourbook.book.glasses import emptied_words
from pourbook.book.items import facts, held, ledger
from pourbook.book.journal import entry_of, recipe
from pourbook.book.search import stated
from pourbook.codes.identifiers import hyphened, key_of, kind_of, of_key
from pourbook.errors import Held, Question, Unknown
from pourbook.numerals import shown
from pourbook.queries.items.item_card import held_now
from pourbook.queries.trials.targets import for_source, targets
from pourbook.times import shown as time_shown

if TYPE_CHECKING:
    from pourbook.bench.beside_plan import Target
    from pourbook.book.core import BookCore

__all__ = ["before_a_glass", "before_it_flows", "has_plan", "planned_elsewhere"]

_MOST_NAMED = 4


def has_plan(book: "BookCore", target: str) -> bool:
    """Whether an item is a batch that has a plan of its own, to be poured cask by cask."""
    known = facts(book.store, key_of(target)) if kind_of(target) == "batch" else {}
    return bool(known.get("plan") and known.get("total"))


def before_it_flows(
    book: "BookCore", target: str, source: str, beside_plan: "Sequence[Target] | None" = None
) -> Question | None:
    """What is asked of a source as it is opened: None where the plan has it, and it has still to give.

    What comes from outside is not asked about, and neither is anything that goes into an item without a plan.

    Raises:
        Held: it is on hold.
    """
    if source[0].islower() or not has_plan(book, target):
        return None
    name, known = hyphened(source), facts(book.store, key_of(source))
    planned = targets(book, target) if beside_plan is None else beside_plan
    if not planned and not known.get("held"):
        return None  # the plan cannot be laid out any more: pouring goes on
    closed = _still_closed(book, [one for one in planned if one.component != source])
    if known.get("held"):
        remedy = "leave it closed; to pour from it, release it first, with the reason: pourbook release"
        raise Held(f"{name} is on hold; {closed}", remedy)
    own = next(iter(for_source(book, planned, source)), None)
    if own and own.wanted_ml and own.poured_ml and not own.to_go_ml:
        return Question("taken-already", f"{_taken(book, target, source, own)}; {closed}", "take the next one")
    if own and own.wanted_ml and held(book.store, key_of(source)).mass_mg:
        return None
    if own and own.wanted_ml:
        emptied = held_now(book, source).emptied
        why = emptied_words(emptied, book.zone) if emptied else "is empty by the book"
        return Question("nothing-in-it", f"{name} {why}; {closed}", "take the next one, or gauge it first")
    elsewhere = [f"{name} is for {hyphened(batch)}" for batch in planned_elsewhere(book, source) if batch != target]
    said = "; ".join((f"{name} is not in the plan of {hyphened(target)}", *elsewhere, closed))
    return Question("not-in-plan", said, "leave it closed, and take one that is")


def before_a_glass(book: "BookCore", trial: str, glass: str) -> Question | None:
    """What is asked of a glass as it is taken for a trial: None where its recipe has it, and it has still to give.

    Where anything was poured too much, a part that is complete may grow with it, and is not asked about.

    Raises:
        Held: it is on hold.
    """
    planned = targets(book, trial) if kind_of(trial) == "trial" and not glass[0].islower() else ()
    if not planned:
        return None
    name, known = hyphened(glass), facts(book.store, key_of(glass))
    to_go = [hyphened(one.component) for one in planned if one.to_go_ml and one.component[0].isupper()]
    still = f"still to pour: {', '.join(to_go)}" if to_go else "no glass of its recipe is left to pour"
    if known.get("held"):
        raise Held(f"{name} is on hold; {still}", "leave it; to pour from it, release it first, with the reason")
    (own,) = for_source(book, planned, glass)
    if not own.wanted_ml:
        return Question("not-in-plan", f"{name} is not in the recipe of {hyphened(trial)}; {still}", "put it back.")
    if own.poured_ml and not own.to_go_ml and not any(one.over_ml for one in planned):
        return Question("taken-already", f"{name} gave its part already; {still}", "take the next one.")
    return None


def planned_elsewhere(book: "BookCore", cask: str) -> tuple[str, ...]:
    """Batches whose plan has a cask, and that have still to take of it."""
    plans = {of_key(one.item): one.value for one in stated(book.store, ("plan",))}
    return tuple(
        batch
        for batch, plan in plans.items()
        if kind_of(batch) == "batch" and _has_part(book, plan, cask) and _waits_for(book, batch, cask)
    )


def _has_part(book: "BookCore", plan: str, cask: str) -> bool:
    if not plan:
        return False
    try:
        parts = recipe(book.store, plan).entry["body"]["parts"]
    except Unknown:
        return False
    return any(part["component"] == cask for part in parts)


def _waits_for(book: "BookCore", batch: str, cask: str) -> bool:
    """Whether a batch has still to take of a cask: its vat was not emptied, and the cask gave less than planned."""
    rows = ledger(book.store, key_of(batch))
    if rows and not rows[-1].holding.mass_mg:
        return False
    return any(one.component == cask and one.to_go_ml for one in targets(book, batch))


def _still_closed(book: "BookCore", planned: "Sequence[Target]") -> str:
    """Casks of the plan that may be opened and of which nothing was taken yet, the first ones with their places."""
    untouched = (one.component for one in planned if one.wanted_ml and not one.poured_ml and one.component[0].isupper())
    closed = [one for one in untouched if not facts(book.store, key_of(one)).get("held")]
    if not closed:
        return "no cask of the plan is closed any more"
    places = {one: facts(book.store, key_of(one)).get("place", "") for one in closed[:_MOST_NAMED]}
    named = [f"{hyphened(one)} in {place}" if place else hyphened(one) for one, place in places.items()]
    more = f" and {len(closed) - len(named)} more" if len(closed) > len(named) else ""
    return f"still closed: {', '.join(named)}{more}"


def _taken(book: "BookCore", target: str, source: str, own: "Target") -> str:
    """What was taken of a source, by whom and when."""
    mark, rows = book.settings["decimal_mark"], ledger(book.store, key_of(target))
    litres = f"{shown(own.poured_ml / 1000, 2, mark)} l of {shown(own.wanted_ml / 1000, 2, mark)} l"
    pours = (entry_of(book.store, row.entry) for row in reversed(rows))
    of_it = (one for one in pours if any(line.get("from") == source for line in one.entry["body"].get("lines", ())))
    last = next(of_it, None)
    by = f", by {last.entry['who']} at {time_shown(last.happened_us, book.zone)}" if last else ""
    return f"{hyphened(source)} was taken already: {litres}{by}"
