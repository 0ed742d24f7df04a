"""An empty trial folder that explains itself, and a log sheet to print with the same columns."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from reportgen.errors import OutputError
from reportgen.message import Message, printable, say
from reportgen.pdf import find_browser, print_pdf
from reportgen.render import render_html
from reportgen.resources import templates_folder
from reportgen.safety.fixed import deference
from reportgen.vocabulary import COLUMNS, Column
from reportgen.write import write_files

#: The logs of a new trial: file, what it is for, its columns in order, and the rows that the log sheet has of it.
LOGS: Mapping[str, tuple[Message, tuple[str, ...], int]] = {
    "run.csv": (
        say("the run: a row every 15 to 20 minutes from lighting on, and one for each event"),
        (
            "time",
            "gas_volume",
            "cabinet_temperature",
            "ambient_temperature",
            "ice",
            "container",
            "event",
            "note",
        ),
        17,
    ),
    "conditions.csv": (
        say("what is read once or a few times in a run; blanks stay blank"),
        (
            "time",
            "gas_temperature",
            "gas_pressure",
            "atmospheric_pressure",
            "methane",
            "hydrogen_sulfide",
            "carbon_monoxide",
            "gas_elsewhere",
            "boiler_temperature",
            "water_temperature",
            "note",
        ),
        5,
    ),
    "feed.csv": (
        say("what was fed and what gas it gave: a row a day for two to three weeks before the run"),
        (
            "time",
            "material",
            "fresh_mass",
            "total_solids",
            "volatile_solids",
            "water_added",
            "gas_produced",
            "note",
        ),
        8,
    ),
}
#: Columns that a new trial does not have, and what it has in their place.
LEFT_OUT: Mapping[str, str] = {
    "date": "time",
    "elapsed": "time",
    "epoch": "time",
    "gas_level": "gas_volume",
    "gas_flow": "gas_volume",
}
#: What is ticked before lighting.
SAFETY_CHECK = (
    say("Local rules allow it; somebody who knows how stays at the valve"),
    say("Joints, valves, hoses and holder tested with soapy water: no leak"),
    say("No other flame, spark or cigarette near digester, holder and hoses; flame arrester in place"),
    say("Burner and flue clean; burnt gas ends outdoors; carbon monoxide alarm tested"),
    say("Appliance stands level; mains plug pulled"),
    say("Enough gas above the reserve; a holder drawn empty sucks in air"),
    say("Children and visitors behind a line; way out free; extinguisher at hand"),
    say("Flame out? Shut the valve, wait, let air in, then light again"),
)
#: Words for a column's box on the log sheet, where its meaning in the documents is too long for it.
_BOX = {
    "time": say("date, 24 h clock"),
    "ice": say("liquid, partial, solid or 0 to 100 %"),
    "event": say("burner lit / out, water placed, door opened, refill"),
    "container": say("which one"),
}
SHEET, TOML, SHEET_PDF = "log-sheet.html", "trial.toml", "log-sheet.pdf"


@dataclass(frozen=True)
class BoxView:
    """A column of the log sheet: the header of the log, its label and unit, and what to write in it."""

    header: str
    label: str
    unit: str
    hint: str


@dataclass(frozen=True)
class LogView:
    """A table of the log sheet, which becomes a log."""

    file: str
    purpose: str
    boxes: tuple[BoxView, ...]
    rows: int


def new_trial(folder: Path) -> tuple[list[Path], str]:
    """Write an empty trial folder; return the paths, and why there is no PDF of the log sheet ("" where there is one).

    Raises
    ------
    OutputError
        If the folder exists and holds something, or cannot be written.
    """
    _refuse_unless_new(folder)
    page = log_sheet()
    contents: dict[str, str | bytes] = {
        TOML: trial_sheet(folder.resolve().name),
        **{name: csv_text(name) for name in LOGS},
        SHEET: page,
    }
    remark = ""
    try:
        find_browser()
        contents[SHEET_PDF] = print_pdf(page)
    except OutputError as error:
        remark = str(error).partition("\n")[0].replace("report.pdf", SHEET_PDF)
    return write_files(folder, contents), remark


def header_of(column: Column) -> str:
    """Return what the header of a log calls a column: its name, and its unit in brackets."""
    return f"{column.name} [{column.default_unit}]" if column.default_unit else column.name


def csv_text(name: str) -> str:
    """Return an empty log with a line on each column above its header."""
    purpose, columns, _ = LOGS[name]
    told = [
        say("{label}: {value}", label=name, value=purpose),
        say("lines that begin with # are not read; cells may stay blank"),
        *(say("{label}: {value}", label=header_of(COLUMNS[it]), value=COLUMNS[it].meaning) for it in columns),
    ]
    lines = [f"# {line}" for line in told]
    lines.append(",".join(header_of(COLUMNS[column]) for column in columns))
    return "\n".join(lines) + "\n"


def trial_sheet(title: str) -> str:
    """Return a trial sheet with only the title filled in; every other key stands in it as a comment."""
    text = (templates_folder() / "new" / TOML).read_text(encoding="utf-8")
    shown = " ".join(printable(title).split()) or "New trial"
    return text.replace("{{ title }}", json.dumps(shown, ensure_ascii=False))


def log_sheet() -> str:
    """Return the log sheet as a page to print on A4: its columns are those of the empty logs, one to one."""
    return render_html(
        "logsheet.html",
        logs={name: log_view(name) for name in LOGS},
        checks=[str(check) for check in SAFETY_CHECK],
        deference=str(deference().text),
    )


def log_view(name: str) -> LogView:
    """Return a log as a table of the log sheet."""
    purpose, columns, rows = LOGS[name]
    return LogView(name, str(purpose), tuple(_box(COLUMNS[column]) for column in columns), rows)


def _box(column: Column) -> BoxView:
    unit = {"degC": "°C"}.get(column.default_unit or "", column.default_unit or "")
    return BoxView(header_of(column), str(column.label), unit, str(_BOX.get(column.name, "")))


def _refuse_unless_new(folder: Path) -> None:
    if folder.is_dir():
        try:
            taken = any(folder.iterdir())
        except OSError as error:
            raise OutputError("output-not-written", f"{folder}: cannot be read ({error.strerror or error}).") from error
        if not taken:
            return
    elif not folder.exists() and not folder.is_symlink():
        return
    what = "it holds something already" if folder.is_dir() else "it is no folder"
    raise OutputError(
        "folder-not-empty", f"{folder}: {what}, and nothing is written over.\nName a folder that is not there yet."
    )
