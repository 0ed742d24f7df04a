"""Results files of earlier runs: read whole and valid, or refused in two lines."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from comparison.documents import document, write_results

from reportgen.errors import ReportgenError
from reportgen.plan import read_past
from reportgen.plan.past import seen


def results(folder: Path, **facts: Any) -> Path:
    return write_results(folder, document(1, **facts)) / "trial-000" / "results.json"


def test_a_folder_stands_for_the_results_files_at_any_depth_and_a_file_counts_once(tmp_path: Path) -> None:
    path = results(tmp_path / "season" / "reports")
    (run,) = read_past([path, path.parent, tmp_path, path])
    made = document(1)["results"]
    assert run.name == "T-1"
    assert seen([run], "gas_used") == [made["gas_used"]["value"]]
    assert made["time_to_minus_18"]["value"] is None
    assert seen([run], "time_to_minus_18") == []
    assert run.figures["temperature_lowest"] < 0
    assert seen([run], "temperature_lowest") == []


def test_without_paths_there_are_no_runs_and_in_an_empty_folder_that_is_an_error(tmp_path: Path) -> None:
    assert read_past([]) == ()
    with pytest.raises(ReportgenError, match=r"no results\.json is in it") as caught:
        read_past([tmp_path])
    assert caught.value.code == "no-results"


def test_a_run_counts_once_however_often_it_was_reported_and_an_amended_report_counts(tmp_path: Path) -> None:
    first, other, amended = document(1), document(1), document(1)
    for made, report, gas in ((first, "T-1-a", 300.0), (other, "T-1-b", 310.0), (amended, "T-1-c", 320.0)):
        made["report"] = {"id": report, "issued": None, "edition": "full", "anonymous": False, "amends": None}
        made["results"]["gas_used"] |= {"value": gas, "interval_95": [gas - 5, gas + 5]}
    amended["report"]["amends"] = {"id": "T-1-a", "reason": "slip", "moved": None, "earlier": []}
    for folder, made in (("a", first), ("b", other), ("c", amended)):
        write_results(tmp_path / folder, made)
    assert seen(read_past([tmp_path / "a", tmp_path / "b"]), "gas_used") == [300.0]
    assert seen(read_past([tmp_path]), "gas_used") == [320.0]


def test_a_run_without_an_id_has_the_name_of_its_file(tmp_path: Path) -> None:
    made = document(1)
    made["trial"]["id"] = " "
    (tmp_path / "mine.json").write_text(json.dumps(made), encoding="utf-8")
    (run,) = read_past([tmp_path / "mine.json"])
    assert run.name == "mine.json"


def test_a_figure_beyond_all_bounds_does_not_count(tmp_path: Path) -> None:
    made = document(1)
    made["results"]["gas_used"] |= {"value": 1e12, "interval_95": [9e11, 2e12]}
    (run,) = read_past([write_results(tmp_path, made) / "trial-000"])
    assert "gas_used" not in run.figures


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (None, "no-results"),
        (b"{", "results-not-readable"),
        (b"\xff\xfe", "results-not-readable"),
        (b"[]", "not-results"),
        (b'{"format": "other", "results": {}}', "not-results"),
        (b'{"format": "trial-results"}', "results-damaged"),
    ],
)
def test_what_is_no_results_file_is_refused(tmp_path: Path, data: bytes | None, code: str) -> None:
    path = tmp_path / "results.json"
    if data is not None:
        path.write_bytes(data)
    with pytest.raises(ReportgenError) as caught:
        read_past([path])
    assert caught.value.code == code
    assert str(caught.value).count("\n") <= 1


def test_a_plan_does_not_rest_on_a_file_with_a_figure_in_a_foreign_unit(tmp_path: Path) -> None:
    made = document(1)
    made["results"]["run_time"]["unit"] = "min"
    with pytest.raises(ReportgenError, match='run_time: "min", not "h"') as caught:
        read_past([write_results(tmp_path, made) / "trial-000"])
    assert caught.value.code == "results-damaged"


def test_a_file_of_an_earlier_program_lacks_figures_and_serves(tmp_path: Path) -> None:
    made = document(1)
    del made["results"]["run_time"]
    (run,) = read_past([write_results(tmp_path, made) / "trial-000"])
    assert "run_time" not in run.figures
    assert "gas_used" in run.figures
