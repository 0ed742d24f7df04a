"""Results files of earlier runs, which replace published bands where they are given."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportgen.errors import ReportgenError
from reportgen.message import printable
from reportgen.results_reader import RESULTS_NAME, parsed, validated

#: No figure of a trial is smaller or larger than these, in its unit (ours).
SMALLEST, LARGEST = 1e-6, 1e9
#: A name is cut to this many letters (ours).
LONGEST_NAME = 60


@dataclass(frozen=True)
class PastRun:
    """An earlier run: its name, and the figures its results file gives, by key, each a positive or negative number."""

    name: str
    figures: Mapping[str, float]


def read_past(paths: Sequence[Path]) -> tuple[PastRun, ...]:
    """Read results files; a folder stands for the results file in it, and a file named twice counts once.

    Raises
    ------
    ReportgenError
        If one cannot be read, is no results file, or holds a figure that is not as the format has it: a plan rests on
        all of them.
    """
    files = [path / RESULTS_NAME if path.is_dir() else path for path in paths]
    return tuple(_run(path) for path in {path.resolve(): path for path in files}.values())


def seen(past: Sequence[PastRun], key: str) -> list[float]:
    """Return the positive values that earlier runs give of a figure."""
    return [run.figures[key] for run in past if run.figures.get(key, 0.0) > 0.0]


def _run(path: Path) -> PastRun:
    document, findings = validated(parsed(path), str(path))
    doubts = [finding for finding in findings if finding.level == "caution"]
    if doubts:
        raise ReportgenError(
            "results-damaged",
            printable(f"{path}: {doubts[0].message}.\nGive the results.json as the report wrote it, or leave it out."),
        )
    name = " ".join(document["trial"]["id"].split())[:LONGEST_NAME]
    figures = {key: value for key, figure in document["results"].items() if (value := _value(figure)) is not None}
    return PastRun(name or path.name, figures)


def _value(figure: Mapping[str, Any]) -> float | None:
    value = figure["value"]
    if value is None or not math.isfinite(value) or (value != 0 and not SMALLEST <= abs(value) <= LARGEST):
        return None
    return float(value)
