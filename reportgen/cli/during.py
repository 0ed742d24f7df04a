"""The command for during a trial: where it stands, and how that changes."""

from __future__ import annotations

import shutil
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import click

from reportgen.cli.console import json_text
from reportgen.cli.manner import spoken
from reportgen.errors import ReportgenError
from reportgen.message import printable

if TYPE_CHECKING:
    from reportgen.plan.past import PastRun

#: How often the files are looked at [s].
EVERY = 1.0
INTERRUPTED = 130
#: Clears a terminal and goes to its top.
CLEAR = "\x1b[2J\x1b[H"


@click.command()
@click.argument("trial", type=click.Path(path_type=Path))
@click.argument("more", nargs=-1, type=click.Path(path_type=Path), metavar="")
@click.option(
    "--from",
    "results",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="RESULTS…",
    help="Results files of your own runs, or the folders they stand in: how this cabinet and its ice went before.",
)
@click.option("--watch", is_flag=True, help="Follow the files, and say it anew when one changes; end with Ctrl-C.")
@click.option("--at", metavar="TIME", help='As of then: "2026-03-14 15:40", "15:40", or "2.5 h" after lighting.')
@click.option("--json", "as_json", is_flag=True, help="Print the status as JSON.")
@spoken
def status(
    trial: Path, more: tuple[Path, ...], results: tuple[Path, ...], watch: bool, at: str | None, as_json: bool
) -> int:
    """Say where a running TRIAL stands: what happened, what is likely next, and what is wrong.

    It speaks as of the last reading in any log. Nothing is written. Results of your own past runs (--from) tell it how
    this cabinet cools and how long its ice takes.

    Example:  reportgen status sample_trials/canteen-hand-readings --at 14:00
    """
    from reportgen.plan.past import read_past

    folder = trial.parent if trial.name == "trial.toml" and trial.is_file() else trial
    if more and not results:
        raise click.ClickException(printable(f'found "{more[0]}", expected an option; results files follow --from'))
    past = read_past([*results, *more])
    if watch:
        try:
            _follow(folder, at, as_json, past)
        except KeyboardInterrupt:  # how a watch ends: nothing was interrupted that anybody waits for
            return INTERRUPTED
    click.echo(_said(folder, at, as_json, past, None), nl=False)
    return 0


def _said(folder: Path, at: str | None, as_json: bool, past: Sequence[PastRun], clock: float | None) -> str:
    from reportgen.read.folder import read_trial
    from reportgen.status import MomentError, status_of
    from reportgen.status.words import status_document, status_text

    try:
        found = status_of(read_trial(folder), folder, at, past)
    except MomentError as error:
        raise click.ClickException(printable(f'--at: found "{at}"; {error}')) from error
    if as_json:
        return json_text(status_document(found)) + "\n"
    age = clock - found.at if clock is not None and found.at is not None and clock > found.at else None
    return printable(status_text(found, shutil.get_terminal_size((80, 24)).columns, age))


def _follow(folder: Path, at: str | None, as_json: bool, past: Sequence[PastRun]) -> None:
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
                text = _said(folder, at, as_json, past, time.time())
            except ReportgenError as error:
                # A file that is being written may be whole again a second later.
                text = printable(f"Error: {error}\nWaiting for the files to change.\n")
            click.echo((CLEAR if sys.stdout.isatty() and not as_json else "") + text, nl=False)
            sys.stdout.flush()
        time.sleep(EVERY)
