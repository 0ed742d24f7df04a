"""Who does the work: this process, worker processes of this machine, or a Dask cluster; one code path for all.

It loads quickly; what a report needs is loaded where one is made.
"""

from __future__ import annotations

import contextlib
import gc
import hashlib
import importlib
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import FIRST_COMPLETED, BrokenExecutor, Executor, Future, ProcessPoolExecutor, wait
from dataclasses import dataclass
from itertools import chain, islice
from multiprocessing import connection
from pathlib import Path

from reportgen.batch.alone import DRAWING
from reportgen.batch.memory import Memory, Record, program
from reportgen.batch.order import FAILED, Order, Outcome
from reportgen.errors import OutputError, ReportgenError

#: A pool of workers pays from this many trials on: each worker takes a second to start.
FEWEST_FOR_POOL = 4
#: So many tasks wait for each worker, so that none is ever idle, and no more, so that they need no memory.
WAITING = 3
#: Windows waits for no more processes than this (`concurrent.futures`, which refuses a larger pool there).
MOST_ON_WINDOWS = 61
#: How long a scheduler is waited for [s].
PATIENCE = 10
DIED = "the worker process died while reporting this trial; it may need more memory than there is"
NO_MEMORY = "there is not enough memory for this trial; end other programs, use fewer --jobs, or cut its logs down"
OTHER_PROGRAM = "the worker has another version of reportgen, or of its libraries, than the one that started the batch"


@dataclass(frozen=True, slots=True)
class Task:
    """An order of a batch: `root` is the output folder of it all, `key` the sum of what the report is made of.

    `program` is the sum of the program that a worker on another machine must have; "" asks for none.
    """

    number: int
    order: Order
    root: Path
    key: str
    program: str = ""


def attempt(task: Task) -> Outcome:
    """Report a trial and write down that it was; whatever goes wrong with it is its own outcome and nobody else's."""
    folder = task.order.folder
    try:
        if task.program and program() != task.program:
            return Outcome(folder, FAILED, OTHER_PROGRAM)
        return _report(task)
    except ReportgenError as error:
        return Outcome(folder, FAILED, str(error), error.code)
    except MemoryError:
        return Outcome(folder, FAILED, NO_MEMORY)
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        return Outcome(folder, FAILED, f"{place}the system refuses what is needed ({error.strerror or error})")
    except Exception as error:  # one broken trial must not stop a season; the reason names what broke
        return Outcome(folder, FAILED, f"unexpected {type(error).__name__}: {error}")


def _report(task: Task) -> Outcome:
    from reportgen.batch.report import make_report
    from reportgen.write import clear_parts, write_files

    outcome, contents = make_report(task.order, is_alone=False)
    out = outcome.out or task.order.out
    for place in {(out / name).parent for name in contents}:
        clear_parts(place)
    # Not durable: after a power cut the sums in the record tell which files are whole.
    write_files(out, contents, is_durable=False)
    sums = {name: hashlib.sha256(data).hexdigest() for name, data in contents.items()}
    record = Record(out.relative_to(task.root).as_posix(), task.order.wish.anonymous, sums, outcome.warnings)
    Memory(task.root).keep(task.key, record)
    return outcome


def work(tasks: Iterator[Task], jobs: int, scheduler: str | None) -> Iterator[tuple[Task, Outcome]]:
    """Return what became of each task, in the order in which they end; tasks are taken as they are needed.

    Raises
    ------
    OutputError
        If the scheduler cannot be reached.
    """
    if scheduler is not None:
        with _cluster(scheduler) as (executor, workers):
            yield from _spread(tasks, lambda: executor, workers, alone=None)
        return
    first = list(islice(tasks, FEWEST_FOR_POOL)) if jobs > 1 else []
    if len(first) < FEWEST_FOR_POOL:
        for task in chain(first, tasks):
            yield task, attempt(task)
        return
    yield from _spread(chain(first, tasks), lambda: _pool(jobs), jobs, alone=_alone)


