"""Flags travel with readings, and rows are named few at a time."""

from __future__ import annotations

import numpy as np

from reportgen.checks.marks import Checked, joined, rows_named, with_flags
from reportgen.trial import GOOD, QUESTIONABLE, Readings


def readings(count: int = 10) -> Readings:
    at = np.arange(count) * 60.0
    return Readings(at, at / 60, np.arange(2, count + 2), ("a.csv",), np.zeros(count, dtype=np.int64), 1.0)


def test_flags_travel_with_their_readings() -> None:
    doubted = np.isin(np.arange(10), [3, 7])
    flagged = with_flags(readings(), doubted)
    assert flagged.flag is not None
    assert set(flagged.flag.tolist()) == {GOOD, QUESTIONABLE}
    assert flagged.is_questionable.tolist() == doubted.tolist()
    assert flagged.between(180.0, 300.0).is_questionable.tolist() == [True, False, False]
    assert flagged.where(flagged.values % 2 == 1).is_questionable.tolist() == [False, True, False, True, False]
    assert flagged.where(flagged.values > 6).is_questionable.tolist() == [True, False, False]
    assert flagged.with_values(flagged.values * 2, 2.0).is_questionable.sum() == 2
    assert flagged.for_fits().values.tolist() == [0, 1, 2, 4, 5, 6, 8, 9]


def test_readings_that_nobody_checked_are_in_no_doubt() -> None:
    plain = readings()
    assert not plain.is_questionable.any()
    assert plain.for_fits() is plain


def test_chosen_readings_are_those_of_the_mask() -> None:
    plain = readings()
    for chosen in (plain.values < 0, plain.values >= 0, plain.values == 4, (plain.values > 2) & (plain.values < 8)):
        assert plain.where(chosen).rows.tolist() == plain.rows[chosen].tolist()
    assert len(readings(0).where(np.zeros(0, dtype=bool))) == 0


def test_rows_are_named_few_at_a_time() -> None:
    assert str(rows_named(readings(), [0, 2])) == "2, 4"
    assert str(rows_named(readings(), list(range(10)))) == "2, 3, 4, 5, 6, 7, …"


def test_readings_set_aside_are_questionable_and_come_back_in_their_places() -> None:
    some = np.isin(np.arange(10), [3, 7])
    column = Checked.of(readings().where(~some), np.arange(8) == 0, readings().where(some))
    assert column.used.is_questionable.tolist() == [True] + [False] * 7
    assert column.aside.is_questionable.all()
    back = joined(column.used, column.aside)
    assert back.rows.tolist() == readings().rows.tolist()
    assert back.values.tolist() == readings().values.tolist()
    assert back.is_questionable.tolist() == [True, False, False, True, False, False, False, True, False, False]


def test_joined_readings_have_the_finer_step_and_flags_only_where_both_have() -> None:
    some = np.isin(np.arange(10), [3, 7])
    coarse, fine = readings().where(~some), readings().where(some).with_values(np.array([3.5, 7.5]), 0.5)
    assert joined(coarse, fine).step == 0.5
    assert joined(with_flags(coarse, np.zeros(8, dtype=bool)), fine).flag is None
    assert joined(None, fine) is fine
    assert joined(coarse, fine.where(fine.values > 9)) is coarse
