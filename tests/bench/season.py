"""How long a season takes: 200 invented trials of 6 h, a reading a minute, full reports.

    python tests/bench/season.py OUT [--trials 200] [--hours 6] [--jobs N] [--of TRIALS] [--beside SCRIPT]

Prints the wall time, the processor time and the most memory of one process for a first run, and for a second one with
nothing changed. `--beside` names a script to be run on the same trials in turn, as `python SCRIPT TRIALS OUT`; the
ratio of the two wall times is then printed as well. Nothing is asserted: times are of a machine, not of a program.
"""

from __future__ import annotations

import argparse
import datetime as dt
import resource
import subprocess
import sys
import time
from pathlib import Path

import numpy as np

SHEET = """title = "Season, run {number}"
site = "Landing place {site}"
date = 2026-05-02
time_zone = "UTC"
[burner]
lit = "07:30"
out = "{out}"
[gas]
kind = "holder"
resolution = "1 L"
temperature = "26 degC"
pressure = "8 mbar"
methane = "59 +/- 3 %"
[cabinet]
resolution = "0.1 K"
[water]
mass = "1.5 kg"
placed = "07:30"
temperature = "24 degC"
ice_temperature = "-4 degC"
"""
LIT = dt.datetime(2026, 5, 2, 7, 30)


def make(folder: Path, number: int, hours: float) -> None:
    """Write one trial folder; equal numbers give equal bytes."""
    draw = np.random.default_rng(1000 + number)
    folder.mkdir(parents=True, exist_ok=True)
    minutes = np.arange(int(hours * 60) + 1)
    span, floor, delay = draw.uniform(50, 95), draw.uniform(-20, -13), draw.uniform(8, 25)
    cabinet = floor + (26 - floor) * np.exp(-np.maximum(minutes - delay, 0) / span) + draw.normal(0, 0.07, len(minutes))
    ambient = 28 + 1.5 * np.sin(minutes / 140) + draw.normal(0, 0.05, len(minutes))
    rate, days = draw.uniform(42, 66), range(21, 0, -1)
    quarters = range(0, len(minutes), 15)
    top = rate * hours * 1.25
    looks = ((0.0, "liquid"), (0.55, "partial"), (0.88, "solid"))
    tables = {
        "cabinet.csv": [
            "time,cabinet_temperature [degC],ambient_temperature [degC]",
            *(f"{at(m)},{c:.1f},{a:.1f}" for m, c, a in zip(minutes.tolist(), cabinet, ambient, strict=True)),
        ],
        "holder.csv": ["time,gas_volume [L]", *(f"{at(m)},{top - rate * m / 60:.0f}" for m in quarters)],
        "feed.csv": [
            "time,material,fresh_mass [kg],total_solids [%],volatile_solids [%]",
            *(f"{at(-1440 * day)},market scraps,{draw.uniform(2.0, 3.5):.2f},21,87" for day in days),
        ],
        "ice.csv": ["time,ice", *(f"{at(share * hours * 60)},{state}" for share, state in looks)],
    }
    for name, lines in tables.items():
        (folder / name).write_text("\n".join([*lines, ""]), encoding="utf-8")
    sheet = SHEET.format(number=number, site=number % 9, out=at(hours * 60))
    (folder / "trial.toml").write_text(sheet, encoding="utf-8")


def at(minutes: float) -> str:
    return (LIT + dt.timedelta(minutes=minutes)).strftime("%Y-%m-%d %H:%M:%S")


def timed(label: str, command: list[str]) -> float:
    """Run a command; print and return how long it took [s]."""
    before, began = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    wall, after = time.perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
    work = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
    print(f"{label}: {wall:.2f} s of wall time, {work:.2f} s of processor time", flush=True)
    return wall


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("out", type=Path)
    options.add_argument("--trials", type=int, default=200)
    options.add_argument("--hours", type=float, default=6)
    options.add_argument("--jobs", type=int)
    options.add_argument("--beside", type=Path)
    options.add_argument("--of", type=Path, help="trials that are there, in place of invented ones")
    asked = options.parse_args()
    trials = asked.of or asked.out / "trials"
    for number in range(0 if asked.of else asked.trials):
        make(trials / f"run-{number:05}", number, asked.hours)
    batch = [sys.executable, "-m", "reportgen", "batch", str(trials), "--out", str(asked.out / "reports")]
    batch += ["--jobs", str(asked.jobs)] if asked.jobs else []
    beside = None
    if asked.beside:
        beside = timed("script", [sys.executable, str(asked.beside), str(trials), str(asked.out / "beside")])
    first = timed("first run", [*batch, "--again"])
    print(f"a trial: {1000 * first / asked.trials:.0f} ms")
    timed("nothing changed", batch)
    most = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    print(f"most memory of one process: {most / 1024:.0f} MB")
    if beside is not None:
        print(f"ratio of the wall times: {first / beside:.2f}")


if __name__ == "__main__":
    main()
