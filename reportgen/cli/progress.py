"""How far a batch is: one line that is written over on a terminal, plain lines in a log."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING

import click

from reportgen.message import printable

if TYPE_CHECKING:
    from reportgen.batch.order import Outcome

#: The line is written over at most so often [s].
PAUSE = 0.1
#: A rate is shown from so many trials and seconds on; before, it says little.
FEWEST, SHORTEST = 3, 2.0
_CLEAR = "\r\x1b[K"


class Progress:
    """Shows each outcome as it comes, on standard error."""

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._begun = self._shown = clock()
        self._count = self._made = self._failed = 0
        self._on_terminal = sys.stderr.isatty()

    def told(self, outcome: Outcome, total: int) -> None:
        """Show one more outcome of `total`."""
        self._count += 1
        self._made += outcome.status != "unchanged"
        self._failed += outcome.status == "failed"
        line = f"{self._count} {outcome.status} {outcome.folder}{_note(outcome)}"
        if not self._on_terminal:
            click.echo(printable(line), err=True)
            return
        if outcome.status == "failed":
            click.echo(_CLEAR + printable(line), err=True)
        if self._count == total:
            click.echo(_CLEAR, nl=False, err=True)
        elif self._clock() - self._shown >= PAUSE or outcome.status == "failed":
            self._shown = self._clock()
            width = shutil.get_terminal_size((80, 24)).columns
            click.echo(_CLEAR + self.line(total)[: width - 1], nl=False, err=True)

    def line(self, total: int) -> str:
        """Return how far it is: trials, rate, time left."""
        parts = [f"{self._count} of {total} trials"]
        if self._failed:
            parts.append(f"{self._failed} failed")
        passed = self._clock() - self._begun
        if self._made >= FEWEST and passed >= SHORTEST:
            # Unchanged trials take no time and say nothing of the others.
            rate = self._made / passed
            shown = f"{rate:.1f} a second" if rate >= 1 else f"{60 * rate:.1f} a minute"
            parts += [shown, f"{_time(round((total - self._count) / rate))} left"]
        return ", ".join(parts)


def _time(seconds: int) -> str:
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02} min" if hours else f"{minutes} min {seconds:02} s" if minutes else f"{seconds} s"


def _note(outcome: Outcome) -> str:
    """Return why it failed, or how many errors and cautions were found, in brackets; "" where none were."""
    if outcome.status == "failed":
        reason = outcome.reason.replace("\n", "\n    ")
        return f": {reason}"
    counted = ((len(outcome.errors), "error"), (len(outcome.cautions), "caution"))
    parts = [f"{n} {word}" if n == 1 else f"{n} {word}s" for n, word in counted if n]
    return f" ({', '.join(parts)})" if parts else ""
