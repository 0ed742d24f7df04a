"""A report killed at random moments, again and again, with an older one standing there: each file is old or new.

    python tests/faults/killed_reports.py TRIAL OUT [--kills 140] [--seed 1]

All processes are forked from one that has loaded what a report needs, so that they spend their time with the report;
the one beside each, which draws, begins anew.
TRIAL is reported with two dates of issue, which makes two sets of files, most of them different. Then the newer one is
begun over the older one and killed (SIGKILL): half of the times at any moment of its run, half of them within the
hundredth of a second after the first file is being written. After each kill every file is as in one of the two sets,
and how often both were met at once is counted. Every tenth time the newer one is begun once more and comes to its end.
"""

from __future__ import annotations

import argparse
import multiprocessing
import os
import random
import shutil
import signal
import sys
import time
from multiprocessing.process import BaseProcess
from pathlib import Path

from killed_batches import PART, sums

OLDER, NEWER = "2026-01-01", "2026-02-02"
#: One run in so many is let finish what the killed ones left.
FINISHED = 10


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("trial", type=Path)
    options.add_argument("out", type=Path)
    options.add_argument("--kills", type=int, default=140)
    options.add_argument("--seed", type=int, default=1)
    asked = options.parse_args()
    draw, old, out = random.Random(asked.seed), asked.out / "older", asked.out / "killed"
    begun(asked.trial, old, OLDER).join()
    began = time.monotonic()
    begun(asked.trial, asked.out / "newer", NEWER).join()
    lasts = time.monotonic() - began
    before, after = sums(old), sums(asked.out / "newer")
    killed = ended = parts = wrong = both = unlike = 0
    while killed < asked.kills:
        shutil.rmtree(out, ignore_errors=True)
        shutil.copytree(old, out)
        process = begun(asked.trial, out, NEWER)
        assert process.pid is not None
        if draw.random() < 0.5:
            time.sleep(draw.uniform(0, lasts))
        else:
            while process.is_alive() and not list(out.glob(f".*{PART}")):
                time.sleep(0.0005)
            time.sleep(draw.uniform(0, 0.01))
        if process.is_alive():
            os.kill(process.pid, signal.SIGKILL)
        process.join()
        if process.exitcode == 0:
            ended += 1
            continue
        killed += 1
        found = sums(out)
        parts += sum(name.endswith(PART) for name in found)
        whole = {name: data for name, data in found.items() if not name.endswith(PART)}
        wrong += sum(data not in (before.get(name), after.get(name)) for name, data in whole.items())
        wrong += len(before.keys() - whole.keys())
        changed = {name for name in after if before.get(name) != after[name]}
        both += 0 < sum(whole.get(name) == after[name] for name in changed) < len(changed)
        if killed % FINISHED == 0:
            begun(asked.trial, out, NEWER).join()
            unlike += {name: data for name, data in sums(out).items() if not name.endswith(PART)} != after
            print(f"{killed} killed, {ended} ended, {wrong} wrong, {both} of two reports", flush=True)
    print(
        f"{killed} kills: {wrong} files not whole, {parts} left half written beside them; {both} times files of both "
        f"reports; {killed // FINISHED} runs after a kill, {unlike} of them NOT as undisturbed"
    )
    return int(wrong > 0 or unlike > 0)


def begun(trial: Path, out: Path, issued: str) -> BaseProcess:
    """Begin the report in a process of its own."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["reportgen.batch.report", "reportgen.charts", "reportgen.cli.main"])
    process = context.Process(target=report, args=(trial, out, issued))
    process.start()
    return process


def report(trial: Path, out: Path, issued: str) -> None:
    from reportgen.cli import run

    with Path(os.devnull).open("w") as nowhere:
        sys.stdout = sys.stderr = nowhere
        sys.exit(run(["report", str(trial), "--out", str(out), "--issued", issued]))


if __name__ == "__main__":
    sys.exit(main())
