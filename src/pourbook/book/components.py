"""Components as the book has them, and the house's rules of blending, by its settings and for each component."""

from collections.abc import Iterable, Mapping

from pourbook.bench.house_rules import HouseRules, rules_of
from pourbook.book.entries import Component
from pourbook.book.journal import Logged, component, names_of
from pourbook.book.settings import ROLE, settings
from pourbook.book.store import Store
from pourbook.numerals import with_mark

__all__ = ["all_components", "component_called", "component_of", "house_rules"]


def all_components(store: Store) -> tuple[Component, ...]:
    """Every component, by name, those that are retired as well."""
    return tuple(component_called(store, name) for name in names_of(store, "component"))


def component_called(store: Store, name: str) -> Component:
    """The component of that name, in any case and spacing.

    Raises:
        Unknown, Ambiguous: none, or several, are called so.
    """
    return component_of(component(store, name), settings(store)["decimal_mark"])


def component_of(entry: Logged, decimal_mark: str) -> Component:
    """The component that an entry wrote, its bounds with this mark."""
    body = entry.entry["body"]
    kept = Component(**{name: value for name, value in body.items() if name in Component._fields})
    return kept._replace(bounds=with_mark(kept.bounds, decimal_mark), gone="gone" in body)


def house_rules(
    store: Store, changed: Mapping[str, str] | None = None, written: Iterable[Component] = ()
) -> HouseRules:
    """The rules that stand, or would stand with changed settings, or with components that are being written."""
    house = {**settings(store), **(changed or {})}
    kinds = {one.name: one for one in (*all_components(store), *written)}
    return rules_of(
        house["most_of_one"],
        house["least_components"],
        {name.removeprefix(ROLE): text for name, text in house.items() if name.startswith(ROLE)},
        [(one.name, one.role, with_mark(one.bounds, ".")) for one in kinds.values() if not one.gone],
    )
