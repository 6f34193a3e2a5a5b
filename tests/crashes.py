"""Ways to die while writing: a child process that is killed, without a chance to tidy up."""

import os
import signal
import struct
import time
import warnings

from house import House

from pourbook import Facts, Gauge, Item, Note, Pour, Void


def in_a_child(act):
    """Run something in a forked process and wait for its end; False if it was killed."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # forking is what is meant here
        child = os.fork()
    if child == 0:
        try:
            act()
        finally:
            os._exit(0)
    _, status = os.waitpid(child, 0)
    return not os.WIFSIGNALED(status)


def die():
    """As if the plug were pulled on the process."""
    os.kill(os.getpid(), signal.SIGKILL)


def kill_at_statement(number, path, ids, act):
    """Open the book, act, and be killed just before that statement, or before closing."""

    def child():
        with House.reopened(path, ids) as house:
            left = number

            def count(_statement):
                nonlocal left
                left -= 1
                if left == 0:
                    die()

            house.book.store.connection.set_trace_callback(count)
            act(house)
            die()  # committed, but never closed

    assert not in_a_child(child), "the child was not killed: what it did was refused"


def kill_after(seconds, path, ids, act):
    """Let a child act again and again; kill it after so long; how many times it had said that it was done."""
    child = acting(path, ids, act)
    time.sleep(seconds)
    return killed(child)


def acting(path, ids, act):
    """A child that acts again and again, to be `killed`."""
    reading, writing = os.pipe()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child == 0:
        try:
            with House.reopened(path, ids) as house:
                done = 0
                while True:
                    act(house, done)
                    done += 1
                    os.write(writing, struct.pack("<I", done))
        finally:
            os._exit(0)
    os.close(writing)
    return child, reading


def killed(child):
    """Kill a child that acts; how many times it had said that it was done."""
    process, reading = child
    os.kill(process, signal.SIGKILL)
    _, status = os.waitpid(process, 0)
    said = os.read(reading, 1 << 20)
    os.close(reading)
    assert os.WIFSIGNALED(status), "the child was not killed: what it did was refused"
    return struct.unpack("<I", said[-4:])[0] if said else 0


def everything_at_once(house):
    """One recording of every kind of change: openings, facts, back-dated pours, a void, a gauge."""
    (number,) = house.book.store.query("SELECT max(number) FROM entry WHERE kind = 'pour' AND gone = 0")[0]
    new = house.book.next_id("vial")
    drafts = house.drafts(
        Item(new, {"ref": "killed"}),
        Facts(house.id("C1"), {"place": "Row 4"}),
        Note(house.id("C1"), "x"),
        Pour("draw", (house.move("C1", "B1", 700),)),
        at="2020-01-15",
    )
    leaked = Gauge(house.id("C1"), 90_000, None, facts={"disposition": "leak"})
    drafts += house.drafts(leaked, at="2020-04-01", confirmed=True)
    drafts += house.drafts(Void(number), at="2020-05-01", reason="not poured")
    house.book.record(*drafts)
