"""A small book on a server, and stations that record in it whatever happens to the server."""

import os
import signal
import struct
import time
import warnings
from random import Random
from typing import NamedTuple

from house import House, new_make
from servers import schema_of

from pourbook.errors import StoreError

GRAM_MG = 1000
DRAWN_MG = 3
"""Each draw of a station."""


def small_book(address, casks=1):
    """A book of so many casks of 10 kg, each with a vial that was drawn once; the short names of its items."""
    with House(address) as house:
        for number in range(1, casks + 1):
            house.cask(f"C{number}", liquid=new_make(10_000_000), at="2020-01-01")
            house.draw(f"C{number}", f"V{number}", GRAM_MG, at="2020-02-01")
        house.pour("C1", "B1", 5 * GRAM_MG, at="2020-03-01")
        return house.ids


def through(line, server, address):
    """The address of the same book by way of a line that can be cut."""
    return server.address(schema=schema_of(address), port=line.port)


def entries(address, ids):
    """How many entries there are, in a book that is as its journal says."""
    with House.reopened(address, ids) as house:
        assert house.book.verify().faults == ()
        return house.book.head_number()


class Said(NamedTuple):
    """What a station says in the end: draws that it was told were recorded, and those that failed."""

    done: int
    failed: int
    retries: int


class Station:
    """A process that draws from its own cask again and again, and goes on when it was refused.

    Args:
        address: of the book.
        ids: short names of its items.
        number: of its cask and its vial.
        pause_s: between a refusal and the next try.
    """

    def __init__(self, address, ids, number, pause_s=0.05):
        reading, writing = os.pipe()
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)  # forking is what is meant here
            self._process = os.fork()
        if self._process == 0:
            try:
                os.close(reading)
                self._draw(address, ids, number, pause_s, writing)
            finally:
                os._exit(1)
        os.close(writing)
        self._reading = reading

    @staticmethod
    def _draw(address, ids, number, pause_s, writing):
        is_over = []
        signal.signal(signal.SIGTERM, lambda *_: is_over.append(True))
        done = failed = retries = 0
        house = None
        while not is_over:
            try:
                house = house or House.reopened(address, ids)
                house.draw(f"C{number}", f"V{number}", DRAWN_MG, at="2021-01-01")
                done += 1
            except StoreError:
                failed += 1
                time.sleep(pause_s)
            retries = house.book.store.retries if house else 0
        os.write(writing, struct.pack("<III", done, failed, retries))
        os._exit(0)

    def ends(self):
        """Let it finish what it does; what it says."""
        os.kill(self._process, signal.SIGTERM)
        _, status = os.waitpid(self._process, 0)
        said = os.read(self._reading, 12)
        os.close(self._reading)
        assert status == 0, "the station failed on something that is no refusal"
        return Said(*struct.unpack("<III", said))


def drawn(address, ids, number):
    """How often a station's draws are in the book."""
    with House.reopened(address, ids) as house:
        return (house.held(f"V{number}").mass_mg - GRAM_MG) // DRAWN_MG


def pauses(seed, count, least=0.1, most=1.0):
    """Random times between two failures of the server."""
    random = Random(seed)
    return [random.uniform(least, most) for _ in range(count)]
