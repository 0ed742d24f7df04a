"""The status of a running trial: forecasts, alerts, the plan beside it, and what the command prints."""

from __future__ import annotations

import json
import re
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pytest
from comparison.documents import document, write_results
from conftest import ROOT, SAMPLES, sample_folders

from reportgen.cli import run
from reportgen.codes import ALERT_CODES, ALERT_LEVELS
from reportgen.message import say
from reportgen.plan.past import PastRun
from reportgen.read.folder import read_trial
from reportgen.results_file import started
from reportgen.status import MomentError, Status, moment_of, status_of, until
from reportgen.status.alerts import Alert
from reportgen.status.forecast import KEYS, shortest
from reportgen.status.words import status_document, status_text

SHEET = """title = "Canteen ice"
date = 2026-03-14
time_zone = "Indian/Mauritius"
[burner]
lit = "09:00"
[gas]
kind = "holder"
isolated = true
reserve = "20 L"
"""

HEADER = "time,cabinet_temperature [degC],gas_volume [L]"


def trial_of(
    folder: Path, *rows: str, sheet: str = SHEET, header: str = "time,cabinet_temperature [degC],gas_volume [L]"
) -> Status:
    (folder / "trial.toml").write_text(sheet, encoding="utf-8")
    (folder / "log.csv").write_text("\n".join([header, *rows]) + "\n", encoding="utf-8")
    return status_of(read_trial(folder), folder)


def falling(minutes: range, rate: float = 1.0, still_from: int = 10_000) -> list[str]:
    """Return rows of a cabinet that cools and a holder that sinks by `rate` L/min, until it stands still."""
    rows = []
    for minute in minutes:
        cabinet = -14 + 41 * 2.718281828 ** (-max(minute - 20, 0) / 70)
        gas = 200 - rate * min(minute, still_from)
        rows.append(f"{9 + minute // 60:02}:{minute % 60:02},{cabinet:.1f},{gas:.0f}")
    return rows


def codes(status: Status) -> list[tuple[str, str]]:
    return [(alert.level, alert.code) for alert in status.alerts]


@pytest.mark.parametrize("folder", sample_folders(), ids=lambda path: path.name)
@pytest.mark.parametrize("hours", [0.0, 1.5, 3.0, None])
def test_every_sample_has_a_status_at_any_moment(folder: Path, hours: float | None) -> None:
    trial = read_trial(folder)
    found = status_of(trial, folder, None if hours is None else f"{hours} h")
    document = status_document(found)
    json.dumps(document, allow_nan=False)
    assert list(document["forecasts"]) == list(KEYS)
    for one in document["forecasts"].values():
        assert (one["value"] is None) == (one["interval_80"] is None)
        assert (one["reason"] is None) == (one["value"] is not None)
        if one["value"] is not None:
            low, high = one["interval_80"]
            assert low <= one["value"] <= high
        if one["value"] is not None and one["unit"] == "h" and not one["happened"]:
            assert one["value"] >= document["elapsed_h"] - 1e-3
    text = status_text(found, 80)
    assert max(map(len, text.splitlines())) <= 80
    assert "\x1b" not in text


@pytest.mark.parametrize("name", ["canteen-hand-readings", "canteen-logger-and-hand", "canteen-single-log"])
@pytest.mark.parametrize("hours", [2.0, 3.0])
def test_forecasts_of_the_samples_hold_their_truth(name: str, hours: float) -> None:
    truth = json.loads((ROOT / "tests" / "sample_truth.json").read_text(encoding="utf-8"))[name]
    found = status_of(read_trial(SAMPLES / name), None, f"{hours} h").forecasts
    judged = [
        one.interval[0] - 0.1 <= truth[key] <= one.interval[1] + 0.1
        for key, one in found.items()
        if key in truth and truth[key] is not None and one.interval is not None and key != "ice_making_time"
    ]
    assert len(judged) >= 2
    assert sum(judged) >= len(judged) - 1


