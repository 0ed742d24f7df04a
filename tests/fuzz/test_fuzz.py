"""A small seeded share of the longer run that `python tests/fuzz/fuzz.py 20000` makes."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.fuzz.fuzz import SAMPLES, prepare, run_case, trials_in

DIALECTS = Path(__file__).resolve().parent.parent / "dialects"


@pytest.mark.parametrize("seed", range(0, 150, 5))
def test_rewritten_and_damaged_logs_give_a_report_or_a_short_error(seed: int) -> None:
    prepare()
    for number in range(seed, seed + 5):
        case = run_case(number, trials_in([SAMPLES, DIALECTS]))
        assert not case.broken, case
