"""Results files of earlier runs, which replace published bands where they are given."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportgen.errors import TrialFileError
from reportgen.message import printable

#: A results file is smaller than this [bytes] (ours).
LARGEST_FILE = 20_000_000
#: No figure of a trial is smaller or larger than these, in its unit (ours).
SMALLEST, LARGEST = 1e-6, 1e9
#: Name of the file inside the folder of a report.
RESULTS_NAME = "results.json"
FORMAT = "trial-results"


@dataclass(frozen=True)
class PastRun:
    """An earlier run: its name, and the figures its results file gives, by key, each a positive or negative number."""

    name: str
    figures: Mapping[str, float]


def read_past(paths: Sequence[Path]) -> tuple[PastRun, ...]:
    """Read results files; a folder stands for the results file in it, and a file named twice counts once.

    Raises
    ------
    TrialFileError
        If one cannot be read or is no results file.
    """
    files = [path / RESULTS_NAME if path.is_dir() else path for path in paths]
    return tuple(_run(path) for path in {path.resolve(): path for path in files}.values())


def seen(past: Sequence[PastRun], key: str) -> list[float]:
    """Return the positive values that earlier runs give of a figure."""
    return [run.figures[key] for run in past if run.figures.get(key, 0.0) > 0.0]


def _run(path: Path) -> PastRun:
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise _refusal(path, f"it cannot be opened ({error.strerror or error})") from error
    try:
        document = json.loads(data) if len(data) <= LARGEST_FILE else None
    except (ValueError, RecursionError) as error:
        raise _refusal(path, "it is no JSON") from error
    results = document.get("results") if isinstance(document, dict) else None
    if not isinstance(document, dict) or document.get("format") != FORMAT or not isinstance(results, dict):
        raise _refusal(path, f'it is no results file of a trial (its "format" is not "{FORMAT}")')
    trial = document.get("trial")
    name = trial.get("id") if isinstance(trial, dict) else None
    figures = {key: value for key, figure in results.items() if (value := _value(figure)) is not None}
    return PastRun(" ".join(name.split())[:60] if isinstance(name, str) and name.strip() else path.name, figures)


def _value(figure: Any) -> float | None:
    value = figure.get("value") if isinstance(figure, dict) else None
    if isinstance(value, bool) or not isinstance(value, int | float):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) and (number == 0 or SMALLEST <= abs(number) <= LARGEST) else None


def _refusal(path: Path, why: str) -> TrialFileError:
    return TrialFileError(
        "results-not-read",
        printable(f"{path}: {why}.\nGive the results.json that a report wrote, or the folder it stands in."),
        str(path),
    )
