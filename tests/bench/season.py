"""How long a season takes: 200 invented trials of 6 h, a reading a minute, full reports.

    python tests/bench/season.py OUT [--trials 200] [--hours 6] [--jobs N] [--of TRIALS] [--beside SCRIPT]
    python tests/bench/season.py OUT --profile

Prints a table: one trial from a cold start, the season, the same again with nothing changed, and the most memory of one
process. `--beside` names a script to be run on the same trials in turn, as `python SCRIPT TRIALS OUT`, and gives the
column to compare with; that of a cold start is the loading of pandas and pyplot, where they are installed. Processor
time is shown beside wall time, since a machine that others use as well spoils the latter. `--profile` shows where the
time of a worker goes instead. Nothing is asserted: times are of a machine, not of a program.
"""

from __future__ import annotations

import argparse
import cProfile
import datetime as dt
import pstats
import resource
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from time import perf_counter

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


@dataclass(frozen=True)
class Took:
    """Wall and processor time of a process and its children [s], and the most memory of one of them [MB]."""

    wall: float
    work: float
    memory: float


def timed(command: list[str], repeats: int = 1) -> Took | None:
    """Return what a command takes, the least of the repeats; None where it fails."""
    best: Took | None = None
    for _ in range(repeats):
        before, began = resource.getrusage(resource.RUSAGE_CHILDREN), perf_counter()
        if subprocess.run(command, check=False, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL).returncode:
            return None
        wall, after = perf_counter() - began, resource.getrusage(resource.RUSAGE_CHILDREN)
        work = after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime
        took = Took(wall, work, after.ru_maxrss / 1024)
        best = took if best is None or took.work < best.work else best
    return best


def row(name: str, ours: Took | None, beside: Took | None = None) -> None:
    """Print a row of the table: wall (processor) time of both [s], and their ratio."""
    cells = ["-" if took is None else f"{took.wall:.2f} ({took.work:.2f})" for took in (ours, beside)]
    ratio = f"{ours.wall / beside.wall:.2f} ({ours.work / beside.work:.2f})" if ours and beside else "-"
    print(f"{name:<34}{cells[0]:>18}{cells[1]:>18}{ratio:>14}", flush=True)


def profile(trials: list[Path], out: Path) -> None:
    """Print where the time of a worker goes that has made a report before: by module, and by function."""
    from reportgen.batch.order import Order
    from reportgen.batch.workers import Task, attempt

    attempt(Task(0, Order(trials[0], out / "first"), out, "first"))
    watch = cProfile.Profile()
    watch.enable()
    for number, folder in enumerate(trials):
        attempt(Task(number, Order(folder, out / folder.name), out, folder.name))
    watch.disable()
    rooms = Counter[str]()
    for entry in watch.getstats():
        file = "" if isinstance(entry.code, str) else entry.code.co_filename
        parts = Path(file).parts
        home = next((i for i, part in enumerate(parts) if part in ("reportgen", "site-packages")), len(parts))
        rooms["/".join(parts[home:][:2]) or "Python itself, and what is compiled"] += entry.inlinetime
    whole = sum(rooms.values())
    print(f"{1000 * whole / len(trials):.0f} ms a trial, watched; its shares by where the code stands:")
    for room, own in rooms.most_common(15):
        print(f"{100 * own / whole:5.1f} %  {room}")
    pstats.Stats(watch).sort_stats("cumulative").print_stats("reportgen", 40)


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("out", type=Path)
    options.add_argument("--trials", type=int, default=200)
    options.add_argument("--hours", type=float, default=6)
    options.add_argument("--jobs", type=int)
    options.add_argument("--beside", type=Path)
    options.add_argument("--of", type=Path, help="trials that are there, in place of invented ones")
    options.add_argument("--profile", action="store_true")
    asked = options.parse_args()
    trials = asked.of or asked.out / "trials"
    for number in range(0 if asked.of else asked.trials):
        make(trials / f"run-{number:05}", number, asked.hours)
    folders = sorted(sheet.parent for sheet in trials.glob("*/trial.toml"))
    if asked.profile:
        profile(folders[:20], asked.out / "profile")
        return
    print(f"{'wall (processor) time [s]':<34}{'reportgen':>18}{'beside':>18}{'ratio':>14}")
    program = [sys.executable, "-m", "reportgen"]
    cold = timed([*program, "report", str(folders[0]), "--out", str(asked.out / "one")], 5)
    row("one trial, cold start", cold, timed([sys.executable, "-c", "import pandas, matplotlib.pyplot"], 5))
    batch = [*program, "batch", str(trials), "--out", str(asked.out / "reports")]
    batch += ["--jobs", str(asked.jobs)] if asked.jobs else []
    script = [sys.executable, str(asked.beside), str(trials), str(asked.out / "beside")]
    beside = timed(script) if asked.beside else None
    first = timed([*batch, "--again"])
    row(f"{len(folders)} trials", first, beside)
    row("the same, nothing changed", timed(batch))
    if first is not None:
        print(f"a trial: {1000 * first.wall / len(folders):.0f} ms; most memory of one process: {first.memory:.0f} MB")


if __name__ == "__main__":
    main()
