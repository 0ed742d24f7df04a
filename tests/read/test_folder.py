"""From a folder to a trial: what real files look like, and what is said of them."""

from __future__ import annotations

import datetime as dt
import hashlib
import itertools
import pickle
import random
import tracemalloc
from collections.abc import Sequence
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from reportgen import units
from reportgen.errors import LogFileError, ReportgenError, TrialFileError
from reportgen.read.files import LARGEST_LOG
from reportgen.read.folder import read_trial
from reportgen.read.sheet import LARGEST_FILE
from reportgen.results_file import started
from reportgen.trial import LEVELS, Readings, Trial
from reportgen.vocabulary import COLUMNS, POSSIBLE, TIME_COLUMNS

from .written import trial_of, write

HOUR = 3600.0
DATE = "date = 2026-03-14\n"
RUN = DATE + '[burner]\nlit = "09:05"\nout = "12:40"\n'


def at(text: str, zone: str = "UTC") -> float:
    return dt.datetime.fromisoformat(text).replace(tzinfo=ZoneInfo(zone)).timestamp()


def column(trial: Trial, name: str) -> Readings:
    readings = trial.column(name)
    assert readings is not None
    return readings


def values(trial: Trial, name: str) -> list[float]:
    return [round(float(value), 6) for value in column(trial, name).values]


def clock(trial: Trial, name: str) -> list[str]:
    return [f"{dt.datetime.fromtimestamp(float(t), trial.zone):%d %H:%M}" for t in column(trial, name).at]


def seen(trial: Trial) -> list[tuple[str, str, str | None, int | None]]:
    return [(finding.level, finding.code, finding.file, finding.row) for finding in trial.findings]


def codes(trial: Trial) -> list[str]:
    return [finding.code for finding in trial.findings]


def temperatures(*rows: str, header: str = "time,cabinet_temperature [degC]") -> str:
    return "\n".join((header, *rows)) + "\n"


# What a folder holds


def test_inputs_are_named_with_their_hashes_and_rows(tmp_path: Path) -> None:
    log = temperatures("09:05,24.5", "09:15,21.0")
    write(
        tmp_path,
        'title = "A trial"\n',
        {"log.csv": log, "b.TSV": "time\tice\n09:05\tsolid\n", "readme.md": "x"},
    )
    trial = read_trial(tmp_path)
    assert [(part.file, part.rows) for part in trial.inputs] == [
        ("trial.toml", 1),
        ("b.TSV", 1),
        ("log.csv", 2),
    ]
    assert trial.inputs[2].sha256 == hashlib.sha256(log.encode()).hexdigest()
    assert trial.folder == tmp_path.name


def test_the_folder_is_read_in_place_and_never_written_to(tmp_path: Path) -> None:
    write(tmp_path, 'title = "A trial"\n', {"log.csv": temperatures("09:05,24.5")})
    before = {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in tmp_path.iterdir()}
    assert pickle.dumps(read_trial(tmp_path)) == pickle.dumps(read_trial(tmp_path))
    assert {path: (path.read_bytes(), path.stat().st_mtime_ns) for path in tmp_path.iterdir()} == before


def test_a_sheet_alone_is_a_trial() -> None:
    trial = trial_of()
    assert (trial.lit_at, trial.burning, trial.readings, trial.dated, trial.findings) == (
        None,
        (),
        {},
        False,
        (),
    )
    assert str(trial.zone) == "UTC"


@pytest.mark.parametrize("name", sorted(set(COLUMNS) - set(TIME_COLUMNS)))
def test_every_column_is_read_in_its_default_unit_and_this_is_said(name: str) -> None:
    known = COLUMNS[name]
    low, high = POSSIBLE.get(name, (0.0, 0.0))
    number = {"atmospheric_pressure": 1009.0}.get(name, 9.0)
    word = "refill" if name == "event" else "solid"
    trial = trial_of(
        DATE, log=f"time,{name}\n09:05,{number if known.unit else word}\n", other="time,event\n09:05,refill\n"
    )
    if known.unit is None:
        assert not trial.readings
        assert codes(trial) == []
        return
    factor, offset = units.conversion(known.default_unit or "", known.unit)
    assert values(trial, name) == [pytest.approx(number * factor + offset)]
    assert low <= column(trial, name).values[0] <= high
    assert seen(trial) == [("note", "unit-taken", "log.csv", 1)]
    assert str(trial.findings[0].message) == f"no unit in the header; taken as {name} [{known.default_unit}]"


@pytest.mark.parametrize(
    ("header", "written", "name", "read"),
    [
        ("Cabinet Temperature (°F)", "77", "cabinet_temperature", 25.0),
        ("cabinet-temperature [K]", "298.15", "cabinet_temperature", 25.0),
        ("gas_volume [m3]", "0.21", "gas_volume", 210.0),
        ("gas_volume [ft3]", "1", "gas_volume", 28.316847),
        ("GASLEVEL [mm]", "105", "gas_level", 10.5),
        ("gas_flow [m3/h]", "0.6", "gas_flow", 10.0),
        ("gas_pressure [cmH2O]", "9", "gas_pressure", 0.882599),
        ("atmospheric_pressure [mmHg]", "757", "atmospheric_pressure", 100.925047),
        ("hydrogen_sulfide [%]", "0.2", "hydrogen_sulfide", 2000.0),
        ("fresh_mass [g]", "1200", "fresh_mass", 1.2),
        ("water_added [ml]", "500", "water_added", 0.5),
    ],
)
def test_a_unit_in_the_header_is_used(header: str, written: str, name: str, read: float) -> None:
    trial = trial_of(DATE, log=f"time,{header}\n09:05,{written}\n")
    assert values(trial, name) == [read]
    assert not trial.findings


def test_many_files_add_up_to_one_column() -> None:
    trial = trial_of(
        DATE,
        a=temperatures("09:05,24.5", "09:25,18.0"),
        b=temperatures("09:15;69,8", header="time;cabinet_temperature [degF]"),
    )
    readings = column(trial, "cabinet_temperature")
    assert values(trial, "cabinet_temperature") == [24.5, 21.0, 18.0]
    assert readings.sources == ("a.csv:2-3", "b.csv:2")
    assert seen(trial) == [("note", "decimal-comma", "b.csv", 2)]


def test_a_mapped_file_is_read_with_the_units_of_its_headers() -> None:
    trial = trial_of(
        RUN + '[columns]\n"logger7.csv" = { time = "Zeit", cabinet_temperature = "Kanal 1 [F]" }\n',
        {"logger7.csv": "Zeit;Kanal 1 [F];Kanal 2 [F]\n2026-03-14 09:05;77;80\n"},
    )
    assert values(trial, "cabinet_temperature") == [25.0]
    assert seen(trial)[-1] == ("note", "unknown-column", "logger7.csv", 1)