def _spread(
    tasks: Iterator[Task],
    open_executor: Callable[[], Executor],
    workers: int,
    alone: Callable[[Task], Outcome] | None,
) -> Iterator[tuple[Task, Outcome]]:
    """Return what became of each task. When a process dies its whole pool is lost: `alone` tells whose fault it was.

    Where the system gives no further process, this one does what no other has begun.
    """
    executor: Executor | None = None
    pending: dict[Future[Outcome], Task] = {}
    lost: list[Task] = []
    left: Iterator[Task] = iter(())
    try:
        while True:
            try:
                executor = executor or open_executor()
                for task in islice(tasks, WAITING * workers - len(pending) if not lost else 0):
                    lost.append(task)  # until the executor has it
                    future = executor.submit(attempt, task)
                    pending[future] = lost.pop()
            except BrokenExecutor:
                pass  # the task stays among the lost
            except OSError:
                if alone is None:
                    raise
                if executor is not None:
                    executor.shutdown(cancel_futures=True)
                not_begun = [pending.pop(future) for future in list(pending) if future.cancelled()]
                left, tasks = chain(list(lost), not_begun, tasks), iter(())
                lost.clear()
            for future in wait(pending, return_when=FIRST_COMPLETED).done:
                task = pending.pop(future)
                error = future.exception()
                if error is None:
                    yield task, future.result()
                elif isinstance(error, BrokenExecutor) and alone is not None:
                    lost.append(task)
                else:
                    yield task, Outcome(task.order.folder, FAILED, _why(error))
            if pending:
                continue
            if not lost:
                break
            assert executor is not None
            assert alone is not None
            executor.shutdown(wait=False)
            for task in sorted(lost, key=lambda task: task.number):
                yield task, alone(task)
            lost.clear()
            executor = None
        for task in left:
            yield task, attempt(task)
    finally:
        # Who was interrupted waits for nothing that has not begun; what has begun is finished or dies with us.
        for future in pending:
            future.cancel()
        if executor is not None:
            executor.shutdown(wait=False)


def _why(error: BaseException) -> str:
    # Dask gives a task up when it has brought down several workers.
    return DIED if type(error).__name__ == "KilledWorker" else f"unexpected {type(error).__name__}: {error}"


def _alone(task: Task) -> Outcome:
    """Report a trial in a process of its own, which it may bring down."""
    try:
        with _pool(1) as pool:
            return pool.submit(attempt, task).result()
    except BrokenExecutor:
        return Outcome(task.order.folder, FAILED, DIED)
    except OSError as error:
        return Outcome(task.order.folder, FAILED, f"no process can be started for it ({error.strerror or error})")


def _pool(jobs: int) -> ProcessPoolExecutor:
    # Workers start afresh rather than by fork, which is unsafe beside the threads of numerical libraries.
    jobs = min(jobs, MOST_ON_WINDOWS) if sys.platform == "win32" else jobs
    context = multiprocessing.get_context("spawn")
    return ProcessPoolExecutor(
        jobs, mp_context=context, initializer=begin, initargs=("reportgen.batch.report", *DRAWING)
    )


def begin(*modules: str) -> None:
    """Make a worker ready, and load these modules: it leaves Ctrl-C to the parent, and ends when the parent is gone."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    threading.Thread(target=_end_with_parent, daemon=True).start()
    gc.disable()  # what is loaded stays, and need not be looked through for rubbish, neither now nor later
    for module in modules:
        importlib.import_module(module)
    gc.freeze()
    gc.enable()


def _end_with_parent() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        connection.wait([parent.sentinel])
        os._exit(1)


@contextlib.contextmanager
def _cluster(address: str) -> Iterator[tuple[Executor, int]]:
    """Return an executor of a Dask cluster and how many tasks it does at a time."""
    try:
        distributed = importlib.import_module("distributed")
    except ImportError as error:
        raise OutputError(
            "cluster-missing", "--scheduler needs Dask, which is not installed:  pip install 'trial-reportgen[cluster]'"
        ) from error
    try:
        client = distributed.Client(address, timeout=PATIENCE, set_as_default=False)
    except (OSError, ValueError) as error:
        raise OutputError(
            "scheduler-not-reached",
            f"{address}: no Dask scheduler answers there ({error}).\n"
            "Start one with `dask scheduler`, and workers with `dask worker ADDRESS`.",
        ) from error
    with client:
        threads = sum(client.nthreads().values())
        # Each report is its own task, also where two have the same inputs.
        yield client.get_executor(pure=False), max(threads, 1)
