"""A report on its own: one process reads and computes, another one draws.

To load the drawing library and draw takes about as long as all else that a report needs. This module loads quickly.
"""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Iterator
from contextlib import contextmanager
from multiprocessing.connection import Connection
from typing import TYPE_CHECKING

from reportgen.batch.order import Order, Outcome
from reportgen.batch.workers import begin
from reportgen.speech import Manner, load, speaking

if TYPE_CHECKING:
    from reportgen.charts import Chart
    from reportgen.figures import Results
    from reportgen.trial import Trial


def report_alone(order: Order) -> Outcome:
    """Write the report of one trial.

    Raises
    ------
    ReportgenError
        If the trial cannot be read or the report cannot be written.
    """
    with drawing_beside(order.manner) as drawing:
        from reportgen.batch.report import report_trial

        return report_trial(order, drawing)


class Drawing:
    """Charts that are asked for as soon as there is something to draw, and fetched when they are needed."""

    def __init__(self, pipe: Connection | None = None) -> None:
        self._pipe = pipe

    def begin(self, trial: Trial, results: Results) -> None:
        """Have the charts of a trial drawn, if there is a process beside this one that can."""
        if self._pipe is not None:
            try:
                self._pipe.send((trial, results))
            except OSError:  # it was ended, or could not start
                self._pipe = None

    def charts(self, trial: Trial, results: Results) -> tuple[Chart, ...]:
        """Return the charts of the trial that was begun; this process draws them where no other did."""
        from reportgen.charts import build_charts

        if self._pipe is not None:
            try:
                drawn: tuple[Chart, ...] = self._pipe.recv()
                return drawn
            except (EOFError, OSError):
                self._pipe = None
        return build_charts(trial, results)


@contextmanager
def drawing_beside(manner: Manner) -> Iterator[Drawing]:
    """Start a process that draws, and end it afterwards; without a second core for it there is none."""
    if (os.cpu_count() or 1) < 2:
        yield Drawing()
        return
    context = multiprocessing.get_context("spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_draw, args=(theirs, manner), daemon=True)
    with ours:
        try:
            process.start()
        except OSError:
            theirs.close()
            yield Drawing()
            return
        theirs.close()
        try:
            yield Drawing(ours)
        finally:
            process.kill()


def _draw(pipe: Connection, manner: Manner) -> None:
    """Load what it takes to draw, wait for a trial, and send its charts."""
    begin("reportgen.charts.cabinet", "reportgen.charts.gas_and_feed", "reportgen.charts.chain")
    from reportgen.charts import build_charts

    with speaking(load(manner)):
        pipe.send(build_charts(*pipe.recv()))
