"""How often the forecasts of a status hold what later happened, when simulated trials are replayed reading by reading.

Run as ``PYTHONPATH=. python tests/status/replay.py 120``; a second number is the first seed.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

if __name__ == "__main__":
    ROOT = Path(__file__).parents[2]
    sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "simulation")]

from ice_logs import IceLogs

from reportgen.errors import LogFileError
from reportgen.read.folder import read_trial
from reportgen.status.forecast import KEYS, forecasts
from reportgen.status.moment import until

CROSSINGS = tuple(key for key in KEYS if key.startswith("time_to_"))
#: Shares of the run at which the status is asked.
SHARES = (0.25, 0.5, 0.75)


class Replayed(IceLogs):
    """A simulated trial that also tells what its holder would read at any time, and when the reserve is reached."""

    content: Any = None

    def _write_volumes(self, times: Any, values: Any, by_hand: bool, level: bool) -> None:
        self.content = np.asarray(times), np.asarray(values)
        super()._write_volumes(times, values, by_hand, level)


@dataclass(frozen=True)
class Case:
    """One forecast at one share of one run, beside what happened later, and how far ahead that lay [h, or L]."""

    seed: int
    share: float
    key: str
    truth: float
    rest: float
    value: float | None
    low: float
    high: float
    reason: str

    @property
    def held(self) -> bool:
        """True where the interval holds what happened."""
        return self.low <= self.truth <= self.high

    @property
    def width_over_rest(self) -> float:
        """Width of the interval over the time still to go."""
        return (self.high - self.low) / max(self.rest, 1e-9)


def later(made: Replayed) -> dict[str, float]:
    """Return what happened in a simulated trial, by the keys of a status."""
    truth = made.truth
    found = {key: truth[key] for key in CROSSINGS if key in truth and truth[key] <= made.hours}
    if "ice_making_time" in truth:
        found["ice_making_time"] = truth["ice_making_time"]
    if made.kind == "holder" and not made.traits.get("refill"):
        times, values = made.content
        reserve = float(made.sheet.sections["gas"]["reserve"].strip('"').split()[0])
        if "ice_making_time" in truth:
            found["gas_left_when_solid"] = float(np.interp(truth["ice_making_time"], times, values)) - reserve
        # The holder does not reach its reserve while it is watched: it goes on as in the whole of the run.
        lit, out = (float(np.interp(at, times, values)) for at in (0.0, made.hours))
        found["gas_lasts_until"] = made.hours + (out - reserve) * made.hours / (lit - out)
    return found


def one(seed: int, shares: Iterable[float] = SHARES) -> list[Case]:
    """Return the forecasts of one trial of all that is still ahead at each share of its run."""
    made = Replayed(seed, None)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, text in made.files().items():
            (folder / file).write_text(text, encoding="utf-8")
        try:
            trial = read_trial(folder)
        except LogFileError as error:
            if error.code != "decimal-open":
                raise
            return []  # its decimal marks are open by design: there is no status until somebody states them
    assert trial.lit_at is not None
    happened = later(made)
    cases = []
    for share in shares:
        at = trial.lit_at + share * made.hours * 3600
        given = forecasts(until(trial, at), at)
        now = share * made.hours
        for key, truth in happened.items():
            ahead = happened["ice_making_time"] if key == "gas_left_when_solid" else truth
            forecast = given.by_key[key]
            if ahead <= now or forecast.happened:
                continue
            low, high = forecast.interval or (np.nan, np.nan)
            rest = ahead - now
            if key == "gas_left_when_solid":  # what is still to be burnt stands for the time still to go
                rest *= made.truth["gas_per_hour_as_read"]
            cases.append(Case(seed, share, key, truth, rest, forecast.value, low, high, str(forecast.reason or "")))
    return cases


def everything(seeds: Iterable[int], workers: int = 2) -> list[Case]:
    """Return all cases of the trials of seeds."""
    if workers <= 1:
        return [case for seed in seeds for case in one(seed)]
    with ProcessPoolExecutor(workers) as pool:
        return [case for cases in pool.map(one, seeds, chunksize=4) for case in cases]


def table(cases: list[Case]) -> str:
    """Return the table for people."""
    lines = [
        f"{'key':22}{'at':>6}{'ahead':>7}{'given':>7}{'share':>7}{'held':>7}{'below':>7}{'above':>7}{'width/rest':>12}"
    ]
    for key in KEYS:
        for share in (*SHARES, None):
            mine = [c for c in cases if c.key == key and share in (None, c.share)]
            given = [c for c in mine if c.value is not None]
            if not mine:
                continue
            held = np.mean([c.held for c in given]) if given else np.nan
            below = np.mean([c.truth < c.low for c in given]) if given else np.nan
            above = np.mean([c.truth > c.high for c in given]) if given else np.nan
            width = np.median([c.width_over_rest for c in given]) if given else np.nan
            lines.append(
                f"{key:22}{share or 'all':>6}{len(mine):7}{len(given):7}{len(given) / len(mine):7.0%}{held:7.0%}"
                f"{below:7.0%}{above:7.0%}{width:12.2f}"
            )
    return "\n".join(lines)


if __name__ == "__main__":
    count, first = [*map(int, sys.argv[1:3]), *(60, 0)[len(sys.argv[1:3]) :]]
    sys.stdout.write(table(everything(range(first, first + count))) + "\n")
