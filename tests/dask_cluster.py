"""A Dask scheduler and its workers as a test starts them: bare, on this machine alone."""

from __future__ import annotations

import asyncio
from multiprocessing.connection import Connection


def scheduler(started: Connection) -> None:
    """Run a scheduler until this process is killed; tell its address."""
    asyncio.run(_scheduler(started))


def worker(address: str, started: Connection) -> None:
    """Run a worker of a scheduler, a task at a time and without a nanny, until this process is killed."""
    asyncio.run(_worker(address, started))


async def _scheduler(started: Connection) -> None:
    from distributed import Scheduler

    async with Scheduler(host="127.0.0.1", port=0, dashboard=False) as running:
        started.send(running.address)
        await running.finished()


async def _worker(address: str, started: Connection) -> None:
    from distributed import Worker

    async with Worker(address, nthreads=1, dashboard=False) as running:
        started.send(running.address)
        await running.finished()
