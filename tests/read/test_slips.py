"""What somebody probably meant is asked, with the line that would say it."""

from __future__ import annotations

from pathlib import Path

import pytest

from reportgen.read import slips
from reportgen.read.slips import likely_header, misnamed_sheet, why_no_trial

from .written import trial_of

RUN = 'date = 2026-03-14\n[burner]\nlit = "09:05"\nout = "12:40"\n'
LOG = "time,cabinet_temperature [degC]\n09:05,24.5\n"


def asked_of_units(log: str, sheet: str = RUN) -> list[str]:
    return [str(found.message) for found in trial_of(sheet, log=log).findings if found.code == "unit-in-doubt"]


@pytest.mark.parametrize(
    ("column", "values", "unit"),
    [
        pytest.param("cabinet_temperature", (77, 60, 40), "degF", id="a cabinet does not begin at 77 °C"),
        pytest.param("ambient_temperature", (52, 54, 53), "degF", id="nor is it 53 °C around it"),
        pytest.param("gas_volume", (0.18, 0.12, 0.05), "m3", id="no run burns a tenth of a litre"),
    ],
)
def test_a_column_without_a_unit_whose_numbers_fit_another_is_asked_about(
    column: str, values: tuple[float, ...], unit: str
) -> None:
    rows = "".join(f"{9 + 1.5 * n:02.0f}:05,{value}\n" for n, value in enumerate(values))
    (asked,) = asked_of_units(f"time,{column}\n{rows}")
    assert f"[{unit}]" in asked
    assert str(values[0]) in asked
    assert asked_of_units(f"time,{column} [{unit}]\n{rows}") == []


@pytest.mark.parametrize(
    ("column", "values"),
    [
        pytest.param("cabinet_temperature", (30, 12, -5), id="a warm cabinet"),
        pytest.param("cabinet_temperature", (50, 55, 60), id="a cabinet that warms"),
        pytest.param("ambient_temperature", (46, 38, 36), id="one reading in the sun"),
        pytest.param("gas_volume", (180, 120, 50), id="litres"),
    ],
)
def test_likely_numbers_ask_nothing(column: str, values: tuple[float, ...]) -> None:
    rows = "".join(f"{9 + 1.5 * n:02.0f}:05,{value}\n" for n, value in enumerate(values))
    assert asked_of_units(f"time,{column}\n{rows}") == []


def test_a_little_gas_in_a_short_time_asks_nothing() -> None:
    assert asked_of_units("time,gas_volume\n09:05,0.18\n10:35,0.12\n") == []


def test_the_row_most_like_a_header_is_found_beside_comments_and_long_lines() -> None:
    long_line = ",".join(["time,cabinet temp,room temp"] * 100)
    assert len(long_line) > slips.LONGEST_LIKELY
    text = f"# time,cabinet temp,room temp\n{long_line}\nCanteen\ntime;cabinet temp\n09:05;24.5\n"
    found = likely_header(text, "log.csv")
    assert found is not None
    row, line = found
    assert row == 4
    assert line.startswith('"log.csv" = { time = "time", cabinet_temperature = "cabinet temp"')
    assert likely_header("Canteen\nrun,3\n", "log.csv") is None


@pytest.mark.parametrize("name", ["trial.toml.txt", "Trial.TOML", "trial.txt"])
def test_a_sheet_of_another_name_is_named(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text('title = "A trial"\n')
    assert misnamed_sheet(tmp_path) == name
    reason = why_no_trial(tmp_path)
    assert reason is not None
    assert f'named "{name}"' in reason


def test_a_folder_with_a_log_and_no_sheet_is_told_what_it_lacks(tmp_path: Path) -> None:
    (tmp_path / "letter.csv").write_text("dear all,\n")
    (tmp_path / "noise.csv").write_bytes(b"\0\1\2")
    assert why_no_trial(tmp_path) is None
    (tmp_path / "readings.csv").write_text(LOG)
    reason = why_no_trial(tmp_path)
    assert reason is not None
    assert reason.startswith("it holds readings.csv but no trial.toml")


def test_a_log_that_is_a_link_is_not_followed(tmp_path: Path) -> None:
    season, elsewhere = tmp_path / "season", tmp_path / "elsewhere.csv"
    season.mkdir()
    elsewhere.write_text(LOG)
    (season / "log.csv").symlink_to(elsewhere)
    assert why_no_trial(season) is None


def test_a_folder_that_is_not_there_is_no_trial(tmp_path: Path) -> None:
    assert why_no_trial(tmp_path / "gone") is None
    assert misnamed_sheet(tmp_path / "gone") is None


def test_no_more_files_are_looked_into_than_tell(tmp_path: Path) -> None:
    for number in range(slips.MOST_PEEKED):
        (tmp_path / f"letter-{number:02d}.csv").write_text("dear all,\n")
    (tmp_path / "readings.csv").write_text(LOG)
    assert why_no_trial(tmp_path) is None
