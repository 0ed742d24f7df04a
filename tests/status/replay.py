"""How often the forecasts of a status hold what later happened, when simulated trials are replayed reading by reading.

Run as ``PYTHONPATH=. python tests/status/replay.py 120``; a second number is the first seed, and ``past`` gives each
trial two earlier runs of its appliance.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Iterable
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

if __name__ == "__main__":
    ROOT = Path(__file__).parents[2]
    sys.path[:0] = [str(ROOT), str(ROOT / "tests" / "simulation")]

from ice_logs import IceLogs
from physics import Cabinet

from reportgen.plan.past import PastRun
from reportgen.read.folder import read_trial
from reportgen.status.forecast import KEYS, forecasts
from reportgen.status.moment import until

CROSSINGS = tuple(key for key in KEYS if key.startswith("time_to_"))
#: Shares of the run at which the status is asked.
SHARES = (0.25, 0.5, 0.75)
#: How far runs of one appliance differ: logarithms of time constant and cold taken, delay [h], floor [K].
REPEATS = {"constant": 0.15, "cold": 0.2, "delay": 0.1, "floor": 1.5}


class Replayed(IceLogs):
    """A simulated trial that also tells what its holder would read at any time, and when the reserve is reached."""

    content: Any = None

    def _write_volumes(self, times: Any, values: Any, by_hand: bool, level: bool) -> None:
        self.content = np.asarray(times), np.asarray(values)
        super()._write_volumes(times, values, by_hand, level)


@dataclass(frozen=True)
class Case:
    """One forecast at one share of one run, beside what happened later, and how far ahead that lay [h, or L].

    `by_eye` is True where the looks at the ice are percentages that an eye judged, and no words.
    """

    seed: int
    share: float
    key: str
    truth: float
    rest: float
    value: float | None
    low: float
    high: float
    reason: str
    by_eye: bool

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


def earlier(made: Replayed, runs: int = 2) -> tuple[PastRun, ...]:
    """Return earlier runs of the appliance of a simulated trial, as like it as `REPEATS` says."""
    rng, now = np.random.default_rng([20260315, made.traits["seed"]]), made.cabinet

    def cold(cabinet: Cabinet, hours: Any) -> Any:
        return np.cumsum(np.where(hours > 0.5, np.maximum(-cabinet.cooling(hours), 0.0), 0.0)) * (hours[1] - hours[0])

    hours = np.linspace(0.0, 30.0, 6001)
    found = []
    for number in range(runs):
        constant = now.constant * float(np.exp(REPEATS["constant"] * rng.standard_normal()))
        delay = max(now.delay + REPEATS["delay"] * float(rng.standard_normal()), 0.0)
        floor = now.floor + REPEATS["floor"] * float(rng.standard_normal())
        figures = {"cooling_time_constant": constant, "cooling_delay": delay, "temperature_floor": floor}
        figures |= {"temperature_start": now.start, "water_mass": made.truth["water_mass"]}
        if "ice_making_time" in made.truth:
            takes = float(np.interp(made.truth["ice_making_time"], hours, cold(now, hours)))
            takes *= float(np.exp(REPEATS["cold"] * rng.standard_normal()))
            before = Cabinet(now.start, floor, constant, delay, 99.0, now.ambient, 1.0, 0.0)
            figures["ice_making_time"] = float(np.interp(takes, cold(before, hours), hours))
        found.append(PastRun(f"earlier run {number + 1}", figures))
    return tuple(found)


def one(seed: int, shares: Iterable[float] = SHARES, with_past: bool = False) -> list[Case]:
    """Return the forecasts of one trial of all that is still ahead at each share of its run."""
    made = Replayed(seed, None)
    files = made.files()
    # A comma with three digits after it may be either mark: the sheet says which, as a person would be asked to.
    mark = "comma" if made.dialect.decimal_comma else "point"
    files["trial.toml"] += "".join(f'\n[files."{name}"]\ndecimal = "{mark}"\n' for name in files if ".csv" in name)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        for file, text in files.items():
            (folder / file).write_text(text, encoding="utf-8")
        trial = read_trial(folder)
    assert trial.lit_at is not None
    happened = later(made)
    past = earlier(made) if with_past else ()
    cases = []
    for share in shares:
        at = trial.lit_at + share * made.hours * 3600
        given = forecasts(until(trial, at), at, past)
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
            reason, by_eye = str(forecast.reason or ""), made.traits["percent"]
            cases.append(Case(seed, share, key, truth, rest, forecast.value, low, high, reason, by_eye))
    return cases


def everything(seeds: Iterable[int], workers: int = 2, with_past: bool = False) -> list[Case]:
    """Return all cases of the trials of seeds."""
    job = partial(one, with_past=with_past)
    if workers <= 1:
        return [case for seed in seeds for case in job(seed)]
    with ProcessPoolExecutor(workers) as pool:
        return [case for cases in pool.map(job, seeds, chunksize=4) for case in cases]


def table(cases: list[Case]) -> str:
    """Return the table for people."""
    lines = [
        f"{'key':22}{'at':>6}{'ahead':>7}{'given':>7}{'share':>7}{'held':>7}{'below':>7}{'above':>7}{'width/rest':>12}"
    ]
    ice = [case for case in cases if case.key == "ice_making_time"]
    groups = {key: [case for case in cases if case.key == key] for key in KEYS}
    groups["ice, percent by eye"] = [case for case in ice if case.by_eye]
    groups["ice, words"] = [case for case in ice if not case.by_eye]
    groups["all crossings"] = [case for case in cases if case.key in CROSSINGS]
    for name, group in groups.items():
        for share in (*SHARES, None):
            mine = [case for case in group if share in (None, case.share)]
            given = [c for c in mine if c.value is not None]
            if not mine:
                continue
            held = np.mean([c.held for c in given]) if given else np.nan
            below = np.mean([c.truth < c.low for c in given]) if given else np.nan
            above = np.mean([c.truth > c.high for c in given]) if given else np.nan
            width = np.median([c.width_over_rest for c in given]) if given else np.nan
            lines.append(
                f"{name:22}{share or 'all':>6}{len(mine):7}{len(given):7}{len(given) / len(mine):7.0%}{held:7.0%}"
                f"{below:7.0%}{above:7.0%}{width:12.2f}"
            )
    return "\n".join(lines)


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:] if word.isdigit()]
    count, first = [*numbers, *(60, 0)[len(numbers) :]]
    found_cases = everything(range(first, first + count), with_past="past" in sys.argv)
    sys.stdout.write(table(found_cases) + "\n")
