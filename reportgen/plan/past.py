"""Results files of earlier runs, which replace published bands where they are given."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reportgen.errors import ReportgenError
from reportgen.message import printable
from reportgen.results_reader import identity, parsed, results_files, validated

#: No figure of a trial is smaller or larger than these, in its unit (ours).
SMALLEST, LARGEST = 1e-6, 1e9
#: A name is cut to this many letters (ours).
LONGEST_NAME = 60


@dataclass(frozen=True)
class PastRun:
    """An earlier run: its name, the figures its results file gives, by key, and when it was lit, "" where unknown.

    A figure is a positive or negative number.
    """

    name: str
    figures: Mapping[str, float]
    started: str = ""


def read_past(paths: Sequence[Path]) -> tuple[PastRun, ...]:
    """Read results files; a folder stands for all those in it and below, and a run of which there are two counts once.

    Of an amended report and the one that it replaces, the amended one counts.

    Raises
    ------
    ReportgenError
        If there is none, one cannot be read, is no results file, or holds a figure that is not as the format has it: a
        plan rests on all of them.
    """
    kept: dict[str, tuple[Path, Mapping[str, Any]]] = {}
    for path in results_files(paths) if paths else ():
        document = _document(path)
        run = identity(document)
        if run not in kept or _replaces(document, kept[run][1]):
            kept[run] = path, document
    return tuple(_run(path, document) for path, document in kept.values())


def seen(past: Sequence[PastRun], key: str) -> list[float]:
    """Return the positive values that earlier runs give of a figure."""
    return [run.figures[key] for run in past if run.figures.get(key, 0.0) > 0.0]


def _document(path: Path) -> Mapping[str, Any]:
    document, findings = validated(parsed(path), str(path))
    doubts = [finding for finding in findings if finding.level == "caution"]
    if doubts:
        raise ReportgenError(
            "results-damaged",
            printable(f"{path}: {doubts[0].message}.\nGive the results.json as the report wrote it, or leave it out."),
        )
    return document


def _replaces(document: Mapping[str, Any], earlier: Mapping[str, Any]) -> bool:
    """Return whether the report of a document amends the other one."""
    amends = (document.get("report") or {}).get("amends") or {}
    return "id" in amends and amends["id"] == (earlier.get("report") or {}).get("id")


def _run(path: Path, document: Mapping[str, Any]) -> PastRun:
    name = " ".join(document["trial"]["id"].split())[:LONGEST_NAME]
    figures = {key: value for key, figure in document["results"].items() if (value := _value(figure)) is not None}
    return PastRun(name or path.name, figures, document["trial"].get("started") or "")


def _value(figure: Mapping[str, Any]) -> float | None:
    value = figure["value"]
    if value is None or not math.isfinite(value) or (value != 0 and not SMALLEST <= abs(value) <= LARGEST):
        return None
    return float(value)
