"""The times of one log and of all logs of a trial together."""

from __future__ import annotations

import datetime as dt
import time
from pathlib import Path

import numpy as np
import pytest

from reportgen.errors import LogFileError
from reportgen.read.folder import read_trial
from reportgen.trial import Trial

from .written import trial_of, write

RUN = 'date = 2026-03-14\n[burner]\nlit = "09:05"\nout = "12:40"\n'


def log(*times: str, header: str = "time") -> str:
    rows = "".join(f"{cell},{20 - n % 30}\n" for n, cell in enumerate(times))
    return f"{header},cabinet_temperature [degC]\n{rows}"


def clocks(read: Trial) -> list[str]:
    at = read.readings["cabinet_temperature"].at
    return [dt.datetime.fromtimestamp(float(t), read.zone).strftime("%Y-%m-%d %H:%M") for t in at]


def said(read: Trial) -> dict[str, int | None]:
    return {finding.code: finding.row for finding in read.findings}


def test_the_zone_of_a_header_is_used_and_said() -> None:
    cells = ("14.03.2026 11:05", "14.03.2026 11:15")
    read = trial_of(RUN, log=log(*cells, header="time (GMT+02:00)"))
    assert clocks(read) == ["2026-03-14 09:05", "2026-03-14 09:15"]
    assert said(read)["zone-from-header"] == 1
    own = trial_of(RUN, log=log("2026-03-14T13:05+04:00", header="time (GMT+02:00)"))
    assert clocks(own) == ["2026-03-14 09:05"]


def test_the_zone_stated_for_a_file_is_used_before_that_of_its_header() -> None:
    sheet = RUN + '[files."log.csv"]\ntime_zone = "Indian/Mauritius"\n'
    read = trial_of(sheet, log=log("14.03.2026 13:05", header="time (GMT+02:00)"))
    assert clocks(read) == ["2026-03-14 09:05"]
    assert said(read)["zones-differ"] == 1
    agreed = trial_of(sheet, log=log("14.03.2026 13:05", header="time (GMT+04:00)"))
    assert not {"zones-differ", "zone-from-header"} & said(agreed).keys()


def test_another_log_may_tell_the_year() -> None:
    read = trial_of(log=log("Mar 14 09:05"), gas="time,gas_volume [L]\n2026-03-14 09:00,210\n")
    assert clocks(read) == ["2026-03-14 09:05"]
    with pytest.raises(LogFileError, match="carries no year"):
        trial_of(log=log("Mar 14 09:05"))


def test_a_night_run_on_a_12_hour_clock_is_read_where_it_was() -> None:
    sheet = 'date = 2026-03-14\n[burner]\nlit = "21:00"\nout = "01:00"\n'
    read = trial_of(sheet, log=log("9:00", "11:40", "12:20", "1:00"))
    assert clocks(read) == ["2026-03-14 21:00", "2026-03-14 23:40", "2026-03-15 00:20", "2026-03-15 01:00"]
    assert said(read)["half-day-taken"] == 2


def test_an_afternoon_on_a_12_hour_clock_is_told_by_another_log() -> None:
    gas = "time,gas_volume [L]\n13:50,210\n15:00,190\n17:30,150\n"
    read = trial_of("date = 2026-03-14\n", log=log("2:00", "3:00"), gas=gas)
    assert clocks(read) == ["2026-03-14 14:00", "2026-03-14 15:00"]
    assert "half-day-taken" in said(read)


@pytest.mark.parametrize("cells", [("9:05", "10:00"), ("8:00", "8:30"), ("05:00", "05:30")])
def test_a_morning_on_a_24_hour_clock_is_left_as_it_is(cells: tuple[str, ...]) -> None:
    read = trial_of(RUN, log=log(*cells))
    assert clocks(read)[0].endswith(cells[0].rjust(5, "0"))
    assert "half-day-taken" not in said(read)


