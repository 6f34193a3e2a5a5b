"""The rules of liquid between the sites of a house.

What goes to another site leaves the house in this book, and what comes from one is an origin, with what its document
says (`pourbook.consignments`). A group's book joins the two by the document.
"""

from pourbook.book.contents import EVER, LINES
from pourbook.book.line_case import LineCase
from pourbook.book.search import ledger_lines, told
from pourbook.codes.identifiers import hyphened, kind_of, named, of_key
from pourbook.codes.number_ranges import site_code
from pourbook.consignments import consignment
from pourbook.errors import Malformed, Question, Refused

__all__ = ["consignment_is_in_order", "consignment_is_new"]

_TRAVELLING = ("cask", "batch", "vial")
"""Kinds of items whose liquid goes from site to site."""


def consignment_is_in_order(case: LineCase) -> None:
    """Liquid between sites names the other site and its document; bottles are not sent so."""
    move, facts = case.move, case.move.facts
    sent, came = "site" in facts, "from_site" in facts
    if not (sent or came):
        return
    if sent and move.target != "despatch":
        raise Malformed("only what is despatched goes to another site", "leave the site out, or despatch it")
    if came and move.source != "origin":
        raise Malformed("only what comes from outside comes from another site", "leave the site out, or fill it")
    other, item = str(facts["site" if sent else "from_site"]), move.source if sent else move.target
    if site_code(other) != other:
        raise Malformed(f"'{other}' is not how a site is written", f"write it in capitals: {site_code(other)}")
    own = case.known.settings["site"]
    if not own:
        raise Refused(
            f"this book is no site's, so nothing goes to site {other} or comes from it",
            "name this site: pourbook settings --set site=… --set numbers=1-99999",
        )
    if other == own:
        raise Malformed(f"site {own} is this one", "name the other site")
    if not str(facts.get("document", "")).strip():
        raise Malformed(
            f"no document is named for what goes between site {own} and site {other}",
            "give --document, as the paper has it: a group's book joins both sites by it",
        )
    if "bottles" in facts or kind_of(item) not in _TRAVELLING:
        raise Refused(
            f"{named(item)}: between sites go spirit in bulk and samples, no bottles",
            "send it out of a cask, a batch or a vial; bottles go to a customer",
        )


def consignment_is_new(case: LineCase) -> Question | None:
    """The same document, of the same item, is rarely meant twice."""
    own = case.known.settings["site"]
    meant = consignment(case.move.facts, own)
    if meant is None:
        return None
    key = next(key for key in case.ends if key is not None)
    for line in ledger_lines(case.known.store, [key], EVER):
        facts, number = told(line).get("facts", {}), line.line // LINES
        if number != case.draft.replaces and consignment(facts, own) == meant:
            return Question(
                "consigned-before",
                f"entry {number} of {hyphened(of_key(key))} is already under {facts['document']} with the same site",
                "was it typed twice? Confirm only if it is another part of the same consignment.",
                {"entry": number},
            )
    return None
