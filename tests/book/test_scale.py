"""The measurement of both stores runs as one command, compares what they answer, and goes on where it was."""

import json
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "benchmarks"))
import scale
import servers
from stations import IS_COMPLETE, IS_THOROUGH

POURS = 10_000 if IS_COMPLETE else 600


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    """A run on a small house, and the folder that it was told in."""
    folder = tmp_path_factory.mktemp("scale")
    with servers.the_server() as server, pytest.MonkeyPatch.context() as patch:
        if not IS_THOROUGH:
            patch.setattr(scale, "run", in_this_process)
        scale.main([str(POURS), "--folder", str(folder), "--asked", "4", "--server", server.address()])
        yield folder, server


def in_this_process(step, address, asked, other, _):
    """A step without a process of its own, which takes longer to begin than the step."""
    return scale.STEPS[step](str(address), asked, str(other)) | {"s": 1.0, "used_s": 1.0, "peak_mb": 1.0}


def test_every_step_is_measured_in_both_stores(run):
    folder, _ = run
    (told,) = folder.glob("scale-*.json")
    steps = json.loads(told.read_text())[str(POURS)]
    assert set(steps) == set(scale.STEPS)
    for step in set(scale.STEPS) - {"import", "move"}:
        assert set(steps[step]) == {"sqlite", "postgres"}, step
    assert steps["move"]["postgres"]["head"] == steps["import"]["sqlite"]["head"]
    assert steps["record one pour"]["postgres"]["statements"] > 1
    (table,) = folder.glob("scale-*.md")
    assert all(f"| {step} |" in table.read_text() for step in scale.STEPS)


def test_a_run_goes_on_where_it_was(run, monkeypatch):
    """No step is done again; one whose result is missing is."""
    folder, server = run
    done = []
    monkeypatch.setattr(scale, "run", lambda step, *_: done.append(step) or known[f"{POURS} sqlite {step}"])
    results = folder / "results.json"
    before = results.read_text()
    known = json.loads(before)
    words = [str(POURS), "--folder", str(folder), "--asked", "4", "--server", server.address()]
    scale.main(words)
    assert done == []
    results.write_text(json.dumps({key: found for key, found in known.items() if key != f"{POURS} sqlite show"}))
    scale.main(words)
    assert done == ["show"]
    results.write_text(before)


def test_stores_that_differ_are_told():
    """Shares to 1e-9 of themselves, heads exactly."""
    head = {"sqlite": {"head": "a"}, "postgres": {"head": "a"}}
    same = {"move": head, "verify": head, "trace": {"sqlite": {"answers": [3, 0.5]}, "postgres": {"answers": [3, 0.5]}}}
    scale.compare(same)
    for other in ([3, 0.5 + 1e-8], [3], [4, 0.5]):
        with pytest.raises(AssertionError):
            scale.compare(same | {"trace": {"sqlite": {"answers": [3, 0.5]}, "postgres": {"answers": other}}})
    with pytest.raises(AssertionError):
        scale.compare(same | {"verify": {"sqlite": {"head": "a"}, "postgres": {"head": "b"}}})
