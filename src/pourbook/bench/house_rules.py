"""The house's rules of blending: how much of one, how many at least, how much of a role and of a component.

They are of what is poured beside water, in parts by volume as poured; so reducing a blend breaks none. All components
of a role count together.

>>> rules = rules_of("85", "3", {"rich": "0..15"}, [("Chestnut accent", "rich", "0..10")])
>>> blend = BlendPart("V000001R", "base", 80.0), BlendPart("Chestnut accent", "rich", 20.0)
>>> for one in broken(rules, blend):
...     print(one.said("."))
the blend is of 2 components, and the house wants 3 or more
role 'rich' is 20.00 % of the blend, and may be 0 to 15 %
Chestnut accent is 20.00 % of the blend, and may be 0 to 10 %
>>> contradiction(rules_of("85", "3", {"rich": "0..15"}, [("Chestnut accent", "rich", "20..30")]))
"at least 20 % of Chestnut accent is more than the 15 % of role 'rich'"
"""

from collections.abc import Iterable, Mapping
from fractions import Fraction
from math import inf
from typing import NamedTuple

from pourbook.bench.bounds import Bounds, read_range, stands
from pourbook.codes.identifiers import named
from pourbook.numerals import read_decimal, shown
from pourbook.texts import lookup_form

__all__ = ["BlendPart", "Broken", "HouseRules", "broken", "contradiction", "rules_of"]

_ALL = Bounds(Fraction(0), Fraction(1))


class KindRule(NamedTuple):
    """A component by name, its role as it is looked up (empty: none), and its bounds."""

    name: str
    role: str
    bounds: Bounds


class HouseRules(NamedTuple):
    """The rules; fractions are of what is poured beside water.

    Attributes:
        most_of_one: that one component may be at most.
        least_components: that a blend is of at least.
        roles: bounds of each role, by the role as it is looked up.
        kinds: what is set for each component, by its name.
        called: each role as the house writes it.
    """

    most_of_one: Fraction
    least_components: int
    roles: Mapping[str, Bounds]
    kinds: Mapping[str, KindRule]
    called: Mapping[str, str]

    @property
    def are_any(self) -> bool:
        """Whether any blend could break one."""
        is_set = self.most_of_one < 1 or self.least_components > 1 or self.roles
        return bool(is_set) or any(one.bounds != _ALL for one in self.kinds.values())


class BlendPart(NamedTuple):
    """A component of a blend (its name, or an item that was taken for none), its role, and its volume."""

    name: str
    role: str
    volume_ml: float


class Broken(NamedTuple):
    """A rule that a blend breaks.

    Attributes:
        rule: most_of_one, least_components, role or component.
        of: the component or role; empty for the number of components.
        found: its fraction of the blend, or the number of components.
        low: the least that it may be.
        high: the most that it may be.
        whole_ml: the blend.
    """

    rule: str
    of: str
    found: float
    low: float
    high: float
    whole_ml: float

    @property
    def is_above(self) -> bool:
        """More than it may be; what is below can still be poured."""
        return self.found > self.high

    @property
    def more_ml(self) -> float:
        """What of the others, or of itself where it is below, brings it within the rule; infinite where nothing can."""
        if self.is_above:
            return self.whole_ml * (self.found / self.high - 1) if self.high else inf
        return self.whole_ml * (self.low - self.found) / (1 - self.low) if self.low < 1 else inf

    def said(self, decimal_mark: str) -> str:
        """As a sentence."""
        if self.rule == "least_components":
            return f"the blend is of {self.found:.0f} components, and the house wants {self.low:.0f} or more"
        name = f"role '{self.of}'" if self.rule == "role" else named(self.of)
        found, low, high = (shown(100 * value, 2, decimal_mark) for value in (self.found, self.low, self.high))
        if self.rule == "most_of_one":
            return f"{name} is {found} % of the blend, and the house takes at most {_short(high)} % of one"
        return f"{name} is {found} % of the blend, and may be {_short(low)} to {_short(high)} %"


def rules_of(
    most_of_one: str, least_components: str, roles: Mapping[str, str], kinds: Iterable[tuple[str, str, str]]
) -> HouseRules:
    """The rules from texts: per cent, a number, ranges of per cent by role, and name, role and range of components."""
    return HouseRules(
        Fraction(read_decimal(most_of_one)) / 100,
        int(least_components),
        {lookup_form(role): _bounds(text) for role, text in roles.items() if text},
        {name: KindRule(name, lookup_form(role), _bounds(text) if text else _ALL) for name, role, text in kinds},
        {lookup_form(role): role for role in roles},
    )


def _bounds(text: str) -> Bounds:
    low, high = read_range(text)
    return Bounds(Fraction(low) / 100, Fraction(high) / 100)


def contradiction(rules: HouseRules) -> str:
    """Rules that no blend can keep, as a sentence; empty where every component can be in one that keeps them all."""
    least = {role: low for role, (low, _) in rules.roles.items() if low}
    if sum(least.values()) > 1:
        said = " and ".join(f"{_per_cent(low)} of role '{rules.called[role]}'" for role, low in least.items())
        return f"at least {said} are more than the whole"
    for name, role, (low, _) in rules.kinds.values():
        wanted = f"at least {_per_cent(low)} of {name}"
        if low > rules.most_of_one:
            return f"{wanted} is more than the {_per_cent(rules.most_of_one)} that one component may be"
        if low > rules.roles.get(role, _ALL).high:
            return f"{wanted} is more than the {_per_cent(rules.roles[role].high)} of role '{rules.called[role]}'"
        others = {one: part for one, part in least.items() if one != role}
        if low + sum(others.values()) > 1:
            said = " and ".join(f"{_per_cent(part)} of role '{rules.called[one]}'" for one, part in others.items())
            return f"{wanted} and {said} are more than the whole"
    return ""


def broken(rules: HouseRules, blend: Iterable[BlendPart], planned_ml: float = 0.0) -> tuple[Broken, ...]:
    """Every rule that a blend breaks; parts of one component count together, and an empty blend breaks none.

    While less is poured than was `planned_ml`, parts are of that, and what is below a rule is still to come.
    """
    by_name, by_role = dict[str, float](), dict[str, float]()
    for name, role, ml in blend:
        form = lookup_form(role) or (rules.kinds[name].role if name in rules.kinds else "")
        by_name[name] = by_name.get(name, 0.0) + ml
        by_role[form] = by_role.get(form, 0.0) + ml
    whole_ml = max(sum(by_name.values()), planned_ml)
    if not by_name or not whole_ml:
        return ()
    most = Bounds(Fraction(0), rules.most_of_one)
    judged = [
        *(("most_of_one", name, ml, most) for name, ml in by_name.items()),
        *(("role", rules.called[role], by_role.get(role, 0.0), bounds) for role, bounds in rules.roles.items()),
        *(("component", name, ml, rules.kinds[name].bounds) for name, ml in by_name.items() if name in rules.kinds),
    ]
    few, count = float(rules.least_components), float(len(by_name))
    found = [Broken("least_components", "", count, few, inf, whole_ml)] if count < few else []
    for rule, of, ml, (low, high) in judged:
        if stands(ml / whole_ml, float(low), float(high)) != "within":
            found.append(Broken(rule, of, ml / whole_ml, float(low), float(high), whole_ml))
    return tuple(one for one in found if one.is_above or not planned_ml)


def _per_cent(part: Fraction) -> str:
    return f"{_short(shown(100 * part, 2))} %"


def _short(number: str) -> str:
    """A number without zeros behind its mark."""
    return number.rstrip("0").rstrip(".,") if set(number) & set(".,") else number
