"""What a test hands to other processes; it loads quickly, since each of them loads it."""

from __future__ import annotations

import multiprocessing
import os
import sys
from multiprocessing.process import BaseProcess
from pathlib import Path

from reportgen.batch.order import Outcome
from reportgen.batch.workers import Task


def dies_at_three(task: Task) -> Outcome:
    """Bring the process down at the task of that number, as a lack of memory does."""
    if task.number == 3:
        os._exit(9)
    return Outcome(task.order.folder, "written")


def nothing(*_modules: str) -> None:
    """Make no worker ready for anything."""


def batch_apart(arguments: list[str], told: Path, largest: int = 0) -> BaseProcess:
    """Start a batch in a process of its own, which tells its progress to a file; no file may become larger.

    All of them come from one process that has loaded what a report needs.
    """
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload(["reportgen.batch.report", "reportgen.publication", "reportgen.cli.main"])
    process = context.Process(target=_batch, args=(arguments, str(told), largest))
    process.start()
    return process


def _batch(arguments: list[str], told: str, largest: int) -> None:
    import resource
    import signal

    from reportgen.cli import run

    with Path(told).open("w", encoding="utf-8", buffering=1) as file:
        sys.stderr = sys.stdout = file
        if largest:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (largest, largest))
        sys.exit(run(arguments))
