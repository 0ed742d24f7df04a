"""How often the intervals of reportgen hold the truth of simulated trials, key by key.

Run as ``PYTHONPATH=. python tests/simulation/coverage.py 300``.
"""

from __future__ import annotations

import math
import sys
import tempfile
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

if __name__ == "__main__":  # the folder's own name for this file is that of a library others may import
    sys.path[0:1] = [str(Path(__file__).parents[2])]
    sys.path.append(str(Path(__file__).parent))

from simulate import Kind, Simulated, simulate

from reportgen.catalogue import KINDS
from reportgen.errors import ReportgenError
from reportgen.figures.results import compute
from reportgen.read.folder import read_trial


@dataclass(frozen=True)
class Found:
    """One key of one trial: what is true, what was given, and whether it had to or must not be."""

    seed: int
    key: str
    truth: float | None
    value: float | None
    uncertainty: float
    low: float
    high: float
    interval_kind: str
    supported: bool
    never: bool
    note: str
    traits: dict[str, Any] = field(repr=False)

    @property
    def held(self) -> bool:
        """True where the interval holds the truth."""
        assert self.truth is not None
        slack = 1e-9 * abs(self.truth)
        return self.low - slack <= self.truth <= self.high + slack


@dataclass(frozen=True)
class Row:
    """What is said of one key over all trials; `scale` of the floor is the whole fall, else the truth."""

    key: str
    supported: int
    given: int
    share_given: float
    judged: int
    held: int
    coverage: float
    error: float
    half_width: float
    mean_z: float
    sd_z: float
    wrongly_given: int


def one(seed: int, kind: Kind | None = None) -> list[Found]:
    """Simulate a trial, have it reported on, and return what was found of each key."""
    made = simulate(seed, kind)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "trial"
        folder.mkdir()
        for file, text in made.files.items():
            (folder / file).write_text(text, encoding="utf-8")
        try:
            figures = compute(read_trial(folder)).figures
        except ReportgenError as error:
            raise AssertionError(f"seed {seed}: {error}") from error
    return [_found(seed, key, figures[key], made) for key in KINDS]


def _found(seed: int, key: str, figure: Any, made: Simulated) -> Found:
    low, high = figure.interval if figure.is_given else (math.nan, math.nan)
    return Found(
        seed,
        key,
        made.truth.get(key),
        figure.value if figure.is_given else None,
        figure.standard_uncertainty if figure.is_given else math.nan,
        low,
        high,
        figure.interval_kind,
        key in made.supported,
        key in made.never,
        str(figure.reason or figure.method or ""),
        made.traits,
    )


def everything(seeds: Iterable[int], workers: int = 2, kind: Kind | None = None) -> list[Found]:
    """Return what was found of each key of each trial."""
    job = partial(one, kind=kind)
    if workers <= 1:
        return [found for seed in seeds for found in job(seed)]
    with ProcessPoolExecutor(workers) as pool:
        return [found for trial in pool.map(job, seeds, chunksize=10) for found in trial]


def run(seeds: Iterable[int], workers: int = 2) -> list[Row]:
    """Return the table over the trials of seeds."""
    return table(everything(seeds, workers))


def table(found: list[Found]) -> list[Row]:
    """Return one row per key that is true of a trial or was given though it must not be."""
    rows = [_row(key, [f for f in found if f.key == key]) for key in KINDS]
    return [row for row in rows if row.judged or row.supported or row.wrongly_given]


def _row(key: str, found: list[Found]) -> Row:
    supported = [f for f in found if f.supported]
    given = [f for f in supported if f.value is not None]
    judged = [f for f in found if f.value is not None and f.truth is not None and not f.never]
    scale = [f.traits["fall to floor"] if key == "temperature_floor" else abs(f.truth or math.nan) for f in judged]
    errors = np.array([(f.truth or 0.0) - (f.value or 0.0) for f in judged])
    halves = np.array([(f.high - f.low) / 2 for f in judged])
    with np.errstate(divide="ignore", invalid="ignore"):
        z = errors / np.array([f.uncertainty for f in judged])
    held = sum(f.held for f in judged)
    some = len(judged) > 0
    return Row(
        key=key,
        supported=len(supported),
        given=len(given),
        share_given=len(given) / len(supported) if supported else math.nan,
        judged=len(judged),
        held=held,
        coverage=held / len(judged) if some else math.nan,
        error=float(np.median(np.abs(errors) / scale)) if some else math.nan,
        half_width=float(np.median(halves / scale)) if some else math.nan,
        mean_z=float(np.mean(z)) if some else math.nan,
        sd_z=float(np.std(z)) if some else math.nan,
        wrongly_given=sum(f.never and f.value is not None for f in found),
    )


def text(rows: list[Row]) -> str:
    """Return the table for people."""
    heads = ("supp", "given", "share", "judged", "cover", "error", "half", "z mean", "z sd", "never")
    widths = (5, 6, 7, 7, 7, 8, 8, 8, 7, 6)
    lines = ["key".ljust(31) + "".join(head.rjust(width) for head, width in zip(heads, widths, strict=True))]
    lines += [
        f"{r.key:31}{r.supported:5}{r.given:6}{r.share_given:7.1%}{r.judged:7}{r.coverage:7.1%}{r.error:8.2%}{r.half_width:8.2%}"
        f"{r.mean_z:8.2f}{r.sd_z:7.2f}{r.wrongly_given:6}"
        for r in rows
    ]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.stdout.write(text(run(range(int(sys.argv[1]) if len(sys.argv) > 1 else 300))) + "\n")
