"""What a machine can do to us: no room, no rights, no handles, no memory, files that change while they are read.

Nothing half written stands under a final name, no trial is lost without its reason, there is one clear message and no
traceback, and the next run completes. What takes longer is in `tests/faults/`.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import BrokenExecutor, Executor, Future
from pathlib import Path
from typing import Any

import pytest
from conftest import ROOT, SAMPLES

from reportgen import pdf
from reportgen.batch import reckon, workers
from reportgen.batch.order import Order, Outcome
from reportgen.batch.workers import Task, work
from reportgen.cli import run
from reportgen.errors import LogFileError, OutputError, ReportgenError
from reportgen.read.folder import read_trial
from reportgen.trial import Trial

LOG = "time,cabinet_temperature [degC]\n" + "".join(f"{9 + n // 4:02}:{n % 4 * 15:02},{24 - n}\n" for n in range(12))


def plain(folder: Path, log: str = "time;note\n2026-03-14T09:00;all is well\n") -> Path:
    """Write a trial that takes little work."""
    folder.mkdir(parents=True)
    (folder / "trial.toml").write_text('title = "t"\ndate = 2026-03-14\ntime_zone = "UTC"\n', encoding="utf-8")
    (folder / "log.csv").write_text(log, encoding="utf-8")
    return folder


def files_of(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and ".done" not in path.parts
    }


def said_plainly(text: str) -> str:
    """Return what was said, which is a few lines and speaks of no fault of ours."""
    assert 1 <= len(text.strip().splitlines()) <= 4, text
    assert "Traceback" not in text
    assert "fault of reportgen" not in text
    return text


def statuses(season: Path, out: Path, capsys: pytest.CaptureFixture[str], *more: str) -> dict[str, tuple[str, str]]:
    capsys.readouterr()
    run(["batch", str(season), "--out", str(out), "--format", "md", "--json", *more])
    printed = json.loads(capsys.readouterr().out)
    return {Path(trial["folder"]).name: (trial["status"], trial["reason"] or "") for trial in printed["trials"]}


# Where it is written


@pytest.mark.parametrize("number", [errno.ENOSPC, errno.EROFS, errno.EACCES, errno.EDQUOT, errno.EIO])
def test_a_report_that_finds_no_room_leaves_the_one_before(
    number: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    trial, out = plain(tmp_path / "trial"), tmp_path / "out"
    command = ["report", str(trial), "--out", str(out)]
    assert run([*command, "--issued", "2026-01-01"]) == 0
    before, made = files_of(out), tempfile.mkstemp
    calls = 0

    def refused(*arguments: Any, **named: Any) -> Any:
        nonlocal calls
        calls += 1
        if calls == 3:  # with two files of the report already written
            raise OSError(number, os.strerror(number))
        return made(*arguments, **named)

    capsys.readouterr()
    with monkeypatch.context() as patched:
        patched.setattr(tempfile, "mkstemp", refused)
        assert run([*command, "--issued", "2026-02-02"]) == 1
    assert os.strerror(number) in said_plainly(capsys.readouterr().err)
    assert files_of(out) == before
    assert run([*command, "--issued", "2026-02-02"]) == 0
    assert all(files_of(out)[name] != data for name, data in before.items() if name.startswith("report."))


@pytest.mark.parametrize("command", ["report", "batch"])
def test_a_folder_that_cannot_be_made_is_said(command: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    trial = plain(tmp_path / "season" / "trial")
    (tmp_path / "file").touch()
    folder = trial if command == "report" else trial.parent
    assert run([command, str(folder), "--out", str(tmp_path / "file" / "out")]) == 1
    assert "file" in said_plainly(capsys.readouterr().err)


def test_what_a_killed_report_left_is_cleared_away_once_it_is_old(tmp_path: Path) -> None:
    trial, out = plain(tmp_path / "trial"), tmp_path / "out"
    out.mkdir()
    old, young = out / ".report.md.a.part", out / ".report.md.b.part"
    for part in (old, young):
        part.write_bytes(b"half a rep")
    os.utime(old, (time.time() - 7200, time.time() - 7200))
    assert run(["report", str(trial), "--out", str(out), "--format", "md"]) == 0
    assert not old.exists()
    assert young.exists(), "another process may be writing it"


def test_a_full_folder_for_temporary_files_fails_the_print_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(**_: object) -> object:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(pdf, "find_browser", lambda: "browser")
    monkeypatch.setattr(tempfile, "TemporaryDirectory", full)
    with pytest.raises(OutputError, match="temporary files cannot be used") as caught:
        pdf.print_pdf("<p>")
    assert caught.value.code == "pdf-not-printed"
    trial = plain(tmp_path / "trial")
    assert run(["report", str(trial), "--out", str(tmp_path / "out"), "--format", "pdf"]) == 1
    assert "TMPDIR" in said_plainly(capsys.readouterr().err)
    assert not (tmp_path / "out").exists()
    assert run(["report", str(trial), "--out", str(tmp_path / "out")]) == 0


def test_a_report_needs_no_home(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    kept = {name: value for name, value in os.environ.items() if name in ("PATH", "SYSTEMROOT", "TEMP", "TMP")}
    nowhere = str(tmp_path / "file" / "nowhere")
    done = subprocess.run(
        [sys.executable, "-m", "reportgen", "report", str(SAMPLES / "canteen-aborted"), "--out", str(tmp_path / "out")],
        cwd=ROOT,
        env={**kept, "HOME": nowhere, "XDG_CACHE_HOME": nowhere, "XDG_CONFIG_HOME": nowhere, "MPLCONFIGDIR": nowhere},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0
    assert "Traceback" not in done.stderr
    assert (tmp_path / "out" / "report.html").is_file()


# What is read


def changing(change: Callable[[int], None], folder: Path, times: int = 25) -> Iterator[Trial | ReportgenError]:
    """Yield what is read, again and again, while something else changes the files."""
    stop = threading.Event()

    def go_on() -> None:
        n = 0
        while not stop.is_set():
            change(n)
            n += 1

    other = threading.Thread(target=go_on)
    other.start()
    try:
        for _ in range(times):
            try:
                yield read_trial(folder)
            except ReportgenError as error:
                yield error
    finally:
        stop.set()
        other.join()


def test_a_log_that_is_written_to_meanwhile_is_read_as_it_stood(tmp_path: Path) -> None:
    folder = plain(tmp_path / "trial", LOG)
    log, whole = folder / "log.csv", (LOG + "12:00,11.") * 3

    def append(n: int) -> None:
        with log.open("ab" if n % 40 else "wb") as file:
            file.write(whole.encode()[n % 40 * 5 : n % 40 * 5 + 5] if n % 40 else LOG.encode())

    sums = {hashlib.sha256(LOG.encode() + whole.encode()[5 : 5 * n]).hexdigest() for n in range(1, 41)}
    sums.add(hashlib.sha256(b"").hexdigest())
    for read in changing(append, folder):
        if isinstance(read, Trial):
            assert {part.sha256 for part in read.inputs if part.file == "log.csv"} <= sums
        else:
            said_plainly(str(read))


def test_a_log_that_is_replaced_or_taken_away_meanwhile_is_one_or_the_other(tmp_path: Path) -> None:
    folder = plain(tmp_path / "trial", LOG)
    log, other = folder / "log.csv", LOG.replace("24", "23")

    def replace(n: int) -> None:
        if n % 3 == 2:
            log.unlink(missing_ok=True)
            return
        (tmp_path / "new").write_text(LOG if n % 3 else other, encoding="utf-8")
        (tmp_path / "new").replace(log)

    sums = {hashlib.sha256(text.encode()).hexdigest() for text in (LOG, other)}
    for read in changing(replace, folder):
        if isinstance(read, Trial):
            assert {part.sha256 for part in read.inputs if part.file == "log.csv"} <= sums
        else:
            assert isinstance(read, LogFileError)
            assert "No such file" in said_plainly(str(read))


def test_a_folder_that_cannot_be_looked_into_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = plain(tmp_path / "season" / "gone")
    plain(tmp_path / "season" / "here")
    looked = Path.iterdir

    def gone(path: Path) -> Iterator[Path]:
        if path.name == "gone":
            raise PermissionError(errno.EACCES, "Permission denied", str(path))
        return looked(path)

    with monkeypatch.context() as patched:
        patched.setattr(Path, "iterdir", gone)
        assert run(["report", str(folder), "--out", str(tmp_path / "one")]) == 1
        assert "cannot be looked into (Permission denied)" in said_plainly(capsys.readouterr().err)
        found = statuses(folder.parent, tmp_path / "out", capsys, "--jobs", "1")
    assert (found["gone"][0], found["here"][0]) == ("failed", "written")
    assert "Permission denied" in found["gone"][1]
    assert statuses(folder.parent, tmp_path / "out", capsys)["gone"][0] == "written"


def test_clocks_that_are_set_back_change_nothing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    trial, out = plain(tmp_path / "season" / "trial", LOG), tmp_path / "out"
    assert statuses(trial.parent, out, capsys) == {"trial": ("written", "")}
    before = files_of(out)
    for stamp in (0, 4_000_000_000):
        monkeypatch.setattr(time, "time", lambda stamp=stamp: float(stamp))
        for path in (trial / "log.csv", trial / "trial.toml", out / "trial" / "report.md"):
            os.utime(path, (stamp, stamp))
        assert statuses(trial.parent, out, capsys) == {"trial": ("unchanged", "")}
        assert statuses(trial.parent, out, capsys, "--again") == {"trial": ("written", "")}
        assert files_of(out) == before


# What the system gives


class Short(Executor):
    """Takes so many tasks, and then there is no process to be had."""

    is_cut = True

    def __init__(self, takes: int) -> None:
        self.takes = takes

    def submit(self, function: Callable[..., Any], /, *arguments: Any, **named: Any) -> Future[Any]:
        self.takes -= 1
        future: Future[Any] = Future()
        if self.takes < 0:
            raise BlockingIOError(errno.EAGAIN, "Resource temporarily unavailable")
        if self.takes or not self.is_cut:
            future.set_result(function(*arguments, **named))
        else:
            future.cancel()  # what had not begun when no more was to be had
            future.set_running_or_notify_cancel()
        return future


@pytest.mark.parametrize("takes", [-1, 0, 1, 3])
def test_without_further_processes_this_one_does_the_rest(
    takes: int, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def pool(_: int) -> Executor:
        if takes < 0:
            raise OSError(errno.EMFILE, "Too many open files")
        return Short(takes)

    monkeypatch.setattr(workers, "_pool", pool)
    monkeypatch.setattr(workers, "attempt", lambda task: Outcome(task.order.folder, "written"))
    tasks = [Task(n, Order(tmp_path / f"t{n}", tmp_path), tmp_path, "") for n in range(9)]
    done = [task.number for task, outcome in work(iter(tasks), 2, None) if outcome.status == "written"]
    assert sorted(done) == list(range(9))


def test_a_task_that_a_broken_pool_refuses_is_not_lost(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    class Broken(Short):
        def submit(self, function: Callable[..., Any], /, *arguments: Any, **named: Any) -> Future[Any]:
            try:
                return super().submit(function, *arguments, **named)
            except OSError as error:
                raise BrokenExecutor from error

    monkeypatch.setattr(workers, "_pool", lambda _: Broken(3))
    monkeypatch.setattr(workers, "_alone", lambda task: Outcome(task.order.folder, "failed", workers.DIED))
    monkeypatch.setattr(workers, "attempt", lambda task: Outcome(task.order.folder, "written"))
    monkeypatch.setattr(Short, "is_cut", False)
    tasks = [Task(n, Order(tmp_path / f"t{n}", tmp_path), tmp_path, "") for n in range(9)]
    done = {task.number: outcome.status for task, outcome in work(iter(tasks), 2, None)}
    assert sorted(done) == list(range(9))
    assert [number for number, status in done.items() if status == "failed"] == [3, 7]


@pytest.mark.parametrize(
    ("fault", "said"),
    [
        (MemoryError(), "not enough memory"),
        (OSError(errno.EMFILE, "Too many open files", "font"), "font: the system refuses what is needed"),
    ],
)
def test_a_trial_for_which_something_runs_out_is_listed_with_its_reason(
    fault: Exception, said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for name in ("large", "small"):
        plain(tmp_path / "season" / name)
    computed = reckon.compute

    def out_of(trial: Trial) -> Any:
        if trial.folder == "large":
            raise fault
        return computed(trial)

    with monkeypatch.context() as patched:
        patched.setattr(reckon, "compute", out_of)
        found = statuses(tmp_path / "season", tmp_path / "out", capsys, "--jobs", "1")
        assert run(["report", str(tmp_path / "season" / "large"), "--out", str(tmp_path / "one")]) == 1
        assert said.rpartition(": ")[2] in said_plainly(capsys.readouterr().err)
    assert found["small"] == ("written", "")
    assert found["large"][0] == "failed"
    assert said in found["large"][1]
    assert said in (tmp_path / "out" / "index.html").read_text(encoding="utf-8")
    assert not (tmp_path / "one").exists()
    assert {status for status, _ in statuses(tmp_path / "season", tmp_path / "out", capsys).values()} == {
        "written",
        "unchanged",
    }
    shutil.rmtree(tmp_path / "out")
