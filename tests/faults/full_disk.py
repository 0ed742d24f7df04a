"""A batch on a disk that is full: what stands is whole, what to do is said, and with room the same command finishes.

    python tests/faults/full_disk.py SEASON OUT [--sizes 1,2,3]

SEASON is a folder of trials, such as `tests/bench/season.py` makes. It is reported once undisturbed; then into a file
system in memory of each size [MB], which takes a Linux machine and the right to mount. The batch has to end with status
1 and a message of few lines; every file of a report that stands must be as it is in the end, and none half written.
Then the file system is made larger, the same command runs again, and all files are compared.
"""

from __future__ import annotations

import argparse
import subprocess
import sys
from pathlib import Path

from killed_batches import command, sums


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    options.add_argument("season", type=Path)
    options.add_argument("out", type=Path)
    options.add_argument("--sizes", default="1,2,3")
    asked = options.parse_args()
    whole, small = asked.out / "whole", asked.out / "small"
    subprocess.run(command(asked.season, whole), check=True, capture_output=True)
    expected, wrong = sums(whole), 0
    small.mkdir(parents=True, exist_ok=True)
    for size in asked.sizes.split(","):
        subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={size}m", "tmpfs", str(small)], check=True)
        try:
            wrong += is_wrong(asked.season, small, expected, size)
        finally:
            subprocess.run(["umount", str(small)], check=True)
    print("all is as it should be" if not wrong else f"{wrong} sizes went wrong")
    return int(wrong > 0)


def is_wrong(season: Path, small: Path, expected: dict[str, str], size: str) -> bool:
    done = subprocess.run(command(season, small), capture_output=True, text=True, check=False)
    found = sums(small)
    # What stands over all trials rightly names those that failed.
    bad = [name for name, data in found.items() if not is_over_all(name) and expected.get(name) != data]
    last = done.stderr.splitlines()[-3:]
    print(f"{size} MB: status {done.returncode}, {len(found)} files, not as they should be: {bad}", *last, sep="\n  ")
    subprocess.run(["mount", "-o", "remount,size=2g", str(small)], check=True)
    again = subprocess.run(command(season, small), capture_output=True, text=True, check=False)
    same = sums(small) == expected
    print(f"  with room: status {again.returncode}, all {len(expected)} files the same: {same}", flush=True)
    is_told = "No space left on device" in done.stderr and "Traceback" not in done.stderr
    return done.returncode != 1 or not is_told or bool(bad) or again.returncode != 0 or not same


def is_over_all(name: str) -> bool:
    place, _, last = name.rpartition("/")
    return place in ("", "charts") or (place, last) == (".done", "over-all.json")


if __name__ == "__main__":
    sys.exit(main())
