"""Killed, filled up and fought over, again and again: `pytest tests/campaigns`."""

import os
import resource
import shutil
import signal
import warnings
from random import Random

import pytest
from crashes import acting, everything_at_once, kill_after, kill_at_statement, killed
from house import House, in_folder, new_make

from pourbook import Item, Note, Pour
from pourbook.actions.happening import Happening
from pourbook.actions.importing import import_history
from pourbook.errors import StoreError

ROUNDS = int(os.environ.get("POURBOOK_ROUNDS", "100"))


@pytest.fixture
def kept(tmp_path):
    """C1 drawn for some days into V1, then poured into B1; closed."""
    with in_folder(tmp_path) as house:
        house.cask("C1", liquid=new_make(10_000_000), at="2020-01-01")
        for day in range(1, 9):
            house.draw("C1", "V1", 1000, at=f"2020-02-0{day}")
        house.pour("C1", "B1", 5000, at="2020-03-01")
    return tmp_path / "quillmere.pourbook", house.ids


def tables(path, ids):
    """All rows, of a book that verifies."""
    with House.reopened(path, ids) as house:
        assert house.book.verify().faults == ()
        return house.dump_tables()


def test_killed_before_every_single_statement(kept, tmp_path):
    """All of the recording or nothing of it, whichever statement was the last."""
    path, ids = kept
    before = tables(path, ids)
    seen = []
    for number in range(1, 400):
        victim = tmp_path / "victim.pourbook"
        for leftover in tmp_path.glob("victim.*"):
            leftover.unlink()
        shutil.copy(path, victim)
        kill_at_statement(number, victim, ids, everything_at_once)
        seen.append(tables(victim, ids) == before)
        if not seen[-1]:
            break
    assert seen.count(False) == 1
    assert len(seen) > 30


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_killed_at_any_moment(kept, seed):
    """Nothing acknowledged is lost, and at most one more recording is there, whole."""
    path, ids = kept
    held = 10_000_000 - 8 * 1000 - 5000

    def draw(house, _):
        house.draw("C1", "V1", 3, at="2021-01-01")

    done = kill_after(Random(seed).uniform(0.005, 0.3), path, ids, draw)
    with House.reopened(path, ids) as house:
        assert house.book.verify().faults == ()
        assert (held - house.held("C1").mass_mg) // 3 in (done, done + 1)


def limited(limit, path, ids):
    """Record in a child whose files cannot grow beyond so many bytes; its exit status."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        child = os.fork()
    if child == 0:
        status = 3
        try:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
            with House.reopened(path, ids) as house:
                house.record(*(Note(ids["C1"], "x" * 100) for _ in range(200)))
            status = 0
        except StoreError:
            status = 1
        finally:
            os._exit(status)
    return os.waitstatus_to_exitcode(os.waitpid(child, 0)[1])


def test_a_file_that_cannot_grow_any_more(kept, tmp_path):
    """At any size at which the disk may be full: one clear refusal and the old book, or the new one."""
    path, ids = kept
    before = tables(path, ids)
    statuses = set()
    for limit in range(0, 400_000, 4096 * 3 + 512):
        victim = tmp_path / "full.pourbook"
        for leftover in tmp_path.glob("full.*"):
            leftover.unlink()
        shutil.copy(path, victim)
        status = limited(limit, victim, ids)
        statuses.add(status)
        assert status in (0, 1), limit
        assert (tables(victim, ids) == before) == (status == 1), limit
    assert statuses == {0, 1}


def test_four_stations_at_once(kept):
    """Processes of which one is killed: every acknowledged draw is there, one chain, no fault."""
    path, ids = kept
    with House.reopened(path, ids) as house:
        house.open("V2", "V3", "V4", at="2020-01-01")
        ids = dict(house.ids)
    children = []
    for vial in ("V1", "V2", "V3", "V4"):
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", DeprecationWarning)
            child = os.fork()
        if child == 0:
            try:
                with House.reopened(path, ids) as house:
                    for _ in range(100):
                        house.draw("C1", vial, 10, at="2021-01-01")
                os._exit(0)
            finally:
                os._exit(1)
        children.append(child)
    os.kill(children[3], signal.SIGKILL)
    endings = [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children]
    assert endings == [0, 0, 0, -signal.SIGKILL]
    with House.reopened(path, ids) as house:
        assert [house.held(vial).mass_mg for vial in ("V2", "V3")] == [1000, 1000]
        assert house.book.verify().faults == ()


def history(folder):
    """Files of ten casks, each filled and drawn from five times."""
    casks = [f"Row {number}" for number in range(10)]
    pours = [f"origin,{cask},200,l,63,2015-01-01 08:00,M. Aldane" for cask in casks]
    vials = [f"{cask}/{year}" for cask in casks for year in range(2016, 2021)]
    pours += [f"{vial.split('/')[0]},{vial},100,ml,,{vial.split('/')[1]}-01-01 08:00,M. Aldane" for vial in vials]
    items = [f"{cask},cask" for cask in casks] + [f"{vial},vial" for vial in vials]
    (folder / "items.csv").write_text("\n".join(["ref,kind", *items]))
    (folder / "pours.csv").write_text("\n".join(["source,target,quantity,unit,strength,happened,by", *pours]))


@pytest.mark.parametrize("seed", range(ROUNDS))
def test_imports_killed_at_any_moment_while_another_draws(kept, tmp_path, seed):
    """Each import is there as a whole or not at all, and no draw is lost."""
    path, ids = kept
    files = tmp_path / "files"
    files.mkdir()
    history(files)

    def draw(house, _):
        new = house.book.next_id("vial")
        moves = (house.move("C1", "V1", 3),)
        house.record(Item(new, {}), Pour("draw", moves), at="2021-01-01")

    def take_in(house, _):
        import_history(house.book, Happening("M. Aldane"), files, again=True)

    random = Random(seed)
    station = acting(path, ids, draw)
    imports = kill_after(random.uniform(0.05, 1.5), path, ids, take_in)
    draws = killed(station)
    with House.reopened(path, ids) as house:
        assert house.book.verify().faults == ()
        count = dict(house.book.store.query("SELECT kind, count(*) FROM entry GROUP BY kind"))
        assert count.get("imported", 0) in (imports, imports + 1)
        assert house.book.store.query("SELECT count(*) FROM item WHERE kind = 'cask'") == [
            (1 + 10 * count.get("imported", 0),)
        ]
        assert (10_000_000 - 8 * 1000 - 5000 - house.held("C1").mass_mg) // 3 in (draws, draws + 1)
    # One folder may be left: of a copy that was just being made.
    assert len([entry.name for entry in tmp_path.iterdir() if entry.name.startswith(".")]) <= 1
