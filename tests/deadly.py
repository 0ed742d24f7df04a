"""What a test hands to worker processes; it loads quickly, since each of them loads it."""

from __future__ import annotations

import os

from reportgen.batch.order import Outcome
from reportgen.batch.workers import Task


def dies_at_three(task: Task) -> Outcome:
    """Bring the process down at the task of that number, as a lack of memory does."""
    if task.number == 3:
        os._exit(9)
    return Outcome(task.order.folder, "written")


def nothing() -> None:
    """Make no worker ready for anything."""
