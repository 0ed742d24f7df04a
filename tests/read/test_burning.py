"""What trial.toml states and what the event rows say, brought together."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from reportgen.read.burning import Run, Stated, find_run
from reportgen.trial import LEVELS, Event

DAY = 86400.0
HALF = DAY / 2


def events(*rows: tuple[float, str]) -> list[Event]:
    named = {"lit": "burner lit", "out": "burner out", "placed": "water placed"}
    return [Event(at, named.get(kind, kind), kind, "log.csv", row) for row, (at, kind) in enumerate(rows, start=2)]


def seen(run: Run) -> list[tuple[str, str | None, int | None]]:
    return [(finding.code, finding.file, finding.row) for finding in run.findings]


def test_events_alone_tell_the_run() -> None:
    run = find_run(Stated(), events((100, "lit"), (150, "placed"), (500, "out"), (600, "lit"), (900, "out")), 1000.0)
    assert run == Run(100, 900, 150, ((100, 500), (600, 900)), True, ())


def test_the_sheet_alone_tells_the_run() -> None:
    assert find_run(Stated(100.0, 900.0, 150.0), [], None) == Run(100, 900, 150, ((100, 900),), True, ())


def test_the_sheet_is_used_before_a_row_and_a_difference_is_said() -> None:
    run = find_run(Stated(100.0, 9000.0, 200.0), events((400, "lit"), (800, "placed"), (8700, "out")), None)
    assert (run.lit_at, run.out_at, run.placed_at) == (100, 9000, 200)
    assert seen(run) == [
        ("times-differ", "log.csv", 2),
        ("times-differ", "log.csv", 4),
        ("times-differ", "log.csv", 3),
    ]
    assert str(run.findings[0].message) == (
        "burner.lit of trial.toml and this row differ by 5 min; trial.toml is used; correct the one that is wrong"
    )


def test_a_minute_is_no_difference() -> None:
    rows = events((160, "lit"), (150, "placed"), (8960, "out"))
    assert not find_run(Stated(100.0, 9000.0, 200.0), rows, None).findings


def test_a_flame_lit_again_in_the_minute_it_went_out_burnt_on() -> None:
    run = find_run(Stated(), events((100, "lit"), (600, "lit"), (600, "out"), (900, "out")), None)
    assert run.spans == ((100, 600), (600, 900))
    assert not run.findings


def test_a_relighting_in_the_rows_is_not_the_first_lighting() -> None:
    run = find_run(Stated(lit=100.0), events((500, "out"), (600, "lit"), (900, "out")), None)
    assert run.spans == ((100, 500), (600, 900))
    assert not run.findings


def test_a_pause_in_the_rows_is_not_the_last_flame_out() -> None:
    run = find_run(Stated(out=900.0), events((100, "lit"), (500, "out"), (600, "lit")), None)
    assert run.spans == ((100, 500), (600, 900))
    assert not run.findings
    both = find_run(Stated(100.0, 900.0), events((500, "out"), (600, "lit")), None)
    assert both.spans == ((100, 500), (600, 900))


def test_a_burner_lit_twice_burns_on() -> None:
    run = find_run(Stated(), events((100, "lit"), (300, "lit"), (900, "out")), None)
    assert run.spans == ((100, 900),)
    assert seen(run) == [("lit-twice", "log.csv", 3)]


def test_a_flame_out_before_any_lighting_is_not_used() -> None:
    run = find_run(Stated(), events((50, "out"), (100, "lit"), (900, "out")), None)
    assert run.spans == ((100, 900),)
    assert seen(run) == [("out-unlit", "log.csv", 2)]


def test_without_a_flame_out_the_last_reading_ends_the_run() -> None:
    run = find_run(Stated(lit=100.0), [], 950.0)
    assert (run.spans, run.end_recorded) == (((100, 950),), False)
    assert seen(run) == [("end-not-recorded", "trial.toml", None)]
    relit = find_run(Stated(), events((100, "lit"), (500, "out"), (600, "lit")), 950.0)
    assert relit.spans == ((100, 500), (600, 950))
    assert seen(relit) == [("end-not-recorded", "log.csv", 4)]


@pytest.mark.parametrize("last", [None, 50.0, 100.0])
def test_a_lighting_without_later_readings_is_no_run(last: float | None) -> None:
    run = find_run(Stated(lit=100.0), [], last)
    assert (run.lit_at, run.out_at, run.spans, run.end_recorded) == (None, None, (), False)
    assert seen(run) == [("no-reading-after-lit", "trial.toml", None)]


def test_nothing_recorded_is_no_run() -> None:
    assert find_run(Stated(), [], 950.0) == Run(None, None, None, (), False, ())


def test_a_clock_time_before_the_lighting_is_of_the_next_day() -> None:
    run = find_run(Stated(80000.0, 3600.0, 1800.0, 3600.0 + DAY, 1800.0 + DAY), [], None)
    assert (run.out_at, run.placed_at) == (3600.0 + DAY, 1800.0 + DAY)
    assert [(finding.level, finding.code) for finding in run.findings] == [("caution", "next-day")] * 2
    assert "burner.out at 01:00" in str(run.findings[0].message)


def test_a_next_day_to_which_the_logs_run_is_a_note() -> None:
    stated = Stated(lit=80000.0, out=3600.0, out_next_day=3600.0 + DAY, out_afternoon=3600.0 + HALF)
    run = find_run(stated, [], 3000.0 + DAY)
    assert run.out_at == 3600.0 + DAY
    assert [(finding.level, finding.code) for finding in run.findings] == [("note", "next-day")]


@pytest.mark.parametrize(
    ("last", "out", "code"),
    [
        (5400.0 + HALF, 5400.0 + HALF, "twelve-hour-clock"),
        (8 * 3600 + HALF, 5400.0 + HALF, "twelve-hour-clock"),
        (5000.0 + DAY, 5400.0 + DAY, "next-day"),
        (None, 5400.0 + DAY, "next-day"),
        (40000.0, 5400.0 + DAY, "next-day"),
    ],
)
def test_where_the_logs_end_tells_a_12_hour_clock_from_the_next_day(last: float | None, out: float, code: str) -> None:
    stated = Stated(lit=32400.0, out=5400.0, out_next_day=5400.0 + DAY, out_afternoon=5400.0 + HALF)
    run = find_run(stated, [], last)
    assert run.out_at == out
    assert [finding.code for finding in run.findings] == [code]


def test_what_was_taken_and_what_to_write_is_said() -> None:
    stated = Stated(lit=32400.0, out=5400.0, out_next_day=5400.0 + DAY, out_afternoon=5400.0 + HALF)
    (finding,) = find_run(stated, [], 5400.0 + HALF).findings
    assert finding.level == "caution"
    assert str(finding.message) == (
        "burner.out at 01:30 would lie before the run; the logs end before that time of the next day, so it is read on "
        'a 12-hour clock as 13:30; write out = "13:30" under [burner]'
    )


def test_water_may_be_placed_before_the_burner_is_lit() -> None:
    assert find_run(Stated(40000.0, 60000.0, 39000.0, None, 39000.0 + DAY), [], None).placed_at == 39000.0
    assert find_run(Stated(), events((50, "placed"), (100, "lit"), (900, "out")), None).placed_at == 50


def test_a_stated_date_is_never_moved() -> None:
    run = find_run(Stated(lit=80000.0, out=3600.0), [], 90000.0)
    assert (run.out_at, run.end_recorded) == (90000.0, False)
    assert [code for code, _, _ in seen(run)] == ["out-unlit", "end-not-recorded"]


moments = st.none() | st.floats(0, DAY)


@given(
    st.lists(st.tuples(st.integers(0, 1000), st.sampled_from(["lit", "out", "placed", "other"])), max_size=12),
    st.builds(Stated, moments, moments, moments),
    st.none() | st.floats(0, 2000),
)
def test_spans_never_overlap(rows: list[tuple[int, str]], stated: Stated, last: float | None) -> None:
    run = find_run(stated, events(*sorted((float(at), kind) for at, kind in rows)), last)
    assert all(start < end for start, end in run.spans)
    assert all(a[1] <= b[0] for a, b in itertools.pairwise(run.spans))
    assert (run.lit_at is None) == (not run.spans)
    assert all(finding.level in LEVELS for finding in run.findings)
