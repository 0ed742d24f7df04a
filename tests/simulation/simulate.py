"""Trial folders with known truth: what is stated is drawn first, the truth round it, then readings of it.

Where the trial format has no place for an accuracy (barometer, gas thermometer, feed scale, solids, eye), the
truth is drawn within what is commonly taken for such an instrument. Independent of reportgen.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from drawing import KINDS, Kind
from ice_logs import IceLogs

__all__ = ["KINDS", "Kind", "Simulated", "simulate"]


@dataclass(frozen=True)
class Simulated:
    """A trial folder as texts by file name, the truth by key of the results file, and what the logs can tell.

    `supported`: keys that the logs support beyond doubt. `never`: keys of what did not happen or was not
    logged. Keys of the truth in neither may or may not be given.
    """

    files: dict[str, str]
    truth: dict[str, float]
    never: set[str]
    supported: set[str]
    traits: dict[str, Any]


def simulate(seed: int, kind: Kind | None = None) -> Simulated:
    """Return one trial folder with its truth; equal arguments give equal folders."""
    trial = IceLogs(seed, kind)
    return Simulated(trial.files(), trial.truth, trial.never - trial.supported, trial.supported, trial.traits)