# Times


@pytest.mark.parametrize(
    "log",
    [
        temperatures("09:05,24.5", "09:35,18.0"),
        temperatures("9h05,24.5", "9h35,18.0"),
        temperatures("0905,24.5", "0935,18.0"),
        temperatures("9:05 am,24.5", "9:35 am,18.0"),
        temperatures("2026-03-14T09:05+04:00,24.5", "2026-03-14T05:35Z,18.0"),
        temperatures("14/03/2026 09:05,24.5", "14/03/2026 09:35,18.0"),
        temperatures("14/03/2026,9:05 am,24.5", ",0935,18.0", header="date,time,cabinet_temperature [degC]"),
        temperatures("0,24.5", "30,18.0", header="elapsed,cabinet_temperature [degC]"),
        temperatures("0,24.5", "0.5,18.0", header="elapsed [h],cabinet_temperature [degC]"),
        temperatures("1773464700,24.5", "1773466500,18.0", header="epoch,cabinet_temperature [degC]"),
        temperatures("1773464700000,24.5", "1773466500000,18.0", header="epoch [ms],cabinet_temperature [degC]"),
        temperatures("09:05|24.5", "09:35|18.0", header="time|cabinet_temperature [degC]"),
        "\ufeff" + temperatures("09:05\t24,5", "09:35\t18,0", header="Zone 1\n\ntime\tcabinet_temperature [degC]"),
        temperatures("09:05;24,5", "09:35;18,0", header="time;cabinet_temperature (°C)").encode("utf-16"),
        temperatures("09:05;24,5", "09:35;18,0", header="time;cabinet_temperature (°C)").encode("cp1252"),
    ],
)
def test_one_log_in_many_shapes(log: str | bytes) -> None:
    trial = trial_of('time_zone = "Indian/Mauritius"\n' + RUN, log=log)
    assert clock(trial, "cabinet_temperature") == ["14 09:05", "14 09:35"]
    assert values(trial, "cabinet_temperature") == [24.5, 18.0]
    assert trial.lit_at == column(trial, "cabinet_temperature").at[0]
    assert trial.dated
    assert {level for level, *_ in seen(trial)} <= {"note"}
    assert set(codes(trial)) <= {"unit-taken", "decimal-comma", "encoding"}


def test_each_clock_only_file_begins_on_the_date() -> None:
    trial = trial_of(DATE, a=temperatures("22:00,24.5", "01:00,5.0"), b=temperatures("23:00,18.0"))
    assert clock(trial, "cabinet_temperature") == ["14 22:00", "14 23:00", "15 01:00"]
    assert seen(trial) == [("note", "midnight-passed", "a.csv", 3)]


def test_a_date_is_written_once_and_midnight_still_passes() -> None:
    log = temperatures(
        "2026-03-14,23:40,24.5",
        ",0:10,20.0",
        "2026-03-16,08:00,5.0",
        header="date,time,cabinet_temperature [C]",
    )
    trial = trial_of(log=log)
    assert clock(trial, "cabinet_temperature") == ["14 23:40", "15 00:10", "16 08:00"]
    assert trial.dated


@pytest.mark.parametrize(
    ("sheet", "day"),
    [
        (DATE, "14"),
        ('[burner]\nlit = "2026-03-14 09:05"\n', "14"),
        ("[burner]\nlit = 2026-03-14T09:05:00\n", "14"),
        ('[water]\nplaced = "2026-03-14 09:10"\n', "14"),
    ],
)
def test_the_date_of_clock_times_is_the_stated_one(sheet: str, day: str) -> None:
    trial = trial_of(sheet, log=temperatures("09:05,24.5", "10:05,18.0"))
    assert clock(trial, "cabinet_temperature")[0] == f"{day} 09:05"
    assert trial.dated


def test_a_clock_time_of_the_sheet_is_on_the_day_of_a_dated_lighting() -> None:
    trial = trial_of('[burner]\nlit = "2026-03-14 09:05"\nout = "12:40"\n[water]\nplaced = "09:10"\n')
    assert (trial.lit_at, trial.out_at) == (at("2026-03-14 09:05"), at("2026-03-14 12:40"))
    assert trial.placed_at == at("2026-03-14 09:10")


def test_without_a_date_the_logs_tell_the_day() -> None:
    trial = trial_of(
        '[burner]\nlit = "09:05"\nout = "12:40"\n',
        a=temperatures("2026-03-14 08:50,24.5", "2026-03-14 13:00,5.0"),
        b="time,ice\n10:00,partial\n",
        feed="date,fresh_mass [kg]\n2026-02-01,2.0\n",
    )
    assert trial.lit_at == at("2026-03-14 09:05")
    assert trial.looks[0].at == at("2026-03-14 10:00")
    assert trial.dated
    assert seen(trial) == [("note", "date-from-log", "trial.toml", None)]


def test_without_any_date_a_trial_is_undated() -> None:
    sheet = '[burner]\nlit = "09:05"\nout = "12:40"\n'
    assert not trial_of(sheet, log=temperatures("09:05,24.5")).dated
    assert not trial_of(sheet, log=temperatures("0,24.5", header="elapsed,cabinet_temperature [C]")).dated
    assert not trial_of(sheet, log=temperatures("09:05,24.5"), feed="date,fresh_mass [kg]\n2026-02-01,2.0\n").dated


def test_elapsed_times_count_from_the_lighting_whoever_says_it() -> None:
    log = temperatures("-15,28.0", "0,28.0", "30,20.0", header="elapsed [min],cabinet_temperature [degC]")
    lit = "time,event\n09:05,burner lit\n12:40,burner out\n"
    inside = "elapsed [min],event\n0,burner lit\n215,burner out\n"
    stated = trial_of(DATE + '[burner]\nlit = "09:05"\n', log=log)
    by_event = trial_of(DATE, log=log, events=lit)
    by_both = trial_of(DATE + '[burner]\nlit = "09:05"\n', log=log, events=inside)
    for trial in (stated, by_event, by_both):
        assert clock(trial, "cabinet_temperature") == ["14 08:50", "14 09:05", "14 09:35"]
        assert trial.lit_at == at("2026-03-14 09:05")
    assert codes(stated) == ["end-not-recorded"]
    assert codes(by_event) == codes(by_both) == []
    assert by_both.out_at == at("2026-03-14 12:40")


def test_elapsed_times_alone_make_their_zero_the_lighting() -> None:
    trial = trial_of(DATE, log=temperatures("0,28.0", "30,20.0", header="elapsed [min],cabinet_temperature [degC]"))
    assert trial.lit_at == at("2026-03-14 00:00")
    assert trial.hours(float(column(trial, "cabinet_temperature").at[1])) == 0.5
    assert ("note", "lit-at-zero", "trial.toml", None) in seen(trial)
    assert not trial.clocked
    assert started(trial) is None


