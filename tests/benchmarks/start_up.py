"""How long a scan waits: `pourbook show` and `pourbook trace` as cold processes, beside a bare script.

The peer is a click script that opens the same book and asks SQLite one question; nothing that reads a
book can do with less. Runs take turns, so that a busy machine is busy for all; ratios are what counts.

    python tests/benchmarks/start_up.py [--runs 25] [--breakdown]
"""

import argparse
import os
import re
import resource
import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1]))

from house import House

AIM = 1.5

BARE = """
import sqlite3
import click

@click.command()
@click.option("--book", "path")
@click.argument("item")
def show(path, item):
    connection = sqlite3.connect(path)
    last = "SELECT max(key) FROM item"
    question = f"SELECT mass, ethanol FROM ledger WHERE item = ({last}) ORDER BY happened DESC LIMIT 1"
    rows = connection.execute(question).fetchall()
    click.echo(f"{item} {rows[0]}")

show()
"""


def small_book(path):
    """Two casks, two samples, a trial, a batch and a lot."""
    with House(path) as house:
        house.open("C1", at="2016-01-01", ref="Row 3/12", wood="virgin chestnut")
        house.cask("C1", "200 l", "63.5", at="2016-01-01", spirit="malt spirit", wood_days=0)
        house.cask("C2", "180 l", "58.2", at="2018-01-01", spirit="grain spirit", wood_days=0)
        for vial, cask in (("V1", "C1"), ("V2", "C2")):
            house.draw(cask, vial, "500 ml", at="2024-01-02")
            house.pour(vial, "T1", "50 ml")
        house.pour("C1", "B1", "60 l")
        house.pour("C2", "B1", "40 l")
        house.water("B1", "20 l")
        house.pour("B1", "L1", "70 l", verb="bottle", bottles=100)
        return house.ids


def measured(command, environment):
    """Wall and processor time of one cold process, in ms."""
    start, before = time.perf_counter(), resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, env=environment, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    wall, after = time.perf_counter() - start, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall * 1000, (after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime) * 1000


def compare(commands, runs, environment):
    """Each command by turns; name to median wall and processor time."""
    times = {name: [] for name in commands}
    for turn in range(runs + 2):
        for name, command in commands.items():
            found = measured(command, environment)
            if turn > 1:  # the first turns compile and warm the cache of the disk
                times[name].append(found)
    return {name: [statistics.median(column) for column in zip(*found, strict=True)] for name, found in times.items()}


def breakdown(command, environment, times=9):
    """Own import time of every module, the least of several runs, in ms: by group, and one by one."""
    least = {}
    for _ in range(times):
        said = subprocess.run(
            [command[0], "-X", "importtime", *command[1:]], env=environment, check=True, capture_output=True, text=True
        ).stderr
        for own, name in re.findall(r"import time:\s+(\d+) \|\s+\d+ \|\s+(\S+)", said):
            least[name] = min(least.get(name, 1e9), int(own) / 1000)
    groups = {}
    for name, own in least.items():
        group = ".".join(name.split(".")[:2]) if name.startswith("pourbook.") else name.partition(".")[0]
        group = group if name.partition(".")[0] in ("pourbook", "click") else "Python's own"
        groups[group] = groups.get(group, 0) + own
    return sorted(groups.items(), key=lambda row: -row[1]), sorted(least.items(), key=lambda row: -row[1])


def main():
    """Measure and print."""
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("--runs", type=int, default=25)
    options.add_argument("--breakdown", action="store_true", help="own import time, by group and by module")
    chosen = options.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "quillmere.pourbook"
        ids = small_book(book)
        bare = Path(folder) / "bare.py"
        bare.write_text(BARE, "utf-8")
        # Compiled once and kept, as an installation does, whatever the shell says of it.
        environment = {name: value for name, value in os.environ.items() if not name.startswith("POURBOOK_")}
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
        environment["PYTHONPYCACHEPREFIX"] = folder
        pourbook = [sys.executable, "-m", "pourbook", "--book", str(book)]
        commands = {
            "python alone": [sys.executable, "-c", ""],
            "bare click, one query": [sys.executable, str(bare), "--book", str(book), ids["L1"]],
            "pourbook --help": [sys.executable, "-m", "pourbook", "--help"],
            "pourbook show": [*pourbook, "show", ids["L1"]],
            "pourbook trace": [*pourbook, "trace", ids["L1"]],
        }
        found = compare(commands, chosen.runs, environment)
        peer = found["bare click, one query"]
        print(f"{'':24}{'wall ms':>9}{'ratio':>7}{'cpu ms':>9}{'ratio':>7}")
        for name, (wall, cpu) in found.items():
            print(f"{name:24}{wall:9.1f}{wall / peer[0]:7.2f}{cpu:9.1f}{cpu / peer[1]:7.2f}")
        print(f"aim: show and trace below {AIM} times the bare script")
        if chosen.breakdown:
            for name in ("bare click, one query", "pourbook trace"):
                groups, modules = breakdown(commands[name], environment)
                print(f"\n{name}: own import time in ms")
                for group, own in groups:
                    print(f"{own:8.2f}  {group}")
                print("  the slowest modules: " + ", ".join(f"{module} {own:.1f}" for module, own in modules[:24]))


if __name__ == "__main__":
    main()
