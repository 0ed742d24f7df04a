"""A season on a real Dask cluster of this machine: the same bytes, and no trial lost with a worker."""

from __future__ import annotations

import importlib.util
import json
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from conftest import ROOT

from reportgen.batch.workers import work
from reportgen.cli import run
from reportgen.errors import OutputError

HAS_DASK = importlib.util.find_spec("distributed") is not None
TRIALS = 12


@pytest.fixture
def season(tmp_path: Path) -> Path:
    for n in range(TRIALS):
        folder = tmp_path / "season" / f"t{n:02}"
        folder.mkdir(parents=True)
        (folder / "trial.toml").write_text(f'title = "Harbour canteen, run {n}"\n', encoding="utf-8")
    return tmp_path / "season"


def start(*arguments: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-m", "dask", *arguments], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )


@pytest.fixture
def cluster(tmp_path: Path) -> Iterator[tuple[str, subprocess.Popen[bytes]]]:
    """Return the address of a scheduler and one of its two workers."""
    file = tmp_path / "scheduler.json"
    running = [
        start("scheduler", "--host", "127.0.0.1", "--port", "0", "--scheduler-file", str(file), "--no-dashboard")
    ]
    try:
        worker = ("worker", "--scheduler-file", str(file), "--no-nanny", "--nthreads", "1", "--no-dashboard")
        running += [start(*worker), start(*worker)]
        until = time.monotonic() + 60
        while not file.exists():
            assert time.monotonic() < until, "the scheduler did not start"
            time.sleep(0.1)
        yield json.loads(file.read_text(encoding="utf-8"))["address"], running[1]
    finally:
        for process in running:
            process.kill()
        for process in running:
            process.wait()


@pytest.mark.skipif(not HAS_DASK, reason="dask.distributed is not installed; it is the extra `cluster`")
def test_a_cluster_writes_the_same_though_a_worker_is_killed(
    season: Path, tmp_path: Path, cluster: tuple[str, subprocess.Popen[bytes]]
) -> None:
    address, worker = cluster
    command = [sys.executable, "-m", "reportgen", "batch", str(season), "--format", "md"]
    command += ["--out", str(tmp_path / "far"), "--scheduler", address]
    told = []
    with subprocess.Popen(command, cwd=ROOT, stderr=subprocess.PIPE, stdout=subprocess.DEVNULL, text=True) as process:
        assert process.stderr is not None
        for line in process.stderr:
            told.append(line)
            if len(told) == 2:
                worker.kill()
    assert process.returncode == 0, "".join(told)
    assert len(told) == TRIALS
    assert run(["batch", str(season), "--out", str(tmp_path / "near"), "--format", "md", "--jobs", "1"]) == 0
    near, far = (
        {
            path.relative_to(tmp_path / name): path.read_bytes()
            for path in (tmp_path / name).rglob("*")
            if path.is_file()
        }
        for name in ("near", "far")
    )
    assert near == far


@pytest.mark.skipif(not HAS_DASK, reason="dask.distributed is not installed; it is the extra `cluster`")
def test_a_scheduler_that_does_not_answer_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("reportgen.batch.workers.PATIENCE", 0.2)
    with pytest.raises(OutputError, match="no Dask scheduler answers") as caught:
        next(work(iter(()), 1, "tcp://127.0.0.1:9"))
    assert caught.value.code == "scheduler-not-reached"


def test_without_dask_it_is_said_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "distributed", None)
    with pytest.raises(OutputError, match=r"pip install 'trial-reportgen\[cluster\]'") as caught:
        next(work(iter(()), 1, "tcp://127.0.0.1:9"))
    assert caught.value.code == "cluster-missing"
