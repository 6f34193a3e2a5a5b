"""A family of trials: from the first one down all that was revised from it, and what changed at each step.

What changed is told in casks, or what they are grouped by, never in the vials that were poured from. Where recipes were
revised, they stand in the tree above the trials that followed them. What is not poured yet is as planned.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, first, second = book.next_id("cask"), book.next_id("trial"), "T000003K"
>>> opened = Item(cask, {}), Item(first, {}), Item(second, {"revised_from": first})
>>> filled = Move("origin", cask, read_amount("200 l"), read_strength("60"))
>>> poured = [Move(cask, trial, read_amount("60 ml")) for trial in (first, second)]
>>> moves = *poured, Move("water", second, read_amount("20 ml"))
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in opened))
>>> _ = book.record(*(Draft(Pour("pour", (move,)), 0, "M. Aldane") for move in (filled, *moves)))
>>> [(one.name, one.depth, [(part.component, round(part.change, 3)) for part in one.changes]) for one in
...     family(book, second).members]
[('T000002M', 0, []), ('T000003K', 1, [('C000001H', -0.25), ('water', 0.25)])]
"""

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.trials import WATER, Difference, differences
from pourbook.book.items import ItemView, keys_of_kind, view
from pourbook.book.journal import recipes_revised
from pourbook.book.names import items_with
from pourbook.codes.identifiers import hyphened, kind_of, of_key, plain, read_or_none, readable
from pourbook.errors import Malformed, PourbookError, Unknown
from pourbook.queries.items.called import blend_called, called
from pourbook.queries.traces.made_of import BY_CASK, By, Composition, blended, made_of
from pourbook.queries.traces.trace import trace_back
from pourbook.queries.trials.opinions import Best, Opinion, best, opinion_of
from pourbook.queries.trials.trial_plan import planned_volumes, recipe_card

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store
    from pourbook.queries.traces.trace_answer import Trace

__all__ = ["LEAST_CHANGE", "Family", "Member", "family", "relatives"]

LEAST_CHANGE = 0.0005
"""A twentieth of a per cent: a drop of a pipette more or less is no other recipe."""


class Member(NamedTuple):
    """A trial of a family, or a recipe that others were revised from.

    Attributes:
        name: identifier of the trial, or name of the recipe.
        trial: its view; None for a recipe.
        parent: name of what it was revised from; empty for the first.
        depth: how many steps it is from the first.
        composition: what it is made of; empty where nothing is known of it.
        is_planned: nothing was poured: the composition is that of its recipe.
        changes: fractions in the parent and here, the largest change first; none for the first.
        blend: as it was poured; None where nothing was.
        opinion: what was thought of it.
        batches: identifiers of what was made by it.
    """

    name: str
    trial: ItemView | None
    parent: str
    depth: int
    composition: Composition
    is_planned: bool
    changes: tuple[Difference, ...]
    blend: "Trace | None"
    opinion: Opinion
    batches: tuple[str, ...] = ()


class Family(NamedTuple):
    """A family.

    Attributes:
        asked: identifier of the trial, or name of the recipe, that was asked for.
        members: every one of it, each before what was revised from it.
        by: how it is told what they are made of.
        called: what each trial and cask is called beside its identifier.
    """

    asked: str
    members: tuple[Member, ...]
    by: By
    called: Mapping[str, str]

    @property
    def revised_from(self) -> tuple[str, ...]:
        """Trials that the one asked for came from, the nearest first."""
        found, parents = [], {one.name: one.parent for one in self.members}
        name = parents[self.asked]
        while name:
            found.append(name)
            name = parents[name]
        return tuple(one for one in found if one in self._trials)

    @property
    def revisions(self) -> tuple[str, ...]:
        """Trials that were revised from the one asked for."""
        return tuple(one.name for one in self.members if one.parent == self.asked and one.trial)

    @property
    def best(self) -> Best | None:
        """The best so far; None where nobody gave a score or a liking."""
        return best({one.name: one.opinion for one in self.members})

    @property
    def compositions(self) -> Mapping[str, Composition]:
        """What each member is made of."""
        return {one.name: one.composition for one in self.members}

    @property
    def _trials(self) -> frozenset[str]:
        return frozenset(one.name for one in self.members if one.trial)


