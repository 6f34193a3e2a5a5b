"""Which wood counts toward an age, by rules of law: how large it is, of which wood, charred, new, in its first use.

A rule is data, with the law that says it and how far that was read. A vessel counts only where what is recorded of it
says so; what is not recorded does not count, since an age may be stated too low and never too high. Time in wood that
spirit brought counts as it was told.

>>> why_not(AGE_RULES["eu-700"], Vessel("oak hogshead", 250.0), first_use=False)
''
>>> why_not(AGE_RULES["us-charred-new-oak"], Vessel("oak hogshead", 250.0), first_use=True)
'not recorded as charred'
>>> why_not(AGE_RULES["eu-700"], Vessel("oak vat", 1200.0), first_use=True)
'holds 1200 l, more than 700 l'
"""

import re
from typing import NamedTuple

__all__ = ["AGE_RULES", "AgeRule", "Vessel", "why_not"]

_NOT_WOOD = frozenset(("steel", "stainless", "glass", "plastic", "stoneware", "concrete", "copper", "aluminium"))
_NEW = frozenset(("new", "virgin"))
_WORD = r"[a-z]+"


class AgeRule(NamedTuple):
    """A rule of law on what wood counts.

    Attributes:
        name: the house's setting.
        oak: whether only oak counts; else any wood.
        most_l: the largest capacity that counts, litres; None is any.
        below: whether the capacity must be below that, not just not over it.
        charred: whether the wood must be charred.
        new: whether the wood must be new, so that only its first use counts.
        law: where it stands, and how far that was read.
    """

    name: str
    oak: bool
    most_l: float | None
    charred: bool
    new: bool
    law: str
    below: bool = False


class Vessel(NamedTuple):
    """What is recorded of a vessel: its wood as text, its capacity in litres, its previous contents."""

    wood: str = ""
    capacity_l: float | None = None
    previous: str = ""


_RULES = (
    AgeRule(
        "eu-700", oak=False, most_l=700.0, charred=False, new=False,
        law="Regulation (EU) 2019/787, Annex I, category 2 (whisky), (a)(iii): wooden casks not over 700 l (read)",
    ),
    AgeRule(
        "eu-oak-1000", oak=True, most_l=1000.0, charred=False, new=False,
        law="Regulation (EU) 2019/787, Annex I, category 5 (brandy): oak casks below 1000 l; read in its forerunner,"
        " Regulation (EC) 110/2008, Annex II, 5 (a)(2)", below=True,
    ),
    AgeRule(
        "us-oak", oak=True, most_l=None, charred=False, new=False,
        law="27 CFR 5.1, Age, first sentence: oak barrels (read)",
    ),
    AgeRule(
        "us-charred-new-oak", oak=True, most_l=None, charred=True, new=True,
        law="27 CFR 5.1, Age, second sentence: charred new oak barrels, for the whiskies of 27 CFR 5.143 that it names"
        " (read)",
    ),
    AgeRule(
        "uk-oak-700", oak=True, most_l=700.0, charred=False, new=False,
        law="SI 2009/2890, reg. 3: oak casks not over 700 l (not checked against the law)",
    ),
)  # fmt: skip

AGE_RULES = {rule.name: rule for rule in _RULES}
"""Every rule by its name."""


def why_not(rule: AgeRule, vessel: Vessel, *, first_use: bool) -> str:
    """Why time in a vessel does not count by a rule, in a few words; empty where it counts."""
    words = frozenset(re.findall(_WORD, vessel.wood.lower()))
    if not words:
        return "no wood recorded"
    if words & _NOT_WOOD:
        return "not of wood"
    if rule.oak and "oak" not in words:
        return "not recorded as oak"
    if rule.most_l is not None and (too_large := _too_large(rule.most_l, vessel.capacity_l, below=rule.below)):
        return too_large
    if rule.charred and "charred" not in words:
        return "not recorded as charred"
    if rule.new and (vessel.previous or not words & _NEW):
        return "not recorded as new"
    return "not in its first use" if rule.new and not first_use else ""


def _too_large(most_l: float, capacity_l: float | None, *, below: bool) -> str:
    if capacity_l is None:
        return "no capacity recorded"
    if capacity_l > most_l:
        return f"holds {capacity_l:g} l, more than {most_l:g} l"
    return f"holds {capacity_l:g} l, not less than {most_l:g} l" if below and capacity_l == most_l else ""