def test_times_are_of_the_clock_where_one_is_known() -> None:
    log = temperatures("0,28.0", "30,20.0", header="elapsed [min],cabinet_temperature [degC]")
    for trial in (trial_of(RUN, log=log), trial_of(DATE, log=log, a="time,event\n09:05,lit\n12:40,out\n"), trial_of()):
        assert trial.clocked
    assert started(trial_of(RUN, log=log)) == "2026-03-14T09:05:00+00:00"


def test_elapsed_times_beside_a_clock_need_a_lighting() -> None:
    log = temperatures("0,28.0", header="elapsed [min],cabinet_temperature [degC]")
    trial = trial_of(DATE, log=log, gas="time,gas_volume [L]\n09:05,210\n")
    assert trial.column("cabinet_temperature") is None
    assert seen(trial) == [("error", "elapsed-without-zero", "log.csv", 1)]


@pytest.mark.parametrize(
    ("header", "cell"), [("elapsed", "1e9"), ("epoch [s]", "1e12"), ("epoch", "-5"), ("elapsed [d]", "4000")]
)
def test_a_time_of_another_age_is_not_used(header: str, cell: str) -> None:
    log = f"{header},ice\n{cell},solid\n"
    trial = trial_of(RUN, log=log, other=temperatures("09:05,24.5"))
    assert not trial.looks
    assert ("caution", "time-not-possible", "log.csv", 2) in seen(trial)


@pytest.mark.parametrize("header", ["elapsed [min]", "epoch [s]"])
def test_a_time_that_is_no_number_is_said(header: str) -> None:
    trial = trial_of(RUN, log=f"{header},ice\nsoon,solid\n", other=temperatures("09:05,24.5"))
    assert ("caution", "number-not-read", "log.csv", 2) in seen(trial)


def test_a_run_over_a_clock_change_is_as_long_as_it_was() -> None:
    for date, hours in (("2026-03-28", 7), ("2026-10-24", 9), ("2026-06-01", 8)):
        sheet = f'time_zone = "Europe/Berlin"\ndate = {date}\n[burner]\nlit = "22:00"\nout = "06:00"\n'
        sheet += '[water]\nplaced = "05:30"\n'
        trial = trial_of(sheet, log=temperatures("22:00,24.5", "06:00,-8.0"))
        assert trial.lit_at is not None and trial.out_at is not None and trial.placed_at is not None
        assert trial.hours(trial.out_at) == hours
        assert trial.hours(trial.placed_at) == hours - 0.5
        assert np.diff(column(trial, "cabinet_temperature").at) == hours * HOUR
        assert trial.end_recorded


def test_water_placed_before_the_burner_was_lit() -> None:
    trial = trial_of(RUN + '[water]\nplaced = "08:55"\n')
    assert trial.placed_at == at("2026-03-14 08:55")


def test_a_burner_out_after_midnight() -> None:
    trial = trial_of(DATE + '[burner]\nlit = "20:00"\nout = "01:30"\n[water]\nplaced = "00:10"\n')
    assert (trial.out_at, trial.placed_at) == (at("2026-03-15 01:30"), at("2026-03-15 00:10"))


@pytest.mark.parametrize(
    ("out", "taken"),
    [('"1:30"', "14 13:30"), ("01:30:00", "14 13:30"), ('"1:30 am"', "15 01:30"), ('"2026-03-15 01:30"', "15 01:30")],
)
def test_a_burner_out_on_a_12_hour_clock(out: str, taken: str) -> None:
    sheet = DATE + f'[burner]\nlit = "09:00"\nout = {out}\n'
    trial = trial_of(sheet, log=temperatures("9:00,27", "12:00,-6", "1:00,-9", "1:30,-10"))
    assert trial.out_at is not None
    assert f"{dt.datetime.fromtimestamp(trial.out_at, dt.UTC):%d %H:%M}" == taken
    said = [finding for finding in trial.findings if finding.file == "trial.toml"]
    assert [finding.level for finding in said] == (["caution"] if "-" not in out else [])


def test_two_files_may_have_two_date_orders() -> None:
    trial = trial_of(
        '[files."a.csv"]\ndate_order = "day first"\n[files."b.csv"]\ndate_order = "month first"\n',
        a=temperatures("03/04/2026 09:05,24.5"),
        b=temperatures("04/03/2026 09:15,21.0"),
    )
    assert clock(trial, "cabinet_temperature") == ["03 09:05", "03 09:15"]


# What rows say


def test_ice_is_looked_at_per_container() -> None:
    trial = trial_of(
        DATE,
        ice="time,container,ice\n10:00,bag 1,0\n10:00,bag 2,liquid\n11:00,bag 1,60%\n11:00,bag 2,partial\n12:00,,100\n",
    )
    assert [(look.container, look.frozen, look.is_solid, look.source) for look in trial.looks] == [
        ("bag 1", 0.0, False, "ice.csv:2"),
        ("bag 2", 0.0, False, "ice.csv:3"),
        ("bag 1", 0.6, False, "ice.csv:4"),
        ("bag 2", None, False, "ice.csv:5"),
        ("", 1.0, True, "ice.csv:6"),
    ]


def test_ice_that_is_no_word_of_ours_is_said() -> None:
    trial = trial_of(DATE, ice="time,ice\n10:00,soft\n11:00,solid\n")
    assert len(trial.looks) == 1
    assert seen(trial) == [("caution", "ice-not-read", "ice.csv", 2)]


def test_an_everyday_word_for_ice_is_read_and_said_once() -> None:
    trial = trial_of(DATE, ice="time,ice\n10:00,Not frozen\n10:30,not frozen\n11:00,slush\n12:00,hard\n")
    assert [look.frozen for look in trial.looks] == [0.0, 0.0, None, 1.0]
    assert seen(trial) == [("note", "ice-word", "ice.csv", row) for row in (2, 4, 5)]
    assert str(trial.findings[2].message) == 'ice: "hard" is read as solid'


def test_events_and_notes_are_kept_apart() -> None:
    log = (
        "time,event,note\n09:05,Burner lit,blue flame\n09:10,water placed,\n10:00,door opened,\n"
        "10:30,tea,\n11:00,refill,\n12:40,flame out,\n"
    )
    trial = trial_of(DATE, log=log)
    assert [event.kind for event in trial.events] == [
        "burner lit",
        "water placed",
        "door opened",
        "other",
        "refill",
        "burner out",
    ]
    assert [(note.text, note.source) for note in trial.notes] == [("blue flame", "log.csv:2")]
    assert trial.burning == ((at("2026-03-14 09:05"), at("2026-03-14 12:40")),)
    assert trial.placed_at == at("2026-03-14 09:10")


