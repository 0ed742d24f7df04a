"""A column read at once is the column read cell by cell."""

from __future__ import annotations

import datetime as dt
import time
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.read.clock import parse_moments
from reportgen.read.stamp_columns import StampColumn, read_alike, read_rest
from reportgen.read.stamps import parse_stamp

FORMATS = (
    "%Y-%m-%dT%H:%M:%S",
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M:%S.%f",
    "%Y-%m-%d %H:%M:%S+02:00",
    "%Y-%m-%dT%H:%M:%SZ",
    "%d/%m/%Y %H:%M:%S",
    "%m/%d/%Y %I:%M:%S %p",
    "%y.%m.%d %H:%M:%S",
    "%d.%m.%Y, %H:%M",
    "%H:%M:%S",
)


@pytest.mark.parametrize("form", FORMATS)
@given(
    st.lists(st.datetimes(dt.datetime(1971, 1, 1), dt.datetime(2099, 1, 1)), min_size=1, max_size=4),
    st.lists(st.tuples(st.integers(0, 24), st.sampled_from("0169:/.-+ TZAPx")), max_size=3),
)
def test_cells_of_one_shape_are_read_as_they_are_one_by_one(
    form: str, moments: list[dt.datetime], slips: list[tuple[int, str]]
) -> None:
    cells = [moment.strftime(form) for moment in moments * 21]
    for number, (place, letter) in enumerate(slips):
        text = cells[number + 1] if number + 1 < len(cells) else cells[-1]
        cells[min(number + 1, len(cells) - 1)] = text[:place] + letter + text[place + 1 :]
    texts = np.array(cells, dtype=object)
    column = read_alike(texts)
    assert slips or column.is_read.all()
    read_rest(texts, column)
    for i, text in enumerate(texts):
        stamp = parse_stamp(text)
        assert bool(column.is_read[i]) == (stamp is not None)
        assert stamp is None or column.stamp(i) == replace(stamp, seconds=pytest.approx(stamp.seconds, abs=1e-9))


@pytest.mark.parametrize(
    "cells",
    [
        pytest.param([f"14/03/2026 09:05{' ' * n}" for n in range(20)] * 20, id="cells of too many lengths"),
        pytest.param(["2026-03-14 09:05"] * 20 + ["\u0662026-03-14 09:05"], id="another script"),
        pytest.param(["14 Mar 2026 09:05", "14 Mar 2026 24:05", "14 Mar 2026 09:65"] * 20, id="no time of a day"),
        pytest.param(["cold, at last!!!"] * 30, id="words"),
    ],
)
def test_odd_columns_are_read_as_their_cells_are_one_by_one(cells: list[str]) -> None:
    texts = np.array(cells, dtype=object)
    column = read_alike(texts)
    read_rest(texts, column)
    for i, text in enumerate(cells):
        stamp = parse_stamp(text)
        assert bool(column.is_read[i]) == (stamp is not None)
        assert stamp is None or column.stamp(i) == stamp


def test_a_column_turns_round() -> None:
    column = StampColumn.blank(2)
    stamp = parse_stamp("14/03/2026 09:05 +02:00")
    assert stamp is not None
    column.put(1, stamp)
    turned = column.reversed()
    assert turned.stamp(0) == stamp
    assert turned.is_read.tolist() == [True, False]


@pytest.mark.parametrize("form", ["%Y-%m-%dT%H:%M:%S", "%m/%d/%Y %I:%M:%S %p", "%H:%M:%S"])
def test_a_long_log_is_read_at_once(form: str) -> None:
    start = dt.datetime(2026, 3, 14, 9, 5, 10)
    texts = np.array([(start + dt.timedelta(seconds=n)).strftime(form) for n in range(50_000)], dtype=object)
    began = time.process_time()
    read = parse_moments(texts, np.arange(2, 50_002), "log.csv", dt.UTC, start.date(), None)
    assert time.process_time() - began < 0.5
    assert np.diff(read.at).tolist() == [1.0] * 49_999


def test_odd_cells_without_end_are_refused_in_bounded_time() -> None:
    texts = np.array([f"14 mar mar mar {n} mar" for n in range(20_000)], dtype=object)
    began = time.process_time()
    read = parse_moments(texts, np.arange(2, 20_002), "log.csv", dt.UTC, None, None)
    assert time.process_time() - began < 2
    assert not np.isfinite(read.at).any()
    assert [finding.code for finding in read.findings] == ["time-not-read"]
