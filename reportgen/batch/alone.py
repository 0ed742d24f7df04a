"""A report on its own: one process reads and computes, another one draws.

To load the drawing library and draw takes about as long as all else that a report needs. This module loads quickly.
Nothing depends on the process beside: whatever keeps it from drawing, this one draws.
"""

from __future__ import annotations

import atexit
import contextlib
import gc
import importlib
import os
import pickle
import subprocess
import sys
from collections.abc import Iterator
from concurrent.futures import Executor, Future, ThreadPoolExecutor
from contextlib import contextmanager
from typing import TYPE_CHECKING, NamedTuple

from reportgen.speech import Manner, current, load, speaking

if TYPE_CHECKING:
    from reportgen.batch.order import Order, Outcome
    from reportgen.charts import Chart
    from reportgen.figures import Results
    from reportgen.trial import Trial

#: Modules that draw: they load the drawing library, and are loaded by themselves only where a chart is drawn.
DRAWING = ("reportgen.charts.cabinet", "reportgen.charts.gas_and_feed", "reportgen.charts.chain")
#: How long charts are waited for before they are drawn here [s] (ours); they take about one.
PATIENCE = 60.0
#: What the process beside runs. `multiprocessing` would have it run the script or notebook that called us once more.
START = "import sys; sys.path[:] = {path!a}; from reportgen.batch.alone import draw; draw({manner!a})"


def report_alone(order: Order) -> Outcome:
    """Write the report of one trial.

    Raises
    ------
    ReportgenError
        If the trial cannot be read or the report cannot be written.
    """
    with drawing_beside(order) as drawing, speaking(load(order.manner)):
        # Loaded when they are needed: first what reads and computes, and what lays out while the charts are drawn.
        from reportgen.batch.reckon import reckon

        reckoned = reckon(order, is_alone=True)
        drawing.begin(reckoned.trial, reckoned.results)
        from reportgen.batch.report import compose
        from reportgen.write import ABANDONED, clear_parts, write_files

        outcome, contents = compose(order, reckoned, drawing.charts)
        paths = write_files(reckoned.out, contents)
        for place in {path.parent for path in paths}:
            clear_parts(place, older_than=ABANDONED)
        return outcome


class Drawn(NamedTuple):
    """What the process beside answers: charts and the sentences that lacked a translation, or what went wrong."""

    charts: tuple[Chart, ...] = ()
    lacking: frozenset[str] = frozenset()
    error: Exception | None = None


class Drawing:
    """Charts that are asked for as soon as there is something to draw, and fetched when they are needed."""

    def __init__(self, process: subprocess.Popen[bytes] | None = None, thread: Executor | None = None) -> None:
        self._process = process
        self._thread = thread
        self._answer: Future[bytes] | None = None

    def begin(self, trial: Trial, results: Results) -> None:
        """Have the charts of a trial drawn, if there is a process beside this one that can."""
        if self._process is not None and self._thread is not None:
            with contextlib.suppress(RuntimeError):  # the system gives no thread
                self._answer = self._thread.submit(_exchange, self._process, pickle.dumps((trial, results)))

    def charts(self, trial: Trial, results: Results) -> tuple[Chart, ...]:
        """Return the charts of the trial that was begun; this process draws them where no other did.

        Raises
        ------
        Exception
            What went wrong while they were drawn.
        """
        drawn = self._drawn()
        if drawn is None:
            from reportgen.charts import build_charts

            return build_charts(trial, results)
        if drawn.error is not None:
            raise drawn.error
        current().lacking.update(drawn.lacking)
        return drawn.charts

    def _drawn(self) -> Drawn | None:
        """Return what the process beside answers; None where it was ended, lacks something, or is stuck."""
        if self._answer is None:
            return None
        try:
            drawn: Drawn = pickle.loads(self._answer.result(PATIENCE))
        except (EOFError, OSError, pickle.UnpicklingError):
            return None
        self._process = None  # it ends by itself, and clears up behind it
        return drawn

    def end(self) -> None:
        """End the process beside where it has not done what it is for."""
        if self._process is not None:
            self._process.kill()


@contextmanager
def drawing_beside(order: Order) -> Iterator[Drawing]:
    """Start a process that draws, and end it afterwards; there is none where it saves no time."""
    process = _started(order.manner) if _saves_time(order) else None
    if process is None:
        yield Drawing()
        return
    with process, ThreadPoolExecutor(1) as thread:
        drawing = Drawing(process, thread)
        try:
            yield drawing
        finally:
            drawing.end()


def _saves_time(order: Order) -> bool:
    """Return whether there is a chart to draw, a core to draw it on, and a library to load."""
    # macOS and Windows tell only how many cores there are.
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    return order.has_charts and cores > 1 and DRAWING[0] not in sys.modules


def _started(manner: Manner) -> subprocess.Popen[bytes] | None:
    if hasattr(sys, "frozen") or not sys.executable:  # what could be started is no Python
        return None
    start = START.format(path=sys.path, manner=pickle.dumps(manner))
    command = [sys.executable, "-P", "-c", start]
    try:
        # What it complains of when it is interrupted or lacks something is of no use to anybody.
        return subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    except OSError:
        return None


def _exchange(process: subprocess.Popen[bytes], asked: bytes) -> bytes:
    """Send what is asked to a process, and return its answer."""
    assert process.stdin is not None
    assert process.stdout is not None
    with process.stdin as pipe:
        pipe.write(asked)
    return process.stdout.read()


def draw(manner: bytes) -> None:
    """Be the process beside: load what it takes to draw, wait for a trial, and answer with its charts.

    What this process alone may lack (memory, file handles) ends it without an answer.
    """
    gc.disable()  # it draws once
    # The last thing to be done at its end, after what libraries clear up: to take all modules apart takes long.
    atexit.register(os._exit, 0)
    speech = load(pickle.loads(manner))
    for module in DRAWING:
        importlib.import_module(module)
    from reportgen.charts import build_charts

    trial, results = pickle.load(sys.stdin.buffer)
    with speaking(speech) as spoken:
        try:
            drawn = Drawn(build_charts(trial, results), frozenset(spoken.lacking))
        except (MemoryError, OSError):
            raise
        except Exception as error:
            drawn = Drawn(error=error)
    answer = pickle.dumps(drawn)
    pickle.loads(answer)  # not every error can be
    sys.stdout.buffer.write(answer)
    sys.stdout.buffer.flush()
    os.close(sys.stdout.fileno())  # to say that this is all, before it clears up