def family(book: "BookCore", text: str, by: By = BY_CASK) -> Family:
    """The family of a trial (identifier or outside name), or of a recipe by its name.

    Raises:
        Malformed: it is neither.
        Unknown: nothing goes by that name.
    """
    asked, is_recipe = _asked(book, text)
    tree = _Tree(book.store, asked if is_recipe else "")
    line = tuple(tree.down_from(tree.first(asked)))
    trials = [name for name, _, _ in line if name in tree.trials]
    poured = made_of(book, trials, by)
    batches = items_with(book.store, "follows", "batch")
    members: dict[str, Member] = {}
    for name, parent, depth in line:
        composition = poured.get(name) or _planned(book, name, by, is_trial=name in tree.trials)
        before = members[parent].composition if parent else {}
        is_like = name not in tree.trials or by.group_by == "component" or not _names_components(book, parent, tree)
        changes = differences(before, composition) if before and composition and is_like else ()
        members[name] = Member(
            name,
            view(book.store, name) if name in tree.trials else None,
            parent,
            depth,
            composition,
            name not in poured,
            tuple(one for one in changes if abs(one.change) >= LEAST_CHANGE),
            trace_back(book, name) if name in poured else None,
            opinion_of(book, name) if name in tree.trials else Opinion(),
            tuple(batch for batch, follows in batches.items() if plain(follows) == name),
        )
    parts = {part for one in members.values() for part in one.composition if by.group_by == "cask"}
    names = {one.name: blend_called(one.trial) for one in members.values() if one.trial}
    made = (batch for one in members.values() for batch in one.batches)
    names |= {batch: blend_called(view(book.store, batch)) for batch in made}
    return Family(asked, tuple(members.values()), by, names | called(book.store, filter(read_or_none, parts)))


def relatives(book: "BookCore", text: str) -> tuple[str, ...]:
    """Identifiers of the trials of a family alone, in the order of its tree; raises as `family`."""
    asked, is_recipe = _asked(book, text)
    tree = _Tree(book.store, asked if is_recipe else "")
    return tuple(name for name, _, _ in tree.down_from(tree.first(asked)) if name in tree.trials)


class _Tree:
    """Who was revised from whom: trials by their facts; recipes where any was revised, and the one asked for."""

    def __init__(self, store: "Store", recipe: str = "") -> None:
        self.trials = frozenset(map(of_key, keys_of_kind(store, "trial")))
        parents, follows = (items_with(store, fact, "trial") for fact in ("revised_from", "follows"))
        of_recipes = {readable(name): readable(parent) for name, parent in recipes_revised(store).items()}
        recipes = {*of_recipes, *of_recipes.values(), recipe}
        self._parent = {trial: name for trial, text in follows.items() if (name := readable(text)) in recipes}
        self._parent |= of_recipes | {trial: parent for trial, parent in parents.items() if parent in self.trials}
        self._children: dict[str, list[str]] = {}
        for name, parent in self._parent.items():
            self._children.setdefault(parent, []).append(name)

    def first(self, name: str) -> str:
        """What it all began with; where facts go round, the last before they do."""
        passed = {name}
        while (parent := self._parent.get(name)) and parent not in passed:
            passed.add(name := parent)
        return name

    def down_from(self, first: str) -> Iterator[tuple[str, str, int]]:
        """All that was revised from it, itself first: name, parent, and how many steps it is from the first."""
        waiting, passed = [(first, "", 0)], set[str]()
        while waiting:
            name, _, depth = one = waiting.pop()
            if name not in passed:
                passed.add(name)
                yield one
                younger = sorted(self._children.get(name, ()), key=lambda child: (child not in self.trials, child))
                waiting += [(child, name, depth + 1) for child in reversed(younger)]


def _asked(book: "BookCore", text: str) -> tuple[str, bool]:
    """The trial or recipe that somebody names, and whether it is a recipe."""
    try:
        found = book.find(text)
    except Unknown as no_item:
        try:
            return readable(recipe_card(book, text).recipe.name), True
        except Unknown:
            raise no_item from None
    if kind_of(found) != "trial":
        raise Malformed(f"{hyphened(found)} is no trial", "name a trial or a recipe")
    return found, False


def _names_components(book: "BookCore", name: str, tree: _Tree) -> bool:
    """Whether it is a recipe on components: a trial has other parts than it, whatever was poured."""
    if not name or name in tree.trials:
        return False
    parts = recipe_card(book, name).recipe.parts
    return any(part.component != WATER and read_or_none(part.component) is None for part in parts)


def _planned(book: "BookCore", name: str, by: By, *, is_trial: bool) -> Composition:
    """What is planned to be in it; nothing where that can no longer be said."""
    try:
        if is_trial:
            return blended(book, planned_volumes(book, name), by)
        card = recipe_card(book, name)
        fractions = card.volumes or card.fractions
        return blended(book, {part: float(fraction) for part, fraction in fractions.items()}, by)
    except PourbookError:
        return {}