def test_a_12_hour_clock_away_from_the_run_is_refused_unless_the_half_is_stated() -> None:
    sheet = 'date = 2026-03-14\n[burner]\nlit = "16:00"\nout = "18:00"\n'
    with pytest.raises(LogFileError) as caught:
        trial_of(sheet, log=log("10:00", "11:30"))
    assert (caught.value.code, caught.value.row) == ("half-day-open", 2)
    stated = sheet + '[files."log.csv"]\nclock_starts = "{}"\n'
    assert clocks(trial_of(stated.format("am"), log=log("10:00", "11:30")))[0] == "2026-03-14 10:00"
    assert clocks(trial_of(stated.format("pm"), log=log("10:00", "11:30")))[0] == "2026-03-14 22:00"


def test_a_clock_that_was_not_set_is_said_and_not_used() -> None:
    cells = ("2000-01-01 00:00", "2000-01-01 00:10", "2026-03-14 09:10", "2026-03-14 09:20")
    read = trial_of(RUN, log=log(*cells))
    assert clocks(read) == ["2026-03-14 09:10", "2026-03-14 09:20"]
    assert said(read)["clock-not-set"] == 2
    # Where nothing tells which of them is right, all are kept.
    assert len(clocks(trial_of(log=log(*cells)))) == 4


def test_feeds_of_many_years_are_kept() -> None:
    read = trial_of(feed="time,fresh_mass [kg]\n2020-03-14 09:00,2\n2026-03-14 09:00,2\n")
    assert len(read.feeds) == 2


def test_a_file_with_its_newest_row_first_is_said() -> None:
    read = trial_of(RUN, log=log("2026-03-14 09:30", "2026-03-14 09:20", "2026-03-14 09:10"))
    assert said(read)["newest-first"] == 3
    assert "not-in-order" not in said(read)
    mixed = trial_of(RUN, log=log(*(f"2026-03-14 09:{m}" for m in (50, 45, 40, 35, 30, 25, 20, 15, 10, 12, 11))))
    assert {"newest-first", "not-in-order"} <= said(mixed).keys()


def test_a_date_in_three_columns_is_refused() -> None:
    read = trial_of(RUN, log="year,month,day,time,cabinet_temperature [degC]\n2026,3,14,09:05,20\n")
    assert said(read)["date-in-three-columns"] == 1


def test_a_column_of_years_holds_no_clock_times() -> None:
    with pytest.raises(LogFileError, match="the dates are years alone"):
        trial_of(log="date,ambient_temperature [degC]\n2000,20\n2001,21\n")


def test_a_time_with_a_date_needs_no_column_of_dates() -> None:
    read = trial_of(log="date,time,cabinet_temperature [degC]\n14032026,14-03-2026 09:05,20\n")
    assert clocks(read) == ["2026-03-14 09:05"]


def test_a_date_once_a_page_and_halves_of_the_day() -> None:
    read = trial_of(
        log="date,time,cabinet_temperature [degC]\n14/03/2026,9:05 am,20\n,1:15 PM,19\n15/03/2026,9:05 a.m.,8\n"
    )
    assert clocks(read) == ["2026-03-14 09:05", "2026-03-14 13:15", "2026-03-15 09:05"]


def test_repeated_rows_of_a_long_log_are_found_at_once(tmp_path: Path) -> None:
    start = dt.datetime(2026, 3, 14, 9, 5)
    rows = [f"{start + dt.timedelta(seconds=n)},{n % 100 / 10}\n" for n in range(20_000)]
    text = "time,cabinet_temperature [degC]\n" + "".join([*rows, rows[-1], rows[-1].replace(".", ".0")])
    write(tmp_path, f'title = "t"\ntime_zone = "UTC"\n{RUN}', {"log.csv": text})
    began = time.process_time()
    read = read_trial(tmp_path)
    assert time.process_time() - began < 5
    assert said(read)["repeated-rows"] == 20_002
    assert np.isfinite(read.readings["cabinet_temperature"].at).all()