def test_feeds_hold_what_was_fed() -> None:
    log = (
        "date,material,fresh_mass [g],total_solids,volatile_solids [%],water_added [L],gas_produced [L]\n"
        "2026-03-01,peelings,2500,24,88,7.5,426\n2026-03-02,,2800,,,,412\n2026-03-03,rice,,24,88,1,400\n"
        "2026-03-04,rice,3000,240,88,1,400\n"
    )
    trial = trial_of(feed=log)
    assert [(f.material, f.fresh_mass, f.total_solids, f.volatile_solids, f.water_added) for f in trial.feeds] == [
        ("peelings", 2.5, 24.0, 88.0, 7.5),
        ("", pytest.approx(2.8), None, None, None),
        ("rice", 3.0, None, 88.0, 1.0),
    ]
    assert values(trial, "gas_produced") == [426, 412, 400, 400]
    assert seen(trial) == [("note", "unit-taken", "feed.csv", 1), ("caution", "not-possible", "feed.csv", 5)]


# What was probably meant


def test_a_column_of_a_misspelt_name_is_asked_about_and_not_read() -> None:
    trial = trial_of(DATE, log="Time,Gas volum [L],Cabinet temprature [degC],humidity,Ice\n09:00,240,27,80,liquid\n")
    assert not trial.readings
    assert seen(trial) == [
        ("caution", "column-in-doubt", "log.csv", 1),
        ("caution", "column-in-doubt", "log.csv", 1),
        ("note", "unknown-column", "log.csv", 1),
    ]
    assert str(trial.findings[0].message) == (
        'is "Gas volum [L]" gas_volume? it is not read; rename it, or add under [columns] in trial.toml:  '
        '"log.csv" = { gas_volume = "Gas volum [L]", cabinet_temperature = "Cabinet temprature [degC]" }'
    )
    assert str(trial.findings[1].message).partition(":  ")[2] == (
        '"log.csv" = { gas_volume = "Gas volum [L]", cabinet_temperature = "Cabinet temprature [degC]" }'
    )
    assert str(trial.findings[2].message) == "columns that mean nothing here are not used: humidity"


def test_a_column_read_by_an_everyday_name_is_noted_once_a_file() -> None:
    trial = trial_of(DATE, log="Date/time;Fridge temp, °C;Room temp. [F];Ice state\n2026-03-14 09:00;24,5;77;liquid\n")
    assert values(trial, "cabinet_temperature") == [24.5]
    assert values(trial, "ambient_temperature") == [25.0]
    aliases = [finding for finding in trial.findings if finding.code == "column-alias"]
    assert [(f.level, f.file, f.row) for f in aliases] == [("note", "log.csv", 1)]
    assert str(aliases[0].message) == (
        'read by their everyday names: "Date/time" as time, "Fridge temp, °C" as cabinet_temperature, '
        '"Room temp. [F]" as ambient_temperature, "Ice state" as ice'
    )


@pytest.mark.parametrize("header", ["cabinet_temperature [degC],fridge temp", "fridge temp,cabinet_temperature [degC]"])
def test_the_name_of_a_column_wins_over_an_everyday_name_and_the_other_is_said(header: str) -> None:
    read = {"cabinet_temperature [degC]": "20", "fridge temp": "30"}
    trial = trial_of(DATE, log=f"time,{header}\n09:00,{','.join(read[name] for name in header.split(','))}\n")
    assert values(trial, "cabinet_temperature") == [20.0]
    assert seen(trial) == [("caution", "column-set-aside", "log.csv", 1)]
    assert str(trial.findings[0].message) == (
        '"fridge temp" means cabinet_temperature too, which is read from the column "cabinet_temperature [degC]"; '
        "it is not read"
    )


def test_two_everyday_names_of_one_column_are_an_error() -> None:
    with pytest.raises(LogFileError, match="two columns are named cabinet_temperature") as caught:
        trial_of(DATE, log="time,fridge temp,freezer temp\n09:00,20,21\n")
    assert caught.value.code == "column-twice"


def test_the_line_that_is_offered_for_a_column_in_doubt_reads_it() -> None:
    log = 'time,"Kanal ""A"" [F]",cabinet temprature\n09:00,77,68\n'
    mapping = '[columns]\n"log 1.csv" = { ambient_temperature = \'Kanal "A" [F]\' }\n'
    doubt = trial_of(DATE + mapping, {"log 1.csv": log}).findings[0]
    assert doubt.code == "column-in-doubt"
    line = str(doubt.message).partition(":  ")[2]
    assert line == (
        '"log 1.csv" = { ambient_temperature = "Kanal \\"A\\" [F]", cabinet_temperature = "cabinet temprature" }'
    )
    trial = trial_of(f"{DATE}[columns]\n{line}\n", {"log 1.csv": log})
    assert values(trial, "ambient_temperature") == [25.0]
    assert values(trial, "cabinet_temperature") == [68.0]
    assert "column-in-doubt" not in codes(trial)


def test_a_header_that_is_nearly_one_is_named_with_the_line_that_would_read_it() -> None:
    log = "Station 4\n\nTme;Temp (°C);Humidity\n09:00;24,5;80\n"
    finding = next(f for f in trial_of(RUN, log=log, other="time,ice\n09:10,liquid\n").findings if f.file == "log.csv")
    assert (finding.code, finding.row) == ("no-header", 3)
    line = '"log.csv" = { time = "Tme", cabinet_temperature = "Temp (°C)" }'
    assert str(finding.message).endswith(f"check and add under [columns] in trial.toml:  {line}")
    assert values(trial_of(f"{RUN}[columns]\n{line}\n", log=log), "cabinet_temperature") == [24.5]


def test_a_name_cut_short_may_be_any_of_several_columns() -> None:
    trial = trial_of(DATE, log="time,ice,solids,total_solids\n09:00,liquid,24,24\n")
    assert 'is "solids" volatile_solids?' in str(trial.findings[-1].message)
    both = trial_of(DATE, log="time,ice,solids\n09:00,liquid,24\n")
    assert 'is "solids" total_solids or volatile_solids?' in str(both.findings[-1].message)


def test_a_second_column_of_a_kind_is_no_slip() -> None:
    trial = trial_of(DATE, log="time,gas_volume [L],gas_volume 2 [L]\n09:00,240,240\n")
    assert seen(trial) == [("note", "unknown-column", "log.csv", 1)]


