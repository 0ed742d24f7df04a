"""The sentences of a report: no gap left empty, the wall clock where there is one, plain words for methods."""

from __future__ import annotations

import datetime as dt
import re
from pathlib import Path

import pytest
from conftest import ROOT, SAMPLES

from reportgen import wording
from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.trial import Trial

SHEET = (
    'title = "A trial"\ndate = 2026-03-14\ntime_zone = "Africa/Dar_es_Salaam"\n[burner]\nlit = "09:00"\nout = "14:00"\n'
)
LOOKS = "time,ice\n2026-03-14T12:00,partial\n2026-03-14T13:00,solid\n"


def read(folder: Path, sheet: str, log: str) -> Trial:
    folder.mkdir(exist_ok=True)
    (folder / "trial.toml").write_text(sheet, encoding="utf-8")
    (folder / "log.csv").write_text(log, encoding="utf-8")
    return read_trial(folder)


def headline(trial: Trial) -> str:
    return " ".join(map(str, wording.headline(trial, compute(trial))))


@pytest.mark.parametrize(
    ("water", "looks", "expected"),
    [
        (
            "",
            LOOKS,
            (
                "In this trial the ice became solid between 3.0 h and 4.0 h after the burner was lit (12:00 to 13:00); "
                "its mass is not known: how much water was put in is not recorded (water.mass)."
            ),
        ),
        (
            'ice_mass = "1.0 +/- 0.01 kg"',
            LOOKS,
            (
                "In this trial about 1.00 kg of ice (0.98 to 1.02 kg) became solid between 3.0 h and 4.0 h after the "
                "burner was lit (12:00 to 13:00)."
            ),
        ),
        (
            'ice_mass = "1.0 +/- 0.01 kg"',
            "time,ice\n2026-03-14T13:00,solid\n",
            (
                "In this trial about 1.00 kg of ice (0.98 to 1.02 kg) was solid by the first look, 4.0 h after the "
                "burner was lit (13:00)."
            ),
        ),
        (
            "",
            "time,ice\n2026-03-14T09:10,solid\n",
            (
                "In this trial the ice was solid by the first look, 10 min after the burner was lit (09:10); its mass "
                "is not known: how much water was put in is not recorded (water.mass)."
            ),
        ),
        (
            "",
            "time,ice\n2026-03-14T09:20,liquid\n2026-03-14T12:00,partial\n",
            "In this trial the ice was not yet solid 3.0 h after the burner was lit (12:00).",
        ),
        (
            'ice_mass = "1.0 +/- 0.01 kg"',
            "time,note\n2026-03-14T09:20,started\n",
            (
                "In this trial about 1.00 kg of ice (0.98 to 1.02 kg) was made; when it became solid is not known: "
                "nobody looked at the ice (column ice)."
            ),
        ),
        (
            "",
            "time,note\n2026-03-14T09:20,started\n",
            "This trial gives no ice-making time: nobody looked at the ice (column ice).",
        ),
    ],
)
def test_the_ice_is_told_by_what_is_known(tmp_path: Path, water: str, looks: str, expected: str) -> None:
    text = headline(read(tmp_path / "trial", f"{SHEET}[water]\n{water}\n", looks))
    assert text.startswith(expected)
    assert "None" not in text


def test_a_sentence_that_ends_in_a_question_gets_no_full_stop(tmp_path: Path) -> None:
    log = "time,gas_volume [L]\n" + "".join(f"2026-03-14T{9 + i:02}:00,{100 + 40 * i}\n" for i in range(6))
    text = headline(read(tmp_path / "trial", SHEET + '[gas]\nkind = "holder"\n', log))
    assert "The gas used is not given: " in text
    assert not re.search(r"\?\.", text)


def test_the_wall_clock_names_another_day_once(tmp_path: Path) -> None:
    sheet = SHEET.replace("09:00", "21:15").replace('"14:00"', '"2026-03-15 03:00"')
    night = "time,ice\n2026-03-15T01:30,partial\n2026-03-15T02:15,solid\n"
    assert "(01:30 to 02:15 on 2026-03-15)" in headline(read(tmp_path / "dated", sheet, night))
    over = "time,ice\n2026-03-14T23:30,partial\n2026-03-15T00:15,solid\n"
    trial = read(tmp_path / "over", sheet, over)
    assert "(23:30 to 00:15 on 2026-03-15)" in headline(trial)
    assert trial.lit_at is not None
    assert str(wording.clock(trial, trial.lit_at)) == "21:15"


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        (
            "10:20,flame out\n2026-03-14T10:32,relit\n",
            "The burner was out for 12 min in between (10:20 to 10:32), and was lit again.",
        ),
        (
            "10:20,out\n2026-03-14T10:32,relit\n2026-03-14T11:00,out\n2026-03-14T12:18,relit\n",
            "The burner was out 2 times in between, for 1.5 h in all, and was lit again each time.",
        ),
        ("10:20,out\n2026-03-14T10:20,relit\n", None),
        ("10:20,stirred\n", None),
    ],
)
def test_the_time_without_a_flame_is_told(tmp_path: Path, rows: str, said: str | None) -> None:
    text = headline(read(tmp_path / "trial", SHEET, f"time,event\n2026-03-14T{rows}"))
    if said is None:
        assert "was out" not in text
    else:
        assert said in text


def test_half_minutes_are_rounded_up(tmp_path: Path) -> None:
    trial = read(tmp_path / "trial", SHEET, LOOKS)
    for seconds, time in ((29, "09:00"), (30, "09:01"), (90, "09:02")):
        assert trial.lit_at is not None
        assert str(wording.clock(trial, trial.lit_at + seconds)) == time


def test_no_clock_is_told_where_only_hours_since_lighting_are_known(tmp_path: Path) -> None:
    log = "elapsed [min],ice\n60,partial\n120,solid\n"
    text = headline(read(tmp_path / "trial", 'title = "Hours only"\n', log))
    assert "between 1.0 h and 2.0 h after the burner was lit;" in text
    assert not re.search(r"\d\d:\d\d", text)


def test_methods_are_said_in_plain_words() -> None:
    written = {
        text
        for path in (ROOT / "reportgen" / "figures").glob("*.py")
        for text in re.findall(r'"([^"\n]*)"', path.read_text(encoding="utf-8"))
    }
    assert set(wording.METHODS) <= written
    trial = read_trial(SAMPLES / "canteen-hand-readings")
    text = " ".join(map(str, [*wording.headline(trial, compute(trial)), *wording.method(trial, compute(trial))]))
    assert "as feeding was steady" in text
    assert not any(name in text for name in wording.METHODS)


def test_a_date_of_a_sample_reads_as_its_own_clock() -> None:
    trial = read_trial(SAMPLES / "canteen-hand-readings")
    assert trial.lit_at is not None
    local = dt.datetime.fromtimestamp(trial.lit_at, trial.zone)
    assert (local.hour, local.minute) == (9, 5)
    assert str(wording.clock(trial, trial.lit_at)) == "09:05"
