"""What is asked of a group on nodes: each question goes to as few nodes as its answer needs, to all of them at once.

A lineage is followed on each node as far as it goes there; what leads to other nodes is asked in the next round.
"""

from collections import defaultdict

from group_of_sites import CODES, site_of_item, site_of_state

from pourbook.book.contents import EVER, LINES
from pourbook.book.journal import GENESIS, chaining
from pourbook.book.lineages import gathered
from pourbook.lineage.bases import WEIGH
from pourbook.lineage.shares import composition, parts_forward

UP = """
WITH RECURSIVE up (id) AS (SELECT unnest(%s::bigint[]) UNION
    SELECT flow.source FROM up JOIN flow ON flow.target = up.id WHERE flow.source <> 0)
SELECT up.id, state.item, state.sealed_happened, state.sealed_place, flow.source, flow.line, flow.how, flow.happened,
    flow.mass, flow.ethanol, flow.extract, flow.out_mass, flow.out_ethanol, flow.out_extract
FROM up LEFT JOIN state ON state.id = up.id LEFT JOIN flow ON flow.target = up.id
"""
DOWN = """
WITH RECURSIVE down (id) AS ({seeds} UNION
    SELECT flow_out.target FROM down JOIN flow_out ON flow_out.source = down.id WHERE flow_out.target <> 0)
SELECT down.id, state.item, state.sealed_happened, state.sealed_place, state.ethanol_in, state.mass_in,
    flow_out.target, flow_out.line, flow_out.carry, flow_out.mass, flow_out.ethanol, flow_out.how
FROM down LEFT JOIN state ON state.id = down.id LEFT JOIN flow_out ON flow_out.source = down.id
"""
DOWN_FROM_ITEM = DOWN.format(seeds="SELECT id FROM state WHERE item = %s")
DOWN = DOWN.format(seeds="SELECT unnest(%s::bigint[])")
LAST = """
SELECT wanted.item, last.happened, last.place, last.mass FROM unnest(%s::bigint[]) AS wanted (item) CROSS JOIN LATERAL (
    SELECT happened, place, mass FROM ledger WHERE ledger.item = wanted.item
    ORDER BY happened DESC, place DESC LIMIT 1) AS last
"""
PERIOD = f"""
SELECT flow.carry, flow.source, flow.target, state.item, flow.how, flow.mass
FROM flow LEFT JOIN state ON state.id = flow.target
WHERE flow.happened >= %s AND flow.happened < %s AND flow.line / {LINES} %% {CODES} = %s
"""
HELD_AND_GONE = f"""
SELECT item, happened, place, mass FROM ({LAST}) AS last UNION ALL
SELECT NULL, NULL, NULL, sum(mass)::bigint FROM unnest(%s::bigint[]) AS wanted (state)
JOIN flow_out ON flow_out.source = wanted.state AND flow_out.target = 0 AND flow_out.how = 'despatch'
"""
ON_HAND = LAST.replace("unnest(%s::bigint[]) AS wanted (item)", "on_hand AS wanted")

BY_SOURCE = f"""
SELECT source / 2 / {LINES} %% {CODES}, count(*), sum(mass::numeric * source), sum(ethanol::numeric * target)
FROM {{table}} WHERE source <> 0 GROUP BY 1
"""


def find(nodes, ref):
    """An item by what a house calls it: nobody knows which house, so all are asked."""
    found = nodes.everywhere("SELECT item FROM fact WHERE lookup = %s", (ref.replace(" ", "").lower(),))
    return {item for rows in found.values() for (item,) in rows}


def show(nodes, key):
    """Facts and contents of an item, by its identifier: the nodes of its site."""
    of_site = set(nodes.place.of_site(site_of_item(key)))
    statement = f"""SELECT name, value, NULL, NULL FROM fact WHERE item = %s
        UNION ALL (SELECT '', NULL, mass, happened FROM ({LAST}) AS last)"""
    rows = [row for found in nodes.round({one: (statement, (key, [key])) for one in of_site}).values() for row in found]
    facts = {name: value for name, value, _, _ in rows if name}
    holdings = [(happened, mass) for name, _, mass, happened in rows if not name]
    return facts, max(holdings, default=(0, 0))[1]