@pytest.mark.parametrize(
    ("log", "asked"),
    [
        ("time,cabinet_temperature\n09:00,81\n10:00,54\n11:00,21\n", "are these °F? write cabinet_temperature [degF]"),
        ("time,ambient_temperature\n09:00,81\n10:00,83\n", "are these °F? write ambient_temperature [degF]"),
        ("time,gas_volume\n09:00,1.200\n10:30,1.250\n12:00,1.350\n", "are these m3? write gas_volume [m3]"),
        ("time,cabinet_temperature [degC]\n09:00,50\n10:00,40\n", None),
        ("time,cabinet_temperature\n09:00,30\n10:00,20\n", None),
        ("time,gas_volume\n09:00,4\n10:00,2\n", None),
        ("time,gas_volume\n09:00,240\n10:00,190\n12:00,3\n", None),
    ],
)
def test_a_unit_left_out_that_was_probably_another_is_asked_about(log: str, asked: str | None) -> None:
    trial = trial_of(RUN + '[gas]\nkind = "meter"\n', log=log, other="time,event\n09:30,tea\n")
    doubts = [finding for finding in trial.findings if finding.code == "unit-in-doubt"]
    assert [finding.level for finding in doubts] == ["caution"] * (asked is not None)
    assert all(asked in str(finding.message) for finding in doubts if asked)
    assert ("unit-taken" in codes(trial)) == ("[degC]" not in log)


def test_a_zone_that_is_not_stated_is_said(tmp_path: Path) -> None:
    write(tmp_path, 'title = "t"\n', {"log.csv": temperatures("2026-03-14 09:05,24.5")})
    assert seen(read_trial(tmp_path)) == [("note", "zone-not-stated", "trial.toml", None)]
    write(
        tmp_path, 'title = "t"\n', {"log.csv": temperatures("0,24.5", header="elapsed [min],cabinet_temperature [C]")}
    )
    assert "zone-not-stated" not in codes(read_trial(tmp_path))


def test_a_sheet_of_nearly_the_right_name_is_to_be_renamed(tmp_path: Path) -> None:
    (tmp_path / "trial.toml.txt").write_text('title = "t"\n', encoding="utf-8")
    with pytest.raises(TrialFileError, match=r'Rename "trial\.toml\.txt" to trial\.toml'):
        read_trial(tmp_path)
    with pytest.raises(TrialFileError, match="this is a file; name the folder"):
        read_trial(tmp_path / "trial.toml.txt")


# Findings that do not stop the reading: file, row, what was done

ROWS = ("09:05,24.5", "09:15,21.0")


@pytest.mark.parametrize(
    ("log", "expected", "read"),
    [
        (temperatures(*ROWS).rstrip() + "\n09:2", [("caution", "half-written-line", "log.csv", 4)], [24.5, 21.0]),
        (temperatures("09:00,-127", *ROWS), [("caution", "sensor-failure", "log.csv", 2)], [24.5, 21.0]),
        (temperatures("09:00,85", *ROWS), [("caution", "sensor-failure", "log.csv", 2)], [24.5, 21.0]),
        (temperatures(*ROWS, "09:25,Err"), [("caution", "sensor-failure", "log.csv", 4)], [24.5, 21.0]),
        (temperatures(*ROWS, "09:25,#N/A"), [("caution", "sensor-failure", "log.csv", 4)], [24.5, 21.0]),
        (temperatures(*ROWS, "09:25,---"), [("caution", "sensor-failure", "log.csv", 4)], [24.5, 21.0]),
        (temperatures(*ROWS, "09:25,cold"), [("caution", "number-not-read", "log.csv", 4)], [24.5, 21.0]),
        (
            temperatures(*ROWS, ROWS[0]),
            [("note", "not-in-order", "log.csv", 4), ("note", "repeated-rows", "log.csv", 4)],
            [24.5, 21.0],
        ),
        (temperatures(*ROWS, "09:10,23.0"), [("note", "not-in-order", "log.csv", 4)], [24.5, 23.0, 21.0]),
        (
            temperatures("09:05;24,5", "09:15;21,0", header="time;cabinet_temperature [C]"),
            [("note", "decimal-comma", "log.csv", 2)],
            [24.5, 21.0],
        ),
        (
            temperatures(*ROWS, header="time,cabinet_temperature [°C]").encode("cp1252"),
            [("note", "encoding", "log.csv", 1)],
            [24.5, 21.0],
        ),
        (temperatures("23:50,24.5", "0:10,21.0"), [("note", "midnight-passed", "log.csv", 3)], [24.5, 21.0]),
        (temperatures("12:50,24.5", "1:10,21.0"), [("caution", "twelve-hour-clock", "log.csv", 3)], [24.5, 21.0]),
        (
            temperatures(*ROWS, header="# note\ntime,cabinet_temperature"),
            [("note", "unit-taken", "log.csv", 2)],
            [24.5, 21.0],
        ),
        (
            temperatures("09:05,24.5,3", header="time,cabinet_temperature [C],battery"),
            [("note", "unknown-column", "log.csv", 1)],
            [24.5],
        ),
        (temperatures(*ROWS, "09:25,500"), [("caution", "not-possible", "log.csv", 4)], [24.5, 21.0]),
        (temperatures(*ROWS, "soon,20.0"), [("caution", "time-not-read", "log.csv", 4)], [24.5, 21.0]),
        (temperatures(*ROWS, ",20.0"), [("caution", "row-without-time", "log.csv", 4)], [24.5, 21.0]),
        (temperatures(*ROWS, "09:25,20.0,7"), [("caution", "extra-cells", "log.csv", 4)], [24.5, 21.0]),
        (
            temperatures(*ROWS, '09:25,"20.0', '09:35,"'),
            [("caution", "quoted-lines", "log.csv", 4), ("caution", "number-not-read", "log.csv", 4)],
            [24.5, 21.0],
        ),
    ],
)
def test_a_repair_is_said_and_the_rest_is_read(
    log: str | bytes, expected: list[tuple[str, str, str, int]], read: list[float]
) -> None:
    trial = trial_of(DATE, log=log)
    assert seen(trial) == expected
    assert values(trial, "cabinet_temperature") == read
    assert all(finding.level in LEVELS and str(finding.message) for finding in trial.findings)


def test_a_reading_that_is_not_possible_is_kept_aside() -> None:
    trial = trial_of(DATE, log=temperatures(*ROWS, "09:25,500"))
    assert trial.excluded["cabinet_temperature"].values.tolist() == [500.0]
    assert str(trial.findings[0].message) == (
        "cabinet_temperature: 500 degC is not possible; shown but not used; is it a slip, or another unit?"
    )


