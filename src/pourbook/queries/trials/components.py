"""Components of a house, and which casks and vials are of such a kind now; of any other, why it is not.

A glass is judged by the casks behind it as they were when it was filled, and a sample from outside by what is known of
it. All of a blend must be of the kind.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.quantities import read_amount, read_strength
>>> book = Book.create(":memory:", house="Quillmere")
>>> cask, accent = book.next_id("cask"), Component("chestnut accent", wood="chestnut", min_age=8)
>>> fill = Move("origin", cask, read_amount("200 l"), read_strength("63.5"), facts={"wood_days": 4000})
>>> entries = Item(cask, {"wood": "ash"}), Pour("fill", (fill,)), accent
>>> _ = book.record(*(Draft(entry, 0, "M. Aldane") for entry in entries))
>>> [one.said for one in misfits(book, accent, cask)]
["its wood is 'ash', not 'chestnut'"]
"""

from collections.abc import Container, Iterable, Iterator
from shlex import quote
from typing import TYPE_CHECKING, NamedTuple

from pourbook.bench.trials import WATER
from pourbook.book.components import all_components, component_called, component_of
from pourbook.book.entries import Component
from pourbook.book.items import ItemView, facts, ledger, on_hand, text_listed, view
from pourbook.book.journal import component
from pourbook.book.recall_scope import says
from pourbook.codes.identifiers import hyphened, is_identifier, key_of, kind_of
from pourbook.errors import Ambiguous, PourbookError, Question, Refused, Unknown
from pourbook.lineage.ages import age_of
from pourbook.numerals import counted
from pourbook.queries.casks.choosing import latest_fill, youngest_in
from pourbook.queries.items.called import at_sight, called_view
from pourbook.queries.traces.behind import BLENDS, behind

if TYPE_CHECKING:
    from pourbook.book.core import BookCore
    from pourbook.book.store import Store

__all__ = [
    "ComponentCard", "LayIn", "Misfit", "Qualifying", "choice", "component_card", "component_or_item",
    "components", "kinds_in", "lay_in_cask", "misfits", "of_another_age", "of_another_kind", "qualifying", "unfit",
]  # fmt: skip

_MOST_NAMED = 6


class Misfit(NamedTuple):
    """Why an item is not of a kind, or is not chosen: `what` of it, as `wanted`, and as it was `found`.

    Found is empty where that is not known. `what` is spirit, wood, previous, place, young, old, days, empty, held,
    not-named, fault, pending, cost or old-gauge; of young and old both are years, of days and a gauge days.
    """

    what: str
    wanted: str = ""
    found: str = ""

    @property
    def said(self) -> str:
        """As part of a sentence."""
        if self.what in _SAID:
            return _SAID[self.what].format(self.found)
        if self.what in ("young", "old"):
            limit = f"at {'least' if self.what == 'young' else 'most'} {self.wanted} years in wood"
            return f"its age is {counted(int(self.found), 'year') if self.found else 'unknown'}, not {limit}"
        if self.what == "days":
            lain = f"has lain {counted(int(self.found), 'day')} in wood" if self.found else "is of unknown age"
            return f"it {lain}, not at least {counted(int(self.wanted), 'day')}"
        if self.what == "old-gauge":
            ago = f"was measured {counted(int(self.found), 'day')} ago" if self.found else "was never measured"
            return f"it {ago}, not within {counted(int(self.wanted), 'day')}"
        name = "previous contents" if self.what == "previous" else self.what
        verb = "are" if self.what == "previous" else "is"
        return f"its {name} {verb} " + (f"'{self.found}', not '{self.wanted}'" if self.found else "unknown")


_SAID = {
    "empty": "it holds no spirit",
    "held": "it is on hold",
    "not-named": "it was not named",
    "fault": "a fault was noted: {}",
    "pending": "its strength is still to be read",
    "cost": "what it cost is not known",
}


class LayIn(NamedTuple):
    """What `spirit` was in what `wood`, and what that had held before, `previous`."""

    spirit: str
    wood: str
    previous: tuple[str, ...]


class Qualifying(NamedTuple):
    """A cask or vial of a kind now: a `view`, completed `years` in wood of its youngest spirit, what it is `called`.

    The years are None where they are unknown.
    """

    view: ItemView
    years: int | None
    called: str


class ComponentCard(NamedTuple):
    """A component as it stands: its entry, and what is `qualifying` now."""

    entry: int
    component: Component
    qualifying: tuple[Qualifying, ...]


def components(book: "BookCore") -> tuple[Component, ...]:
    """Every component, by name, those that are retired as well."""
    return all_components(book.store)


def component_card(book: "BookCore", name: str) -> ComponentCard:
    """A component with the casks and vials that are of its kind now. Raises as `component_called`."""
    entry = component(book.store, name)
    kind = component_of(entry, book.settings["decimal_mark"])
    return ComponentCard(entry.number, kind, tuple(qualifying(book, kind)))


def kinds_in(book: "BookCore", parts: Iterable[str]) -> dict[str, Component]:
    """The components among parts of a recipe, by name."""
    return {name: component_called(book.store, name) for name in parts if name != WATER and not is_identifier(name)}


def component_or_item(book: "BookCore", text: str) -> str:
    """The name of a component, or the identifier of an item, as somebody names either.

    Raises:
        Unknown, Ambiguous: nothing goes by that name; or more than one thing.
    """
    try:
        name = component_called(book.store, text).name
    except Unknown:
        return _item(book, text)
    try:
        item = book.find(text)
    except PourbookError:
        return name
    raise Ambiguous(f"'{text}' is a component, and the name of {hyphened(item)}", "give the identifier of the item")


