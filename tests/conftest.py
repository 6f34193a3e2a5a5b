"""Fixtures shared by all tests: a clock that stands still, and an empty book of Quillmere."""

import os
import sys
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

sys.path.insert(0, str(Path(__file__).parent))

_QUIET = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.data_too_large]}
settings.register_profile("quick", max_examples=30, derandomize=True, **_QUIET)
settings.register_profile("campaign", max_examples=1000, **_QUIET)
settings.load_profile(os.environ.get("POURBOOK_TESTS", "quick"))


def pytest_addoption(parser):
    """`--update-golden` writes the golden files anew; read the difference before keeping it."""
    parser.addoption("--update-golden", action="store_true", help="write golden files anew")


@pytest.fixture
def clock():
    """A clock that moves only when it is told to."""
    from house import Clock

    return Clock()


@pytest.fixture
def house():
    """Quillmere's empty book, spoken to in the trade's language."""
    from house import House

    with House() as empty:
        yield empty
