"""A group's book on several nodes, by site, then time: what each question costs, and that the answer is the same.

    python tests/benchmarks/group_on_nodes.py POURS [--sites 6] [--nodes 3] [--slices 1] [--databases] [--asked 40]
        [--server ADDRESS] [-o RESULT.json]

A node is a schema (or, with `--databases`, a database) of one PostgreSQL server, which is started for it unless one is
named (`group_nodes.py`). Rows read are what the server's own plans say (EXPLAIN ANALYZE). One book in SQLite with the
same rows is asked by the book's own functions, and every answer is compared with its: sets and masses equal, shares to
1e-12. This is one server: it shows rows, nodes and round trips, not the time that a network or a real cluster takes.
"""

import argparse
import json
import random
import statistics
import sys
import time
from collections import defaultdict
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
sys.path.insert(0, str(Path(__file__).parents[1]))
import group_questions as questions
from group_nodes import placed
from group_of_sites import Group, site_of_item, site_of_line

from pourbook.book.compositions import composition_of
from pourbook.book.items import held
from pourbook.book.lineages import parts_downstream


def last_state(one, key):
    return one.query("SELECT state FROM ledger WHERE item = ? ORDER BY happened DESC, place DESC LIMIT 1", (key,))[0][0]


def agree(told, true):
    """Shares by the same keys, to 1e-12."""
    return told.keys() == true.keys() and all(abs(part - true[key]) <= 1e-12 for key, part in told.items())


def asked_of(nodes, one, group, asked):
    """Each question with its costs, every answer compared with that of one book: (name, costs)."""
    draw = random.Random(2)
    keys = {
        kind: [key for (key,) in one.query("SELECT key FROM item WHERE kind = ? ORDER BY key", (kind,))]
        for kind in ("cask", "lot", "batch")
    }
    lots, casks = (draw.sample(keys[kind], min(asked, len(keys[kind]))) for kind in ("lot", "cask"))
    sent = [key for key in keys["batch"] if questions.was_sent(key)]
    travelled = draw.sample(sent, min(asked, len(sent)))
    yield "find by the house's name", [_found(nodes, one, key) for key in lots]
    yield "show", [_shown(nodes, one, key) for key in lots]
    yield "stock of a site", [_stocked(nodes, one, [site.code]) for site in group.sites[:3]]
    yield "stock of the group", [_stocked(nodes, one, [site.code for site in group.sites])]
    yield "trace back, shares", [_traced(nodes, one, key) for key in lots]
    yield "trace forward, shares", [_reached(nodes, one, key) for key in casks]
    yield "trace forward of what was sent", [_reached(nodes, one, key) for key in travelled]
    yield "recall of a cask", [_recalled(nodes, one, key) for key in casks]
    yield "account of a site, a year", [_accounted(nodes, one, site.code) for site in group.sites[:3]]
    yield "join a site's last 1,000 entries", [_joined(nodes, one, site.code) for site in group.sites[:3]]
    yield "verify", [_verified(nodes)]


def _found(nodes, one, key):
    ((ref,),) = one.query("SELECT value FROM fact WHERE item = ? AND name = 'ref'", (key,))
    answer, cost = nodes.counted(questions.find, ref)
    assert answer == {key}
    return cost


def _shown(nodes, one, key):
    (facts, mass), cost = nodes.counted(questions.show, key)
    assert facts == dict(one.query("SELECT name, value FROM fact WHERE item = ?", (key,)))
    assert mass == held(one, key).mass_mg
    return cost


def _stocked(nodes, one, codes):
    answer, cost = nodes.counted(questions.stock, codes)
    on_hand = [item for (item,) in one.query("SELECT item FROM on_hand") if site_of_item(item) in codes]
    assert answer == {item: held(one, item).mass_mg for item in on_hand}
    return cost


def _traced(nodes, one, key):
    state = last_state(one, key)
    answer, cost = nodes.counted(questions.back, state)
    true = composition_of(one, state, "alcohol")
    assert all(agree(told, parts) for told, parts in zip(answer, true, strict=True))
    return cost


def _reached(nodes, one, key):
    (answer, _), cost = nodes.counted(questions.forward, key)
    assert agree(answer, parts_downstream(one, key, "alcohol"))
    return cost


def _recalled(nodes, one, key):
    (holdings, gone), cost = nodes.counted(questions.recall, key)
    states = parts_downstream(one, key, "alcohol")
    items = {item for state in states for (item,) in one.query("SELECT item FROM state WHERE id = ?", (state,))}
    assert holdings == {item: held(one, item).mass_mg for item in items}
    despatched = "SELECT sum(mass) FROM flow WHERE source = ? AND target = 0 AND how = 'despatch'"
    assert gone == sum(one.query(despatched, (state,))[0][0] or 0 for state in states)
    return cost