def test_nothing_later_than_the_moment_is_known() -> None:
    trial = read_trial(SAMPLES / "canteen-hand-readings")
    assert trial.lit_at is not None
    at = trial.lit_at + 2 * 3600
    stood = until(trial, at)
    moments = [*(part.at.max() for part in stood.readings.values() if len(part)), *(look.at for look in stood.looks)]
    assert max(moments) <= at
    assert not stood.end_recorded
    assert stood.burning[-1][1] == at


def test_what_happened_is_a_result(tmp_path: Path) -> None:
    found = trial_of(tmp_path, *falling(range(0, 180, 5)))
    zero = found.forecasts["time_to_0"]
    assert zero.happened
    assert zero.value == pytest.approx((20 + 70 * 1.0745) / 60, abs=0.05)
    assert not found.forecasts["time_to_minus_12"].happened
    assert found.forecasts["time_to_minus_12"].value == pytest.approx((20 + 70 * 3.02) / 60, rel=0.15)
    lasts = found.forecasts["gas_lasts_until"]
    assert lasts.value == pytest.approx(3.0, rel=0.05)
    assert found.alerts == ()


def test_without_lighting_nothing_is_forecast(tmp_path: Path) -> None:
    found = trial_of(tmp_path, "09:00,26,200", "10:00,20,150", sheet=SHEET.replace('lit = "09:00"', ""))
    assert found.elapsed is None
    assert all("lit" in str(one.reason) for one in found.forecasts.values())
    assert "Before you light:" in status_text(found, 80)


def test_toxic_gas_comes_before_all_else(tmp_path: Path) -> None:
    rows = [f"{row},{'' if n % 3 else 60},2500" for n, row in enumerate(falling(range(0, 120, 5), still_from=60))]
    header = "time,cabinet_temperature [degC],gas_volume [L],carbon_monoxide [ppm],hydrogen_sulfide [ppm]"
    found = codes(trial_of(tmp_path, *rows, header=header))
    assert found[:3] == [
        ("act now", "carbon-monoxide-over-limit"),
        ("act now", "hydrogen-sulfide-over-limit"),
        ("act now", "flame-may-be-out"),
    ]


def test_a_holder_at_its_reserve_is_an_alert(tmp_path: Path) -> None:
    found = trial_of(tmp_path, *falling(range(0, 185, 5)))
    assert ("act now", "gas-at-reserve") in codes(found)
    assert found.forecasts["gas_lasts_until"].happened


def test_a_holder_that_sinks_faster_is_an_alert(tmp_path: Path) -> None:
    rows = falling(range(0, 80, 5))
    rows += [f"{10 + (m - 60) // 60:02}:{m % 60:02},5,{120 - 4 * (m - 75)}" for m in range(80, 100, 5)]
    assert ("act now", "holder-sinks-fast") in codes(trial_of(tmp_path, *rows))


def test_gas_that_is_short_is_an_alert(tmp_path: Path) -> None:
    rows = [f"{row},{'30' if n == 28 else ''}" for n, row in enumerate(falling(range(0, 150, 5), rate=1.1))]
    header = "time,cabinet_temperature [degC],gas_volume [L],ice"
    found = trial_of(tmp_path, *rows, header=header)
    assert found.forecasts["ice_making_time"].value is not None
    assert any(code == "gas-short" for _, code in codes(found))
    assert found.look_at is not None


def test_gas_left_counts_above_the_reserve_as_in_a_plan(tmp_path: Path) -> None:
    rows = [f"{row},{'30' if n == 28 else ''}" for n, row in enumerate(falling(range(0, 150, 5), rate=0.5))]
    header = "time,cabinet_temperature [degC],gas_volume [L],ice"
    found = {}
    for reserve in ("20 L", "50 L"):
        sheet = SHEET.replace("20 L", reserve)
        found[reserve] = trial_of(tmp_path, *rows, header=header, sheet=sheet).forecasts["gas_left_when_solid"].value
    assert found["20 L"] is not None
    assert found["50 L"] == pytest.approx(found["20 L"] - 30, abs=0.5)


