"""A byte changed in every page of the file, schema pages included: told in a sentence, or nothing was lost.

`POURBOOK_ROUNDS` sets how many bytes of each page, one at a time; a failure names the round, the page and the byte.
"""

import os
import shlex
from random import Random

import pytest
from command import here
from eventful import eventful_book
from house import House

from pourbook.errors import StoreError

ROUNDS = int(os.environ.get("POURBOOK_ROUNDS", "100"))
PAGE = 4096
ASKED = ("show {C1}", "stock", "trace {B1}", "trace {C1} --forward", "journal", "affected {C1}", "journal-hash")
WRITTEN = ("draw {C1} '10 ml' --confirm", "gauge {B1} --amount '1 l' --confirm", "void 9 --reason slip --confirm")


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    """The bytes of the eventful book, its names, and all its rows; shares are kept in it."""
    path = tmp_path_factory.mktemp("whole") / "whole.pourbook"
    with eventful_book(path) as house:
        house.book.shares(house.id("B1"))
        ids, rows = dict(house.ids), house.dump_tables()
    return path.read_bytes(), ids, rows


def lies(path, ids, rows):
    """Whether the file verifies and yet holds other rows."""
    try:
        with House.reopened(path, ids) as house:
            return house.book.verify().faults == () and house.dump_tables() != rows
    except StoreError as error:
        return not (error.message and error.remedy)


@pytest.mark.parametrize("round_", range(ROUNDS))
def test_a_changed_byte_in_any_page(whole, tmp_path, round_):
    """Found by verification; every verb answers or refuses; a repair that is done gives the old book."""
    content, ids, rows = whole
    random, path = Random(round_), tmp_path / "flipped.pourbook"
    for page in range(len(content) // PAGE):
        # Most of a page is empty; its first bytes and its last say what is where.
        place = page * PAGE + random.choice(
            (random.randrange(PAGE), random.randrange(120), PAGE - random.randrange(1, 900))
        )
        flipped = bytearray(content)
        flipped[place] ^= 1 << random.randrange(8)
        what = f"round {round_}, byte {place % PAGE} of page {page}"
        for verbs in (ASKED, WRITTEN, ("repair",)):
            for companion in tmp_path.glob("flipped.*"):
                companion.unlink()
            path.write_bytes(flipped)
            assert not lies(path, ids, rows), what
            verb = random.choice(verbs)
            ran = here(*(word.format(**ids) for word in shlex.split(verb)), book=path)
            assert "itself failed" not in ran.err, f"{what}: {verb}: {ran.err}"
            assert ran.status in (0, 1), f"{what}: {verb}: {ran.err}"
        if ran.status == 0:
            assert not lies(path, ids, rows), f"{what}: repaired"
