"""Trials written for one test and read back."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from reportgen.read.folder import read_trial
from reportgen.trial import Trial

TrialOf = Callable[..., Trial]


def write(folder: Path, sheet: str | bytes, logs: Mapping[str, str | bytes]) -> None:
    """Write a trial folder; a file is named by its name in the folder."""
    for name, text in {"trial.toml": sheet, **logs}.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(text.encode() if isinstance(text, str) else text)


@pytest.fixture(scope="session")
def trial_of() -> TrialOf:
    """Return a function that reads a trial of a sheet (without its title) and the logs given by name."""

    def read(sheet: str = "", logs: Mapping[str, str | bytes] | None = None, **named: str | bytes) -> Trial:
        with tempfile.TemporaryDirectory() as name:
            files = {**(logs or {}), **{f"{stem}.csv": text for stem, text in named.items()}}
            write(Path(name), f'title = "A trial"\n{sheet}', files)
            return read_trial(Path(name))

    return read
