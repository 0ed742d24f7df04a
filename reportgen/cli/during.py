"""The command for during a trial: where it stands, and how that changes."""

from __future__ import annotations

import shutil
import sys
import time
from pathlib import Path

import click

from reportgen.cli.manner import spoken
from reportgen.errors import ReportgenError
from reportgen.message import printable

#: How often the files are looked at [s].
EVERY = 1.0
INTERRUPTED = 130
#: Clears a terminal and goes to its top.
CLEAR = "\x1b[2J\x1b[H"


@click.command()
@click.argument("trial", type=click.Path(path_type=Path))
@click.option("--watch", is_flag=True, help="Follow the files, and say it anew when one changes; end with Ctrl-C.")
@click.option("--at", metavar="TIME", help='As of then: "2026-03-14 15:40", "15:40", or "2.5 h" after lighting.')
@click.option("--json", "as_json", is_flag=True, help="Print the status as JSON.")
@spoken
def status(trial: Path, watch: bool, at: str | None, as_json: bool) -> int:
    """Say where a running TRIAL stands: what happened, what is likely next, and what is wrong.

    It speaks as of the last reading in any log. Nothing is written.

    Example:  reportgen status sample_trials/canteen-hand-readings --at 14:00
    """
    folder = trial.parent if trial.name == "trial.toml" and trial.is_file() else trial
    if watch:
        try:
            _follow(folder, at, as_json)
        except KeyboardInterrupt:  # how a watch ends: nothing was interrupted that anybody waits for
            return INTERRUPTED
    click.echo(_said(folder, at, as_json, None), nl=False)
    return 0


def _said(folder: Path, at: str | None, as_json: bool, clock: float | None) -> str:
    from reportgen.read.folder import read_trial
    from reportgen.results_file import to_json
    from reportgen.status import MomentError, status_of
    from reportgen.status.words import status_document, status_text

    try:
        found = status_of(read_trial(folder), folder, at)
    except MomentError as error:
        raise click.ClickException(printable(f'--at: found "{at}"; {error}')) from error
    if as_json:
        return to_json(status_document(found))
    age = clock - found.at if clock is not None and found.at is not None and clock > found.at else None
    return printable(status_text(found, shutil.get_terminal_size((80, 24)).columns, age))


def _follow(folder: Path, at: str | None, as_json: bool) -> None:
    """Print the status each time a file changes, until interrupted.

    Raises
    ------
    KeyboardInterrupt
        When the user ends it: the only end there is.
    """
    from reportgen.status.follow import Marks, marks

    seen: Marks | None = None
    while True:
        now = marks(folder)
        if now != seen:
            seen = now
            try:
                text = _said(folder, at, as_json, time.time())
            except ReportgenError as error:
                # A file that is being written may be whole again a second later.
                text = printable(f"Error: {error}\nWaiting for the files to change.\n")
            click.echo((CLEAR if sys.stdout.isatty() and not as_json else "") + text, nl=False)
            sys.stdout.flush()
        time.sleep(EVERY)