def _item(book: "BookCore", text: str) -> str:
    """An item; what nothing is called has the nearest component beside the nearest items as its remedy."""
    try:
        return book.find(text)
    except Unknown as unknown:
        from pourbook.book.near_names import NAMES_OF, suggestion  # only where a name is not found

        near = suggestion(book.store, NAMES_OF["component"], text)
        raise Unknown(unknown.message, near + unknown.remedy) from None


def qualifying(book: "BookCore", kind: Component, among: tuple[str, ...] = ("cask", "vial")) -> Iterator[Qualifying]:
    """Casks and vials of that kind that hold spirit now, by number; memory stays flat."""
    for of in among:
        for one in on_hand(book.store, None, of):
            if not misfits(book, kind, one.id):
                age = age_of(youngest_in(book.store, one, book.clock()), book.zone)
                yield Qualifying(one, None if age is None else age.years, called_view(book.store, one))


def misfits(book: "BookCore", kind: Component, item: str) -> tuple[Misfit, ...]:
    """All that keeps an item from being of a kind; nothing where it is."""
    found = view(book.store, item)
    if not found.holding.ethanol_mg:
        return (Misfit("empty"),)
    wrong = [Misfit("held")] if found.facts.get("held") else []
    wrong += [one for lay_in in _lay_in(book.store, found) for one in of_another_kind(kind, lay_in)]
    if kind.min_age or kind.max_age is not None:
        age = age_of(youngest_in(book.store, found, book.clock()), book.zone)
        wrong += of_another_age(kind, None if age is None else age.years)
    return tuple(dict.fromkeys(wrong))


def of_another_kind(kind: Component, lay_in: LayIn) -> Iterator[Misfit]:
    """What keeps spirit in its wood from being of a kind, whatever its age."""
    spirit, wood, previous = lay_in
    for what, wanted, texts in (
        ("spirit", kind.spirit, (spirit,)), ("wood", kind.wood, (wood,)), ("previous", kind.previous, previous),
    ):  # fmt: skip
        if wanted and not any(says(text, wanted) for text in texts):
            yield Misfit(what, wanted, "; ".join(filter(None, texts)))


def of_another_age(kind: Component, years: int | None) -> Iterator[Misfit]:
    """Whether spirit is too young or too old for a kind, by its completed years in wood; None is unknown."""
    found = "" if years is None else str(years)
    if kind.min_age and (years is None or years < kind.min_age):
        yield Misfit("young", str(kind.min_age), found)
    elif kind.max_age is not None and (years is None or years > kind.max_age):
        yield Misfit("old", str(kind.max_age), found)


def _lay_in(store: "Store", found: ItemView) -> Iterator[LayIn]:
    """Of a cask itself; of anything else, the casks behind it when it was filled, and what came from outside."""
    if found.kind == "cask":
        yield lay_in_cask(store, found, None)
        return
    filled_us = ledger(store, key_of(found.id))[0].happened_us
    for source in _sources(store, found.id):
        known = facts(store, key_of(source))
        if kind_of(source) == "cask":
            yield lay_in_cask(store, view(store, source, filled_us), filled_us)
        else:
            yield LayIn(known.get("spirit", ""), known.get("wood", ""), text_listed(known.get("previous", "")))


def lay_in_cask(store: "Store", cask: ItemView, at_us: int | None) -> LayIn:
    """What lies in a cask, now or at a moment."""
    fill = latest_fill(store, cask, at_us)
    return LayIn(fill.spirit, cask.facts.get("wood", ""), fill.before)


def _sources(store: "Store", glass: str) -> list[str]:
    try:
        found = behind(store, glass, BLENDS)
    except Refused:
        return []
    return [one.source for one in found if one.source[0].isupper()]


# -- what is asked before an item is taken for a kind ------------------------------------


def unfit(book: "BookCore", kind: Component, items: Iterable[str]) -> Iterator[Question]:
    """What is asked of items that are not of the kind they are to be taken for."""
    for item in items:
        if wrong := misfits(book, kind, item):
            said = " and ".join(one.said for one in wrong)
            yield Question("component-unfit", f"{hyphened(item)} is no '{kind.name}': {said}", "take another one.")


def choice(book: "BookCore", kind: Component, among: str, passed: Container[str]) -> tuple[str, Question]:
    """An item for a kind where none was named, and the question about it: one that is alone is suggested.

    Where several are of that kind, or none is, the item is empty, and a yes alone does not answer. `passed` are not
    taken.
    """
    found = [one for one in qualifying(book, kind, (among,)) if one.view.id not in passed]
    named = [at_sight(one.view.id, one.called) for one in found[:_MOST_NAMED]]
    use = f"--use {quote(f'{kind.name}={hyphened(found[0].view.id) if found else among.upper()}')}"
    if len(found) == 1:
        said = f"of '{kind.name}' there is one {among}: {named[0]}"
        return found[0].view.id, Question("component-chosen", said, f"name it: {use}.")
    if found:
        more = f" and {len(found) - len(named)} more" if len(found) > len(named) else ""
        said = f"'{kind.name}' may be {' or '.join(named)}{more}"
    else:
        said = f"the house has no {among} of '{kind.name}'"
    return "", Question("component-chosen", said, f"name the {among}: {use}.", lacks=f"name the {among}: {use}")
