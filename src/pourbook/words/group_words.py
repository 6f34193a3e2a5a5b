"""What sites of a group do not agree on, in words.

>>> sent, received = Liquid(450_577_144, 250_583_422), Liquid(447_873_682, 249_079_921)
>>> difference_words(Difference("amount", "B900000008002P", "B", "A", (4001, 3002), "D-17", sent, received), ".")
'received 497.00 l (315.59 l of pure alcohol) of 500.00 l (317.50 l of pure alcohol) that A sent under D-17'
"""

from pourbook.alcoholometry.volumes import pure_alcohol_ml, strength_20c, volume_ml
from pourbook.book.site_differences import Difference
from pourbook.codes.identifiers import hyphened
from pourbook.liquid import EMPTY, Liquid
from pourbook.numerals import counted
from pourbook.words.figure_words import in_litres, strength_words

__all__ = ["difference_words"]


def difference_words(one: Difference, mark: str) -> str:
    """What is the matter, without the item and the site where it shows."""
    by, under = f"{one.other} sent", f"under {one.document}"
    sent, received = (_amount(liquid or EMPTY, mark) for liquid in (one.sent, one.received))
    if one.what == "amount":
        return f"received {received} of {sent} that {by} {under}"
    if one.what == "not received":
        return f"not received: {sent} that {by} {under}"
    if one.what == "received twice":
        return f"received twice: {received}, and {by} {sent} {under}"
    if one.what == "no despatch":
        nobody = f"{one.other} did not send" if one.other else "no site that joined sent"
        return f"received {received} {under}, which {nobody}"
    if one.what == "received early":
        return f"received {under} before {by} it: taken as received just after"
    if one.what == "strength":
        both = (strength_20c(liquid or EMPTY) for liquid in (one.received, one.sent))
        came, went = (strength_words(strength, mark, pending=False) for strength in both)
        return f"received at {came}, and {by} it at {went} {under}"
    if one.what == "wood age":
        stated, known = one.days or (0, 0)
        days = f"{counted(stated, 'day')} in wood; by {one.other}'s book it has {counted(known, 'day')}"
        return f"received {under} with {days}"
    if one.what == "overdraw":
        return "more was taken than is there once the sites are put together"
    return _shared_words(one)


def _shared_words(one: Difference) -> str:
    what, name = one.name
    if one.what == "ranges":
        return f"{one.other} may give the same numbers: {name}"
    if what == "identifier":
        own = zip(one.site.split(", "), one.renumbered, strict=True)
        here = ", ".join(f"{site}'s is {hyphened(item)} here" for site, item in own)
        return f"{one.other} and {one.site} both gave {hyphened(name)}; {here}"
    if what in ("ref", "lot mark", "case number"):
        return f"the {what.replace('ref', 'name')} '{name}' is used at {one.other}, too"
    return f"a {what} at {one.other} is called '{name}', too: here it is '{name} ({one.site})'"


def _amount(liquid: Liquid, mark: str) -> str:
    return f"{in_litres(volume_ml(liquid), mark)} ({in_litres(pure_alcohol_ml(liquid), mark)} of pure alcohol)"
