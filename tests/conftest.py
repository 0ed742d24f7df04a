"""What all tests share."""

from __future__ import annotations

import functools
import os
from pathlib import Path

import pytest
from hypothesis import settings

from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial
from reportgen.trial import Trial

ROOT = Path(__file__).resolve().parent.parent
SAMPLES = ROOT / "sample_trials"

# The same examples on every run and machine; how long one takes is no property under test.
settings.register_profile("project", derandomize=True, deadline=None, max_examples=50)
settings.load_profile("project")


def sample_folders() -> list[Path]:
    """Return the sample trials."""
    return sorted(path.parent for path in SAMPLES.glob("*/trial.toml"))


@functools.cache
def computed_sample(name: str) -> tuple[Trial, Results]:
    """Return a sample trial and its results; they are read and computed once."""
    trial = read_trial(SAMPLES / name)
    return trial, compute(trial)


@pytest.fixture
def real_logs() -> Path:
    """Return the folder of real logs by other people, or skip where it is not at hand."""
    folder = os.environ.get("REPORTGEN_REAL_LOGS")
    if not folder:
        pytest.skip("REPORTGEN_REAL_LOGS names no folder of real logs")
    return Path(folder)
