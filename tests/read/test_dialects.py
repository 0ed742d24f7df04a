"""One night run of the harbour canteen, written down in every way that logs are: always the same readings are read.

Each folder of `tests/dialects` is named after its trait and holds the same thirteen cabinet readings, 20 minutes apart.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from reportgen.read.folder import read_trial

FOLDERS = Path(__file__).resolve().parent.parent / "dialects"
CABINET = [26.5, 24.1, 19.8, 15.2, 11.0, 7.4, 4.1, 1.2, -1.5, -3.9, -5.8, -7.4, -8.6]
#: What is said of each way of writing; one that is not named here needs no repair.
SAID: dict[str, set[str]] = {
    "arabic-names": {"column-alias", "ice-word"},
    "clock-set-back": {"clock-set-back"},
    "clock-times-past-midnight": {"midnight-passed"},
    "clock-times-without-a-colon": {"midnight-passed"},
    "comma-for-cells-and-decimals": {"commas-rejoined", "decimal-comma"},
    "commas-in-the-last-text": {"text-rejoined"},
    "elapsed-as-time-with-a-unit": {"time-as-elapsed"},
    "epoch-milliseconds": {"unit-taken"},
    "everyday-names": {"column-alias"},
    "french-names": {"column-alias", "decimal-comma", "ice-word"},
    "half-written-last-line": {"half-written-line"},
    "header-on-every-page": {"page-line", "repeated-header"},
    "mixed-clocks": {"midnight-passed"},
    "newest-first": {"newest-first"},
    "newest-first-past-midnight": {"midnight-passed", "newest-first"},
    "no-header": {"decimal-comma"},
    "no-year": {"year-taken"},
    "repeated-rows": {"not-in-order", "repeated-rows"},
    "second-header": {"second-header"},
    "semicolon-and-decimal-comma": {"decimal-comma"},
    "sensor-failures": {"sensor-failure"},
    "shift-jis-below-a-long-preamble": {"encoding"},
    "short-year-first": {"date-order"},
    "spanish-names": {"column-alias", "decimal-comma", "encoding", "ice-word"},
    "swahili-names": {"column-alias", "ice-word"},
    "thousands-marks": {"decimal-comma", "thousands-mark", "unit-taken"},
    "twelve-hours-without-am-and-pm": {"half-day-taken"},
    "units-in-the-cells": {"unit-taken"},
    "unsorted": {"not-in-order"},
    "utf-16-without-mark": {"encoding"},
    "windows-1252": {"encoding", "unknown-column"},
    "words-for-numbers": {"number-word"},
    "zone-in-the-header": {"zone-from-header"},
}


@pytest.mark.parametrize("name", sorted(folder.name for folder in FOLDERS.iterdir()))
def test_every_way_of_writing_gives_the_same_readings(name: str) -> None:
    trial = read_trial(FOLDERS / name)
    cabinet = trial.readings["cabinet_temperature"]
    assert trial.lit_at is not None
    assert ((cabinet.at - trial.lit_at) / 60).tolist() == pytest.approx([20.0 * i for i in range(13)], abs=1e-6)
    assert cabinet.values == pytest.approx(CABINET, abs=0.006)
    assert np.all(np.diff(cabinet.at) > 0)
    assert {finding.code for finding in trial.findings} == SAID.get(name, set())
