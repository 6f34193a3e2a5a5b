"""The book of a group, shown: which sites joined, and what they do not agree on."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from pourbook.alcoholometry.volumes import pure_alcohol_ml, strength_20c, volume_ml
from pourbook.codes.identifiers import hyphened
from pourbook.documents.shown import Shown, listed, table
from pourbook.numerals import counted
from pourbook.words.group_words import difference_words

if TYPE_CHECKING:
    from pourbook.actions.joining import Joined
    from pourbook.book.groups import JoinedSite
    from pourbook.book.site_differences import Difference
    from pourbook.house_style import HouseStyle
    from pourbook.liquid import Liquid

__all__ = ["differences_shown", "joined_shown", "sites_shown"]


def joined_shown(joined: "Joined", style: "HouseStyle") -> Shown:
    """What a join came to."""
    document = {
        "sites": [site_document(site) | {"new": new} for site, new in joined.sites],
        "head": joined.head,
        "differences": [_difference_document(one, style) for one in joined.differences],
    }
    rows = [(site.name, str(site.entries), str(new), site.head.hex()[:16]) for site, new in joined.sites]
    said = (*table(("site", " entries", " new", "head"), rows), f"head of the group {joined.head}")
    return Shown(document, (*said, *_said(joined.differences, style)))


def sites_shown(sites: "Iterable[JoinedSite]", head: str) -> Shown:
    """The sites of a group."""
    known = list(sites)
    rows = [(one.name, one.house, one.numbers, str(one.entries), one.head.hex()[:16]) for one in known]
    said = (*table(("site", "house", "numbers", " entries", "head"), rows), f"head of the group {head}")
    return Shown({"sites": [site_document(one) for one in known], "head": head}, said)


def differences_shown(differences: "Iterable[Difference]", style: "HouseStyle") -> Shown:
    """What sites do not agree on."""
    known = list(differences)
    return Shown({"differences": [_difference_document(one, style) for one in known]}, tuple(_said(known, style)))


def site_document(site: "JoinedSite") -> dict[str, Any]:
    """A site that joined, for programs."""
    return {
        "site": site.name,
        "house": site.house,
        "numbers": site.numbers,
        "head": site.head.hex(),
        "entries": site.entries,
        "fingerprint": site.fingerprint,
    }


def _difference_document(one: "Difference", style: "HouseStyle") -> dict[str, Any]:
    return {
        "kind": one.what,
        "item": one.item,
        "site": one.site,
        "other": one.other,
        "document": one.document,
        "what": difference_words(one, style.mark),
        "entries": list(one.entries),
        "sent": _amounts(one.sent),
        "received": _amounts(one.received),
    }


def _amounts(liquid: "Liquid | None") -> dict[str, Any] | None:
    if liquid is None:
        return None
    return {
        "mass_mg": liquid.mass_mg,
        "volume_ml_20c": volume_ml(liquid),
        "pure_alcohol_ml_20c": pure_alcohol_ml(liquid),
        "strength_20c": strength_20c(liquid),
    }


def _said(differences: "Iterable[Difference]", style: "HouseStyle") -> list[str]:
    known = list(differences)
    if not known:
        return ["the sites agree"]
    rows = listed(
        known,
        ("site", lambda one: one.site),
        ("item", lambda one: hyphened(one.item) if one.item else "–"),
        ("entries", lambda one: ", ".join(map(str, one.entries))),
        ("what", lambda one: difference_words(one, style.mark)),
    )
    return [f"{counted(len(known), 'difference')} to explain:", *rows]
