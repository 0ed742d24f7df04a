"""Commands for before a trial: flags in, one call, outcome out."""

from __future__ import annotations

import base64
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from reportgen.cli.console import json_text
from reportgen.cli.manner import spoken
from reportgen.message import printable

if TYPE_CHECKING:
    from reportgen.plan.page import Page
    from reportgen.units import Stated

Command = TypeVar("Command", bound=Callable[..., Any])
#: Suffixes of `--out`, and the template of each.
PAGES = {".html": "plan/page.html", ".htm": "plan/page.html", ".md": "plan/page.md"}


def _read(_context: click.Context, parameter: click.Parameter, text: str | None) -> Stated | None:
    """Return the quantity that an option states, by its name in `plan.asked.ALLOWED`."""
    from reportgen.plan.asked import read_quantity
    from reportgen.units import UnitError

    if text is None:
        return None
    try:
        return read_quantity(str(parameter.name), text)
    except UnitError as error:
        raise _wrong(f"{parameter.opts[0]}: {error}") from error


def _page_path(_context: click.Context, _parameter: click.Parameter, path: Path | None) -> Path | None:
    """Return the file for a page, whose kind its suffix tells."""
    if path is not None and path.suffix.lower() not in PAGES:
        raise _wrong(f'--out: found "{path}", expected a name that ends in .html or .md')
    return path


def _wrong(text: str) -> click.ClickException:
    """Return wrong usage that is said in one line."""
    return click.ClickException(printable(" ".join(text.split())))


def _quantity(name: str, metavar: str, text: str) -> Callable[[Command], Command]:
    return click.option(f"--{name.replace('_', '-')}", name, callback=_read, metavar=metavar, help=text)


def _page_options(command: Command) -> Command:
    for option in (
        click.argument("more", nargs=-1, type=click.Path(path_type=Path), metavar=""),
        click.option(
            "--from",
            "results",
            multiple=True,
            type=click.Path(path_type=Path),
            metavar="RESULTS…",
            help="Results files of your own runs, or the folders they stand in; they replace published figures.",
        ),
        click.option(
            "--out",
            type=click.Path(path_type=Path),
            callback=_page_path,
            metavar="FILE",
            help="Write a page, .html or .md, and print only its path.",
        ),
        click.option("--json", "as_json", is_flag=True, help="Print the answers as JSON."),
    ):
        command = option(command)
    return command


@click.command()
@_quantity("gas", '"200 L"', "Gas in the holder that may be drawn: what is above the reserve.")
@_quantity("daily_gas", '"640 L/d"', "Gas that comes in a day.")
@_quantity("rate", '"1 L/min"', "Gas that the burner takes.")
@_quantity("power", '"300 W"', "Heat of the burner, in place of --rate.")
@_quantity("water", '"1.2 kg"', "Water to be frozen.")
@_quantity("water_temperature", '"24 degC"', "Of the water when put in.")
@click.option("--shape", type=click.Choice(["slab", "cylinder", "sphere"]), help="Of the water; goes with --thickness.")
@_quantity("thickness", '"40 mm"', "Of the slab, or the diameter of the others.")
@_quantity("ambient", '"28 degC"', "Of the air around the appliance.")
@_quantity("altitude", '"40 m"', "Of the site.")
@_quantity("methane", '"60 %"', "In the dry gas.")
@_quantity("heat_leak", '"1.1 W/K"', "Of the cabinet, from a hold-over run.")
@_page_options
@spoken
def plan(
    results: tuple[Path, ...],
    more: tuple[Path, ...],
    shape: str | None,
    out: Path | None,
    as_json: bool,
    **quantities: Stated | None,
) -> int:
    """Say before a trial whether the gas will last until the ice is solid, and what the ice takes.

    Nothing is required; what is left out is taken as in your own runs or as published, and named.

    Example:  reportgen plan --gas "200 L" --rate "1 L/min" --water "0.5 kg"
    """
    from reportgen.plan import Asked, make_plan
    from reportgen.plan.words import plan_document, plan_page

    if quantities["rate"] is not None and quantities["power"] is not None:
        raise _wrong("--rate and --power say the same thing: give one of them")
    if (shape is None) != (quantities["thickness"] is None):
        raise _wrong("--shape and --thickness go together: give both, or neither")
    found = make_plan(Asked(shape=shape, past=_past(results, more), **quantities))
    return _say(plan_page(found), plan_document(found), out, as_json)


@click.command()
@_quantity("daily_gas", '"1 m3/d"', "Gas that comes in a day.")
@_quantity("rate", '"1 L/min"', "Gas that the refrigerator's burner takes.")
@_quantity("stove_rate", '"300 L/h"', "Gas that the stove takes.")
@_page_options
@spoken
def advise(
    results: tuple[Path, ...],
    more: tuple[Path, ...],
    out: Path | None,
    as_json: bool,
    **quantities: Stated | None,
) -> int:
    """Say what a day's gas can do in one household: hours of cold, minutes of cooking, feed and fuel behind them.

    Example:  reportgen advise --daily-gas "1 m3/d" --rate "1 L/min"
    """
    from reportgen.advice import advice_document, advice_page, make_advice

    found = make_advice(past=_past(results, more), **quantities)
    return _say(advice_page(found), advice_document(found), out, as_json)


@click.command()
@click.argument("folder", type=click.Path(path_type=Path))
@spoken
def new(folder: Path) -> int:
    """Make FOLDER: an empty trial that explains itself, and a log sheet to print.

    Example:  reportgen new my-trial
    """
    from reportgen.new_trial import new_trial

    paths, remark = new_trial(folder)
    for path in paths:
        click.echo(printable(str(path)))
    if remark:
        click.echo(printable(f"{remark} Open log-sheet.html and print it."), err=True)
    return 0


def _past(results: tuple[Path, ...], more: tuple[Path, ...]) -> Any:
    """Return the earlier runs: those named by `--from`, and those that a shell lists after it."""
    from reportgen.plan.past import read_past

    if more and not results:
        raise _wrong(f'found "{more[0]}", expected an option; results files follow --from')
    return read_past([*results, *more])


def _say(page: Page, document: dict[str, Any], out: Path | None, as_json: bool) -> int:
    """Write the page where a file is asked for, and print its path, the JSON, or else the answers in plain lines."""
    from reportgen.plan.page import page_text
    from reportgen.write import write_files

    if out is not None:
        write_files(out.parent, {out.name: _rendered(page, out)})
    if as_json:
        click.echo(json_text(document))
    elif out is not None:
        click.echo(printable(str(out)))
    else:
        click.echo(printable(page_text(page, shutil.get_terminal_size((80, 24)).columns)), nl=False)
    return 0


def _rendered(page: Page, out: Path) -> str:
    from reportgen.render import render_html, render_markdown

    template = PAGES[out.suffix.lower()]
    if template.endswith(".md"):
        return render_markdown(template, page=page)
    encoded = base64.b64encode(page.picture.svg.encode()).decode() if page.picture is not None else ""
    return render_html(template, page=page, picture_address=f"data:image/svg+xml;base64,{encoded}")