@pytest.mark.parametrize(
    ("name", "data", "finding"),
    [
        ("log.csv", b"", ("caution", "empty-file", "log.csv", None)),
        ("log.csv", b"\n \n", ("caution", "empty-file", "log.csv", None)),
        ("log.txt", b"09:05,24.5\n", ("error", "no-header", "log.txt", 1)),
        ("log.dat", b"time,temperature\n09:05,24.5\n", ("error", "no-header", "log.dat", 1)),
        ("log.xls", b"PK\x03\x04", ("caution", "spreadsheet", "log.xls", None)),
        ("Log.ODS", b"PK\x03\x04", ("error", "spreadsheet-not-read", "Log.ODS", None)),
    ],
)
def test_a_file_that_cannot_be_used_is_said(name: str, data: bytes, finding: tuple[str, str, str, int | None]) -> None:
    trial = trial_of(RUN, {name: data, "other.csv": temperatures(*ROWS)})
    assert finding in seen(trial)
    assert values(trial, "cabinet_temperature") == [24.5, 21.0]


def test_a_header_without_rows_is_read() -> None:
    trial = trial_of(RUN, log="time,cabinet_temperature [degC],ice\n", events="time,event\n09:05,lit\n12:40,out\n")
    assert trial.column("cabinet_temperature") is None
    assert not trial.findings


def test_logs_that_nobody_has_filled_in_yet_are_said_and_no_error() -> None:
    trial = trial_of(RUN, log="time,cabinet_temperature [degC],ice\n", feed="# fed daily\ntime,material,fresh_mass\n")
    assert [finding.code for finding in trial.findings if finding.level != "note"] == ["nothing-filled-in"]
    assert str(trial.findings[-1].message) == (
        "feed.csv, log.csv: no reading, event, look at the ice or feed; there is nothing filled in below the header"
    )


@pytest.mark.parametrize(
    ("logs", "error"),
    [
        (
            {"a.csv": "", "b.csv": "zeit,wert\n1,2\n"},
            (
                "a.csv, b.csv: no reading, event, look at the ice or feed could be used.\n"
                "a.csv: the file is empty; export it once more"
            ),
        ),
        (
            {"log.csv": "time,gas_volume [L],note\nsoon,200,smell of gas\n"},
            (
                "log.csv: no reading, event, look at the ice or feed could be used.\n"
                'log.csv, row 2: "soon" is no time that can be read; its row is not used; write times like 09:05'
            ),
        ),
        (
            {f"{name}.csv": "" for name in "abcdef"},
            (
                "a.csv, b.csv, c.csv, d.csv and 2 more: no reading, event, look at the ice or feed could be used.\n"
                "a.csv: the file is empty; export it once more"
            ),
        ),
    ],
)
def test_logs_of_which_nothing_can_be_used_are_an_error(logs: dict[str, str], error: str) -> None:
    with pytest.raises(LogFileError) as caught:
        trial_of(RUN, logs)
    assert str(caught.value) == error


@pytest.mark.parametrize("header", ["ice", "event", "note", "fresh_mass [kg]", "cabinet_temperature [degC]"])
def test_one_cell_that_can_be_used_is_enough(header: str) -> None:
    cell = "2.5" if "[" in header else "solid"
    assert len(trial_of(DATE, log=f"time,{header}\n09:05,{cell}\n", empty="").inputs) == 3


@pytest.mark.parametrize(
    ("sheet", "rows", "finding"),
    [
        (DATE, ("09:05,burner lit", "09:30,lit", "12:40,burner out"), ("note", "lit-twice", "log.csv", 3)),
        (
            DATE,
            ("09:00,burner out", "09:05,burner lit", "12:40,burner out"),
            ("note", "out-unlit", "log.csv", 2),
        ),
        (DATE, ("09:05,burner lit", "12:40,refill"), ("caution", "end-not-recorded", "log.csv", 2)),
        (RUN, ("09:15,burner lit", "12:40,burner out"), ("caution", "times-differ", "log.csv", 2)),
        (RUN, ("09:05,burner lit", "12:20,burner out"), ("caution", "times-differ", "log.csv", 3)),
    ],
)
def test_what_rows_and_sheet_say_of_the_burner(
    sheet: str, rows: tuple[str, ...], finding: tuple[str, str, str, int]
) -> None:
    trial = trial_of(sheet, log="\n".join(("time,event", *rows)) + "\n")
    assert seen(trial) == [finding]
    assert trial.burning == ((at("2026-03-14 09:05"), at("2026-03-14 12:40")),)


def test_rows_alike_on_two_days_are_no_repetition() -> None:
    trial = trial_of(DATE, log=temperatures("20:00,24.0", "08:00,5.0", "20:00,24.0", "08:00,5.0"))
    assert values(trial, "cabinet_temperature") == [24.0, 5.0, 24.0, 5.0]
    assert "repeated-rows" not in codes(trial)


def test_feeds_alike_on_one_day_are_two_feeds_unless_a_clock_says_otherwise() -> None:
    zone = 'time_zone = "Asia/Kathmandu"\n'
    by_day = trial_of(zone, feed="date,fresh_mass [kg]\n2026-03-01,2.0\n2026-03-01,2.0\n")
    by_clock = trial_of(zone, feed="time,fresh_mass [kg]\n2026-03-01 08:00,2.0\n2026-03-01 08:00,2.0\n")
    assert (len(by_day.feeds), len(by_clock.feeds)) == (2, 1)
    assert codes(by_clock) == ["repeated-rows"]


def test_elapsed_rows_that_repeat_are_read_once() -> None:
    log = "elapsed [min],gas_volume [L],ice\n5,200,liquid\n5,200,liquid\n"
    trial = trial_of(RUN, log=log)
    assert values(trial, "gas_volume") == [200.0]
    assert len(trial.looks) == 1
    assert codes(trial) == ["repeated-rows"]


def test_a_summer_day_in_fahrenheit_is_no_failed_sensor() -> None:
    trial = trial_of(DATE, log="time,ambient_temperature [degF]\n09:05,85\n09:15,85.0\n09:25,185\n")
    assert values(trial, "ambient_temperature") == [29.444444, 29.444444]
    assert seen(trial) == [("caution", "sensor-failure", "log.csv", 4)]


def test_a_cell_in_another_unit_than_its_column_is_converted_or_not_used() -> None:
    trial = trial_of(DATE, log="time,gas_volume [L]\n09:05,210 L\n09:15,190000 ml\n09:25,3 kg\n")
    assert values(trial, "gas_volume") == [210.0, 190.0]
    assert seen(trial) == [("caution", "number-not-read", "log.csv", 4), ("note", "cell-unit", "log.csv", 3)]


# Properties

readings = st.lists(
    st.tuples(st.integers(0, 600), st.integers(-59, 69), st.integers(0, 2100)),
    min_size=1,
    max_size=12,
    unique_by=lambda row: row[0],
)


def iso(minute: int) -> str:
    return f"2026-03-14 {minute // 60 + 8:02d}:{minute % 60:02d}"


def rows_of(trial: Trial, name: str) -> list[tuple[float, float]]:
    part = column(trial, name)
    return [(float(t), round(float(v), 3)) for t, v in zip(part.at, part.values, strict=True)]


