"""A lineage as W3C PROV, in PROV-JSON (W3C Member Submission, 24 April 2013).

A fill is an entity, all that was poured together into it one activity (an entity is generated once), every person
an agent who acts for the house. PROV has no quantities: `used` and the derivation carry them in words of our own,
which nobody else reads. EPCIS is the form for exchange, this one a side view.

>>> from pourbook import Book, Draft, Item, Move, Pour
>>> from pourbook.liquid import Liquid
>>> book = Book.create(":memory:", house="Quillmere", uri="https://quillmere.example")
>>> cask = book.next_id("cask")
>>> filled = Move("origin", cask, 1000, composition=Liquid(1000, 500), facts={"spirit": "malt spirit"})
>>> _ = book.record(Draft(Item(cask, {}), 0, "M. Aldane"), Draft(Pour("fill", (filled,)), 0, "M. Aldane"))
>>> list(prov_document(book, [cask])["entity"])
['fill:origin-3', 'fill:C000001H-3']
"""

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any
from urllib.parse import quote

from pourbook.book.items import facts
from pourbook.codes.identifiers import hyphened, key_of, kind_of
from pourbook.exchange.epcis.epcis_words import NAMESPACE, own
from pourbook.exchange.output.codes import code_of
from pourbook.exchange.output.fills import Fill
from pourbook.exchange.output.happenings import Happening, told_of
from pourbook.exchange.output.outside_names import address_of
from pourbook.times import written

if TYPE_CHECKING:
    from pourbook.book.core import BookCore

__all__ = ["prov_document"]


def prov_document(
    book: "BookCore",
    items: Sequence[str],
    *,
    forward: bool = False,
    at_us: int | None = None,
    names: bool = True,
) -> dict[str, Any]:
    """The lineage of items as of `at_us` (None: now); with `forward`, what they went into. Without `names`, by codes.

    Raises:
        Refused: the house has no web address of its own, or nothing was ever poured into an item.
    """
    address = address_of(book)
    with book.store.snapshot():
        maker = _Document(book, code_of(book, names=names))
        for one in told_of(book, items, forward=forward, at_us=at_us):
            if not one.gone:
                maker.add(one)
    prefixes = {"fill": "class", "pour": "pour", "who": "party"}
    return {
        "prefix": {prefix: f"{address}/{below}/" for prefix, below in prefixes.items()} | {"pourbook": NAMESPACE},
        **{name: records for name, records in maker.records.items() if records},
    }


class _Document:
    """The records of a document, by kind."""

    def __init__(self, book: "BookCore", code: Callable[[str], str]) -> None:
        self._book, self._code = book, code
        kinds = ("entity", "activity", "agent", "used", "wasGeneratedBy", "wasDerivedFrom", "wasAssociatedWith")
        self.records: dict[str, dict[str, dict[str, Any]]] = {
            kind: {} for kind in (*kinds, "wasAttributedTo", "actedOnBehalfOf")
        }

    def add(self, one: Happening) -> None:
        """Add a happening; PROV has nothing for gauges and stock."""
        if one.what == "arrival":
            self._entity(one.goal, one.facts)
        if one.what not in ("mixing", "loss", "despatch"):
            return
        goal, activity, when = f"fill:{one.goal.name}", f"pour:{one.goal.name}", written(one.happened_us)
        told = self.records["activity"].setdefault(activity, {"prov:startTime": when})
        told |= {"prov:endTime": when, "prov:type": _type(one.verb)}
        link = {"prov:activity": activity, "prov:agent": self._agent(self._code(one.entry["who"]), "prov:Person")}
        if link not in self.records["wasAssociatedWith"].values():
            self._record("wasAssociatedWith", link)
        for part in one.flows:
            self._entity(part.fill, {})
            used = f"fill:{part.fill.name}"
            amounts = {own(name): amount for name, amount in part.liquid._asdict().items()} if part.liquid else {}
            use = {"prov:activity": activity, "prov:entity": used, "prov:time": when}
            self._record("used", {**use, **amounts, own("entry"): one.number})
            if one.made:
                derived = {"prov:generatedEntity": goal, "prov:usedEntity": used, "prov:activity": activity}
                self._record("wasDerivedFrom", derived | amounts)
        if one.made:
            self._entity(one.goal, {})
            generated = {"prov:entity": goal, "prov:activity": activity, "prov:time": when}
            self.records["wasGeneratedBy"][f"_:g{one.goal.name}"] = generated

    def _entity(self, fill: Fill, known: Mapping[str, Any]) -> None:
        name = f"fill:{fill.name}"
        if name in self.records["entity"]:
            return
        told: dict[str, Any] = {"prov:type": _type(kind_of(fill.where) if fill.inside else fill.where)}
        if fill.inside:
            ref = facts(self._book.store, key_of(fill.where)).get("ref", "")
            told |= {"prov:label": f"{hyphened(fill.where)} {ref}".strip()}
        told |= {own(fact): known[fact] for fact in ("spirit", "distilled", "wood_days") if fact in known}
        self.records["entity"][name] = told
        if "distiller" in known:
            distiller = self._agent(str(known["distiller"]), "prov:Organization")
            self._record("wasAttributedTo", {"prov:entity": name, "prov:agent": distiller})

    def _agent(self, name: str, kind: str) -> str:
        agent = f"who:{quote(name, safe='')}"
        if agent not in self.records["agent"]:
            self.records["agent"][agent] = {"prov:type": _type(kind), "prov:label": name}
            if kind == "prov:Person":
                house = self._agent(self._book.settings["house"], "prov:Organization")
                self._record("actedOnBehalfOf", {"prov:delegate": agent, "prov:responsible": house})
        return agent

    def _record(self, kind: str, record: dict[str, Any]) -> None:
        records = self.records[kind]
        records[f"_:{kind}{len(records) + 1}"] = record


def _type(word: str) -> dict[str, str]:
    return {"$": word if ":" in word else own(quote(word, safe="")), "type": "prov:QUALIFIED_NAME"}