PAST = PastRun(
    "last week",
    {
        "temperature_start": 27.0,
        "temperature_floor": -14.0,
        "cooling_time_constant": 70 / 60,
        "cooling_delay": 20 / 60,
        "ice_making_time": 4.5,
    },
)


def test_past_runs_tell_of_ice_that_nobody_looked_at_yet(tmp_path: Path) -> None:
    found = trial_of(tmp_path, *falling(range(0, 80, 5), rate=0.4))
    assert found.forecasts["ice_making_time"].value is None
    told = status_of(found.trial, None, None, (PAST,))
    ice = told.forecasts["ice_making_time"]
    assert ice.interval is not None
    assert ice.interval[0] < 4.5 < ice.interval[1]
    assert told.forecasts["gas_left_when_solid"].value is not None
    text = status_text(told, 80)
    assert "how long the ice takes: last week" in text
    assert "rests on them alone" in text


def test_past_runs_tell_where_a_cabinet_goes_that_hardly_cooled_yet(tmp_path: Path) -> None:
    found = trial_of(tmp_path, *falling(range(0, 25, 5)))
    assert found.forecasts["time_to_0"].value is None
    told = status_of(found.trial, None, None, (PAST,)).forecasts["time_to_0"]
    assert told.value == pytest.approx((20 + 70 * 1.0745) / 60, rel=0.15)


def test_past_runs_that_tell_nothing_are_said_to(tmp_path: Path) -> None:
    found = trial_of(tmp_path, *falling(range(0, 80, 5)))
    told = status_of(found.trial, None, None, (PastRun("of gas only", {"gas_used": 200.0}),))
    assert told.forecasts == found.forecasts
    assert "none of them tells" in status_text(told, 80)


def test_a_report_of_the_running_trial_itself_is_no_past_run(tmp_path: Path) -> None:
    found = trial_of(tmp_path, *falling(range(0, 80, 5), rate=0.4))
    own = PastRun("this one", PAST.figures, started(found.trial) or "")
    told = status_of(found.trial, None, None, (own, PAST))
    assert told.past == ("last week",)
    assert status_of(found.trial, None, None, (own,)).forecasts == found.forecasts


