"""A batch killed at random moments, again and again: what stands is whole, and the end is the same.

    python tests/faults/killed_batches.py SEASON OUT [--kills 60] [--seed 1]

SEASON is a folder of trials, such as `tests/bench/season.py` makes. It is reported once undisturbed; then a batch is
started and killed (SIGKILL) until it was killed as often as asked for: after as many outcomes as are drawn at random,
and up to half a second later; half of the times with all its workers, half of them alone. Half of the batches have
`--again`, half of them one job; one that comes to its end is begun anew. After each kill every file but those still
being written must be as it is in the end. At last the batch runs to its end, and all files are compared.
"""

from __future__ import annotations

import argparse
import hashlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

PART = ".part"


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("season", type=Path)
    options.add_argument("out", type=Path)
    options.add_argument("--kills", type=int, default=60)
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args()
    whole, out = asked.out / "whole", asked.out / "killed"
    done = subprocess.run(command(asked.season, whole), check=True, capture_output=True, text=True)
    trials = sum(" written " in line for line in done.stderr.splitlines())
    expected, draw = sums(whole), random.Random(asked.seed)
    killed = ended = unfinished = wrong = 0
    while killed < asked.kills:
        again = ["--again"] if draw.random() < 0.5 else []
        again += ["--jobs", "1"] if draw.random() < 0.5 else []
        process = subprocess.Popen(
            [*command(asked.season, out), *again],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            start_new_session=True,
        )
        assert process.stderr is not None
        for _ in range(draw.randrange(trials + 1)):
            process.stderr.readline()
        time.sleep(draw.uniform(0, 0.5))
        # The parent alone: its workers must end by themselves and write nothing by halves.
        (os.killpg if draw.random() < 0.5 else os.kill)(process.pid, signal.SIGKILL)
        process.stderr.close()
        if process.wait() == 0:
            ended += 1
            shutil.rmtree(out)
            continue
        killed += 1
        found = sums(out)
        unfinished += sum(name.endswith(PART) for name in found)
        bad = [name for name, data in found.items() if not name.endswith(PART) and expected.get(name) != data]
        wrong += len(bad)
        print(f"{killed} killed, {ended} ended, {len(found)} files, not as they should be: {bad}", flush=True)
    subprocess.run(command(asked.season, out), check=True, capture_output=True)
    same = sums(out) == expected
    print(
        f"{killed} kills: {wrong} files not whole, {unfinished} left half written and cleared away; "
        f"at the end all {len(expected)} files are {'the same' if same else 'NOT the same'}"
    )
    return int(wrong > 0 or not same)


def command(season: Path, out: Path) -> list[str]:
    return [sys.executable, "-m", "reportgen", "batch", str(season), "--out", str(out)]


def sums(folder: Path) -> dict[str, str]:
    found = {}
    for path in folder.rglob("*"):
        try:
            found[path.relative_to(folder).as_posix()] = hashlib.sha256(path.read_bytes()).hexdigest()
        except (IsADirectoryError, FileNotFoundError):
            continue  # a folder, or a file that a worker who is about to end has just put in its place
    return found


if __name__ == "__main__":
    sys.exit(main())
