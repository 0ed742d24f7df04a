"""Many trials: every folder found, a broken one named, nothing held back, the same whatever the number of workers."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import os
import re
import shutil
import signal
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import deadly
import pytest
from conftest import SAMPLES
from PIL import Image

from reportgen.batch.find import find_trials, passed_over
from reportgen.batch.memory import one_at_a_time
from reportgen.batch.order import Outcome
from reportgen.catalogue import KINDS
from reportgen.cli import run
from reportgen.cli.progress import Progress
from reportgen.data_package import CSV_COLUMNS
from reportgen.errors import ReportgenError
from reportgen.publication import harmless

SAMPLE = "canteen-hand-readings"
#: A name that an address has to spell otherwise.
ODD_NAME = "run #3, 50% full?"


def make_plain(folder: Path, title: str = "t") -> Path:
    """Write a trial that takes little work: it is all but empty."""
    folder.mkdir(parents=True)
    (folder / "trial.toml").write_text(f'title = "{title}"\n', encoding="utf-8")
    (folder / "log.csv").write_text(f"time;note\n2026-03-14T09:00;this is {folder.name}\n", encoding="utf-8")
    return folder


def make_broken(folder: Path) -> None:
    make_plain(folder)
    (folder / "trial.toml").write_text('titel = "x"\n', encoding="utf-8")


def files_of(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def reports_of(folder: Path) -> dict[str, bytes]:
    """Return all files but the records of a batch, which tell one state of the program from another."""
    return {name: data for name, data in files_of(folder).items() if not name.startswith(".done/")}


@pytest.fixture(scope="module")
def season(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return trials at several depths, one of them broken; they are read and not changed."""
    folder = tmp_path_factory.mktemp("read") / "season"
    shutil.copytree(SAMPLES / SAMPLE, folder / "spring" / "first")
    for name in ("second", "third"):
        make_plain(folder / name)
    make_plain(folder / ODD_NAME)
    make_broken(folder / "broken")
    return folder


@pytest.fixture(scope="module")
def reported(season: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, int, dict[str, Any]]:
    """Return where that season was reported, the exit status, and what was printed."""
    out, printed = tmp_path_factory.mktemp("written") / "out", io.StringIO()
    with contextlib.redirect_stdout(printed):
        status = run(["batch", str(season), "--out", str(out), "--jobs", "1", "--json"])
    return out, status, json.loads(printed.getvalue())