def _accounted(nodes, one, code):
    end = Group.END_US
    begin = end - 365 * 86_400_000_000
    answer, cost = nodes.counted(questions.account, code, begin, end)
    rows = one.query(
        "SELECT flow.carry, flow.source, flow.target, state.item, flow.how, flow.mass, flow.line FROM flow"
        " LEFT JOIN state ON state.id = flow.target WHERE flow.happened >= ? AND flow.happened < ?",
        (begin, end),
    )
    assert answer == questions.summed(code, (row[:-1] for row in rows if site_of_line(row[-1]) == code))
    return cost


def _joined(nodes, one, code, most=1000):
    """The site's last entries are taken away, and joined again."""
    node = nodes.place.of_site(code)[-1]
    took = """DELETE FROM site_entry WHERE code = %s AND number IN (
        SELECT number FROM site_entry WHERE code = %s ORDER BY number DESC LIMIT %s) RETURNING number, bytes, hash"""
    kept = nodes.lines[node].execute("SELECT count(*) FROM site_entry WHERE code = %s", (code,)).fetchone()[0]
    most = min(most, kept - 1)
    entries = sorted(nodes.lines[node].execute(took, (code, code, most)).fetchall())
    measuring, nodes.is_measuring = nodes.is_measuring, False  # asked twice, it would be written twice
    new, cost = nodes.counted(questions.join, code, [(number, text, bytes(kept)) for number, text, kept in entries])
    nodes.is_measuring = measuring
    assert new == most
    return cost


def _verified(nodes):
    faults, cost = nodes.counted(questions.verify)
    assert not faults, faults
    return cost


def sizes(nodes, pours):
    """Bytes for each pour, by table and index, of all nodes together."""
    total = defaultdict(int)
    for line in nodes.lines:
        rows = line.execute(
            "SELECT relname, relkind, pg_relation_size(pg_class.oid) FROM pg_class JOIN pg_namespace"
            " ON pg_namespace.oid = relnamespace WHERE nspname = current_schema() AND relkind IN ('r', 'i', 't')"
        ).fetchall()
        for name, _, size in rows:
            total[name] += size
    return {name: size / pours for name, size in sorted(total.items(), key=lambda one: -one[1]) if size > pours}


def measured(pours, sites, nodes, slices, asked, **where):
    """All of it, as JSON values."""
    begin = time.process_time()
    with placed(pours, sites, nodes, slices, **where) as (on_nodes, one, group):
        made_s = time.process_time() - begin
        on_nodes.is_measuring = True
        costs = {name: [cost._asdict() for cost in costs] for name, costs in asked_of(on_nodes, one, group, asked)}
        return {
            "pours": group.pours, "sites": sites, "nodes": nodes, "slices": slices, "consignments": group.consignments,
            "made_s": round(made_s), "bytes_a_pour": sizes(on_nodes, group.pours),
            "questions": {name: each for name, each in costs.items() if each},
        }  # fmt: skip


def table(result):
    """Median and most of each cost, as rows of Markdown."""
    yield "| question | nodes | round trips | generations | rows read | rows answered | ms |"
    yield "|---|---|---|---|---|---|---|"
    for name, costs in result["questions"].items():
        cells = []
        for of in ("nodes", "rounds", "steps", "touched", "answered", "ms"):
            values = [cost[of] for cost in costs]
            digits = 1 if of == "ms" else 0
            middle, most = (f"{value:,.{digits}f}" for value in (statistics.median(values), max(values)))
            cells.append(middle if middle == most else f"{middle} / {most}")
        yield f"| {name} | {' | '.join(cells)} |"


def main():
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("pours", type=lambda text: int(float(text)))
    for name, value in (("sites", 6), ("nodes", 3), ("slices", 1), ("asked", 40)):
        words.add_argument(f"--{name}", type=int, default=value)
    words.add_argument("--databases", action="store_true")
    words.add_argument("--server")
    words.add_argument("-o", dest="output", type=Path)
    given = words.parse_args()
    result = measured(
        given.pours, given.sites, given.nodes, given.slices, given.asked,
        databases=given.databases, server=given.server,
    )  # fmt: skip
    print(
        f"{result['pours']:,} pours of {given.sites} sites on {given.nodes} nodes, {given.slices} slices of time each,"
        f" {result['consignments']} consignments; made in {result['made_s']} s of the processor; answers as of one book"
    )
    print(*table(result), sep="\n")
    told = sorted(result["bytes_a_pour"].items(), key=lambda one: -one[1])
    print(
        f"bytes a pour, {sum(size for _, size in told):.0f}: " + ", ".join(f"{name} {size:.0f}" for name, size in told)
    )
    if given.output:
        given.output.write_text(json.dumps(result, indent=1))


if __name__ == "__main__":
    main()