def test_the_command_takes_results_files_as_plan_does(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write_results(tmp_path, document(1), document(2))
    results = [str(tmp_path / "trial-000"), str(tmp_path / "trial-001" / "results.json")]
    trial = str(SAMPLES / "canteen-hand-readings")
    assert run(["status", trial, "--json", "--at", "1 h", "--from", *results]) == 0
    assert json.loads(capsys.readouterr().out)["past_runs"]["given"] == ["T-1", "T-2"]
    assert run(["status", trial, results[0]]) == 2
    assert "--from" in capsys.readouterr().err


def test_what_is_due_is_said_to_come_any_time_now(tmp_path: Path) -> None:
    found = trial_of(tmp_path, *falling(range(0, 95, 5)))
    zero = found.forecasts["time_to_0"]
    assert zero.interval is not None
    assert found.elapsed is not None
    assert zero.interval[0] - found.elapsed < 5 / 60
    assert "Cabinet at 0 °C: any time now, as likely as not by 10:" in status_text(found, 80)


def test_the_shortest_range_holds_most_draws_and_their_median() -> None:
    draws = np.concatenate((np.linspace(0.0, 1.0, 800), np.linspace(1.0, 50.0, 200)))
    low, high = shortest(draws)
    assert (low, high) == pytest.approx((0.0, 1.0), abs=0.01)
    assert np.mean((draws >= low) & (draws <= high)) >= 0.8


OUT_HEADER = f"{HEADER},ice,event"


def with_flame_out(words: str, *, look: str = "partial", relit: bool = False, last: int = 140) -> list[str]:
    """Return rows of a run whose flame went out at 10:40 in these words, lit again at 10:55 or not."""
    rows = []
    for minute, row in zip(range(0, last, 5), falling(range(0, last, 5), rate=0.4, still_from=100), strict=True):
        event = {100: words, 115: "relit" if relit else ""}.get(minute, "")
        rows.append(f"{row},{look if minute == 90 else ''},{event}")
    return rows


@pytest.mark.parametrize(
    ("words", "look", "level"),
    [
        ("flame out", "partial", "act now"),
        ("blew out", "solid", "act now"),
        ("moto umezimika", "partial", "act now"),
        ("out", "partial", "caution"),
        ("burner out", "partial", "caution"),
        ("burner out", "", "note"),
        ("burner out", "solid", None),
    ],
)
def test_a_flame_out_that_lasts_is_an_alert(tmp_path: Path, words: str, look: str, level: str | None) -> None:
    found = trial_of(tmp_path, *with_flame_out(words, look=look), header=OUT_HEADER)
    assert codes(found) == ([] if level is None else [(level, "flame-is-out")])
    if level is not None:
        message = str(found.alerts[0].message)
        for part in ("10:40 (log.csv, row 22)", "35 min", "gas valve", "air the place", "gas has cleared", "Local rul"):
            assert part in message, part
    assert "the burner is out" in status_text(found, 80)


def test_a_flame_out_is_no_alert_before_it_nor_once_the_flame_is_lit_again(tmp_path: Path) -> None:
    trial_of(tmp_path, *with_flame_out("flame out", relit=True), header=OUT_HEADER)
    trial = read_trial(tmp_path)
    seen = {at: [code for _, code in codes(status_of(trial, None, at))] for at in ("10:35", "10:50", "11:10")}
    assert {at: "flame-is-out" in found for at, found in seen.items()} == {
        "10:35": False,
        "10:50": True,
        "11:10": False,
    }


def test_a_run_that_the_sheet_says_is_over_asks_nothing_of_anybody(tmp_path: Path) -> None:
    rows = with_flame_out("flame out")
    for sheet in (f'outcome = "aborted"\n{SHEET}', SHEET.replace("[gas]", 'out = "10:40"\n[gas]')):
        assert codes(trial_of(tmp_path, *rows, header=OUT_HEADER, sheet=sheet)) == []
    # Before its end it is told, also where the end stands in the sheet already.
    relit = with_flame_out("flame out", relit=True)
    trial_of(tmp_path, *relit, header=OUT_HEADER, sheet=f'outcome = "completed"\n{SHEET}')
    assert ("act now", "flame-is-out") in codes(status_of(read_trial(tmp_path), None, "10:50"))


def test_a_flame_out_is_an_alert_where_the_lighting_is_in_doubt_too(tmp_path: Path) -> None:
    rows = [f"{row},,{'fire on' if n == 0 else ''}" for n, row in enumerate(falling(range(0, 100, 5)))]
    sheet = SHEET.replace('lit = "09:00"\n', "")
    out = trial_of(tmp_path, *rows, "10:40,3,100,,flame out", "10:50,3,100,,", header=OUT_HEADER, sheet=sheet)
    assert codes(out) == [("act now", "flame-is-out")]
    later = [f"{hour:02}:{minute:02},3,{gas},," for hour, minute, gas in ((11, 0, 95), (11, 30, 60), (12, 0, 15))]
    relit = trial_of(tmp_path, *rows, "10:40,3,100,,flame out", "10:55,3,100,,lit again", *later, header=OUT_HEADER,
                     sheet=sheet)  # fmt: skip
    assert relit.elapsed is None
    assert all('write lit = "2026-03-14 09:00"' in str(one.reason) for one in relit.forecasts.values())
    assert codes(relit)[0] == ("act now", "gas-at-reserve")


@pytest.mark.parametrize(("last", "level"), [(90, "note"), (150, "caution")])
def test_no_cooling_for_long_is_an_alert(tmp_path: Path, last: int, level: str) -> None:
    rows = [f"{9 + m // 60:02}:{m % 60:02},26.{m % 2},{200 - m}" for m in range(0, last, 5)]
    assert (level, "no-cooling") in codes(trial_of(tmp_path, *rows))


def test_the_plan_beside_it_says_on_course_or_not(tmp_path: Path) -> None:
    plan = {"results": {"hours_of_burning": {"value": 6.0, "interval_95": [5.0, 7.0]}, "ice_ready": {"value": None}}}
    (tmp_path / "plan.json").write_text(json.dumps(plan), encoding="utf-8")
    found = trial_of(tmp_path, *falling(range(0, 100, 5)))
    assert found.plan is not None
    assert [course.on_course for course in found.plan] == [False]
    assert ("caution", "off-course") in codes(found)
    (tmp_path / "plan.json").write_text('{"results": {"ice_re', encoding="utf-8")
    assert trial_of(tmp_path, *falling(range(0, 100, 5))).plan == ()


@pytest.mark.parametrize("text", ["yesterday", "25:99", "2026-13-01 10:00", ""])
def test_a_moment_that_is_none_is_wrong_usage(text: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status", str(SAMPLES / "canteen-hand-readings"), "--at", text]) == 2
    assert "write it as" in capsys.readouterr().err


def test_a_moment_may_be_a_clock_time_a_stamp_or_hours() -> None:
    trial = read_trial(SAMPLES / "canteen-hand-readings")
    assert trial.lit_at is not None
    clock, stamp = moment_of(trial, "11:35"), moment_of(trial, "2026-02-21 11:35")
    assert clock == stamp == moment_of(trial, f"{(clock - trial.lit_at) / 3600:.6f} h")
    with pytest.raises(MomentError):
        moment_of(trial, "noon")


def test_the_command_prints_the_contract(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status", str(SAMPLES / "canteen-hand-readings"), "--json", "--at", "2.5 h"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert {"at", "elapsed_h", "forecasts", "alerts", "findings"} <= set(document)
    assert document["elapsed_h"] == 2.5
    assert document["forecasts"]["time_to_0"]["happened"] is True
    assert document["forecasts"]["time_to_minus_18"]["value"] is None


def test_a_trial_that_cannot_be_read_is_an_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["status", str(tmp_path)]) == 1
    assert "trial.toml" in capsys.readouterr().err


def test_watch_redraws_only_on_change_and_ends_quietly(tmp_path: Path) -> None:
    folder = tmp_path / "trial"
    shutil.copytree(SAMPLES / "canteen-hand-readings", folder)
    command = [sys.executable, "-m", "reportgen", "status", str(folder), "--watch"]
    said = tmp_path / "said.txt"
    with said.open("w", encoding="utf-8") as out:
        watch = subprocess.Popen(command, stdout=out, stderr=subprocess.PIPE, cwd=ROOT)

        def until_said(times: int) -> int:
            patience = time.monotonic() + 60
            while said.read_text(encoding="utf-8").count("As of ") < times and time.monotonic() < patience:
                time.sleep(0.1)
            return said.read_text(encoding="utf-8").count("As of ")

        assert until_said(1) == 1
        time.sleep(1.2)
        assert until_said(1) == 1
        with (folder / "notebook.csv").open("a", encoding="utf-8") as log:
            log.write("\n")
        assert until_said(2) == 2
        watch.send_signal(signal.SIGINT)
        _, errors = watch.communicate(timeout=30)
    assert watch.returncode == 130
    assert errors == b""


def test_every_alert_is_explained_and_in_use() -> None:
    text = "".join(path.read_text(encoding="utf-8") for path in (ROOT / "reportgen" / "status").glob("*.py"))
    for name, code in ALERT_CODES.items():
        assert f'"{name}"' in text
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", name)
        assert set(code.levels) <= set(ALERT_LEVELS)
    with pytest.raises(ValueError, match="no-such-code"):
        Alert("note", "no-such-code", say("x"))
    with pytest.raises(ValueError, match="flame-may-be-out at level note"):
        Alert("note", "flame-may-be-out", say("x"))
