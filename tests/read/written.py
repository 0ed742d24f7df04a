"""Trials written for one test and read back."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from pathlib import Path

from reportgen.read.folder import read_trial
from reportgen.trial import Trial


def write(folder: Path, sheet: str, logs: Mapping[str, str | bytes]) -> None:
    """Write a trial folder; a file is named by its name in the folder."""
    for name, text in {"trial.toml": sheet, **logs}.items():
        (folder / name).write_bytes(text.encode() if isinstance(text, str) else text)


def trial_of(sheet: str = "", logs: Mapping[str, str | bytes] | None = None, **named: str | bytes) -> Trial:
    """Return the trial of a sheet (without its title) and of logs given by file name, or by stem of a `.csv`.

    A sheet that says nothing of a zone is given UTC.
    """
    zone = "" if "time_zone" in sheet else 'time_zone = "UTC"\n'
    with tempfile.TemporaryDirectory() as name:
        files = {**(logs or {}), **{f"{stem}.csv": text for stem, text in named.items()}}
        write(Path(name), f'title = "A trial"\n{zone}{sheet}', files)
        return read_trial(Path(name))
