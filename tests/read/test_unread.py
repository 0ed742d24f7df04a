"""Columns that are not read: asked about where they may carry figures, with what is lost and the line to write."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from conftest import computed_sample

from reportgen.figures import compute
from reportgen.read.folder import read_trial
from reportgen.read.unread import GAS_COLUMNS, RESTS_ON_COLUMN
from reportgen.supports import given_keys
from reportgen.trial import Finding, Trial

RUN = "time,gas_volume [L]\n2026-03-14 09:05,182\n2026-03-14 12:40,70\n"
FEED = "date,material,{header}\n2026-03-12,rice,4.0,200\n2026-03-13,peels,4.1,210\n"


def trial_of(folder: Path, sheet: str = "", **logs: str) -> Trial:
    (folder / "trial.toml").write_text(f'title = "t"\ntime_zone = "UTC"\n{sheet}', encoding="utf-8")
    for name, text in logs.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return read_trial(folder)


def doubts(trial: Trial) -> list[Finding]:
    return [finding for finding in trial.findings if finding.code == "column-in-doubt"]


@pytest.mark.parametrize(
    ("mass", "gas"),
    [
        ("kg", "gas made"),
        ("[kg]", "Biogas made today"),
        ("Kilos", "gas per day [L]"),
        ("peels [kg]", "gaz obtenu"),
        ("fed in all (g)", "gesi kwa siku"),
    ],
)
def test_a_name_in_doubt_says_what_is_lost_and_the_line_that_reads_it(mass: str, gas: str, tmp_path: Path) -> None:
    log = FEED.format(header=f"{mass},{gas}")
    before = trial_of(tmp_path, run=RUN, feed=log)
    assert not before.feeds
    assert [(f.level, f.file, f.row) for f in doubts(before)] == [("caution", "feed.csv", 1)] * 2
    lost = [str(finding.effect) for finding in doubts(before)]
    assert lost[0].startswith("no other column gives fresh_mass, on which these figures rest: Waste fed; Gas per kg of")
    assert "Waste per kg of ice" in lost[0]
    assert lost[1].startswith("no other column gives gas_produced, on which these figures rest: Gas produced")
    lines = {str(finding.message).partition(":  ")[2] for finding in doubts(before)}
    assert len(lines) == 1
    after = trial_of(tmp_path, f"[columns]\n{lines.pop()}\n")
    assert not doubts(after)
    assert len(after.feeds) == 2
    assert after.readings["gas_produced"].values.tolist() == [200, 210]


def test_nothing_is_lost_where_another_log_has_the_column(tmp_path: Path) -> None:
    trial = trial_of(tmp_path, run=RUN, feed=FEED.format(header="fresh_mass [kg],kg"))
    assert not doubts(trial)
    (tmp_path / "other.csv").write_text("date,material,kg\n2026-03-12,rice,4\n", encoding="utf-8")
    trial = read_trial(tmp_path)
    assert [(finding.file, finding.effect) for finding in doubts(trial)] == [("other.csv", None)]


def test_what_no_log_has_is_the_likelier(tmp_path: Path) -> None:
    log = "time,cabinet_temperature [degC],volume\n2026-03-14 09:05,20,7\n"
    (doubt,) = doubts(trial_of(tmp_path, run=RUN, log=log))
    assert 'is "volume" water_added or gas_volume?' in str(doubt.message)
    assert str(doubt.effect).endswith("figures rest: Retention time")


def test_a_mass_of_something_else_beside_a_run_is_not_asked_about(tmp_path: Path) -> None:
    log = "time,cabinet_temperature [degC],ice mass [kg],humidity\n2026-03-14 09:05,20,0,80\n"
    trial = trial_of(tmp_path, run=RUN, log=log)
    assert [finding.code for finding in trial.findings] == ["unknown-column"]


@pytest.mark.parametrize("column", RESTS_ON_COLUMN)
def test_the_figures_that_are_said_to_rest_on_a_column_do(column: str) -> None:
    name = "hill-school-fahrenheit" if column == "gas_level" else "canteen-logger-and-hand"
    trial, results = computed_sample(name)
    if column == "gas_flow":
        assert RESTS_ON_COLUMN[column] == RESTS_ON_COLUMN["gas_volume"]
        return
    without = {"fresh_mass": {"feeds": ()}, "ice": {"looks": ()}}.get(column, {})
    readings = {key: value for key, value in trial.readings.items() if key != column}
    feeds = trial.feeds
    if column in ("total_solids", "volatile_solids", "water_added"):
        feeds = tuple(replace(feed, **{column: None}) for feed in feeds)
    left = replace(trial, **{"readings": readings, "feeds": feeds, **without})
    lost = set(given_keys(results)) - set(given_keys(compute(left)))
    assert set(RESTS_ON_COLUMN[column]) <= lost


def test_each_of_the_gas_columns_stands_for_the_others(tmp_path: Path) -> None:
    log = "time,cabinet_temperature [degC],level\n2026-03-14 09:05,20,7\n"
    (doubt,) = doubts(trial_of(tmp_path, run=RUN, log=log))
    assert doubt.effect is None
    assert set(GAS_COLUMNS) <= set(RESTS_ON_COLUMN)
