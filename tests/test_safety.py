"""Safety notes: what always stands, what data and words trigger, and the order they are read in."""

from __future__ import annotations

import dataclasses
import datetime as dt
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from conftest import sample_folders
from hypothesis import given
from hypothesis import strategies as st

from reportgen.figures import Results, compute
from reportgen.read.folder import read_trial
from reportgen.safety import SEVERITIES, SafetyNote, air, needs_top_warning, safety_notes
from reportgen.safety.note import OURS
from reportgen.safety.words import WORDS, word_notes, words_found
from reportgen.sources import SOURCES
from reportgen.trial import Readings, Trial

ALWAYS = {
    "explosive-gas",
    "leak-test",
    "flashback",
    "flame-out",
    "carbon-monoxide",
    "hydrogen-sulfide",
    "no-entry",
    "sealed-circuit",
    "hot-parts",
    "level-and-upright",
    "electricity",
    "weather",
    "ice-water",
    "local-rules",
}
#: Codes of the words that are read before all other notes.
FIRST_OF_ALL = ("people-ill", "ammonia", "gas-smell")
#: A trial with nothing that calls for a note: outdoors, lit at 9:00, out at 12:00, read every half hour.
QUIET = """\
title = "Quiet run"
date = 2026-03-14
incidents = ""
[burner]
lit = "09:00"
out = "12:00"
[gas]
kind = "holder"
capacity = "400 L"
reserve = "20 L"
methane = "60 +/- 2 %"
[cabinet]
indoors = false
level_checked = true
[water]
mass = "0.5 +/- 0.01 kg"
potable = true
"""
HALF_HOURS = [f"{9 + i // 2}:{30 * (i % 2):02d}" for i in range(7)]
QUIET_LOG = "\n".join(
    [
        "time,gas_volume [L],cabinet_temperature [degC],carbon_monoxide [ppm],hydrogen_sulfide [ppm]",
        "8:00,300,25,0,50",
        *(f"{time},{300 - 30 * i},{25 - 4 * i},0,50" for i, time in enumerate(HALF_HOURS)),
        "13:00,120,2,0,50",
        "",
    ]
)
Make = Callable[..., tuple[Trial, Results, tuple[SafetyNote, ...]]]