@settings(max_examples=12, derandomize=True, deadline=None)
@given(readings)
def test_the_unit_does_not_change_the_readings(rows: list[tuple[int, int, int]]) -> None:
    sheet = DATE + '[burner]\nlit = "08:00"\n'
    header = "{},cabinet_temperature [{}],gas_volume [{}]"
    plain = [(iso(m), t / 10, v / 10) for m, t, v in rows]
    shapes: list[tuple[str, Sequence[tuple[str | int, float, float]]]] = [
        (header.format("time", "°C", "L"), plain),
        (header.format("time", "degF", "m3"), [(m, t * 1.8 + 32, v / 1000) for m, t, v in plain]),
        (header.format("time", "K", "ft3"), [(m, t + 273.15, v / 28.316846592) for m, t, v in plain]),
        (header.format("elapsed [min]", "°C", "L"), [(m, t / 10, v / 10) for m, t, v in rows]),
        (
            header.format("elapsed [h]", "F", "dm3"),
            [(f"{m / 60:.9f}", t * 0.18 + 32, v / 10) for m, t, v in rows],
        ),
    ]
    trials = [
        trial_of(sheet, log="\n".join((head, *(f"{a},{b:.6f},{c:.9f}" for a, b, c in body))) + "\n")
        for head, body in shapes
    ]
    for name in ("cabinet_temperature", "gas_volume"):
        expected = rows_of(trials[0], name)
        for other in trials[1:]:
            assert np.allclose(rows_of(other, name), expected, rtol=0, atol=0.001)


@settings(max_examples=20, derandomize=True, deadline=None)
@given(readings, st.randoms(use_true_random=False))
def test_the_order_of_the_rows_does_not_change_the_readings(
    rows: list[tuple[int, int, int]], order: random.Random
) -> None:
    lines = [f"{iso(m)},{t / 10},{v}" for m, t, v in rows]
    shuffled = list(lines)
    order.shuffle(shuffled)
    header = "time,cabinet_temperature [degC],gas_volume [L]"
    one, two = (trial_of(log="\n".join((header, *part)) + "\n") for part in (lines, shuffled))
    for name in ("cabinet_temperature", "gas_volume"):
        assert rows_of(one, name) == rows_of(two, name)
        assert one.readings[name].step == two.readings[name].step


@settings(max_examples=20, derandomize=True, deadline=None)
@given(readings, st.sampled_from([",", ";", "\t", "|"]), st.booleans(), st.sampled_from(["\n", "\r\n"]))
def test_delimiter_decimal_mark_and_line_end_do_not_change_values(
    rows: list[tuple[int, int, int]], delimiter: str, comma: bool, end: str
) -> None:
    cells = [("time", "cabinet_temperature [degC]"), *((iso(m), str(t / 10)) for m, t, _ in rows)]
    plain = "\n".join(",".join(row) for row in cells) + "\n"
    marked = [(a, b.replace(".", ",") if comma else b) for a, b in cells]
    quote = '"' if delimiter == "," else ""
    other = end.join(delimiter.join(f"{quote}{cell}{quote}" for cell in row) for row in marked) + end
    assert rows_of(trial_of(log=other), "cabinet_temperature") == rows_of(trial_of(log=plain), "cabinet_temperature")


@settings(max_examples=20, derandomize=True, deadline=None)
@given(readings)
def test_a_repeated_read_is_equal(rows: list[tuple[int, int, int]]) -> None:
    log = "\n".join(("time,cabinet_temperature,ice", *(f"{iso(m)},{t},{v % 101}" for m, t, v in rows))) + "\n"
    one, two = (trial_of(RUN, log=log) for _ in range(2))
    assert one.findings == two.findings
    assert one.looks == two.looks
    assert rows_of(one, "cabinet_temperature") == rows_of(two, "cabinet_temperature")


words = st.one_of(
    st.text(max_size=10),
    st.sampled_from(
        [
            "09:05",
            "24:00",
            "0905",
            "2026-03-14 09:05",
            "03/04/2026",
            "1e400",
            "-127",
            "solid",
            "burner lit",
            "#N/A",
        ]
    ),
    st.text(alphabet='0123456789:/-.,;"\t ', max_size=12),
)
headers = st.sampled_from(
    [
        "time,cabinet_temperature,ice,event",
        "date,time,fresh_mass,note",
        "elapsed,gas_volume [m3],event,container",
        "epoch [ms];ice;event;methane",
        "time\tgas_level [buckets]\tice\tnote",
        "elapsed [kg],time,ice,event",
    ]
)
sheets = st.sampled_from(
    [
        "",
        RUN,
        'time_zone = "Europe/Berlin"\ndate = 2026-03-29\n[burner]\nlit = "02:30"\n',
        '[burner]\nout = "09:05"\n',
    ]
)


@settings(max_examples=200, derandomize=True, deadline=None)
@given(headers, st.lists(st.lists(words, min_size=1, max_size=5), max_size=5), sheets)
def test_no_cell_breaks_the_reading(header: str, rows: list[list[str]], sheet: str) -> None:
    delimiter = next(mark for mark in ";\t," if mark in header)
    log = "\n".join((header, *(delimiter.join(row) for row in rows)))
    try:
        trial = trial_of(sheet, log=log.encode("utf-8", "surrogatepass"))
    except ReportgenError as error:
        assert 1 <= len(str(error).split("\n")) <= 3
        assert "log.csv" in str(error)
    else:
        for readings in trial.readings.values():
            assert np.isfinite(readings.at).all() and np.isfinite(readings.values).all()
            assert np.all(np.diff(readings.at) >= 0)
        assert all(a < b for a, b in trial.burning)
        assert all(a[1] <= b[0] for a, b in itertools.pairwise(trial.burning))
        assert all(str(finding.message) for finding in trial.findings)


@settings(max_examples=100, derandomize=True, deadline=None)
@given(st.binary(max_size=200), st.text(max_size=80))
def test_no_file_breaks_the_reading(data: bytes, sheet: str) -> None:
    for text, log in ((RUN, data), (sheet, b"time,ice\n" + data)):
        try:
            trial_of(text.encode("utf-8", "replace").decode(), log=log)
        except ReportgenError as error:
            assert 1 <= len(str(error).split("\n")) <= 3


def linked(link: Path, target: Path) -> None:
    try:
        link.symlink_to(target)
    except OSError:
        pytest.skip("this machine makes no symbolic links")