def test_a_broken_trial_holds_no_other_back(reported: tuple[Path, int, dict[str, Any]]) -> None:
    out, status, printed = reported
    assert status == 1
    assert [trial["status"] for trial in printed["trials"]] == ["failed", *["written"] * 4]
    assert 'nearest known key is "title"' in printed["trials"][0]["reason"]
    assert (out / "spring" / "first" / "report.html").is_file()
    assert (out / "second" / "results.json").is_file()
    index = (out / "index.html").read_text(encoding="utf-8")
    assert "nearest known key" in index
    assert 'href="spring/first/report.html"' in index
    assert "<title>Trials in season</title>" in index
    assert "Passed over" not in index
    # One table with a head, and one row for each trial that was reported.
    assert index.count("<table") == 1
    assert len(re.findall(r'<tr><th scope="row">', index)) == 4
    assert index.index("nearest known key") < index.index("<table")
    with (out / "results.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert tuple(rows[0]) == CSV_COLUMNS
    assert len(rows) == 4 * len(KINDS)
    given = [row for row in rows if row["basis"] != "not given"]
    assert len(given) > 30
    assert all(float(row["low_95"]) <= float(row["value"]) <= float(row["high_95"]) for row in given)


def test_links_of_the_index_lead_to_folders_of_any_name(reported: tuple[Path, int, dict[str, Any]]) -> None:
    out, _, _ = reported
    links = re.findall(r'<th scope="row"><a href="([^"]*)"', (out / "index.html").read_text(encoding="utf-8"))
    assert "run%20%233%2C%2050%25%20full%3F/report.html" in links
    assert all((out / unquote(link)).is_file() for link in links)


def test_the_number_of_workers_changes_nothing(
    season: Path, reported: tuple[Path, int, dict[str, Any]], tmp_path: Path
) -> None:
    run(["batch", str(season), "--out", str(tmp_path / "out"), "--jobs", "2"])
    assert files_of(tmp_path / "out") == files_of(reported[0])


def test_an_earlier_output_inside_the_folder_is_left_out(plain_season: Path) -> None:
    out = plain_season / "reports"
    assert run(["batch", str(plain_season), "--out", str(out), "--format", "md"]) == 1
    make_plain(out / "looks-like-a-trial")
    assert all(out not in trial.parents for trial in find_trials(plain_season, out))


def test_links_make_no_loop_and_lead_to_no_trial_elsewhere(plain_season: Path, tmp_path: Path) -> None:
    found = find_trials(plain_season, tmp_path / "out")
    make_plain(tmp_path / "elsewhere")
    try:
        (plain_season / "first" / "loop").symlink_to(plain_season)
        (plain_season / "away").symlink_to(tmp_path / "elsewhere")
    except OSError:
        pytest.skip("this machine makes no symbolic links")
    assert find_trials(plain_season, tmp_path / "out") == found
    assert len(found) == 3


def test_a_trial_folder_may_itself_be_the_batch(plain_season: Path, tmp_path: Path) -> None:
    assert run(["batch", str(plain_season / "first"), "--out", str(tmp_path / "out"), "--format", "md"]) == 0
    assert (tmp_path / "out" / "first" / "report.md").is_file()


def test_a_folder_without_trials_is_an_error(tmp_path: Path) -> None:
    with pytest.raises(ReportgenError, match="no trial folder") as caught:
        find_trials(tmp_path, tmp_path / "reports")
    assert caught.value.code == "no-trial"
    with pytest.raises(ReportgenError, match="no such folder"):
        find_trials(tmp_path / "nowhere", tmp_path / "reports")


def test_a_folder_that_looks_like_a_trial_and_is_none_is_named(
    plain_season: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    season = plain_season
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
        find_trials(season / "odd" / "accounts", out)
    assert "\n" not in str(caught.value)


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


@pytest.fixture
def plain_season(tmp_path: Path) -> Path:
    """Return a broken trial and two that take little work."""
    make_broken(tmp_path / "plain" / "broken")
    for name in ("first", "second"):
        make_plain(tmp_path / "plain" / name, name)
    return tmp_path / "plain"


def statuses(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> dict[str, str]:
    """Return what a batch says of each trial, by the name of its folder."""
    capsys.readouterr()
    run(["batch", *arguments, "--format", "md", "--json"])
    printed = json.loads(capsys.readouterr().out)
    return {Path(trial["folder"]).name: trial["status"] for trial in printed["trials"]}


@pytest.fixture(scope="module")
def done_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder of a broken trial and two plain ones, one with a photo, and their reports; not to be changed."""
    folder = tmp_path_factory.mktemp("once")
    make_broken(folder / "plain" / "broken")
    for name in ("first", "second"):
        make_plain(folder / "plain" / name, name)
    sheet = folder / "plain" / "first" / "trial.toml"
    sheet.write_text('photos = ["photos/ice.jpg"]\n' + sheet.read_text(encoding="utf-8"), encoding="utf-8")
    (sheet.parent / "photos").mkdir()
    (sheet.parent / "photos" / "ice.jpg").write_bytes(b"no picture")
    assert run(["batch", str(folder / "plain"), "--out", str(folder / "out"), "--format", "md"]) == 1
    return folder


@pytest.fixture
def done_season(done_once: Path, tmp_path: Path) -> tuple[Path, Path]:
    """Return that season and its reports, to be changed."""
    shutil.copytree(done_once, tmp_path / "once")
    return tmp_path / "once" / "plain", tmp_path / "once" / "out"


def test_what_has_not_changed_is_not_made_again(
    done_season: tuple[Path, Path], capsys: pytest.CaptureFixture[str]
) -> None:
    season, out = done_season
    arguments = [str(season), "--out", str(out)]
    before = files_of(out)
    made = {path: path.stat().st_mtime_ns for path in out.rglob("*")}
    assert statuses(arguments, capsys) == {"broken": "failed", "first": "unchanged", "second": "unchanged"}
    assert {path: path.stat().st_mtime_ns for path in out.rglob("*")} == made
    assert statuses([*arguments, "--again"], capsys)["first"] == "written"
    assert files_of(out) == before


@pytest.mark.parametrize("what", ["log", "sheet", "new log", "photo", "report", "settings", "program"])
def test_what_has_changed_is_made_again(
    what: str,
    done_season: tuple[Path, Path],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    season, out = done_season
    trial = season / "first"
    sheet = trial / "trial.toml"
    arguments = [str(season), "--out", str(out)]
    if what == "log":
        log = next(trial.glob("*.csv"))
        log.write_text(log.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    elif what == "sheet":
        sheet.write_text(sheet.read_text(encoding="utf-8") + "\n# read once more\n", encoding="utf-8")
    elif what == "new log":
        (trial / "more.csv").write_text("time,note\n2026-03-14T09:00,hello\n", encoding="utf-8")
    elif what == "photo":
        (trial / "photos" / "ice.jpg").write_bytes(b"another")
    elif what == "report":
        report = out / "first" / "report.md"
        report.write_bytes(report.read_bytes()[:100])
    elif what == "settings":
        arguments += ["--issued", "2026-03-20"]
    else:
        monkeypatch.setattr("reportgen.batch.season.program", lambda: "another")
    done = statuses(arguments, capsys)
    assert done["first"] == "written"
    assert done["second"] == ("written" if what in ("settings", "program") else "unchanged")
    assert len(list((out / ".done").iterdir())) == 3  # of two reports and of what stands over them


def test_a_trial_in_a_trial_of_its_name_has_a_report_of_its_own(tmp_path: Path) -> None:
    folder = tmp_path / "canteen"
    make_plain(folder, "outside")
    make_plain(folder / "canteen", "inside")
    make_plain(folder / "canteen-2", "beside")
    out = tmp_path / "out"
    run(["batch", str(folder), "--out", str(out), "--format", "md"])
    titles = {
        report.parent.name: report.read_text(encoding="utf-8").splitlines()[0] for report in out.glob("*/report.md")
    }
    assert titles == {"canteen": "# inside", "canteen-2": "# beside", "canteen-3": "# outside"}


def test_what_is_no_longer_written_is_taken_away_and_nothing_else(tmp_path: Path) -> None:
    trial, out = make_plain(tmp_path / "season" / "run"), tmp_path / "out"
    readings = "".join(f"2026-03-14T{9 + n // 4:02}:{n % 4 * 15:02},{24 - n}\n" for n in range(12))
    command = ["batch", str(tmp_path / "season"), "--out", str(out), "--format", "md"]
    sheet = 'title = "t"\nphoto_consent = true\nphotos = ["ice.jpg", "tray.jpg"]\n'
    (trial / "trial.toml").write_text(sheet, encoding="utf-8")
    (trial / "log.csv").write_text("time,cabinet_temperature [degC]\n" + readings, encoding="utf-8")
    for n, name in enumerate(("ice.jpg", "tray.jpg")):
        Image.new("RGB", (8, 8), (n, 90, 90)).save(trial / name)
    assert run(command) == 0
    first = set(files_of(out / "run"))
    charts, photos = ({name for name in first if name.startswith(place)} for place in ("charts/", "photos/"))
    assert charts
    assert len(photos) == 2
    (out / "run" / "charts" / "mine.svg").write_text("of the user's own", encoding="utf-8")
    altered = sorted(photos)[0]
    (out / "run" / altered).write_bytes(b"retouched")
    make_plain(tmp_path / "bare")
    for name in ("trial.toml", "log.csv"):
        shutil.copy(tmp_path / "bare" / name, trial / name)
    assert run(command) == 0
    assert set(files_of(out / "run")) == {"report.md", "results.json", "charts/mine.svg", altered}
    (out / "run" / "charts" / "mine.svg").unlink()
    (trial / "trial.toml").write_text('titel = "x"\n', encoding="utf-8")
    assert run(command) == 1
    assert {"report.md", "results.json"} < set(files_of(out / "run")), "the last good report stands"


def test_trials_published_under_one_name_do_not_overwrite_each_other(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for place in ("spring", "summer"):
        folder = tmp_path / "season" / place / "run"
        folder.mkdir(parents=True)
        (folder / "trial.toml").write_text(f'title = "t"\nnotes = "{place}"\n', encoding="utf-8")
    arguments = ["batch", str(tmp_path / "season"), "--anonymous", "--format", "md", "--json"]
    assert run([*arguments, "--out", str(tmp_path / "out")]) == 1
    one, two = json.loads(capsys.readouterr().out)["trials"]
    assert (one["status"], two["status"]) == ("written", "failed")
    assert "give each an id" in two["reason"]
    assert "spring" not in (tmp_path / "out" / "index.html").read_text(encoding="utf-8")


def lines_of(told: Path) -> list[str]:
    return told.read_text(encoding="utf-8").splitlines(keepends=True) if told.exists() else []


def wait_for(is_so: Callable[[], bool]) -> None:
    until = time.monotonic() + 60
    while not is_so():
        assert time.monotonic() < until, "it did not come"
        time.sleep(0.001)


@pytest.fixture(scope="module")
def many(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, dict[str, bytes]]:
    """Return a season that takes a moment, and the files that come of it; not to be changed."""
    folder = tmp_path_factory.mktemp("many")
    make_broken(folder / "plain" / "broken")
    for n in range(7):
        make_plain(folder / "plain" / f"run-{n}", f"run {n}")
    run(["batch", str(folder / "plain"), "--out", str(folder / "whole"), "--format", "md", "--jobs", "1"])
    return folder / "plain", reports_of(folder / "whole")


@pytest.mark.skipif(sys.platform == "win32", reason="ends a process by POSIX signals")
def test_a_batch_that_was_ended_leaves_whole_files_and_continues(
    many: tuple[Path, dict[str, bytes]], tmp_path: Path
) -> None:
    (season, expected), out = many, tmp_path / "out"
    arguments = ["batch", str(season), "--out", str(out), "--format", "md", "--jobs", "1"]
    for sent, after, status in ((signal.SIGINT, 3, 130), (signal.SIGKILL, 6, -signal.SIGKILL)):
        process = deadly.batch_apart(arguments, tmp_path / "told")
        assert process.pid is not None
        wait_for(lambda after=after: len(lines_of(tmp_path / "told")) >= after)
        os.kill(process.pid, sent)
        process.join()
        assert process.exitcode == status
        assert "Traceback" not in "".join(lines_of(tmp_path / "told"))
        (tmp_path / "told").unlink()
        found = reports_of(out)
        assert 0 < len(found) < len(expected)
        assert {name for name in found if not name.endswith(".part")} <= set(expected)
        assert all(data == expected[name] for name, data in found.items() if name in expected)
    (out / "run-5").mkdir(exist_ok=True)
    (out / "run-5" / ".report.md.abc.part").write_bytes(b"half a rep")
    assert run(arguments) == 1
    assert reports_of(out) == expected


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a process are POSIX")
def test_a_full_disk_leaves_whole_files_and_the_next_run_finishes(
    many: tuple[Path, dict[str, bytes]], tmp_path: Path
) -> None:
    (season, expected), out = many, tmp_path / "out"
    arguments = ["batch", str(season), "--out", str(out), "--format", "md", "--jobs", "1"]
    largest = len(expected["run-0/results.json"]) - 1
    process = deadly.batch_apart(arguments, tmp_path / "told", largest)
    process.join()
    told = "".join(lines_of(tmp_path / "told"))
    assert process.exitcode == 1
    assert "results.json: cannot be written (File too large)" in told
    assert "comparison.html: cannot be written" in told
    assert "Traceback" not in told
    assert reports_of(out) == {}, "of a set of files of which one has no room, none takes its place"
    assert run(arguments) == 1
    assert reports_of(out) == expected


@pytest.mark.skipif(sys.platform == "win32", reason="the lock is tried as POSIX has it")
def test_two_batches_take_turns(plain_season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "out"
    told: list[str] = []

    def waits() -> bool:
        told.append(capsys.readouterr().err)
        return "Another batch is writing to" in "".join(told)

    with ThreadPoolExecutor(1) as other:
        with one_at_a_time(out, pytest.fail):
            done = other.submit(run, ["batch", str(plain_season), "--out", str(out), "--format", "md"])
            wait_for(waits)
            assert not (out / "second").exists()
        assert done.result() == 1
    assert (out / "second" / "report.md").is_file()
    assert (out / "index.html").is_file()


def test_progress_is_plain_lines_in_a_log_and_one_line_on_a_terminal(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    now = [0.0]
    outcomes = [Outcome(tmp_path / f"t{n}", "failed" if n == 4 else "written", "no\nlog") for n in range(10)]
    plain = Progress(lambda: now[0])
    for outcome in outcomes:
        plain.told(outcome, 10)
    lines = capsys.readouterr().err.splitlines()
    assert lines[0] == f"1 written {tmp_path / 't0'}"
    assert lines[4:6] == [f"5 failed {tmp_path / 't4'}: no", "    log"]
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True, raising=False)
    shown = Progress(lambda: now[0])
    for outcome in outcomes[:9]:
        now[0] += 0.5
        shown.told(outcome, 20)
    assert shown.line(20) == "9 of 20 trials, 1 failed, 2.0 a second, 6 s left"
    printed = capsys.readouterr().err
    assert printed.count("\n") == 2  # the trial that failed stays to be read
    assert "\r" in printed
    slow = Progress(lambda: now[0])
    for outcome in outcomes[:4]:
        now[0] += 90
        slow.told(outcome, 200)
    assert slow.line(200).endswith("0.7 a minute, 4 h 54 min left")
    for _ in range(100):
        slow.told(Outcome(tmp_path, "unchanged"), 200)
    assert "2 h 24 min left" in slow.line(200)
