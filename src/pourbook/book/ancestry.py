"""What a correction changes behind items: their sources, shares and age, even where their contents stay the same.

A later gauge of an amount shields what an item holds, never where it came from. So a recording into the
past compares the sources of lots and stock downstream before and after. The search is bounded.
"""

from collections.abc import Mapping
from itertools import islice

from pourbook.book.consequences import Descent, Sources
from pourbook.book.contents import LINES
from pourbook.book.items import held
from pourbook.book.journal import entries_of, line_of
from pourbook.book.lineages import casks_in, reached_since, upstream, what_is_traced
from pourbook.book.store import Store
from pourbook.codes.identifiers import kind_of, of_key
from pourbook.errors import Refused
from pourbook.lineage.ages import wood_ages
from pourbook.lineage.shares import by_alcohol, origin_shares
from pourbook.times import DAY_US

__all__ = ["Watch"]

_MOST_ITEMS = 200
_MOST_INFLOWS = 20_000
_MOST_STATES = 20_000


class Watch:
    """Sources of what lies downstream before a recording into the past.

    `since` gives the items touched, each with the earliest moment; ages are counted to `now_us`.
    """

    def __init__(self, store: Store, since: Mapping[int, int], now_us: int) -> None:
        self._store = store
        self._now_us = now_us
        self._earned_us: dict[int, int | None] = {}
        self._inflows = 0
        touched = dict(islice(since.items(), _MOST_ITEMS))
        items, self.is_whole = reached_since(store, touched, _MOST_STATES)
        wanted = sorted(
            (item for item in items if item in touched or self._matters(item)),
            key=lambda item: (kind_of(of_key(item)) != "lot", -item),
        )
        self._before: dict[int, Sources] = {}
        for item in wanted[:_MOST_ITEMS]:
            if self._inflows > _MOST_INFLOWS:
                break
            self._before[item] = self._sources(item)
        self.is_whole = self.is_whole and len(touched) == len(since) and len(self._before) == len(wanted)

    def changes(self) -> tuple[Descent, ...]:
        """Items whose sources, shares or age differ now."""
        seen = ((item, before, self._sources(item)) for item, before in self._before.items())
        return tuple(Descent(of_key(item), before, after) for item, before, after in seen if before.differs(after))

    def _matters(self, item: int) -> bool:
        return kind_of(of_key(item)) == "lot" or held(self._store, item).mass_mg > 0

    def _sources(self, item: int) -> Sources:
        try:
            holding, as_of_us = what_is_traced(self._store, item, None, self._now_us)
        except Refused:
            return Sources({}, None)
        lineage = upstream(self._store, holding.state, as_of_us).lineage
        self._inflows += sum(map(len, lineage.inflows.values()))
        shares: dict[str, float] = {}
        lines = origin_shares(lineage, holding.state, by_alcohol)
        for state in lineage.order:
            for flow in lineage.inflows[state]:
                if not flow.source:
                    source = of_key(lineage.item_of[state]) if flow.how == "origin" else flow.how
                    shares[source] = shares.get(source, 0.0) + lines.get(flow.line, 0.0)
        self._read_earned(lines)
        age = wood_ages(lineage, holding.state, in_wood=casks_in(lineage), earned_us=self._earned_us, at_us=as_of_us)
        return Sources(shares, age.youngest_us)

    def _read_earned(self, lines: Mapping[int, float]) -> None:
        """Wood time that origins brought; None where it is unknown."""
        waiting = lines.keys() - self._earned_us.keys()
        entries = entries_of(self._store, {line // LINES for line in waiting})
        for line in waiting:
            days = line_of(entries[line // LINES]["body"], line).get("facts", {}).get("wood_days")
            self._earned_us[line] = None if days is None else int(days) * DAY_US