@pytest.fixture
def make(tmp_path: Path) -> Make:
    """Return what makes a trial folder of a sheet and logs, and reads it as a user's."""

    def made(
        sheet: str = QUIET, log: str = QUIET_LOG, *, swap: tuple[str, str] = ("", ""), **logs: str
    ) -> tuple[Trial, Results, tuple[SafetyNote, ...]]:
        assert swap[0] in sheet
        (tmp_path / "trial.toml").write_text(sheet.replace(*swap) if swap[0] else sheet, encoding="utf-8")
        for name, text in {"log": log, **logs}.items():
            if text:
                (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
        trial = read_trial(tmp_path)
        results = compute(trial)
        return trial, results, safety_notes(trial, results)

    return made


def found(notes: tuple[SafetyNote, ...], code: str) -> SafetyNote:
    (note,) = (note for note in notes if note.code == code)
    return note


def codes(notes: tuple[SafetyNote, ...]) -> list[str]:
    return [note.code for note in notes]


def log_of(column: str, *values: float | str, start: str = "9:00", minutes: int = 30) -> str:
    first = dt.datetime.strptime(start, "%H:%M")
    times = [first + i * dt.timedelta(minutes=minutes) for i in range(len(values))]
    return "\n".join([f"time,{column}", *(f"{at:%H:%M},{value}" for at, value in zip(times, values, strict=True)), ""])


def worst(notes: tuple[SafetyNote, ...]) -> int:
    return min(SEVERITIES.index(note.severity) for note in notes)


# What always stands, and the order


def test_a_trial_that_triggers_nothing_still_has_the_fixed_notes(make: Make) -> None:
    _, _, notes = make()
    readings = {"carbon-monoxide-reading", "hydrogen-sulfide-reading"}
    assert set(codes(notes)) == ALWAYS | readings
    assert all(note.severity == "know" for note in notes)
    assert all(note.reason is None and note.rows == () for note in notes if note.code in ALWAYS)
    assert not needs_top_warning(notes)


def test_a_bare_title_has_the_fixed_notes_too_and_says_what_was_not_looked_for(make: Make) -> None:
    _, _, notes = make('title = "Bare"\n', "")
    assert ALWAYS - {"ice-water"} <= set(codes(notes))
    assert "digestate-hygiene" not in codes(notes)
    reason = str(found(notes, "not-checked").reason)
    for item in ("carbon monoxide", "hydrogen sulphide", "methane", "gas drawn", "cabinet", "flame was on"):
        assert item in reason


def test_local_rules_stand_last_and_name_what_household_standards_leave_out(make: Make) -> None:
    for sheet in (
        QUIET,
        'title = "Bare"\n',
        QUIET + 'notes = ""\n[audience]\nvisitors = 3\n'.replace('notes = ""\n', ""),
    ):
        _, _, notes = make(sheet)
        assert notes[-1].code == "local-rules"
        assert codes(notes).count("local-rules") == 1
    text = str(notes[-1].text)
    assert "authority having jurisdiction" in text
    assert "licensed gas fitters" in text
    assert "do not cover the connected appliance" in text


def test_feed_rows_bring_digestate_hygiene(make: Make) -> None:
    _, _, notes = make(feed="date,material,fresh_mass [kg]\n2026-03-13,peelings,3\n")
    assert found(notes, "digestate-hygiene").reason is None


def test_notes_are_ordered_by_urgency_and_triggered_ones_come_first(make: Make) -> None:
    _, _, notes = make(
        QUIET + "[audience]\nvisitors = 12\n",
        carbon=log_of("carbon_monoxide [ppm]", 120),
        book="time,note\n9:10,smelt of rotten eggs\n9:20,windy\n9:40,I feel dizzy\n",
    )
    ordered = notes[:-1]
    assert codes(ordered)[:2] == ["people-ill", "gas-smell"]
    assert ordered[2].code == "carbon-monoxide-reading"
    ranks = [SEVERITIES.index(note.severity) for note in ordered]
    assert ranks == sorted(ranks)
    triggered = [note.reason is not None for note in ordered]
    assert triggered == sorted(triggered, reverse=True)
    assert needs_top_warning(notes)


def test_no_note_says_safe_and_each_has_sources_short_text_and_rows_where_triggered(make: Make) -> None:
    words = "; ".join((group.words or group.stems)[0] for group in WORDS.values())
    sheet = QUIET.replace('incidents = ""', f'incidents = "{words}"').replace("indoors = false", "indoors = true")
    log = QUIET_LOG.replace("13:00,120", "13:00,90").replace("12:00,120", "12:00,15")
    _, _, everything = make(
        sheet.replace("60 +", "40 +") + "[audience]\nvisitors = 12\n",
        log.replace("8:00,300", "8:00,390"),
        carbon=log_of("carbon_monoxide [ppm]", "OL", 120),
        sulfide=log_of("hydrogen_sulfide [ppm]", 3000),
        elsewhere=log_of("gas_elsewhere [L]", 4),
    )
    assert len(everything) > 30
    samples = [safety_notes(trial, compute(trial)) for trial in map(read_trial, sample_folders())]
    for note in (*everything, *(note for notes in samples for note in notes)):
        text = f"{note.text} {note.reason or ''}"
        assert "safe" not in text.casefold()
        assert note.severity in SEVERITIES
        assert str(note.text).count(". ") <= 1
        assert str(note.text).endswith(".")
        assert note.sources
        assert set(note.sources) <= set(SOURCES)
        assert note.rows or note.reason is None or note.code == "not-checked"
        assert "{" not in text
    assert len(set(codes(everything))) == len(everything)


def test_thresholds_of_our_own_are_said_to_be_ours() -> None:
    assert SOURCES[OURS].known == "ours"
    assert SOURCES["common-precautions"].known == "common practice, no source"


# Carbon monoxide


def test_carbon_monoxide_limits_are_those_of_who_in_ppm() -> None:
    # 100, 35 and 10 mg/m3 are about 87, 31 and 9 ppm at 25 °C (WHO 2010, from memory).
    limits = [round(air.carbon_monoxide_ppm(value)) for value in air.WHO_CARBON_MONOXIDE.values()]
    # 4 mg/m3 over a day, about 3.5 ppm (WHO 2021, from memory).
    assert limits == [87, 31, 9, 3]
    assert round(air.carbon_monoxide_ppm(4.0), 1) == 3.5
    assert set(air.WHO_YEARS) == set(air.WHO_CARBON_MONOXIDE)


def test_a_mean_over_the_window_is_compared_where_readings_allow(make: Make) -> None:
    _, _, notes = make(carbon=log_of("carbon_monoxide [ppm]", *[100] * 6, minutes=4, start="10:02"))
    note = found(notes, "carbon-monoxide-reading")
    assert note.severity == "stop"
    assert "the mean over 15 min was 100 ppm, not below the WHO value of 87 ppm (100 mg/m³, 2010)" in str(note.reason)
    assert note.rows == ("carbon.csv:2-7",)


def test_the_mean_over_an_hour_and_over_eight_hours_is_compared_too(make: Make) -> None:
    _, _, hour = make(log=log_of("carbon_monoxide [ppm]", *[40] * 5, minutes=15))
    assert "the mean over 60 min was 40 ppm, not below the WHO value of 31 ppm" in str(hour[0].reason)
    assert hour[0].severity == "stop"
    _, _, shift = make(log=log_of("carbon_monoxide [ppm]", *[12] * 17))
    note = found(shift, "carbon-monoxide-reading")
    assert "the mean over 480 min was 12 ppm, not below the WHO value of 8.7 ppm" in str(note.reason)
    assert note.severity == "act"


def test_a_lone_reading_is_compared_as_a_reading(make: Make) -> None:
    _, _, notes = make(log=log_of("carbon_monoxide [ppm]", 120))
    note = found(notes, "carbon-monoxide-reading")
    assert note.severity == "stop"
    assert "a reading of 120 ppm is not below" in str(note.reason)
    assert "do not tell the mean" in str(note.reason)


def test_a_short_peak_says_what_the_mean_was(make: Make) -> None:
    _, _, notes = make(log=log_of("carbon_monoxide [ppm]", *[2] * 10, 90, *[2] * 10, minutes=1))
    reason = str(found(notes, "carbon-monoxide-reading").reason)
    assert "a reading of 90 ppm" in reason
    # 15 minutes with a triangle of 88 ppm above 2 ppm and a base of two minutes: 2 + 88 / 15.
    assert "the highest mean over that time was 7.867 ppm" in reason


def test_readings_below_all_limits_are_said_to_be_of_one_place_and_time(make: Make) -> None:
    _, _, notes = make(QUIET, log_of("carbon_monoxide [ppm]", 2, 3, 1))
    note = found(notes, "carbon-monoxide-reading")
    assert note.severity == "know"
    assert "highest carbon monoxide reading was 3 ppm" in str(note.reason)


def test_marks_in_the_column_of_a_toxic_gas_raise_a_note_of_their_own(make: Make) -> None:
    _, _, notes = make(
        carbon=log_of("carbon_monoxide [ppm]", 0, "OL", 0),
        sulfide=log_of("hydrogen_sulfide [ppm]", 10, ">5000", 10),
    )
    assert found(notes, "carbon-monoxide-unread").rows == ("carbon.csv:3",)
    assert found(notes, "hydrogen-sulfide-unread").rows == ("sulfide.csv:3",)
    assert found(notes, "carbon-monoxide-unread").severity == "act"


def test_the_highest_mean_needs_readings_that_cover_the_window_closely() -> None:
    time = np.array([0.0, 600.0, 1200.0, 3600.0])
    values = np.array([10.0, 10.0, 10.0, 10.0])
    assert air.highest_mean(time, values, 1200.0) is None  # steps of 600 s are too long for a window of 1200 s
    assert air.highest_mean(time[:3], values[:3], 1800.0) is None  # the readings end too early
    assert air.highest_mean(time[:1], values[:1], 600.0) is None
    ramp = np.arange(0.0, 3700.0, 100.0)
    assert air.highest_mean(ramp, ramp, 1000.0) == pytest.approx(3100.0)


def test_indoors_not_recorded_is_taken_as_indoors_and_said(make: Make) -> None:
    _, _, outdoors = make()
    _, _, unknown = make(swap=("indoors = false", ""))
    _, _, indoors = make(QUIET.replace("indoors = false", "indoors = true"), log_of("cabinet_temperature", 20))
    _, _, measured = make(QUIET.replace("indoors = false", "indoors = true"), log_of("carbon_monoxide", 0))
    assert found(outdoors, "carbon-monoxide").severity == "know"
    note = found(unknown, "carbon-monoxide")
    assert (note.severity, note.rows) == ("act", ("trial.toml:cabinet.indoors",))
    assert "indoors is not recorded" in str(note.reason)
    assert "no carbon monoxide reading was logged" in str(found(indoors, "carbon-monoxide").reason)
    assert "was logged" in str(found(measured, "carbon-monoxide").reason)
    assert found(indoors, "indoors").severity == "act"
    assert "indoors" not in codes(outdoors)
    assert "indoors" not in codes(unknown)


# Hydrogen sulphide and methane


def test_hydrogen_sulfide_is_said_to_be_in_the_gas_and_not_in_the_room(make: Make) -> None:
    _, _, little = make(log=log_of("hydrogen_sulfide [ppm]", 20, 60))
    _, _, more = make(log=log_of("hydrogen_sulfide [ppm]", 200, 900))
    _, _, much = make(log=log_of("hydrogen_sulfide [ppm]", 1500, 3000, 2500))
    severities = [found(notes, "hydrogen-sulfide-reading").severity for notes in (little, more, much)]
    assert severities == ["know", "know", "act"]
    for notes in (little, more, much):
        note = found(notes, "hydrogen-sulfide-reading")
        assert "in the gas, not in the air of the room" in str(note.text)
        for named in ("NIOSH", "OSHA", "2017", "10 ppm", "100 ppm", "20 ppm"):
            assert named in str(note.text)
    assert "one part of it in 9 parts" in str(found(more, "hydrogen-sulfide-reading").text)
    assert found(much, "hydrogen-sulfide-reading").rows == ("log.csv:3-4",)


def test_weak_gas_is_noted_from_readings_and_from_the_sheet(make: Make) -> None:
    _, _, logged = make(methane=log_of("methane [%]", 58, 47, 55))
    note = found(logged, "weak-gas")
    assert "47 % methane" in str(note.reason)
    assert note.rows == ("methane.csv:3",)
    _, _, stated = make(swap=("60 +/- 2 %", "48 +/- 2 %"), methane=log_of("methane [%]", 60, 60, 60))
    assert found(stated, "weak-gas").rows == ("trial.toml:gas.methane",)
    _, _, good = make(methane=log_of("methane [%]", 50, 60))
    assert "weak-gas" not in codes(good)


# The holder and the gas drawn


def test_a_holder_below_its_reserve_or_a_tenth_while_burning_is_nearly_empty(make: Make) -> None:
    low = QUIET_LOG.replace("12:00,120", "12:00,39")
    _, _, notes = make(log=low)
    note = found(notes, "holder-nearly-empty")
    assert "down to 39 L" in str(note.reason)
    assert "40 L" in str(note.reason)
    assert note.rows == ("log.csv:9",)
    _, _, reserve = make(log=QUIET_LOG, swap=("20 L", "130 L"))
    assert found(reserve, "holder-nearly-empty").rows == ("log.csv:9",)
    _, _, unknown = make(
        QUIET.replace('capacity = "400 L"\nreserve = "20 L"\n', ""), low.replace("12:00,39", "12:00,0")
    )
    assert found(unknown, "holder-nearly-empty").severity == "act"
    assert "capacity" in str(found(unknown, "not-checked").reason)


def test_a_holder_low_with_the_flame_off_is_not_drawn_empty(make: Make) -> None:
    _, _, notes = make(log=QUIET_LOG.replace("13:00,120", "13:00,15"))
    assert "holder-nearly-empty" not in codes(notes)


def test_a_full_holder_is_noted_and_more_than_its_capacity_is_worse(make: Make) -> None:
    _, _, full = make(swap=("400 L", "310 L"))
    assert found(full, "holder-nearly-full").severity == "know"
    assert "300 L of its 310 L" in str(found(full, "holder-nearly-full").reason)
    _, _, over = make(swap=("400 L", "290 L"))
    assert found(over, "holder-nearly-full").severity == "act"


def test_gas_lost_with_the_flame_off_is_told_with_amount_time_and_rows(make: Make) -> None:
    _, _, notes = make(log=QUIET_LOG + "14:00,114,4,0,50\n")
    note = found(notes, "gas-lost-flame-off")
    assert str(note.reason) == "the holder fell by 6 L in 2 h with the flame off"
    assert note.severity == "act"
    assert note.rows == ("log.csv:9-11",)


def test_a_fall_within_the_steps_of_the_scale_is_no_loss(make: Make) -> None:
    _, _, notes = make(
        QUIET + "\n",
        QUIET_LOG.replace("13:00,120", "13:00,118"),
        swap=("capacity", 'resolution = "2 L"\ncapacity'),
    )
    assert "gas-lost-flame-off" not in codes(notes)


def test_a_fall_before_lighting_and_one_between_two_flames_count(make: Make) -> None:
    _, _, before = make(log=QUIET_LOG.replace("8:00,300", "8:00,320"))
    assert "fell by 20 L in 1 h" in str(found(before, "gas-lost-flame-off").reason)
    events = "time,event,gas_volume [L]\n9:00,lit,300\n9:30,out,270\n10:00,lit,250\n11:00,out,220\n"
    _, _, between = make(QUIET.replace('lit = "09:00"\nout = "12:00"', ""), events)
    assert "fell by 20 L in 0.5 h" in str(found(between, "gas-lost-flame-off").reason)


def test_of_several_losses_the_greatest_is_told(make: Make) -> None:
    _, _, notes = make(log=QUIET_LOG.replace("8:00,300", "8:00,340").replace("13:00,120", "13:00,100"))
    note = found(notes, "gas-lost-flame-off")
    assert "fell by 40 L" in str(note.reason)
    assert note.rows == ("log.csv:2-3",)


def test_gas_logged_as_used_elsewhere_was_not_lost(make: Make) -> None:
    log = QUIET_LOG + "14:00,100,4,0,50\n"
    _, _, used = make(log=log, elsewhere=log_of("gas_elsewhere [L]", 20, start="13:30"))
    assert "gas-lost-flame-off" not in codes(used)
    note = found(used, "gas-elsewhere")
    assert "20 L" in str(note.reason)
    assert note.rows == ("elsewhere.csv:2",)
    partly_used = log_of("gas_elsewhere [L]", 8, start="13:30")
    _, _, partly = make(log=log, elsewhere=partly_used, swap=("capacity", 'resolution = "2 L"\ncapacity'))
    assert "fell by 12 L" in str(found(partly, "gas-lost-flame-off").reason)


def test_a_noisy_holder_that_stands_still_is_no_leak_and_one_that_sinks_is(make: Make) -> None:
    noise = np.random.default_rng(3).normal(0, 3, 60)
    header = "time,gas_volume [L]\n9:00,300.0\n12:00,200.0\n"
    still = [f"12:{i:02d}:30,{200 + value:.1f}" for i, value in enumerate(noise)]
    sinking = [f"12:{i:02d}:30,{200 - i + value:.1f}" for i, value in enumerate(noise)]
    _, _, quiet = make(log=header + "\n".join(still))
    assert "gas-lost-flame-off" not in codes(quiet)
    _, _, leaking = make(log=header + "\n".join(sinking))
    assert "gas-lost-flame-off" in codes(leaking)


def test_a_meter_that_runs_with_the_flame_off_tells_of_a_loss_too(make: Make) -> None:
    log = "time,gas_volume [L]\n9:00,1000\n10:00,1060\n11:00,1120\n12:00,1180\n13:00,1190\n"
    _, _, notes = make(log=log, swap=('"holder"', '"meter"'))
    assert "the meter ran on by 10 L in 1 h" in str(found(notes, "gas-lost-flame-off").reason)


@pytest.mark.parametrize(("rate", "code"), [(2.6, "gas-rate-high"), (2.4, None), (0.4, None), (0.2, "gas-rate-low")])
def test_the_mean_gas_rate_is_compared_with_what_a_small_burner_draws(
    make: Make, rate: float, code: str | None
) -> None:
    log = log_of("gas_volume [L]", *(round(800 - 30 * rate * i) for i in range(7)))
    _, _, notes = make(log=log, swap=("400 L", "2000 L"))
    rates = [note.code for note in notes if note.code.startswith("gas-rate")]
    assert rates == ([code] if code else [])


def test_one_reading_of_a_high_flow_is_enough(make: Make) -> None:
    log = log_of("gas_flow [L/min]", 1.0, 1.0, 2.8, 1.0, 1.0, 1.0, 1.0)
    _, _, notes = make(log=log, swap=('"holder"', '"flow"'))
    assert "a flow of 2.8 L/min was read" in str(found(notes, "gas-rate-high").reason)
    assert found(notes, "gas-rate-high").rows == ("log.csv:4",)


# The flame, the cabinet, the people


def test_an_hour_without_a_reading_with_the_flame_on_is_unattended(make: Make) -> None:
    lines = QUIET_LOG.splitlines()
    _, _, hour = make(log="\n".join(lines[:4] + lines[5:]))
    assert "unattended" not in codes(hour)
    _, _, longer = make(log="\n".join(lines[:4] + lines[6:]))
    note = found(longer, "unattended")
    assert "no reading for 90 min, from 0.5 h to 2 h after lighting" in str(note.reason)
    assert note.rows == ("log.csv:4", "log.csv:5")
    _, _, looked = make(log="\n".join(lines[:4] + lines[6:]), ice="time,ice\n10:20,liquid\n")
    assert "unattended" not in codes(looked)


def test_time_without_a_reading_after_the_flame_went_out_does_not_count(make: Make) -> None:
    _, _, notes = make(log=QUIET_LOG + "18:00,120,4,0,50\n")
    assert "unattended" not in codes(notes)


def test_a_burner_lit_twice_is_a_flame_out(make: Make) -> None:
    events = "time,event\n9:00,lit\n10:00,flame out\n10:10,relit\n12:00,out\n"
    _, _, notes = make(events=events)
    note = found(notes, "flame-outs")
    assert "lit 2 times" in str(note.reason)
    assert note.rows == ("events.csv:2-5",)


def test_a_record_of_lighting_that_contradicts_itself_is_a_flame_out_too(make: Make) -> None:
    _, _, notes = make(events="time,event\n9:00,lit\n10:10,relit\n12:00,out\n")
    assert "contradict" in str(found(notes, "flame-outs").reason)


def test_a_relighting_without_a_first_lighting_is_a_flame_out_too(make: Make) -> None:
    sheet = QUIET.replace('lit = "09:00"\nout = "12:00"', "")
    _, _, notes = make(sheet, events="time,event\n9:00,fire on\n10:00,flame out\n10:10,relit\n12:00,out\n")
    note = found(notes, "flame-outs")
    assert "when it was lit first is not recorded" in str(note.reason)
    assert note.rows == ("events.csv:3-5",)


def test_a_flame_whose_end_nobody_wrote_down_is_noted(make: Make) -> None:
    sheet = QUIET.replace('lit = "09:00"\nout = "12:00"', "")
    _, _, notes = make(sheet, QUIET_LOG, events="time,event\n9:00,lit\n")
    assert "4 h after lighting" in str(found(notes, "end-not-recorded").reason)


def test_a_cabinet_that_warms_while_lit_tells_of_the_gas_drawn_meanwhile(make: Make) -> None:
    cabinet = "gas_volume [L],cabinet_temperature [degC]"
    times = ["9:00", "9:30", "10:00", "10:20", "10:40", "11:00", "11:20", "11:40", "12:00"]
    warming = [25, 10, 0, 0, 2, 5, 8, 9, 9]
    gas = [300 - 15 * i for i in range(len(times))]

    def log(volumes: list[int]) -> str:
        rows = [f"{t},{v},{c}" for t, v, c in zip(times, volumes, warming, strict=True)]
        return "\n".join([f"time,{cabinet}", *rows, ""])

    _, _, notes = make(log=log(gas))
    note = found(notes, "cabinet-warming")
    assert note.severity == "act"
    assert "L of gas drawn" in str(note.reason)
    assert note.rows == ("log.csv:5-10",)
    _, _, still = make(log=log([300, 285, 270, 270, 270, 270, 270, 270, 270]))
    assert "no gas drawn; the flame may have been out" in str(found(still, "cabinet-warming").reason)
    _, _, unknown = make(log=log(gas), swap=('kind = "holder"', ""))
    assert "no gas reading tells" in str(found(unknown, "cabinet-warming").reason)


def test_a_rise_that_is_over_within_half_an_hour_is_no_warming(make: Make) -> None:
    def log(warm: int) -> str:
        return log_of("cabinet_temperature [degC]", *[0] * 9, *[8] * warm, *[0] * 4, minutes=5)

    _, _, short = make(log=log(4))
    assert "cabinet-warming" not in codes(short)
    _, _, lasting = make(log=log(8))
    assert "rose by 8 K" in str(found(lasting, "cabinet-warming").reason)


def test_a_door_spike_and_a_hold_over_are_no_warming(make: Make) -> None:
    _, _, spike = make(log=QUIET_LOG, door=log_of("cabinet_temperature [degC]", 20, start="11:10"))
    assert "cabinet-warming" not in codes(spike)
    _, _, after = make(log=QUIET_LOG + "14:00,120,10,0,50\n15:00,120,18,0,50\n16:00,120,20,0,50\n")
    assert "cabinet-warming" not in codes(after)


@pytest.mark.parametrize(
    ("audience", "noted"),
    [
        ("visitors = 14", True),
        ("pupils = 27\nteachers = 0", True),
        ("open_day = true", True),
        ('visitors = "about twenty"', True),
        ("visitors = 0", False),
        ('visitors = "none"', False),
        ("open_day = false", False),
    ],
)
def test_visitors_call_for_a_note(make: Make, audience: str, noted: bool) -> None:
    _, _, notes = make(f"{QUIET}[audience]\n{audience}\n")
    assert ("visitors" in codes(notes)) is noted


@pytest.mark.parametrize(("potable", "severity"), [("true", "know"), ("false", "act"), (None, "act")])
def test_ice_from_water_not_known_to_be_potable_raises_its_note(make: Make, potable: str | None, severity: str) -> None:
    _, _, notes = make(swap=("potable = true", f"potable = {potable}" if potable else ""))
    note = found(notes, "ice-water")
    assert note.severity == severity
    assert (note.reason is None) is (potable == "true")


@pytest.mark.parametrize(
    ("text", "noted"),
    [
        ("hose slipped off", True),
        ("", False),
        ("None.", False),
        ("none", False),
        ("no fire", True),
        ("Aucun.", False),
        ("Néant", False),
        ("Sin incidentes", False),
        ("hakuna", False),
        ("لا شيء", False),
        ("aucun feu", True),
    ],
)
def test_recorded_incidents_call_for_a_note(make: Make, text: str, noted: bool) -> None:
    _, _, notes = make(swap=('incidents = ""', f'incidents = "{text}"'))
    assert ("incident" in codes(notes)) is noted


# Words

HITS = {
    "people-ill": [
        "a headache after an hour",
        "Two felt ILL",
        "felt dizzy",
        "nauseous",
        "sick",
        "fell unconscious",
        "short of breath",
        "one fainted",
        "head-ache",
    ],
    "ammonia": ["smells of ammonia", "Ammoniac", "a yellow stain", "yellowish, dry powder below the coil"],
    "gas-smell": ["smelled gas", "smelt gas", "rotten  egg", "rotten eggs", "an odour", "it stank"],
    "leak-words": ["leaked at the tee", "a leaky tap", "hissing", "lost some gas", "gas-leak"],
    "flashback-words": [
        "it popped",
        "pop!",
        "pop-pop",
        "flash-back",
        "flashed back",
        "struck back",
        "a small explosion",
    ],
    "soot-words": ["sooty flue", "yellow flame", "the flame was mostly yellow", "smoke"],
    "unattended-words": ["left it overnight", "unattended", "left burning"],
    "tilt-words": [
        "fridge tilted on the cart",
        "moved the unit",
        "the refrigerator lay on its side",
        "tray placed, cabinet tilted",
        "the cabinet came by cart, tilted all the way",
    ],
    "medicine-words": ["vaccines", "insulin", "medicines", "medical store"],
    "children-words": ["schoolyard", "children", "child", "kids", "pupils"],
    "wind-words": ["windy", "gusts", "the wind", "draughty"],
    "electricity-words": ["12 V socket", "on 12V", "unplugged", "mains", "plug", "three-way", "electric ignition"],
    "maintenance-words": ["opened the digester", "cleaned out the digester", "desludged", "lifted the bell"],
    "condensate-words": ["condensate in the hose", "flame pulsed", "water in the hose", "it sputtered"],
    "eaten-words": ["drinks for all", "the children ate it", "lemonade", "laid on fish"],
    "glass-words": ["glass jar", "in a glass", "the bottle burst"],
    "disposal-words": ["a latch on the door", "dumped the fridge", "disposed of"],
    "sulfur-feed-words": ["meat scraps", "fish", "egg shells", "chicken manure"],
}
MISSES = {
    "people-ill": [
        "still",
        "pill",
        "filled and chilled",
        "ill-fitting lid",
        "until",
        "illuminated",
        "sickle",
        "I'll look",
        "faint blue flame",
    ],
    "ammonia": ["yellow flame", "harmony", "stained", "yellow label"],
    "gas-smell": ["ore smelter", "small", "broken eggs"],
    "leak-words": ["bleak", "oblique", "whiskers"],
    "flashback-words": ["popular", "population", "pop-up tent", "explored", "bangle", "back"],
    "soot-words": ["soothing", "blue flame"],
    "unattended-words": ["attended", "night", "left the lid open", "tap of the burner left alone"],
    "tilt-words": [
        "unit removed",
        "fridge unmoved",
        "the cabinet looks stilted",
        "thin skin, moves when tilted",
        "tray of the cabinet tilted",
        "moved the bottle in the fridge",
        "burner moved",
    ],
    "medicine-words": ["mediocre", "drugstore"],
    "children-words": ["kidney beans", "scholarly"],
    "wind-words": ["window", "winding road", "disgusting", "rewind"],
    "electricity-words": ["remains", "domains", "plughole", "312 volumes", "110 W"],
    "maintenance-words": ["the digester was fed", "cleaned the burner", "opened the door"],
    "condensate-words": ["water added", "an impulse", "the hose is short"],
    "eaten-words": ["heated", "great", "beaten", "fish sellers came"],
    "glass-words": ["fibreglass", "spyglasses", "bottles"],
    "disposal-words": ["kitchen scraps", "a good disposition", "latched"],
    "sulfur-feed-words": ["peelings", "leggings", "selfish", "rice"],
}


@pytest.mark.parametrize(("code", "text"), [(code, text) for code, texts in HITS.items() for text in texts])
def test_words_are_found_whatever_their_ending_and_case(code: str, text: str) -> None:
    assert words_found(code, text)


#: What people write in other languages -> the code of its note; all of the codes in each language.
ABROAD = {
    "french": {
        "people-ill": ["mal de tête", "Deux personnes malades", "elle s\u2019est évanouie", "VERTIGES", "nausée"],
        "ammonia": ["odeur d'ammoniac", "une tache jaunâtre"],
        "gas-smell": ["pas d'odeur", "pas d\u2019odeur de gaz", "ça sent le gaz", "ODEUR", "œufs pourris"],
        "leak-words": ["une fuite au raccord", "le tuyau fuit", "ça siffle", "perte de gaz"],
        "flashback-words": ["retour de flamme", "une détonation", "explosion"],
        "soot-words": ["suie", "de la fumée", "flamme un peu jaune"],
        "unattended-words": ["laissé sans surveillance", "toute la nuit"],
        "tilt-words": ["frigo incliné", "réfrigérateur couché sur le côté"],
        "medicine-words": ["vaccins", "médicaments", "des antibiotiques"],
        "children-words": ["les enfants", "à l'école"],
        "wind-words": ["il y a du vent", "rafales", "un courant d'air"],
        "electricity-words": ["électrique", "débranché", "12 volts"],
        "maintenance-words": ["ouvert le digesteur", "nettoyé le gazomètre", "soulevé la cloche"],
        "condensate-words": ["eau dans le tuyau", "la flamme vacille", "condensation"],
        "eaten-words": ["boissons fraîches", "la glace a été mangée", "limonade"],
        "glass-words": ["un bocal", "bouteille éclatée", "en verre"],
        "disposal-words": ["mis au rebut", "le loquet"],
        "sulfur-feed-words": ["viande", "coquilles d’œufs", "poisson"],
    },
    "spanish": {
        "people-ill": ["dolor de cabeza", "mareado", "se desmayó", "náuseas", "enfermos"],
        "ammonia": ["huele a amoníaco", "mancha amarilla"],
        "gas-smell": ["sin olor", "no hay olor a gas", "Olía a gas", "huevos podridos"],
        "leak-words": ["fuga en la manguera", "escape de gas", "pérdida de gas"],
        "flashback-words": ["retroceso de llama", "explotó", "una explosión"],
        "soot-words": ["hollín", "humo", "llama amarilla"],
        "unattended-words": ["sin vigilancia", "toda la noche"],
        "tilt-words": ["nevera inclinada", "el refrigerador se volcó"],
        "medicine-words": ["vacunas", "insulina", "medicinas"],
        "children-words": ["niños", "la escuela", "alumnos"],
        "wind-words": ["mucho viento", "ráfagas"],
        "electricity-words": ["eléctrico", "desenchufado"],
        "maintenance-words": ["limpiamos el biodigestor", "abrió el digestor", "levantó la campana"],
        "condensate-words": ["agua en la manguera", "la llama parpadea"],
        "eaten-words": ["bebidas frías", "jugo", "pescado sobre hielo"],
        "glass-words": ["frasco", "de vidrio", "botella rota"],
        "disposal-words": ["chatarra", "tiramos la nevera"],
        "sulfur-feed-words": ["restos de pescado", "carne", "huevos"],
    },
    "swahili": {
        "people-ill": [
            "maumivu ya kichwa",
            "alitapika",
            "alizimia",
            "wagonjwa wawili",
            "kizunguzungu",
            "kichwa kinauma",
        ],
        "ammonia": ["harufu ya amonia", "doa la njano"],
        "gas-smell": ["hakuna harufu", "harufu ya gesi", "inanuka", "mayai viza"],
        "leak-words": ["gesi inavuja", "uvujaji", "gesi inatoka"],
        "flashback-words": ["ulilipuka", "mlipuko", "moto umerudi"],
        "soot-words": ["moshi", "masizi", "moto wa njano"],
        "unattended-words": ["usiku kucha", "bila mtu", "alilala"],
        "tilt-words": ["friji imeinamishwa", "jokofu limehamishwa"],
        "medicine-words": ["chanjo", "dawa", "insulini"],
        "children-words": ["watoto", "shuleni", "wanafunzi"],
        "wind-words": ["upepo mkali"],
        "electricity-words": ["umeme"],
        "maintenance-words": ["tulisafisha mtambo", "kuingia kwenye tanki"],
        "condensate-words": ["maji kwenye bomba"],
        "eaten-words": ["walikunywa", "vinywaji", "juisi"],
        "glass-words": ["kioo", "chupa imepasuka"],
        "disposal-words": ["chuma chakavu", "kitasa"],
        "sulfur-feed-words": ["samaki", "mayai", "nyama"],
    },
    "arabic": {
        "people-ill": ["صداع", "أُصيب بالصُّداع", "والغثيان", "أغمي عليه", "ضيق في التنفس"],
        "ammonia": ["رائحة الأمونيا", "النشادر", "بقعة صفراء"],
        "gas-smell": ["لا رائحة", "بدون رائحة", "الرائحة", "ورائحةُ الغاز", "بيض فاسد"],
        "leak-words": ["تسرّب الغاز", "يتسرب", "بالتسريب", "فقدان بعض الغاز"],
        "flashback-words": ["انفجار", "ارتداد اللهب", "فرقعة"],
        "soot-words": ["دخان", "السخام", "لهب أصفر", "شعلة صفراء"],
        "unattended-words": ["بدون مراقبة", "طوال الليل"],
        "tilt-words": ["الثلاجة مائلة", "نقل الثلاجة"],
        "medicine-words": ["لقاحات", "الأدوية", "دواء"],
        "children-words": ["الأطفال", "المدرسة", "للتلاميذ"],
        "wind-words": ["رياح قوية", "الريح"],
        "electricity-words": ["الكهرباء", "12 فولت"],
        "maintenance-words": ["فتح الهاضم", "تنظيف الخزان", "رفع القبة"],
        "condensate-words": ["ماء في الخرطوم", "تكثف"],
        "eaten-words": ["مشروبات", "عصير", "أكلنا"],
        "glass-words": ["زجاج", "مرطبان"],
        "disposal-words": ["خردة", "مزلاج"],
        "sulfur-feed-words": ["سمك", "لحم", "بيض"],
    },
}
#: What people write in other languages and no note is meant by.
HARMLESS_ABROAD = [
    "Brûleur allumé, flamme bleue et stable, débit élevé, verrière ouverte",
    "gaz entre le digesteur et le brûleur, volume restant",
    "botella en la nevera, llama azul, gas restante, color claro",
    "los tubos de gas están bien; a todos les gustó; 3 abril, cargamos el digestor",
    "moto wa bluu, jokofu limewekwa, maji yamewekwa",
    "لهب أزرق ثابت، الثلاجة مستوية، حجم الغاز",
    "the vents were opened in october, the gas went between the digester and the burner",
]


@pytest.mark.parametrize("language", ABROAD)
def test_words_of_every_language_are_found(language: str) -> None:
    assert set(ABROAD[language]) == set(WORDS)
    missed = [
        (code, text)
        for code, texts in ABROAD[language].items()
        for text in texts
        if not words_found(code, text) or not words_found(code, f"xyz, {text.upper()}.")
    ]
    assert not missed


@pytest.mark.parametrize("text", HARMLESS_ABROAD)
def test_harmless_words_of_every_language_call_for_no_note(text: str) -> None:
    assert {code: found for code in WORDS if not WORDS[code].of_feed and (found := words_found(code, text))} == {}


def test_words_are_quoted_as_they_were_written() -> None:
    assert words_found("gas-smell", "09:10 Pas d\u2019ODEUR ici") == ["ODEUR"]
    assert words_found("leak-words", "كان هناك تَسَرُّب هنا") == ["تَسَرُّب"]
    assert words_found("sulfur-feed-words", "des Œufs durs") == ["Œufs"]


def test_the_kind_of_appliance_is_no_alarm_in_any_language() -> None:
    for text in ("réfrigérateur à ammoniac", "nevera de amoníaco", "ثلاجة أمونيا"):
        assert words_found("ammonia", text)
        assert words_found("ammonia", text, of_appliance=True) == []


def test_what_describes_the_appliance_need_not_name_it() -> None:
    assert words_found("tilt-words", "second-hand, moved on a cart", of_appliance=True)


#: Texts of a trial that speak of a place where children are, in every language, and of children there.
SCHOOLS = {
    "en": ("Hill school", "Measured on the roof of Hill school, by the school kitchen", "a school class watched"),
    "fr": ("École des Palmes", "Mesuré à l'école, cour derrière la cuisine scolaire", "des enfants ont regardé"),
    "es": ("Escuela del Puerto", "Medido en la escuela, junto al patio escolar", "miraron los alumnos"),
    "sw": ("Shule ya Bandari", "Kipimo kilifanyika shuleni", "wanafunzi walitazama"),
    "ar": ("مدرسة الميناء", "قيس على سطح المدرسة", "شاهد التلاميذ"),
}


def children(notes: tuple[SafetyNote, ...]) -> list[SafetyNote]:
    return [note for note in notes if note.code == "children-words"]


@pytest.mark.parametrize(("site", "place", "people"), SCHOOLS.values(), ids=SCHOOLS)
def test_the_name_of_a_school_is_an_address_and_no_child(make: Make, site: str, place: str, people: str) -> None:
    sheet = f'notes = ""\nsite = "{site}"\n{QUIET}'
    told = ('notes = ""', f'notes = "{place}"')
    assert not children(make(sheet)[2])
    assert not children(make(sheet, swap=told)[2])
    assert children(make(sheet, swap=('notes = ""', f'notes = "{place}, {people}"'))[2])
    # Where the trial is elsewhere, a school that is spoken of is more than its address.
    assert children(make(sheet.replace(site, "Harbour canteen"), swap=told)[2])


def test_the_purpose_and_the_audience_tell_who_will_be_there(make: Make) -> None:
    sheet = f'site = "Hill school"\n{QUIET}'
    assert children(make(f'purpose = "show the school how ice is made"\n{sheet}')[2])
    for audience, is_noted in (("pupils = 12", 1), ("school_classes = 2", 1), ("pupils = 0", 0), ("visitors = 12", 0)):
        (note,) = children(make(f"{sheet}\n[audience]\n{audience}\n")[2]) or (None,)
        assert (note is not None) == bool(is_noted), audience
        assert note is None or note.rows == ("trial.toml:audience",)
    (note,) = children(make(f'{sheet}\n[audience]\nothers = "some children"\n')[2])
    assert "children" in str(note.reason)
    assert not children(make(f'{sheet}\n[audience]\nchildren = "none"\n')[2])


def test_what_describes_a_thing_tells_of_no_child(make: Make) -> None:
    things = '[water]\ncontainer = "school lunch boxes, for kids"\n[digester]\ndescription = "built by pupils"\n'
    assert not children(make(f'title = "t"\n{things}')[2])


def test_the_samples_call_for_no_note_that_nobody_meant() -> None:
    found = {
        folder.name: {note.code for note in word_notes(read_trial(folder))} - {"electricity-words"}
        for folder in sample_folders()
    }
    assert found.pop("canteen-aborted") == {"wind-words"}
    assert found.pop("hill-school-fahrenheit") == {"children-words"}  # 27 pupils came to see it
    assert not any(found.values()), found


@pytest.mark.parametrize(("code", "text"), [(code, text) for code, texts in MISSES.items() for text in texts])
def test_words_that_only_look_alike_are_not_found(code: str, text: str) -> None:
    assert words_found(code, text) == []


def test_each_group_of_words_has_hits_and_misses_in_these_tests() -> None:
    assert set(HITS) == set(MISSES) == set(WORDS)


@pytest.mark.parametrize("code", WORDS)
def test_a_word_in_a_note_calls_for_its_note_with_the_row(make: Make, code: str) -> None:
    word = HITS[code][0].replace(",", "")
    if WORDS[code].of_feed:
        _, _, notes = make(book=f"time,note\n9:10,{word}\n")
        assert code not in codes(notes)
        book = f"date,material,fresh_mass [kg]\n2026-03-13,{word},3\n"
    else:
        book = f"time,note\n9:10,{word}\n"
    _, _, notes = make(book=book)
    note = found(notes, code)
    assert note.severity == WORDS[code].severity
    assert note.rows == ("book.csv:2",)
    assert "“" in str(note.reason)
    assert (note.severity == "stop") is (code in FIRST_OF_ALL)
    assert needs_top_warning(notes) is (code in FIRST_OF_ALL)


@pytest.mark.parametrize(
    ("place", "swap"),
    [
        ("notes", ("date", 'notes = "soot"\ndate')),
        ("incidents", ('incidents = ""', 'incidents = "soot"')),
        ("reason", ("date", 'reason = "soot"\ndate')),
        ("burner.description", ("[burner]", '[burner]\ndescription = "soot"')),
        ("cabinet.appliance", ("[cabinet]", '[cabinet]\nappliance = "soot"')),
        ("burner.flame", ("[burner]", '[burner]\nflame = "yellow, lazy"')),
        ("deviations", ("date", 'deviations = "soot"\ndate')),
        ("weather", ("date", 'weather = "soot"\ndate')),
        ("steps", ("date", 'steps = "brushed the soot off"\ndate')),
    ],
)
def test_words_of_the_sheet_are_looked_at_as_well(make: Make, place: str, swap: tuple[str, str]) -> None:
    _, _, notes = make(swap=swap)
    assert found(notes, "soot-words").rows == (f"trial.toml:{place}",)


def test_words_in_events_count(make: Make) -> None:
    _, _, notes = make(events="time,event\n9:30,flame popped\n")
    assert found(notes, "flashback-words").rows == ("events.csv:2",)


def test_an_appliance_named_by_its_ammonia_is_no_leak_but_its_stain_is(make: Make) -> None:
    _, _, named = make(swap=("[cabinet]", '[cabinet]\nappliance = "ammonia-water absorption unit"'))
    assert "ammonia" not in codes(named)
    _, _, stained = make(swap=("[cabinet]", '[cabinet]\nappliance = "old unit, yellow stain below"'))
    assert found(stained, "ammonia").severity == "stop"
    _, _, noted = make(swap=("date", 'notes = "ammonia"\ndate'))
    assert found(noted, "ammonia").severity == "stop"


def test_a_denial_takes_no_note_away(make: Make) -> None:
    _, _, notes = make(book="time,note\n9:10,no smell of gas and nobody ill\n9:30,no smell\n")
    assert found(notes, "gas-smell").rows == ("book.csv:2-3",)
    assert found(notes, "people-ill").severity == "stop"


def test_only_the_words_are_quoted_not_who_wrote_what(make: Make) -> None:
    _, _, notes = make(book="time,note\n9:10,Example felt Dizzy\n9:20,dizzy again\n")
    assert str(found(notes, "people-ill").reason) == "the records say “dizzy”"


# No reading makes the notes milder

LIMITS = {"carbon_monoxide": 8.8, "hydrogen_sulfide": 2000.0, "gas_volume": 400.0}


@pytest.fixture(scope="module")
def base(tmp_path_factory: pytest.TempPathFactory) -> tuple[Trial, Results]:
    folder = tmp_path_factory.mktemp("base")
    (folder / "trial.toml").write_text(QUIET, encoding="utf-8")
    (folder / "log.csv").write_text(QUIET_LOG, encoding="utf-8")
    trial = read_trial(folder)
    return trial, compute(trial)


def with_readings(trial: Trial, column: str, added: list[tuple[float, float]]) -> Trial:
    old = trial.readings[column]
    at = np.concatenate([old.at, [trial.burning[0][0] + minutes * 60 for minutes, _ in added]])
    values = np.concatenate([old.values.astype(float), [value for _, value in added]])
    rows = np.concatenate([old.rows, 100 + np.arange(len(added))])
    order = np.argsort(at, kind="stable")
    index = np.zeros(len(at), dtype=np.int64)
    joined = Readings(at[order], values[order], rows[order], old.files, index, old.step)
    return dataclasses.replace(trial, readings={**trial.readings, column: joined})


@given(
    column=st.sampled_from(sorted(LIMITS)),
    before=st.lists(st.tuples(st.floats(0, 180), st.floats(0, 200)), max_size=12),
    minutes=st.floats(0, 180),
    factor=st.floats(1.001, 50),
)
def test_a_reading_above_a_limit_never_lowers_the_worst_severity(
    base: tuple[Trial, Results], column: str, before: list[tuple[float, float]], minutes: float, factor: float
) -> None:
    trial, results = base
    first = with_readings(trial, "carbon_monoxide", before)
    second = with_readings(first, column, [(minutes, LIMITS[column] * factor)])
    was, now = safety_notes(first, results), safety_notes(second, results)
    assert worst(now) <= worst(was)
    assert worst(now) <= SEVERITIES.index("act")


@given(st.text(max_size=60))
def test_more_words_never_take_a_note_away(text: str) -> None:
    for code in WORDS:
        assert len(words_found(code, f"smell ill soot {text}")) >= len(words_found(code, "smell ill soot "))


def test_a_warning_in_a_row_without_a_readable_time_is_a_warning_all_the_same(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    folder.mkdir()
    (folder / "trial.toml").write_text('title = "t"\ndate = 2026-03-14\n', encoding="utf-8")
    (folder / "log.csv").write_text(
        "time,event,note\n09:00,burner lit,\nlater,,smell of ammonia\n11:00,burner out,\n", encoding="utf-8"
    )
    trial = read_trial(folder)
    notes = safety_notes(trial, compute(trial))
    assert needs_top_warning(notes)
    assert notes[0].rows == ("log.csv:3",)


# What the table of hazards asks for beside that


def test_a_unit_not_known_to_stand_level_says_so(make: Make) -> None:
    for stated, severity in (("level_checked = false", "act"), ("", "know")):
        _, _, notes = make(swap=("level_checked = true", stated))
        note = found(notes, "level-and-upright")
        assert note.severity == severity
        assert note.reason is not None
        assert note.rows == ("trial.toml:cabinet.level_checked",)


def test_a_note_of_words_takes_the_place_of_the_one_that_always_stands(make: Make) -> None:
    _, _, notes = make(book="time,note\n9:10,gusty and the mains plug was out\n")
    assert {"wind-words", "electricity-words"} <= set(codes(notes))
    assert not {"weather", "electricity"} & set(codes(notes))


def test_indoors_there_is_no_note_on_the_weather(make: Make) -> None:
    _, _, notes = make(swap=("indoors = false", "indoors = true"))
    assert "weather" not in codes(notes)


def test_pressure_above_that_of_household_systems_is_noted(make: Make) -> None:
    for pressure, noted in (("60 mbar", True), ("49 mbar", False)):
        _, _, notes = make(swap=("[gas]", f'[gas]\npressure = "{pressure}"'))
        assert ("gas-pressure-high" in codes(notes)) is noted
    _, _, notes = make(head=log_of("gas_pressure [mbar]", 9, 55))
    note = found(notes, "gas-pressure-high")
    assert "5.5 kPa" in str(note.reason)
    assert note.rows == ("head.csv:3",)


@pytest.mark.parametrize(
    ("temperatures", "minutes", "noted"),
    [
        ((3, 3, 3, 3), 60, False),
        ((3, 8, 8, 8, 3), 60, True),
        ((3, 8, 3, 8, 3), 60, False),
        ((3, 3, 3), 150, True),
    ],
)
def test_food_in_a_cabinet_that_was_warm_or_not_read_for_hours_is_noted(
    make: Make, temperatures: tuple[int, ...], minutes: int, noted: bool
) -> None:
    log = log_of("cabinet_temperature", *temperatures, minutes=minutes)
    sheet = QUIET.replace("indoors = false", "indoors = false\nfood_inside = true")
    _, _, notes = make(sheet, log)
    assert ("warm-food" in codes(notes)) is noted
    _, _, without = make(QUIET, log)
    assert "warm-food" not in codes(without)


def test_food_of_which_nobody_knows_how_cold_it_was_is_noted(make: Make) -> None:
    _, _, notes = make(QUIET.replace("indoors = false", "indoors = false\nfood_inside = true"), LOG_OF_GAS)
    assert "nothing tells how cold" in str(found(notes, "warm-food").reason)


LOG_OF_GAS = log_of("gas_volume [L]", *range(300, 90, -30))


def test_a_sudden_feed_is_noted_and_a_steady_one_is_not(make: Make) -> None:
    for last, noted in ((3, False), (6, True)):
        rows = "".join(f"2026-03-{day},peelings,{3 if day < 13 else last}\n" for day in range(9, 14))
        _, _, notes = make(feed="date,material,fresh_mass [kg]\n" + rows)
        assert ("overfed" in codes(notes)) is noted


def test_visitors_are_told_of_the_latch(make: Make) -> None:
    _, _, notes = make(f"{QUIET}[audience]\nvisitors = 3\n")
    assert found(notes, "entrapment").rows == ("trial.toml:audience.visitors",)
