"""Options and fixtures that tests share."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest

CASES = Path(__file__).parent / "cases"


def pytest_xdist_auto_num_workers() -> int:
    """One more than there are processors: tests in the browser wait half of their time."""
    return (os.cpu_count() or 1) + 1


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--update", action="store_true", help="write what was found as what is expected")


@pytest.fixture
def update(request: pytest.FixtureRequest) -> bool:
    """Whether golden files are to be written instead of compared."""
    return bool(request.config.getoption("--update"))


@pytest.fixture
def tiny(tmp_path: Path) -> Path:
    """A fresh copy of the tiny valid curriculum, to be changed at will."""
    return Path(shutil.copytree(CASES / "base" / "curriculum", tmp_path / "curriculum"))
