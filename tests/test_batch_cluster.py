"""A season on a real Dask cluster of this machine: the same bytes, and no trial lost with a worker."""

from __future__ import annotations

import importlib.util
import multiprocessing
import sys
from collections.abc import Iterator
from multiprocessing.process import BaseProcess
from pathlib import Path

import dask_cluster
import pytest

from reportgen.batch.order import WRITTEN, Outcome
from reportgen.batch.season import report_batch
from reportgen.batch.workers import work
from reportgen.errors import OutputError

HAS_DASK = importlib.util.find_spec("distributed") is not None
#: Where two workers share them, one of them still has some when the other is killed.
TRIALS = 6


@pytest.fixture
def season(tmp_path: Path) -> Path:
    for n in range(TRIALS):
        folder = tmp_path / "season" / f"t{n}"
        folder.mkdir(parents=True)
        (folder / "trial.toml").write_text(f'title = "Harbour canteen, run {n}"\n', encoding="utf-8")
    return tmp_path / "season"


@pytest.fixture
def cluster() -> Iterator[tuple[str, BaseProcess]]:
    """Return the address of a scheduler and one of its two workers, each a process of its own."""
    context = multiprocessing.get_context("forkserver")
    # All three come from one process that has loaded what they need.
    context.set_forkserver_preload(["distributed", "reportgen.batch.report"])
    ours, theirs = context.Pipe()
    scheduler = context.Process(target=dask_cluster.scheduler, args=(theirs,))
    running: list[BaseProcess] = [scheduler]
    scheduler.start()
    try:
        assert ours.poll(60), "the scheduler did not start"
        address = ours.recv()
        for _ in range(2):
            worker = context.Process(target=dask_cluster.worker, args=(address, theirs))
            running.append(worker)
            worker.start()
            assert ours.poll(60), "a worker did not start"
            ours.recv()
        yield address, running[1]
    finally:
        for process in running:
            process.kill()
            process.join()


@pytest.mark.skipif(not HAS_DASK, reason="dask.distributed is not installed; it is one of the extra `test`")
def test_a_cluster_writes_the_same_though_a_worker_is_killed(
    season: Path, tmp_path: Path, cluster: tuple[str, BaseProcess]
) -> None:
    address, worker = cluster
    told: list[Outcome] = []

    def progress(outcome: Outcome, _: int) -> None:
        told.append(outcome)
        if len(told) == 2:
            worker.kill()
            worker.join()

    far = report_batch(season, tmp_path / "far", formats=("md",), scheduler=address, progress=progress)
    assert worker.exitcode is not None
    assert [outcome.status for outcome in far.outcomes] == [WRITTEN] * TRIALS
    report_batch(season, tmp_path / "near", formats=("md",), jobs=1)
    near, far_files = (
        {
            path.relative_to(tmp_path / name): path.read_bytes()
            for path in (tmp_path / name).rglob("*")
            if path.is_file()
        }
        for name in ("near", "far")
    )
    assert near == far_files


@pytest.mark.skipif(not HAS_DASK, reason="dask.distributed is not installed; it is one of the extra `test`")
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
