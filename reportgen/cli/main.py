"""The command line: flags in, one call, outcome out. The one place that prints and that knows exit statuses."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from reportgen import __version__
from reportgen.cli import before, during
from reportgen.cli.console import json_text, spell_what_is_lacking
from reportgen.cli.manner import manner_options, spoken
from reportgen.errors import ReportgenError
from reportgen.message import printable

if TYPE_CHECKING:
    from reportgen.batch.order import Outcome
    from reportgen.compare_files import ReadFile
    from reportgen.speech import Manner

#: At most so many findings of a trial are printed; the report holds all.
MOST_PRINTED = 10
#: Where reports go; what is published stands apart from what holds names.
OUT, ANONYMOUS_OUT, COMPARISON_OUT = "reports", "reports-anonymous", "comparison"
DONE, FAILED, WRONG_USAGE, INTERRUPTED = 0, 1, 2, 130


def run(arguments: Sequence[str]) -> int:
    """Run the command line and return its exit status: one of `DONE`, `FAILED`, `WRONG_USAGE`, `INTERRUPTED`."""
    spell_what_is_lacking()
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
        _echo(f"Error: {error}", err=True)
        return FAILED
    except BrokenPipeError:
        # Whoever read our output has gone; Python would complain once more when it closes the stream.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return FAILED
    except MemoryError:
        _echo("Error: there is not enough memory for this.\nEnd other programs, or cut the logs down.", err=True)
        return FAILED
    except OSError as error:
        place = f"{error.filename}: " if error.filename else ""
        _echo(f"Error: {place}the system refuses what is needed ({error.strerror or error}).", err=True)
        return FAILED
    except Exception as error:
        _echo(f"Error: unexpected {type(error).__name__}: {error}\nThis is a fault of reportgen.", err=True)
        return FAILED


@click.group(context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="reportgen")
def commands() -> None:
    """Turn the logs of a biogas-to-ice trial into a demonstration write-up."""


for _command in (before.plan, before.advise, before.new, during.status):
    commands.add_command(_command)


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
            type=click.Choice(["html", "md", "pdf", "text"]),
            help="Write only this format; may be repeated. pdf needs Chromium, Chrome or Edge; text fits a message.  "
            "[default: html and md]",
        ),
        click.option(
            "--edition",
            type=click.Choice(["funder", "class", "full"]),
            default="full",
            show_default=True,
            help="For those who fund it (two pages), for a class, or for a peer.",
        ),
        click.option(
            "--anonymous",
            is_flag=True,
            help="Write the edition that can be published: the region in place of names, no free texts.",
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
    help="Where to write.  [default: ./reports/<folder name>; anonymous: ./reports-anonymous/<published name>]",
)
@click.option(
    "--amends",
    type=(str, str),
    metavar="ID REASON",
    help="Say that this report replaces report ID, why, and which figures moved since.",
)
@click.option(
    "--amends-from",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="The results file of the report to be replaced.  [default: the one where this report is written]",
)
@_report_options
@manner_options
def report(
    trial: Path,
    out: Path | None,
    amends: tuple[str, str] | None,
    amends_from: Path | None,
    formats: tuple[str, ...],
    issued: dt.date | None,
    anonymous: bool,
    edition: str,
    as_json: bool,
    manner: Manner,
) -> int:
    """Write the report of one TRIAL folder.

    Example:  reportgen report sample_trials/canteen-hand-readings
    """
    from reportgen.batch.alone import report_alone
    from reportgen.batch.order import FORMATS, Order
    from reportgen.wish import Wish

    if amends is not None and not all(text.strip() for text in amends):
        raise click.UsageError('--amends takes the id of the report to be replaced and why:  --amends ID "REASON"')
    if amends_from is not None and amends is None:
        raise click.UsageError("--amends-from goes with --amends ID REASON")
    trial = _folder_of(trial)
    wish = Wish(issued or _epoch_date(), anonymous, amends=amends, amends_from=amends_from)
    below = anonymous and out is None
    if out is None:
        out = Path(ANONYMOUS_OUT) if anonymous else Path(OUT) / trial.resolve().name
    try:
        outcome = report_alone(Order(trial, out, formats or FORMATS, wish, below, edition, manner))
    except ReportgenError as error:
        if as_json:
            click.echo(json_text({"trials": [_failed(trial, str(error))]}))
        _say_every_fault(trial, error)
        return FAILED
    if as_json:
        click.echo(json_text({"trials": [_described(outcome)]}))
    else:
        _print_paths(outcome.paths)
    lines = (*outcome.errors, *outcome.cautions)
    for line in lines[:MOST_PRINTED]:
        _echo(line, err=True)
    if len(lines) > MOST_PRINTED:
        click.echo(f"and {len(lines) - MOST_PRINTED} more; see the report", err=True)
    return DONE


@commands.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    help="Where to write.  [default: ./reports; anonymous: ./reports-anonymous]",
)
@click.option(
    "--jobs", type=click.IntRange(min=1), metavar="N", help="Worker processes.  [default: the machine's cores]"
)
@click.option("--scheduler", metavar="ADDRESS", help="Hand the trials to a Dask cluster, such as tcp://10.0.0.5:8786.")
@click.option("--again", is_flag=True, help="Write every report again, those that are unchanged as well.")
@_report_options
@manner_options
def batch(
    folder: Path,
    out: Path | None,
    jobs: int | None,
    scheduler: str | None,
    again: bool,
    formats: tuple[str, ...],
    issued: dt.date | None,
    anonymous: bool,
    edition: str,
    as_json: bool,
    manner: Manner,
) -> int:
    """Write the report of every trial folder below FOLDER, and an index over them.

    Example:  reportgen batch sample_trials
    """
    from reportgen.batch.order import FORMATS
    from reportgen.batch.season import report_batch
    from reportgen.cli.progress import Progress
    from reportgen.wish import Wish

    if scheduler is not None and jobs is not None:
        raise click.UsageError("--jobs is for this machine; a cluster has its own workers")
    folder = _folder_of(folder)
    out = out or Path(ANONYMOUS_OUT if anonymous else OUT)
    season = report_batch(
        folder,
        out,
        formats=formats or FORMATS,
        wish=Wish(issued or _epoch_date(), anonymous),
        edition=edition,
        manner=manner,
        jobs=jobs,
        scheduler=scheduler,
        again=again,
        progress=Progress().told,
        wait=lambda: _echo(f"Another batch is writing to {out}; waiting for its end.", err=True),
    )
    outcomes = season.outcomes
    for here, lack in season.passed_over:
        _echo(f"passed over {here}: {lack}", err=True)
    failed = [outcome for outcome in outcomes if outcome.status == "failed"]
    index = [out / name for name in ("index.html", "comparison.html", "results.csv", "datapackage.json")]
    if as_json:
        document = {"paths": [str(path) for path in index], "trials": [_described(outcome) for outcome in outcomes]}
        click.echo(json_text(document))
    else:
        _print_paths(index)
    if failed:
        click.echo(f"{len(failed)} of {len(outcomes)} trials could not be reported; the index says why.", err=True)
    return FAILED if failed else DONE


@commands.command()
@click.argument("trial", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Print the findings as JSON.")
@spoken
def check(trial: Path, as_json: bool) -> int:
    """Read the logs of one TRIAL folder and say what is wrong, what they support, and what would add more.

    Nothing is written. The exit status is 0 if a report can be written, else 1.

    Example:  reportgen check sample_trials/canteen-hand-readings
    """
    from reportgen.trial_check import check_document, check_text, check_trial, error_document

    trial = _folder_of(trial)
    try:
        found = check_trial(trial)
    except ReportgenError as error:
        if as_json:
            click.echo(json_text(error_document(error)))
        _say_every_fault(trial, error)
        return FAILED
    if as_json:
        click.echo(json_text(check_document(found)))
    else:
        click.echo(printable(check_text(found, shutil.get_terminal_size((80, 24)).columns)), nl=False)
    return DONE


@commands.command()
@click.argument("results", nargs=-1, required=True, type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    metavar="DIR",
    default=COMPARISON_OUT,
    show_default=True,
    help="Where to write.",
)
@click.option("--json", "as_json", is_flag=True, help="Print what was done as JSON on standard output.")
@spoken
def compare(results: tuple[Path, ...], out: Path, as_json: bool) -> int:
    """Put RESULTS side by side: results files, or folders of them, of your own trials or of others.

    Example:  reportgen compare reports
    """
    from reportgen.compare_files import compare_files

    done = compare_files(results, out)
    failed = [read for read in done.files if read.reason]
    for finding in done.findings:
        _echo(finding, err=True)
    for read in failed:
        _echo(f"Error: {read.reason}", err=True)
    if as_json:
        trials = [_compared(read) for read in done.files]
        click.echo(json_text({"paths": [str(path) for path in done.paths], "trials": trials}))
    else:
        _print_paths(done.paths)
    return FAILED if failed else DONE


def _compared(read: ReadFile) -> dict[str, Any]:
    status = "failed" if read.reason else "written"
    return {"file": str(read.path), "status": status, "reason": read.reason or None}


def _folder_of(path: Path) -> Path:
    """Return the trial folder that a path means: itself, or that of the trial sheet it names."""
    return path.parent if path.name == "trial.toml" and path.is_file() else path


def _say_every_fault(trial: Path, first: ReportgenError) -> None:
    """Print all that keeps a trial from being read, so that it can be mended in one go."""
    from reportgen.read.every_fault import every_fault

    faults = every_fault(trial, first)
    for error in faults[:MOST_PRINTED]:
        _echo(f"Error: {error}", err=True)
    if len(faults) > MOST_PRINTED:
        click.echo(f"and {len(faults) - MOST_PRINTED} more", err=True)


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


def _echo(text: str, *, err: bool) -> None:
    """Print a text that holds names or words of others: they show, and do nothing else to a terminal."""
    click.echo(printable(text), err=err)


def _print_paths(paths: Sequence[Path]) -> None:
    for path in paths:
        _echo(str(path), err=False) if sys.stdout.isatty() else click.echo(str(path))


def _epoch_date() -> dt.date | None:
    """Return the issue date that the environment fixes for repeatable builds, if it does."""
    seconds = os.environ.get("SOURCE_DATE_EPOCH", "")
    return dt.date(1970, 1, 1) + dt.timedelta(seconds=int(seconds)) if seconds.isdigit() else None
