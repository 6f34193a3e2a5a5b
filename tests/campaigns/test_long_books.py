"""Long random books, by the hundred: `pytest tests/campaigns`, with POURBOOK_ROUNDS to set how many.

Every book is rebuilt, replayed by other means and traced in both directions. A failure names its
seed; `random.Random(seed)` brings the book back.
"""

import os
from random import Random

import numpy as np
import pytest
from random_books import START_US, STEP_US, built, random_operations
from replay import Replay, every_item

from pourbook.errors import PourbookError

ROUNDS = int(os.environ.get("POURBOOK_ROUNDS", "100"))


def floats(shares):
    """Exact fractions as floats."""
    return {key: float(share) for key, share in shares.items()}


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_a_long_book_agrees_with_its_replay(seed):
    """Sixty operations: amounts to the milligram, shares to 1e-9, now and at a moment of the past."""
    random = Random(seed)
    house, _ = built(random_operations(random, 60))
    with house:
        assert house.book.verify().faults == ()
        for until in (None, START_US + random.randrange(60) * STEP_US):
            for basis in ("alcohol", "mass"):
                replay = Replay(house, basis, until)
                for identifier in every_item(house.book.store):
                    body = replay.body(identifier)
                    assert tuple(house.book.show(identifier, until).holding.liquid) == body.held
                    if body.held[0] or body.last:
                        back = house.book.trace_back(identifier, basis, until)
                        shares = {part.item.id: part.share for part in back.items}
                        origins = {origin.line: origin.share for origin in back.origins}
                        assert shares == pytest.approx(floats(replay.item_shares(identifier)), abs=1e-9)
                        assert origins == pytest.approx(floats(replay.origin_shares(identifier)), abs=1e-9)
                    reached = replay.reached(identifier)
                    if reached:
                        forward = house.book.trace_forward(identifier, basis, until)
                        ever = {part.item.id: part.share for part in forward.items}
                        expected = {item: float(pair[0]) for item, pair in reached.items()}
                        assert ever == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("seed", range(max(1, ROUNDS // 20)))
def test_a_very_long_book_agrees_with_a_linear_solve(seed):
    """Six hundred operations: origins of every item by dense elimination, both directions alike."""
    house, _ = built(random_operations(Random(1_000_000 + seed), 600))
    with house:
        store = house.book.store
        assert house.book.verify().faults == ()
        states = [state for (state,) in store.query("SELECT id FROM state ORDER BY id")]
        place = {state: index for index, state in enumerate(states)}
        flows = store.query("SELECT target, source, line, mass FROM flow WHERE target <> 0 AND how <> 'return'")
        received = np.zeros(len(states))
        for target, _, _, mass in flows:
            received[place[target]] += mass
        lines = sorted({line for _, source, line, _ in flows if not source})
        column = {line: index for index, line in enumerate(lines)}
        between, outside = np.zeros((len(states), len(states))), np.zeros((len(states), len(lines)))
        for target, source, line, mass in flows:
            part = mass / received[place[target]]
            if source:
                between[place[target], place[source]] += part
            else:
                outside[place[target], column[line]] += part
        solved = np.linalg.solve(np.eye(len(states)) - between, outside)
        for identifier in every_item(store):
            holding = house.book.show(identifier).holding
            if not holding.mass_mg:
                continue
            back = house.book.trace_back(identifier, "mass")
            for origin in back.origins:
                assert origin.share == pytest.approx(solved[place[holding.state], column[origin.line]], abs=1e-9)
            for part in back.items:
                forward = house.book.trace_forward(part.item.id, "mass")
                (here,) = [other for other in forward.items if other.item.id == identifier]
                assert here.share_now == pytest.approx(part.share, abs=1e-9)


@pytest.mark.parametrize("seed", range(max(1, ROUNDS // 5)))
def test_what_is_refused_changes_nothing(seed):
    """Two hundred operations, each refusal with all tables before and after."""
    from random_books import Chance

    house, _ = built([])
    with house:
        chance = Chance(house, opened=True)
        refused = 0
        for operation, slot in random_operations(Random(2_000_000 + seed), 200):
            before = house.dump_tables()
            if isinstance(chance.record(operation, slot), PourbookError):
                refused += 1
                assert house.dump_tables() == before
        assert refused
        assert house.book.verify().faults == ()
