"""Worker processes: one that dies takes no trial with it but its own, and tasks wait until they are needed."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import deadly
import pytest

from reportgen.batch.order import Order
from reportgen.batch.workers import Task, work


def test_a_trial_that_brings_its_worker_down_holds_no_other_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    tasks = [Task(n, Order(tmp_path / f"t{n}", tmp_path), tmp_path, "") for n in range(5)]
    monkeypatch.setattr("reportgen.batch.workers.attempt", deadly.dies_at_three)
    monkeypatch.setattr("reportgen.batch.workers.begin", deadly.nothing)
    outcomes = {task.number: outcome for task, outcome in work(iter(tasks), 2, None)}
    assert sorted(outcomes) == list(range(5))
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
    monkeypatch.setattr("reportgen.batch.workers.begin", deadly.nothing)
    for done, _ in enumerate(work(tasks(), 2, None), start=1):
        assert taken <= done + 8
