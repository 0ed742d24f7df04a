"""The command line: flags in, one call, outcome out. The one place that prints and that knows exit statuses."""

from __future__ import annotations

import datetime as dt
import json
import os
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from reportgen import __version__
from reportgen.errors import ReportgenError

if TYPE_CHECKING:
    from reportgen.batch import Outcome

#: At most so many findings of a trial are printed; the report holds all.
MOST_PRINTED = 10
DONE, FAILED, WRONG_USAGE, INTERRUPTED = 0, 1, 2, 130


def run(arguments: Sequence[str]) -> int:
    """Run the command line and return its exit status: one of `DONE`, `FAILED`, `WRONG_USAGE`, `INTERRUPTED`."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="replace")  # a console that lacks a character must not stop a report
    try:
        status = commands.main(list(arguments), prog_name="reportgen", standalone_mode=False)
        return status if isinstance(status, int) else DONE
    except click.ClickException as error:
        error.show()
        return WRONG_USAGE
    except (click.Abort, KeyboardInterrupt):
        click.echo("Interrupted.", err=True)
        return INTERRUPTED
    except ReportgenError as error:
        click.echo(f"Error: {error}", err=True)
        return FAILED
    except BrokenPipeError:
        # Whoever read our output has gone; Python would complain once more when it closes the stream.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except Exception as error:
        click.echo(f"Error: unexpected {type(error).__name__}: {error}\nThis is a fault of reportgen.", err=True)
        return FAILED


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="reportgen")
def commands() -> None:
    """Turn the logs of a biogas-to-ice trial into a demonstration write-up."""


class _Date(click.ParamType[dt.date]):
    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> dt.date:
        if isinstance(value, dt.date):
            return value
        try:
            return dt.date.fromisoformat(value)
        except ValueError:
            self.fail(f"{value!r} is no date; write it as 2026-03-14", param, ctx)


def _report_options(command: Any) -> Any:
    for option in (
        click.option("--json", "as_json", is_flag=True, help="Print what was done as JSON on standard output."),
        click.option("--issued", type=_Date(), metavar="DATE", help="Print an issue date, such as 2026-03-20."),
        click.option(
            "--format",
            "formats",
            multiple=True,
            type=click.Choice(["html", "md"]),
            help="Write only this format; may be repeated.  [default: html and md]",
        ),
    ):
        command = option(command)
    return command


@commands.command()
@click.argument("trial", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Where to write.  [default: ./reports/<folder name>]",
)
@_report_options
def report(trial: Path, out: Path | None, formats: tuple[str, ...], issued: dt.date | None, as_json: bool) -> int:
    """Write the report of one TRIAL folder.

    Example:  reportgen report sample_trials/canteen-hand-readings
    """
    from reportgen.batch import FORMATS, Order, report_trial

    trial = _folder_of(trial)
    out = out or Path("reports") / trial.resolve().name
    try:
        outcome = report_trial(Order(trial, out, formats or FORMATS, issued or _epoch_date()))
    except ReportgenError as error:
        if not as_json:
            raise
        click.echo(json.dumps({"trials": [_failed(trial, str(error))]}, ensure_ascii=False, indent=1))
        click.echo(f"Error: {error}", err=True)
        return FAILED
    if as_json:
        click.echo(json.dumps({"trials": [_described(outcome)]}, ensure_ascii=False, indent=1))
    else:
        _print_paths(outcome.paths)
    lines = (*outcome.errors, *outcome.cautions)
    for line in lines[:MOST_PRINTED]:
        click.echo(line, err=True)
    if len(lines) > MOST_PRINTED:
        click.echo(f"and {len(lines) - MOST_PRINTED} more; see the report", err=True)
    return DONE


@commands.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    default=Path("reports"),
    metavar="DIR",
    show_default="./reports",
    help="Where to write.",
)
@click.option(
    "--jobs", type=click.IntRange(min=1), metavar="N", help="Worker processes.  [default: the machine's cores]"
)
@_report_options
def batch(
    folder: Path, out: Path, jobs: int | None, formats: tuple[str, ...], issued: dt.date | None, as_json: bool
) -> int:
    """Write the report of every trial folder below FOLDER, and an index over them.

    Example:  reportgen batch sample_trials
    """
    from reportgen.batch import FORMATS, passed_over, report_batch

    folder = _folder_of(folder)
    count = 0

    def progress(outcome: Outcome) -> None:
        nonlocal count
        count += 1
        reason = outcome.reason.replace("\n", "\n    ")
        note = _counts(outcome) if outcome.status == "written" else f": {reason}"
        click.echo(f"{count} {outcome.status} {outcome.folder}{note}", err=True)

    outcomes = report_batch(
        folder, out, formats=formats or FORMATS, issued=issued or _epoch_date(), jobs=jobs, progress=progress
    )
    for here, lack in passed_over(folder, out):
        click.echo(f"passed over {here}: {lack}", err=True)
    failed = [outcome for outcome in outcomes if outcome.status == "failed"]
    index = (out / "index.html", out / "results.csv")
    if as_json:
        document = {"paths": [str(path) for path in index], "trials": [_described(outcome) for outcome in outcomes]}
        click.echo(json.dumps(document, ensure_ascii=False, indent=1))
    else:
        _print_paths(index)
    if failed:
        click.echo(f"{len(failed)} of {len(outcomes)} trials could not be reported; the index says why.", err=True)
    return FAILED if failed else DONE


def _folder_of(path: Path) -> Path:
    """Return the trial folder that a path means: itself, or that of the trial sheet it names."""
    return path.parent if path.name == "trial.toml" and path.is_file() else path


def _counts(outcome: Outcome) -> str:
    """Return how many errors and cautions were found, in brackets; "" where none were."""
    counted = ((len(outcome.errors), "error"), (len(outcome.cautions), "caution"))
    parts = [f"{n} {word}" if n == 1 else f"{n} {word}s" for n, word in counted if n]
    return f" ({', '.join(parts)})" if parts else ""


def _described(outcome: Outcome) -> dict[str, Any]:
    if outcome.status == "failed":
        return _failed(outcome.folder, outcome.reason)
    return {
        "folder": str(outcome.folder),
        "status": outcome.status,
        "reason": None,
        "paths": [str(path) for path in outcome.paths],
    }


def _failed(folder: Path, reason: str) -> dict[str, Any]:
    return {"folder": str(folder), "status": "failed", "reason": reason, "paths": []}


def _print_paths(paths: Sequence[Path]) -> None:
    for path in paths:
        click.echo(str(path))


def _epoch_date() -> dt.date | None:
    """Return the issue date that the environment fixes for repeatable builds, if it does."""
    seconds = os.environ.get("SOURCE_DATE_EPOCH", "")
    return dt.datetime.fromtimestamp(int(seconds), dt.UTC).date() if seconds.isdigit() else None