def test_a_log_that_is_a_link_out_of_the_folder_is_not_read(tmp_path: Path) -> None:
    secret = tmp_path / "secret.csv"
    secret.write_text("time,cabinet_temperature [degC]\n09:05,21.5\n", encoding="utf-8")
    folder = tmp_path / "trial"
    folder.mkdir()
    write(folder, f'title = "t"\n{RUN}', {"inside.csv": "time,ice\n09:05,liquid\n"})
    linked(folder / "outside.csv", secret)
    linked(folder / "same.csv", folder / "inside.csv")
    trial = read_trial(folder)
    assert ("error", "link-outside", "outside.csv", None) in seen(trial)
    assert trial.column("cabinet_temperature") is None
    assert [source.file for source in trial.inputs] == ["trial.toml", "inside.csv", "same.csv"]


def test_a_sheet_that_is_a_link_out_of_the_folder_is_refused(tmp_path: Path) -> None:
    (tmp_path / "secret.toml").write_text('title = "t"\n', encoding="utf-8")
    (tmp_path / "trial").mkdir()
    linked(tmp_path / "trial" / "trial.toml", tmp_path / "secret.toml")
    with pytest.raises(TrialFileError, match="link to a file outside"):
        read_trial(tmp_path / "trial")


def test_a_trial_reached_through_a_link_is_read(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    folder.mkdir()
    write(folder, 'title = "t"\n', {"log.csv": "time,ice\n09:05,liquid\n"})
    linked(tmp_path / "link", folder)
    assert [source.file for source in read_trial(tmp_path / "link").inputs] == ["trial.toml", "log.csv"]


def test_a_file_of_many_megabytes_is_refused_before_it_is_read(tmp_path: Path) -> None:
    write(tmp_path, 'title = "t"\n', {"log.csv": b"time,ice\n"})
    with (tmp_path / "log.csv").open("r+b") as file:
        file.truncate(LARGEST_LOG + 1)  # a file with a hole: large on paper only
    tracemalloc.start()
    with pytest.raises(LogFileError, match=r"log\.csv: 200 MB are too many"):
        read_trial(tmp_path)
    most = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert most < LARGEST_LOG / 4
    with (tmp_path / "trial.toml").open("r+b") as file:
        file.truncate(LARGEST_FILE + 1)
    with pytest.raises(TrialFileError, match="too many for a trial sheet"):
        read_trial(tmp_path)


def test_clock_times_say_nothing_beside_logs_that_only_count_from_lighting(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").write_text(
        'title = "t"\ndate = 2026-03-14\n[burner]\nout = "09:00"\n[water]\nplaced = "05:10"\n', encoding="utf-8"
    )
    (tmp_path / "log.csv").write_text(
        "elapsed [min],cabinet_temperature [degC],event\n0,25,burner lit\n60,5,\n120,-5,\n", encoding="utf-8"
    )
    trial = read_trial(tmp_path)
    assert trial.placed_at is None
    assert trial.hours(trial.burning[-1][1]) == pytest.approx(2.0)
    assert [finding.code for finding in trial.findings].count("clock-without-lit") == 2


@pytest.mark.parametrize(
    ("other", "value"),
    [("time;ambient_temperature\n09:05;28,5\n", 27.955), ("time,ambient_temperature\n09:05,28.5\n", 27955.0)],
)
def test_an_open_decimal_mark_is_that_of_the_other_logs(tmp_path: Path, other: str, value: float) -> None:
    (tmp_path / "trial.toml").write_text('title = "x"\ndate = 2026-03-14\n', encoding="utf-8")
    (tmp_path / "gas.csv").write_text("time;gas_volume [L]\n09:05;27,955\n", encoding="utf-8")
    (tmp_path / "room.csv").write_text(other, encoding="utf-8")
    trial = read_trial(tmp_path)
    assert trial.readings["gas_volume"].values.tolist() == [value]
    assert ("caution", "decimal-of-other-files", "gas.csv", 2) in [
        (found.level, found.code, found.file, found.row) for found in trial.findings
    ]
    (tmp_path / "room.csv").unlink()
    with pytest.raises(LogFileError, match=r"may be 27\.955 or 27955"):
        read_trial(tmp_path)


def test_what_a_failed_sensor_left_is_kept_beside_the_readings(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").write_text('title = "x"\ndate = 2026-03-14\n', encoding="utf-8")
    (tmp_path / "log.csv").write_text(
        "time,cabinet_temperature [degF]\n09:05,75.2\n09:15,-196.6\n09:25,Err\n09:35,64.4\n", encoding="utf-8"
    )
    trial = read_trial(tmp_path)
    kept, left_out = trial.readings["cabinet_temperature"], trial.excluded["cabinet_temperature"]
    assert kept.rows.tolist() == [2, 5]
    assert left_out.rows.tolist() == [3, 4]
    assert left_out.values[0] == pytest.approx(-127.0)
    assert np.isnan(left_out.values[1])
    assert not {"not-possible"} & {finding.code for finding in trial.findings}


def test_logs_with_the_same_delimiter_tell_an_open_decimal_mark_first(tmp_path: Path) -> None:
    (tmp_path / "trial.toml").write_text('title = "x"\ndate = 2026-03-14\n', encoding="utf-8")
    (tmp_path / "gas.csv").write_text("time;gas_volume [m3]\n09:05;27,955\n", encoding="utf-8")
    (tmp_path / "room.csv").write_text("time;ambient_temperature\n09:05;28,5\n", encoding="utf-8")
    (tmp_path / "feed.csv").write_text("date,material,fresh_mass [kg]\n2026-03-13,scraps,2.45\n", encoding="utf-8")
    assert read_trial(tmp_path).readings["gas_volume"].values == pytest.approx([27955.0])
    (tmp_path / "room.csv").write_text("time,ambient_temperature\n09:05,28.5\n", encoding="utf-8")
    assert read_trial(tmp_path).readings["gas_volume"].values == pytest.approx([27955000.0])


def test_a_first_header_that_comes_again_after_another_one_is_read_by_itself() -> None:
    warm, cold = "time,ambient_temperature [degC]", "time,cabinet_temperature [degC]"
    lines = [warm, "09:05,28.0", cold, "09:10,20.0", warm, "09:15,28.5", "09:20,29.0"]
    trial = trial_of(RUN, log="\n".join(lines) + "\n")
    assert values(trial, "ambient_temperature") == [28.0, 28.5, 29.0]
    assert values(trial, "cabinet_temperature") == [20.0]


def test_an_event_that_is_not_understood_is_said_with_what_it_may_do() -> None:
    log = "time,cabinet_temperature [degC],event\n09:05,26,fire on\n09:20,24,\n09:30,20,stirred\n"
    trial = trial_of(RUN, log=log)
    (said,) = [finding for finding in trial.findings if finding.code == "event-not-read"]
    assert (said.level, said.file, said.row) == ("caution", "log.csv", 2)
    assert '2 events are none that is known, such as "fire on"' in str(said.message)
    assert "event-not-read" not in {
        found.code for found in trial_of(RUN, log=log.replace("fire on", "burner lit").replace("stirred", "")).findings
    }
