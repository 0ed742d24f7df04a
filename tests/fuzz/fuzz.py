"""Logs rewritten and damaged at random: a report or a one-to-three-line error, never anything else.

    PYTHONPATH=. python tests/fuzz/fuzz.py 20000 [folder of trials] ...

prints every case that breaks the promise, with its seed, and exits 1 if there is one.
"""

from __future__ import annotations

import math
import random
import shutil
import signal
import sys
import tempfile
import time
import traceback
import warnings
from collections import Counter
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import FrameType

from reportgen.errors import ReportgenError
from reportgen.figures import Results, compute
from reportgen.read.encoding import decode
from reportgen.read.folder import read_trial

if __package__ in (None, ""):
    sys.path.insert(0, str(Path(__file__).resolve().parent.parent.parent))
from tests.fuzz.mutations import ANY, MUTATIONS, SAID, SAME

SAMPLES = Path(__file__).resolve().parent.parent.parent / "sample_trials"
#: No small trial takes longer than this [s].
LONGEST = 20
SUFFIXES = (".csv", ".tsv", ".txt", ".dat")


@dataclass(frozen=True)
class Case:
    """What one seed came to: ``report``, ``error`` or a promise broken."""

    seed: int
    trial: str
    mutation: str
    outcome: str
    broken: str = ""


@cache
def base(folder: Path) -> Results:
    return compute(read_trial(folder))


def run_case(seed: int, folders: tuple[Path, ...]) -> Case:
    """Rewrite or damage one log of one trial as the seed says, read it and compute."""
    rng = random.Random(seed)
    source = rng.choice(folders)
    kind = rng.choices((SAME, SAID, ANY), (4, 2, 4))[0]
    mutation = rng.choice(MUTATIONS[kind])
    log = rng.choice(sorted(path.name for path in source.iterdir() if path.suffix in SUFFIXES))
    original = base(source)
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / source.name
        shutil.copytree(source, folder)
        text = decode((folder / log).read_bytes(), log)[0].removeprefix("\ufeff")
        changed = mutation(rng, text)
        (folder / log).write_bytes(changed if isinstance(changed, bytes) else changed.encode())
        label = f"{source.name}/{log}"
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error")
                signal.alarm(LONGEST)
                results = compute(read_trial(folder))
        except ReportgenError as error:
            is_short = 1 <= len(str(error).split("\n")) <= 3
            return Case(seed, label, mutation.__name__, "error", "" if is_short else f"a long error: {error}")
        except BaseException as error:
            return Case(seed, label, mutation.__name__, "broken", "".join(traceback.format_exception(error)[-4:]))
        finally:
            signal.alarm(0)
    return Case(seed, label, mutation.__name__, "report", broken_promise(kind, original, results))


def broken_promise(kind: str, before: Results, after: Results) -> str:
    """Return how a promise about figures was broken; "" where it was kept."""
    for key, figure in after.figures.items():
        low, high = figure.interval if figure.is_given else (0.0, 0.0)
        if figure.is_given and not (low <= figure.value <= high and math.isfinite(figure.value)):
            return f"{key} is {figure.value}, outside {low} to {high}"
    if kind == ANY:
        return ""
    moved = [key for key in after.figures if not is_same(before, after, key)]
    said = Counter(f.code for f in after.findings) - Counter(f.code for f in before.findings)
    texts = {str(f.message) for f in after.findings} - {str(f.message) for f in before.findings}
    if moved and kind == SAME:
        return f"{moved} moved, {sorted(said)}"
    return f"{moved} moved and nothing was said" if moved and not said and not texts else ""


def is_same(before: Results, after: Results, key: str) -> bool:
    one, two = before[key], after[key]
    if one.is_given != two.is_given:
        return False
    return not one.is_given or math.isclose(one.value, two.value, rel_tol=1e-6, abs_tol=1e-9)


def _too_long(_number: int, _frame: FrameType | None) -> None:
    raise TimeoutError(f"longer than {LONGEST} s")


def prepare() -> None:
    signal.signal(signal.SIGALRM, _too_long)


def trials_in(folders: list[Path]) -> tuple[Path, ...]:
    """Return the trials below some folders; a rewritten log ends whole, so one that does not is no measure."""
    found = (sheet.parent for folder in folders for sheet in folder.rglob("trial.toml"))
    return tuple(sorted(folder for folder in found if folder.name != "half-written-last-line"))


def _run(job: tuple[int, tuple[Path, ...]]) -> Case:
    return run_case(*job)


def say(line: str) -> None:
    sys.stdout.write(line + "\n")
    sys.stdout.flush()


def main(count: int, folders: tuple[Path, ...]) -> int:
    start, outcomes, broken = time.monotonic(), Counter[str](), 0
    with ProcessPoolExecutor(initializer=prepare) as pool:
        for case in pool.map(_run, ((seed, folders) for seed in range(count)), chunksize=50):
            outcomes[f"{case.mutation} {case.outcome}"] += 1
            if case.broken:
                broken += 1
                say(f"{case.seed} {case.trial} {case.mutation} {case.broken}")
    for name, number in sorted(outcomes.items()):
        say(f"{number:6} {name}")
    say(f"{count} cases in {time.monotonic() - start:.0f} s, {broken} broke the promise")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main(int(sys.argv[1]), trials_in([Path(name) for name in sys.argv[2:]] or [SAMPLES])))
