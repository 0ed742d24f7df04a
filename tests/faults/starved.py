"""`report` and `batch` with too few file handles, too little memory, and no place that can be written to.

    python tests/faults/starved.py SEASON OUT

SEASON is a folder of trials, such as `tests/bench/season.py` makes; of `report` its first. Each is done undisturbed
once, then under each limit into a folder of its own. It may come to its end, or end with status 1 and a message of few
lines that is no traceback; every file of a report has to be as it is in the end, and a batch has to name each trial in
its index or say why there is none. Then the same command is run without limits, and all files are compared. Needs a
POSIX system; places that are read-only or full need Linux and the right to mount.
"""

from __future__ import annotations

import argparse
import os
import re
import resource
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

from full_disk import is_over_all
from killed_batches import PART, sums

HANDLES = (8, 12, 16, 20, 24, 28, 32, 40)
#: Of each process [MB], mapped or used. With 300 MB the library of linear algebra cannot load in a worker, and asks for
#: memory again and again without end, where no code of ours runs yet.
MEMORY = (600, 800, 1000, 1500, 3000)
PATIENCE = 300


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("season", type=Path)
    options.add_argument("out", type=Path)
    asked = options.parse_args()
    trial = sorted(path.parent for path in asked.season.glob("*/trial.toml"))[0]
    wrong = 0
    for name, folder, more in (("report", trial, []), ("batch", asked.season, ["--jobs", "2"])):
        command = [sys.executable, "-m", "reportgen", name, str(folder), *more, "--out"]
        subprocess.run([*command, str(asked.out / name / "whole")], check=True, capture_output=True)
        expected = sums(asked.out / name / "whole")
        for kind, limit, amounts, unit in (
            ("handles", resource.RLIMIT_NOFILE, HANDLES, 1),
            ("MB", resource.RLIMIT_AS, MEMORY, 10**6),
        ):
            for amount in amounts:
                out = asked.out / name / f"{amount}-{kind}"
                done = attempt([*command, str(out)], limited(limit, amount * unit))
                wrong += judged(f"{name} with {amount} {kind}", done, out, expected, [*command, str(out)])
        for kind in ("read-only", "full"):
            out = asked.out / name / kind
            with place(out, kind):
                done = attempt([*command, str(out)], None, {"HOME": str(out), "TMPDIR": str(out)})
                wrong += done.returncode != 1
            wrong += judged(f"{name} into a {kind} place", done, out, expected, [*command, str(out)])
    print("all is as it should be" if not wrong else f"{wrong} went wrong")
    return int(wrong > 0)


def limited(limit: int, amount: int) -> Callable[[], None]:
    return lambda: resource.setrlimit(limit, (amount, amount))


def attempt(
    command: list[str], limit: Callable[[], None] | None, more: dict[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        command,
        preexec_fn=limit,
        env={**os.environ, **(more or {}), "OPENBLAS_NUM_THREADS": "1"},
        capture_output=True,
        text=True,
        check=False,
        timeout=PATIENCE,
    )


@contextmanager
def place(out: Path, kind: str) -> Iterator[None]:
    """Make a folder that cannot be written to while the block runs."""
    out.mkdir(parents=True, exist_ok=True)
    subprocess.run(["mount", "-t", "tmpfs", "-o", "size=64k", "tmpfs", str(out)], check=True)
    try:
        if kind == "read-only":
            subprocess.run(["mount", "-o", "remount,ro", str(out)], check=True)
        else:
            (out / "filling").write_bytes(b"x" * 65536)
        yield
    finally:
        subprocess.run(["umount", str(out)], check=True)


def judged(
    what: str, done: subprocess.CompletedProcess[str], out: Path, expected: dict[str, str], command: list[str]
) -> int:
    """Print what became of it, and return how much of that is wrong."""
    found = {name: data for name, data in sums(out).items() if not name.endswith(PART)} if out.exists() else {}
    reports = [name for name in found if command[3] == "report" or not is_over_all(name)]
    bad = [name for name in reports if not name.startswith(".done/") and expected.get(name) != found[name]]
    said = [line for line in done.stderr.splitlines() if not re.match(r"\d+ written ", line)] if done.returncode else []
    traced = "Traceback" in done.stderr
    again = subprocess.run(command, capture_output=True, check=False).returncode
    after = {name: data for name, data in sums(out).items() if not name.startswith(".done/")}
    same = after == {name: data for name, data in expected.items() if not name.startswith(".done/")}
    print(
        f"{what}: status {done.returncode}, {len(found)} files, {len(bad)} not whole{', TRACEBACK' if traced else ''}; "
        f"{' / '.join(said[-2:])[:200]}; again: {again}, {'the same' if same else 'NOT the same'}",
        flush=True,
    )
    return len(bad) + traced + (not same) + (done.returncode not in (0, 1))


if __name__ == "__main__":
    sys.exit(main())
