"""A line that is cut, a server that is killed, a disk that is full, sixteen writers: `pytest tests/campaigns`."""

import os
import re
import signal
import subprocess
import tempfile
import time
from contextlib import contextmanager
from itertools import count
from pathlib import Path

import pytest
from crashes import everything_at_once
from cut_line import CutLine
from house import HOW, House
from on_a_server import Station, drawn, entries, pauses, small_book, through
from servers import GivenServer, Server, schema_of

from pourbook import Book, Note
from pourbook.actions.importing import import_history
from pourbook.errors import StoreError

ROUNDS = int(os.environ.get("POURBOOK_ROUNDS", "100"))


@pytest.mark.parametrize("answered", [False, True], ids=["never-arrived", "answer-lost"])
def test_a_line_cut_in_every_statement_of_a_recording(server, postgres, answered):
    """From opening the book to closing it: what was said to be recorded is there, what was refused is not."""
    ids = small_book(postgres)

    def record(address):
        with House.reopened(address, ids) as house:
            everything_at_once(house)

    assert cut_in_every_statement(server, postgres, ids, record, answered) > 8, "hardly any statement was cut"


def cut_in_every_statement(server, address, ids, act, answered):
    """Act with the line cut in each statement in turn (in some, in a small campaign); how often that was refused."""
    refused, entries_before = 0, entries(address, ids)
    with CutLine(server.port) as line:
        for number in count(1, max(1, 56 // ROUNDS)):
            line.cut_at(number, answered=answered)
            try:
                act(through(line, server, address))
                is_kept = True
            except StoreError:
                is_kept = False
                refused += 1
            after = entries(address, ids)
            assert (after > entries_before) == is_kept, f"cut in statement {number}"
            entries_before = after
            if not line.was_cut:
                assert is_kept, "nothing was cut, and it was refused all the same"
                return refused
    raise AssertionError("it never came to an end")


def test_a_station_lives_on_after_its_line_was_cut(server, postgres):
    """A store that is open for weeks connects anew at its next use."""
    ids = small_book(postgres)
    with CutLine(server.port) as line, House.reopened(through(line, server, postgres), ids) as house:
        house.draw("C1", "V1", 3, at="2021-01-01")
        line.is_down = True
        line.cut_all()
        for _ in range(2):
            with pytest.raises(StoreError):
                house.draw("C1", "V1", 3, at="2021-01-02")
        line.is_down = False
        house.draw("C1", "V1", 3, at="2021-01-03")
    assert drawn(postgres, ids, 1) == 2


@pytest.mark.parametrize("seed", range(ROUNDS // 4 or 1))
def test_a_server_killed_and_started_again_and_again(own_server, seed):
    """Nothing that was said to be recorded is lost, and nothing is there twice."""
    address, stations = own_server.fresh(), 4
    ids = small_book(address, stations)
    running = [Station(address, ids, number) for number in range(1, stations + 1)]
    for pause in pauses(seed, 3):
        time.sleep(pause)
        own_server.kill()
        own_server.start()
    time.sleep(0.5)
    for number, station in enumerate(running, 1):
        said = station.ends()
        assert said.done <= drawn(address, ids, number) <= said.done + said.failed, said
    entries(address, ids)


def history(folder, casks):
    """Files of casks that are filled and drawn from five times."""
    names = [f"Row {number}" for number in range(casks)]
    pours = [f"origin,{name},200,l,63,2015-01-01 08:00,M. Aldane" for name in names]
    vials = [f"{name}/{year}" for name in names for year in range(2016, 2021)]
    pours += [f"{vial.split('/')[0]},{vial},100,ml,,{vial.split('/')[1]}-01-01 08:00,M. Aldane" for vial in vials]
    items = [f"{name},cask" for name in names] + [f"{vial},vial" for vial in vials]
    (folder / "items.csv").write_text("\n".join(["ref,kind", *items]))
    (folder / "pours.csv").write_text("\n".join(["source,target,quantity,unit,strength,happened,by", *pours]))


@pytest.mark.parametrize("answered", [False, True], ids=["never-arrived", "answer-lost"])
def test_an_import_cut_in_every_statement(server, postgres, tmp_path, answered):
    """A bulk load is there as a whole or not at all."""
    history(tmp_path, 4)
    ids = small_book(postgres)

    def take_in(address):
        with Book.open(address) as book:
            import_history(book, HOW, tmp_path, again=True)

    assert cut_in_every_statement(server, postgres, ids, take_in, answered) > 2, "hardly any statement was cut"


@contextmanager
def small_disk(size):
    """A folder on a disk of that size: `mount` is the superuser's."""
    folder = tempfile.mkdtemp(prefix="pourbook-disk-")
    mounted = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", f"size={size},mode=0777", "none", folder], capture_output=True, text=True
    )
    try:
        if mounted.returncode:
            pytest.skip(f"only the superuser mounts a small disk: {mounted.stderr.strip()}")
        yield Path(folder)
    finally:
        if not mounted.returncode:
            subprocess.run(["umount", "-l", folder], check=True)
        os.rmdir(folder)


def filled_up(address, ids, most=200):
    """How many recordings of fifty notes were kept before the disk was full, and how that was told."""
    with House.reopened(address, ids) as house:
        for written in range(most):
            try:
                house.record(*(Note(ids["C1"], "x" * 1000) for _ in range(50)))
            except StoreError as refusal:
                return written, refusal
    raise AssertionError("the disk was never full")


def test_a_server_whose_tables_have_no_room_left(own_server):
    """One clear refusal and the book as it was; once there is room, it goes on."""
    with small_disk("3m") as disk:
        place = disk / "tables"
        place.mkdir(mode=0o777)
        os.chmod(place, 0o777)
        os.chown(place, *own_server.owner)
        own_server.does(f"CREATE TABLESPACE small LOCATION '{place}'")
        address = own_server.fresh()
        ids = small_book(address)
        schema, before = schema_of(address), entries(address, ids)
        own_server.does(f'ALTER TABLE "{schema}".entry SET TABLESPACE small')
        written, refusal = filled_up(address, ids)
        assert re.search("full|room|space", str(refusal)), refusal
        assert written > 1
        assert entries(address, ids) == before + 50 * written
        own_server.does(f'ALTER TABLE "{schema}".entry SET TABLESPACE pg_default')
        with House.reopened(address, ids) as house:
            house.draw("C1", "V1", 3, at="2021-01-01")
        own_server.does("DROP TABLESPACE small")


@pytest.mark.skipif(ROUNDS < 20, reason="takes two minutes, most of them waiting for the server: POURBOOK_ROUNDS=20")
def test_a_server_that_has_no_room_for_its_log(server):
    """It stops in the middle, as PostgreSQL does then; with more room it starts, and what was told is there."""
    with small_disk("80m") as disk:
        if isinstance(server, GivenServer):
            pytest.skip("a server that was given is not ours to fill")
        full = Server(disk, "min_wal_size=32MB", "max_wal_size=32MB", "checkpoint_timeout=1h")
        try:
            address = full.fresh()
            ids = small_book(address)
            before = entries(address, ids)
            written, refusal = filled_up(address, ids, 5000)
            subprocess.run(["mount", "-o", "remount,size=400m", disk], check=True)
            full.stop(signal.SIGQUIT)
            full.start()
            assert written > 1
            kept = (entries(address, ids) - before) // 50
            assert kept == written or "may have been recorded" in str(refusal), (kept, written, refusal)
            assert kept in (written, written + 1)
        finally:
            full.stop(signal.SIGQUIT)


def test_sixteen_writers(server, postgres):
    """One chain, nothing lost, nothing twice; what was begun again is counted."""
    ids = small_book(postgres, 16)
    running = [Station(postgres, ids, number) for number in range(1, 17)]
    time.sleep(min(20, ROUNDS / 4))
    said = [station.ends() for station in running]
    assert [one.failed for one in said] == [0] * 16
    assert [drawn(postgres, ids, number) for number in range(1, 17)] == [one.done for one in said]
    assert sum(one.done for one in said) > 16
    entries(postgres, ids)
