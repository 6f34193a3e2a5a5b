"""Shares kept for speed, in random books that are corrected as often as they are added to.

`POURBOOK_ROUNDS` sets how many hundred books; a failure names its seed.
"""

import os
from random import Random

import pytest
from house import House
from random_books import ITEMS, START_US, STEP_US, Chance, random_operations

from pourbook.book import compositions
from pourbook.errors import Refused

ROUNDS = int(os.environ.get("POURBOOK_ROUNDS", "20"))


@pytest.mark.parametrize("hundred", range(ROUNDS))
def test_no_kept_row_outlives_a_correction(hundred, monkeypatch):
    """Every question is kept; after every entry and every question each row is worked out again."""
    monkeypatch.setattr(compositions, "_MOST_ROWS", 1_000_000)
    for seed in range(hundred * 100, hundred * 100 + 100):
        random = Random(seed)
        with House() as house:
            chance = Chance(house)
            for operation, slot in random_operations(random, random.choice((8, 14, 25))):
                chance.record(operation, slot)
                asked = house.id(random.choice(ITEMS)), random.choice(("alcohol", "mass", "volume"))
                try:
                    house.book.shares(*asked, random.choice((None, None, START_US + random.randint(0, 40) * STEP_US)))
                except Refused:
                    continue
                assert list(compositions.differing(house.book.store)) == [], f"seed {seed}"
