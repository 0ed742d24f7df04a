"""Small trial folders, written, read and computed. Hours count from the lighting, 09:00 UTC on 14 March."""

from __future__ import annotations

import datetime as dt
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from reportgen.figures import Figure, Results, compute
from reportgen.read.folder import read_trial

LIGHTING = dt.datetime(2026, 3, 14, 9, 0)
#: Lit at 09:00, out three hours later.
THREE_HOURS = {"lit": "09:00", "out": "12:00"}
#: A dry gas at 0 °C and one standard atmosphere, exactly: litres as read are standard litres.
STANDARD_GAS = {
    "temperature": "0 +/- 0 degC",
    "pressure": "0 +/- 0 mbar",
    "atmospheric": "1013.25 +/- 0 hPa",
    "dry": True,
    "methane": "60 +/- 3 %",
    "methane_method": "analyser",
}
#: A shut-off holder with a scale right to 2 % (limits), read to 2 L, of such gas.
HOLDER = {"kind": "holder", "isolated": True, "accuracy": "2 % (limits)", "resolution": "2 L", **STANDARD_GAS}
#: 60 L/h for three hours.
FALLING = {0.0: 200, 1.0: 140, 2.0: 80, 3.0: 20}


def clock(hour: float) -> str:
    """Return the date and time of an hour of the run."""
    return (LIGHTING + dt.timedelta(hours=hour)).isoformat(sep=" ", timespec="seconds")


def column(name: str, readings: Mapping[float, object]) -> str:
    """Return a log of one column: hour to reading."""
    return "".join([f"time,{name}\n", *(f"{clock(hour)},{value}\n" for hour, value in readings.items())])


def rows(header: str, *cells: tuple[object, ...]) -> str:
    """Return a log of several columns; the first cell of a row is its hour."""
    lines = [",".join([clock(float(str(hour))), *map(str, rest)]) for hour, *rest in cells]
    return "\n".join([header, *lines, ""])


def results(folder: Path, *logs: str, **sheet: Any) -> Results:
    """Return the results of a trial with these logs; `sheet` holds the keys and tables of `trial.toml`."""
    write(folder, *logs, **sheet)
    return compute(read_trial(folder))


def write(folder: Path, *logs: str, **sheet: Any) -> None:
    """Write a trial folder."""
    folder.mkdir(parents=True, exist_ok=True)
    for number, log in enumerate(logs, start=1):
        (folder / f"log{number}.csv").write_text(log, encoding="utf-8")
    keys = {"title": "A trial", "date": "2026-03-14", "time_zone": "UTC"} | {
        k: v for k, v in sheet.items() if not isinstance(v, dict)
    }
    lines = [f"{key} = {json.dumps(value)}" for key, value in keys.items()]
    for name, table in sheet.items():
        if isinstance(table, dict):
            lines += [f"[{name}]", *(f"{key} = {_toml(value)}" for key, value in table.items())]
    (folder / "trial.toml").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _toml(value: object) -> str:
    if isinstance(value, dict):
        return "{" + ", ".join(f"{key} = {_toml(part)}" for key, part in value.items()) + "}"
    return json.dumps(value)


def number(figure: Figure) -> Any:
    """Return the number of a figure, with its sources of error; it must be given."""
    assert figure.number is not None, figure.reason
    return figure.number


def reason(figure: Figure) -> str:
    """Return why a figure is not given; it must not be."""
    assert not figure.is_given
    assert figure.reason is not None
    return str(figure.reason)


def names(figure: Figure) -> set[str]:
    """Return the names of the assumptions a figure rests on."""
    return {assumption.name for assumption in figure.assumptions}


def codes(found: Results) -> list[str]:
    """Return the codes of the findings."""
    return [finding.code for finding in found.findings]
