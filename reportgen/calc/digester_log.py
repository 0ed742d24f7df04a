"""Feed and gas logs of a digester in order, and how fast feed turns into gas.

Floats and arrays only; times in days [d].
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]
# First-order rates of food waste in daily-fed rigs [1/d], 0.09 to 0.30; range from a thesis on batch against
# continuous digestion.
DEFAULT_RATES = tuple(hundredths / 100 for hundredths in range(9, 31))
LENGTH_SLACK = 0.5  # [d] by which a log may fall short, for entries at uneven hours; ours


@dataclass(frozen=True)
class Reason:
    """Why a log does not support a figure: a stable code and the values behind it."""

    code: str
    values: Mapping[str, float] = field(default_factory=dict)


def ordered_log(times: ArrayLike, amounts: ArrayLike) -> tuple[Floats, Floats]:
    """Return a log in order of time, entries of one moment added up."""
    moments, values = np.asarray(times, dtype=float), np.asarray(amounts, dtype=float)
    if moments.ndim != 1 or moments.shape != values.shape:
        raise ValueError(f"times and amounts differ in shape: {moments.shape} and {values.shape}")
    if not (np.isfinite(moments).all() and np.isfinite(values).all() and (values >= 0.0).all()):
        raise ValueError("times must be finite; amounts must be finite and not negative")
    distinct, where = np.unique(moments, return_inverse=True)
    totals = np.bincount(where, weights=values, minlength=distinct.size)
    return distinct, totals.astype(np.float64)


def typical_step(moments: ArrayLike) -> float:
    """Return the median distance between moments, one day where there is only one."""
    steps = np.diff(np.unique(np.asarray(moments, dtype=float)))
    return float(np.median(steps)) if steps.size else 1.0
