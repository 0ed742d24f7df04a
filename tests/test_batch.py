"""Many trials: every folder found, a broken one named, nothing held back, the same whatever the number of workers."""

from __future__ import annotations

import csv
import json
import re
import shutil
from pathlib import Path
from urllib.parse import unquote

import pytest
from conftest import SAMPLES

from reportgen.batch.find import find_trials, passed_over
from reportgen.catalogue import KINDS
from reportgen.cli import run
from reportgen.errors import ReportgenError
from reportgen.publication import CSV_COLUMNS, harmless

THREE = ("canteen-hand-readings", "canteen-aborted")


@pytest.fixture
def season(tmp_path: Path) -> Path:
    folder = tmp_path / "season"
    shutil.copytree(SAMPLES / THREE[0], folder / "spring" / "first")
    shutil.copytree(SAMPLES / THREE[1], folder / "second")
    (folder / "broken").mkdir()
    (folder / "broken" / "trial.toml").write_text('titel = "x"\n', encoding="utf-8")
    return folder


def test_a_broken_trial_holds_no_other_back(season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    assert run(["batch", str(season), "--out", str(out), "--json"]) == 1
    printed = json.loads(capsys.readouterr().out)
    assert [trial["status"] for trial in printed["trials"]] == ["failed", "written", "written"]
    assert 'nearest known key is "title"' in printed["trials"][0]["reason"]
    assert (out / "spring" / "first" / "report.html").is_file()
    assert (out / "second" / "results.json").is_file()
    index = (out / "index.html").read_text(encoding="utf-8")
    assert "nearest known key" in index
    assert 'href="spring/first/report.html"' in index
    assert "<title>Trials in season</title>" in index
    # One table with a head, and one row for each trial that was reported.
    assert index.count("<table") == 1
    assert len(re.findall(r'<tr><th scope="row">', index)) == 2
    assert index.index("nearest known key") < index.index("<table")
    with (out / "results.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert tuple(rows[0]) == CSV_COLUMNS
    assert len(rows) == 2 * len(KINDS)
    given = [row for row in rows if row["basis"] != "not given"]
    assert all(float(row["low_95"]) <= float(row["value"]) <= float(row["high_95"]) for row in given)


def test_the_number_of_workers_changes_nothing(season: Path, tmp_path: Path) -> None:
    shutil.copytree(SAMPLES / THREE[0], season / "third")
    for jobs in ("1", "2"):
        run(["batch", str(season), "--out", str(tmp_path / jobs), "--jobs", jobs])
    one, two = (
        {p.relative_to(tmp_path / j): p.read_bytes() for p in (tmp_path / j).rglob("*") if p.is_file()} for j in "12"
    )
    assert one == two


def test_an_earlier_output_inside_the_folder_is_left_out(season: Path) -> None:
    out = season / "reports"
    assert run(["batch", str(season), "--out", str(out)]) == 1
    shutil.copytree(SAMPLES / THREE[0], out / "looks-like-a-trial")
    assert all(out not in trial.parents for trial in find_trials(season, out))


def test_links_make_no_loop_and_lead_to_no_trial_elsewhere(season: Path, tmp_path: Path) -> None:
    found = find_trials(season, tmp_path / "out")
    shutil.copytree(SAMPLES / THREE[0], tmp_path / "elsewhere")
    try:
        (season / "spring" / "loop").symlink_to(season)
        (season / "away").symlink_to(tmp_path / "elsewhere")
    except OSError:
        pytest.skip("this machine makes no symbolic links")
    assert find_trials(season, tmp_path / "out") == found
    assert len(found) == 3


def test_links_of_the_index_lead_to_folders_of_any_name(tmp_path: Path) -> None:
    name = "run #3, 50% full?"
    shutil.copytree(SAMPLES / THREE[0], tmp_path / "season" / name)
    assert run(["batch", str(tmp_path / "season"), "--out", str(tmp_path / "out"), "--format", "html"]) == 0
    (link,) = re.findall(
        r'<th scope="row"><a href="([^"]*)"', (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    )
    assert link == "run%20%233%2C%2050%25%20full%3F/report.html"
    assert (tmp_path / "out" / unquote(link)).is_file()


def test_a_trial_folder_may_itself_be_the_batch(tmp_path: Path) -> None:
    assert run(["batch", str(SAMPLES / THREE[0]), "--out", str(tmp_path)]) == 0
    assert (tmp_path / THREE[0] / "report.html").is_file()


def test_a_folder_without_trials_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(ReportgenError, match="no trial folder") as caught:
        find_trials(tmp_path, tmp_path / "reports")
    assert caught.value.code == "no-trial"
    with pytest.raises(ReportgenError, match="no such folder"):
        find_trials(tmp_path / "nowhere", tmp_path / "reports")


def test_a_folder_that_looks_like_a_trial_and_is_none_is_named(
    season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for name, file, text in (
        ("logs", "log.csv", "time,gas_volume [L]\n09:00,240\n"),
        ("renamed", "trial.toml.txt", 'title = "t"\n'),
        ("accounts", "costs.csv", "item,price\njet,12\n"),
        ("binary", "log.dat", "\0\1"),
    ):
        (season / "odd" / name).mkdir(parents=True)
        (season / "odd" / name / file).write_text(text, encoding="utf-8")
    passed = [
        (
            season / "odd" / "logs",
            'it holds log.csv but no trial.toml; put one in it; one line is enough:  title = "…"',
        ),
        (
            season / "odd" / "renamed",
            'it holds no trial.toml, but a file named "trial.toml.txt"; rename that to trial.toml',
        ),
    ]
    out = season / "reports"
    assert passed_over(season, out) == passed
    assert run(["batch", str(season), "--out", str(out), "--format", "md"]) == 1
    printed = capsys.readouterr().err.splitlines()
    assert [line for line in printed if line.startswith("passed over")] == [
        f"passed over {folder}: {reason}" for folder, reason in passed
    ]
    index = (out / "index.html").read_text(encoding="utf-8")
    assert "<h2>Passed over</h2>" in index
    assert "<strong>odd/renamed</strong>: it holds no trial.toml" in index
    assert "accounts" not in index
    with pytest.raises(ReportgenError, match=r"no trial folder is in it.*\n.*logs: it holds log\.csv"):
        find_trials(season / "odd", out)
    with pytest.raises(ReportgenError) as caught:
        find_trials(tmp_path / "season" / "odd" / "accounts", out)
    assert "\n" not in str(caught.value)


def test_an_index_without_folders_passed_over_does_not_speak_of_them(season: Path, tmp_path: Path) -> None:
    run(["batch", str(season), "--out", str(tmp_path / "out"), "--format", "md"])
    assert "Passed over" not in (tmp_path / "out" / "index.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("cell", "written"),
    [
        ("=1+2", "'=1+2"),
        ("+49 170", "'+49 170"),
        ("-2+3", "'-2+3"),
        ("@x", "'@x"),
        ("a\r=1+2", "a =1+2"),
        ("-4.5", "-4.5"),
        ("-1e-5", "-1e-5"),
        ("plain", "plain"),
        ("", ""),
    ],
)
def test_cells_that_a_spreadsheet_would_run_are_made_harmless(cell: str, written: str) -> None:
    assert harmless(cell) == written


def test_a_warning_of_danger_stands_in_the_index_too(tmp_path: Path) -> None:
    folder = tmp_path / "season" / "smelly"
    folder.mkdir(parents=True)
    (folder / "trial.toml").write_text('title = "t"\ndate = 2026-03-14\n', encoding="utf-8")
    (folder / "log.csv").write_text(
        "time,event,note\n09:00,burner lit,\n10:00,,smell of ammonia\n11:00,burner out,\n", encoding="utf-8"
    )
    assert run(["batch", str(tmp_path / "season"), "--out", str(tmp_path / "out")]) == 0
    assert "Ammonia" in (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
