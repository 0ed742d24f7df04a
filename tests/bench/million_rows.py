"""What a log of a million rows costs, over and above a small trial, beside what pandas alone takes to read the file.

    PYTHONPATH=. python tests/bench/million_rows.py [repeats]

Each is run in a process of its own, in turn, so that all meet the same machine; the least of the repeats counts.
"""

from __future__ import annotations

import datetime as dt
import math
import resource
import subprocess
import sys
import tempfile
from pathlib import Path

import numpy as np

ROWS = 1_000_000
SHEET = """title = "A million rows"
date = 2026-03-14
time_zone = "UTC"
[burner]
lit = "08:00"
out = "2026-03-14 17:45"
[gas]
kind = "holder"
temperature = "25 degC"
pressure = "9 cmH2O"
methane = "60 +/- 3 %"
resolution = "1 L"
[water]
mass = "1.2 kg"
placed = "08:00"
temperature = "22 degC"
ice_temperature = "-5 degC"
"""
READ = (
    "import sys, time, pandas; start = time.perf_counter();"
    "pandas.read_csv(sys.argv[1], parse_dates=['time'], date_format='%Y-%m-%d %H:%M:%S');"
    "print(time.perf_counter() - start)"
)


def make(folder: Path, rows: int) -> None:
    """Write a trial of second-by-second readings of the cabinet and the room, and the gas every quarter of an hour."""
    folder.mkdir()
    start = dt.datetime(2026, 3, 14, 8)
    rng = np.random.default_rng(0)
    hours = np.arange(rows) / 3600
    cabinet = -16 + 41 * np.exp(-np.maximum(hours - 0.3, 0) / 1.2) + rng.normal(0, 0.08, rows)
    ambient = 27 + 2 * np.sin(hours * 2 * math.pi / 24) + rng.normal(0, 0.05, rows)
    times = np.datetime_as_string(np.datetime64(start) + np.arange(rows).astype("timedelta64[s]"), unit="s")
    with (folder / "temperature.csv").open("w", encoding="utf-8") as file:
        file.write("time,cabinet_temperature [degC],ambient_temperature [degC]\n")
        file.writelines(
            f"{time.replace('T', ' ')},{c:.1f},{a:.1f}\n" for time, c, a in zip(times, cabinet, ambient, strict=True)
        )
    gas = "".join(f"{start + dt.timedelta(minutes=15 * k)},{900 - 14.5 * k:.0f}\n" for k in range(40))
    (folder / "gas.csv").write_text(f"time,gas_volume [L]\n{gas}", encoding="utf-8")
    (folder / "ice.csv").write_text("time,ice\n2026-03-14 08:00,liquid\n2026-03-14 13:30,solid\n", encoding="utf-8")
    (folder / "trial.toml").write_text(SHEET, encoding="utf-8")


def timed(command: list[str]) -> tuple[float, str]:
    """Return the wall time of a process [s], and what it printed."""
    before = dt.datetime.now(dt.UTC)
    done = subprocess.run(command, check=True, capture_output=True, text=True)
    return (dt.datetime.now(dt.UTC) - before).total_seconds(), done.stdout


def main(repeats: int) -> None:
    with tempfile.TemporaryDirectory() as name:
        make(Path(name) / "small", 600)
        make(Path(name) / "large", ROWS)
        plain, small, large = [], [], []
        for _ in range(repeats):
            plain.append(float(timed([sys.executable, "-c", READ, f"{name}/large/temperature.csv"])[1]))
            for folder, times in (("small", small), ("large", large)):
                command = [sys.executable, "-m", "reportgen", "report", f"{name}/{folder}", "--out", f"{name}/out"]
                times.append(timed(command)[0])
    peak = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024
    over = min(large) - min(small)
    sys.stdout.write(
        f"pandas alone {min(plain):.2f} s; a report of a small trial {min(small):.2f} s, of a million rows "
        f"{min(large):.2f} s\nover and above: {over:.2f} s = {over / min(plain):.2f} times pandas; "
        f"peak memory {peak:.0f} MB\n"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