def last_of(rows):
    """By item, its latest row: (happened, place, mass, ethanol, …)."""
    latest = {}
    for item, *row in rows:
        latest[item] = max(latest.get(item, (-1, 0)), tuple(row))
    return latest


def stock(nodes, codes):
    """What sites have on hand, item by item. The latest line of one may lie in any slice."""
    asked = {node for code in codes for node in nodes.place.of_site(code)}
    if nodes.place.slices == 1:
        found = nodes.round(dict.fromkeys(asked, (ON_HAND, ())))
        rows = [row for rows in found.values() for row in rows if site_of_item(row[0]) in codes]
        return {item: row[2] for item, row in last_of(rows).items()}
    found = nodes.round(dict.fromkeys(asked, ("SELECT item FROM on_hand", ())))
    items = [item for rows in found.values() for (item,) in rows if site_of_item(item) in codes]
    rows = [row for found in nodes.round(dict.fromkeys(asked, (LAST, (items,)))).values() for row in found]
    return {item: row[2] for item, row in last_of(rows).items()}


def back(nodes, state):
    """Parts of all items, origins and pours that a state is made of, by pure alcohol."""
    rows = _followed(nodes, UP, [state], lambda row: row[4])
    return composition(gathered(rows).lineage, state, WEIGH["alcohol"])


def forward(nodes, key):
    """By state that an item's liquid went into: which part of it that is; and the states' items."""
    of_site = set(nodes.place.of_site(site_of_item(key)))
    first = nodes.round(dict.fromkeys(of_site, (DOWN_FROM_ITEM, (key,))))
    rows = _followed(nodes, DOWN, (), lambda row: row[6], first)
    about = {row[0]: row for row in rows}
    own = frozenset(state for state, row in about.items() if row[1] == key)
    edges = sorted(
        (row[2] if (row := about[target])[2] is not None else EVER, row[3] if row[3] is not None else target, line,
         carry, target, source, *((ethanol, row[4]) if row[4] else (mass, row[5])))
        for source, *_, target, line, carry, mass, ethanol, _ in rows if target
    )  # fmt: skip
    return parts_forward([edge[4:] for edge in edges], own), {one: row[1] for one, row in about.items()}


def _followed(nodes, statement, states, leads_to, first=None):
    """Rows of all states that these lead to: on each node as far as it goes there, then on from what lies elsewhere."""
    rows, done, frontier = {}, set(), set(states)
    while first or frontier:
        by_node = defaultdict(list)
        for state in frontier:
            by_node[nodes.place.of_state(state)].append(state)
        found = first or nodes.round({node: (statement, (here,)) for node, here in by_node.items()})
        first = None
        for row in (row for answers in found.values() for row in answers):
            if row[1] is not None:  # it lies on that node
                done.add(row[0])
                rows[row] = leads_to(row)
            else:
                frontier.add(row[0])
        frontier.update(filter(None, rows.values()))
        frontier -= done
    nodes.steps = _generations(rows)
    return list(rows)


def _generations(leading):
    """The longest way from a state that nothing led to, one state at a time, each counted where it is met first."""
    after = defaultdict(set)
    for row, next_one in leading.items():
        after[row[0]].add(next_one)
    met = set(after) - {one for ones in after.values() for one in ones}
    now, steps = met, 0
    while now:
        now = {one for state in now for one in after[state] if one} - met
        met |= now
        steps += 1
    return steps


def recall(nodes, key):
    """What an item's liquid went into: what of it is on hand, and what left the houses, in mg."""
    _, item_of = forward(nodes, key)
    asked = defaultdict(lambda: (set(), []))
    for state, item in item_of.items():
        here = nodes.place.of_state(state)
        asked[here][1].append(state)
        if was_sent(
            item
        ):  # its last line is its receipt, which began with a gauge, and so with a state of the receiver's
            asked[here][0].add(item)
        for node in nodes.place.of_site(site_of_item(item)):
            asked[node][0].add(item)
    found = nodes.round({node: (HELD_AND_GONE, (list(items), states)) for node, (items, states) in asked.items()})
    rows = [row for answers in found.values() for row in answers]
    holdings = last_of(row for row in rows if row[0] is not None)
    return {item: row[2] for item, row in holdings.items()}, sum(int(row[3] or 0) for row in rows if row[0] is None)


