"""Many trials: every folder found, a broken one named, nothing held back, the same whatever the number of workers."""

from __future__ import annotations

import csv
import json
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import unquote

import deadly
import pytest
from conftest import ROOT, SAMPLES

from reportgen.batch.find import find_trials, passed_over
from reportgen.batch.memory import one_at_a_time
from reportgen.batch.order import Order, Outcome
from reportgen.batch.workers import Task, work
from reportgen.catalogue import KINDS
from reportgen.cli import run
from reportgen.cli.progress import Progress
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


def files_of(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def reports_of(folder: Path) -> dict[str, bytes]:
    """Return all files but the records of a batch, which tell one state of the program from another."""
    return {name: data for name, data in files_of(folder).items() if not name.startswith(".done/")}


@pytest.fixture
def plain_season(tmp_path: Path) -> Path:
    """Return trials that take little work: a broken one and two that are all but empty."""
    for name in ("broken", "first", "second"):
        folder = tmp_path / "plain" / name
        folder.mkdir(parents=True)
        (folder / "trial.toml").write_text(f'title = "{name}"\n', encoding="utf-8")
        (folder / "log.csv").write_text("time,note\n2026-03-14T09:00,hello\n", encoding="utf-8")
    (tmp_path / "plain" / "broken" / "trial.toml").write_text('titel = "x"\n', encoding="utf-8")
    return tmp_path / "plain"


def statuses(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> dict[str, str]:
    """Return what a batch says of each trial, by the name of its folder."""
    capsys.readouterr()
    run(["batch", *arguments, "--format", "md", "--json"])
    printed = json.loads(capsys.readouterr().out)
    return {Path(trial["folder"]).name: trial["status"] for trial in printed["trials"]}


def test_what_has_not_changed_is_not_made_again(
    plain_season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = [str(plain_season), "--out", str(tmp_path / "out")]
    assert statuses(arguments, capsys) == {"broken": "failed", "first": "written", "second": "written"}
    before = files_of(tmp_path / "out")
    made = {path: path.stat().st_mtime_ns for path in (tmp_path / "out").rglob("*")}
    assert statuses(arguments, capsys) == {"broken": "failed", "first": "unchanged", "second": "unchanged"}
    assert {path: path.stat().st_mtime_ns for path in (tmp_path / "out").rglob("*") if path.is_file()}.items() <= (
        made.items()
    )
    assert statuses([*arguments, "--again"], capsys)["first"] == "written"
    assert files_of(tmp_path / "out") == before


@pytest.mark.parametrize("what", ["log", "sheet", "new log", "photo", "report", "settings", "program"])
def test_what_has_changed_is_made_again(
    what: str, plain_season: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    trial, out = plain_season / "first", tmp_path / "out"
    sheet = trial / "trial.toml"
    (trial / "photos").mkdir()
    (trial / "photos" / "ice.jpg").write_bytes(b"no picture")
    sheet.write_text('photos = ["photos/ice.jpg"]\n' + sheet.read_text(encoding="utf-8"), encoding="utf-8")
    arguments = [str(plain_season), "--out", str(out)]
    statuses(arguments, capsys)
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
    shutil.copytree(SAMPLES / THREE[0], folder)
    shutil.copytree(SAMPLES / THREE[1], folder / "canteen")
    (folder / "canteen-2").mkdir()
    shutil.copy(SAMPLES / THREE[1] / "trial.toml", folder / "canteen-2" / "trial.toml")
    out = tmp_path / "out"
    run(["batch", str(folder), "--out", str(out), "--format", "md"])
    titles = {
        report.parent.name: report.read_text(encoding="utf-8").splitlines()[0] for report in out.glob("*/report.md")
    }
    assert sorted(titles) == ["canteen", "canteen-2", "canteen-3"]
    assert titles["canteen-3"] != titles["canteen"]


def test_a_trial_that_brings_its_worker_down_holds_no_other_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tasks = [Task(n, Order(tmp_path / f"t{n}", tmp_path), tmp_path, "") for n in range(8)]
    monkeypatch.setattr("reportgen.batch.workers.attempt", deadly.dies_at_three)
    monkeypatch.setattr("reportgen.batch.workers._begin", deadly.nothing)
    outcomes = {task.number: outcome for task, outcome in work(iter(tasks), 2, None)}
    assert sorted(outcomes) == list(range(8))
    assert {number for number, outcome in outcomes.items() if outcome.status == "failed"} == {3}
    assert "the worker process died" in outcomes[3].reason


def test_tasks_are_taken_as_they_are_needed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    taken = 0

    def tasks() -> Iterator[Task]:
        nonlocal taken
        for n in range(4, 44):
            taken += 1
            yield Task(n, Order(tmp_path, tmp_path), tmp_path, "")

    monkeypatch.setattr("reportgen.batch.workers.attempt", deadly.dies_at_three)
    monkeypatch.setattr("reportgen.batch.workers._begin", deadly.nothing)
    for done, _ in enumerate(work(tasks(), 2, None), start=1):
        assert taken <= done + 8


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


@pytest.mark.skipif(sys.platform == "win32", reason="kills by POSIX signal")
def test_a_batch_that_was_killed_leaves_whole_files_and_continues(plain_season: Path, tmp_path: Path) -> None:
    for n in range(6):
        shutil.copytree(plain_season / "first", plain_season / f"more-{n}")
    whole, out = tmp_path / "whole", tmp_path / "out"
    run(["batch", str(plain_season), "--out", str(whole), "--format", "md", "--jobs", "1"])
    command = [sys.executable, "-m", "reportgen", "batch", str(plain_season), "--format", "md", "--jobs", "1"]
    process = subprocess.Popen(
        [*command, "--out", str(out)], cwd=ROOT, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True
    )
    assert process.stderr is not None
    for line in process.stderr:
        if line.startswith("3 "):
            process.kill()
            break
    process.communicate()
    expected, found = reports_of(whole), reports_of(out)
    assert 0 < len(found) < len(expected)
    assert {name for name in found if not name.endswith(".part")} <= set(expected)
    assert all(data == expected[name] for name, data in found.items() if name in expected)
    (out / "more-5").mkdir(exist_ok=True)
    (out / "more-5" / ".report.md.abc.part").write_bytes(b"half a rep")
    assert run(["batch", str(plain_season), "--out", str(out), "--format", "md", "--jobs", "1"]) == 1
    assert reports_of(out) == expected


@pytest.mark.skipif(sys.platform == "win32", reason="limits of a process are POSIX")
def test_a_full_disk_leaves_what_was_there(plain_season: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    run(["batch", str(plain_season), "--out", str(out), "--format", "md"])
    before = reports_of(out)
    program = (
        "import resource, signal, sys; signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (9000, 9000))\n"
        "from reportgen.cli import run; sys.exit(run(sys.argv[1:]))"
    )
    arguments = ["batch", str(plain_season), "--out", str(out), "--format", "md", "--again", "--jobs", "1"]
    done = subprocess.run(
        [sys.executable, "-c", program, *arguments], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "cannot be written (File too large)" in done.stderr
    assert "Traceback" not in done.stderr
    assert reports_of(out) == before


@pytest.mark.skipif(sys.platform == "win32", reason="the lock is tried as POSIX has it")
def test_two_batches_take_turns(plain_season: Path, tmp_path: Path) -> None:
    out = tmp_path / "out"
    command = [sys.executable, "-m", "reportgen", "batch", str(plain_season), "--out", str(out), "--format", "md"]
    with one_at_a_time(out, pytest.fail):
        other = subprocess.Popen(command, cwd=ROOT, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True)
        assert other.stderr is not None
        assert "Another batch is writing to" in other.stderr.readline()
        assert not (out / "second").exists()
    told = other.communicate()[1]
    assert other.returncode == 1
    assert "written" in told
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