def was_sent(item):
    return item // 8 >= 9 * 10**11


def account(nodes, code, begin, end):
    """A site's period, in mg: what came in and went out by the word for it, from and to other sites by these words."""
    rows = nodes.round(dict.fromkeys(set(nodes.place.of_site(code)), (PERIOD, (begin, end, code)))).values()
    return summed(code, (row for answers in rows for row in answers))


def summed(code, rows):
    """Rows of carry, source, target, the target's item, the word for outside, and a mass."""
    total = defaultdict(int)
    for carry, source, target, item, how, mass in rows:
        if source and site_of_state(source) != code:
            total["from another site"] += int(mass)
        elif not carry and item and was_sent(item):
            total["to another site"] += int(mass)
        elif not (source and target):
            total[how] += int(mass)
    return dict(total)


def verify(nodes):
    """Every site's chain, slice by slice, each from the head that the one before it keeps; and what no chain tells.

    Faults found: of chains, of sums in states, of flows whose source does not know of them. Slices are independent, so
    nodes work at once; the head before a slice is one row of the node before.
    """
    faults = []
    for code, begins in nodes.place.begins.items():
        head, last = GENESIS, 0
        for begin, after in zip(begins, (*begins[1:], None), strict=True):
            node = nodes.place.of_entry(begin or code + CODES)
            limits = (code, begin // CODES, EVER if after is None else after // CODES)
            statement = "SELECT number, bytes, hash FROM site_entry WHERE code = %s AND number >= %s AND number < %s"
            next_hash = chaining(head)
            for number, text, kept in nodes.stream(node, f"{statement} ORDER BY number", limits):
                if number != last + 1 or next_hash(text) != bytes(kept):
                    faults.append(f"entry {number} of site {code}")
                last, head = number, bytes(kept)
    sums = """SELECT count(*) FROM state WHERE (mass_in, ethanol_in) <>
        (SELECT sum(mass), sum(ethanol) FROM flow WHERE flow.target = state.id)"""
    faults += [f"{rows[0][0]} sums" for rows in nodes.everywhere(sums).values() if rows[0][0]]
    told = nodes.everywhere(BY_SOURCE.format(table="flow"))
    known = nodes.everywhere(BY_SOURCE.format(table="flow_out"))
    if _by_site(told) != _by_site(known):
        faults.append("flows by their source")
    return faults


def _by_site(answers):
    """By the site of the sources: what all nodes say together."""
    total = defaultdict(lambda: [0, 0, 0])
    for site, *sums in (row for rows in answers.values() for row in rows):
        total[site] = [one + int(other) for one, other in zip(total[site], sums, strict=True)]
    return dict(total)


def join(nodes, code, entries):
    """Entries that a site has recorded since: checked against its head, then written; how many were new.

    The head's node answers once, and takes what is new once. (What follows from the entries is folded on that node.)
    """
    node = nodes.place.of_site(code)[-1]
    head = "SELECT number, hash FROM site_entry WHERE code = %s ORDER BY number DESC LIMIT 1"
    ((last, kept),) = nodes.round({node: (head, (code,))})[node]
    next_hash = chaining(bytes(kept))
    new = [(code, number, text, kept) for number, text, kept in entries if number > last]
    assert [next_hash(text) for _, _, text, _ in new] == [kept for *_, kept in new]
    statement = """INSERT INTO site_entry SELECT * FROM unnest(%s::bigint[], %s::bigint[], %s::text[], %s::bytea[])
        RETURNING number"""
    return len(nodes.round({node: (statement, [list(column) for column in zip(*new, strict=True)])})[node])
