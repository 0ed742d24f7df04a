"""Logs as people and loggers write them: clocks, dates, separators, decimal marks, one file or many."""

from __future__ import annotations

import csv
import datetime as dt
import io
from dataclasses import dataclass
from zoneinfo import ZoneInfo

import numpy as np

CLOCKS = ("clock", "iso", "iso with offset", "day first", "elapsed", "epoch")


@dataclass(frozen=True)
class Column:
    """Cells of one column by the moment they are written for [s since 1970 UTC, and h since lit]."""

    header: str
    cells: list[tuple[float, str]]


@dataclass(frozen=True)
class Dialect:
    """How one trial's logs are written."""

    clock: str
    separator: str
    decimal_comma: bool
    one_file: bool
    zone: ZoneInfo
    lit: float  # the true lighting [s since 1970 UTC]

    def write(self, columns: list[Column], seconds: bool) -> str:
        """Return a file that holds columns; cells of one moment share a row, a second takes another."""
        rows: dict[tuple[float, int], list[str]] = {}
        for place, column in enumerate(columns):
            for moment, cell in column.cells:
                turn = 0
                while rows.get((moment, turn), [""] * len(columns))[place]:
                    turn += 1
                rows.setdefault((moment, turn), [""] * len(columns))[place] = cell
        moments = sorted(rows)
        clock = self.clock
        if clock == "clock" and moments and self._local(moments[0][0]).date() != self._local(self.lit).date():
            clock = "iso"  # a clock time alone would be read on the day of the lighting
        header = {"elapsed": "elapsed [min]", "epoch": "epoch [s]"}.get(clock, "time")
        text = io.StringIO()
        writer = csv.writer(text, delimiter=self.separator, lineterminator="\n")
        writer.writerow([header, *(column.header for column in columns)])
        for key in moments:
            cells = [cell.replace(".", ",") if self.decimal_comma else cell for cell in rows[key]]
            writer.writerow([self._time(key[0], clock, seconds), *cells])
        return text.getvalue()

    def _local(self, moment: float) -> dt.datetime:
        return dt.datetime.fromtimestamp(moment, self.zone)

    def _time(self, moment: float, clock: str, seconds: bool) -> str:
        when = self._local(moment)
        if clock == "elapsed":
            minutes = f"{(moment - self.lit) / 60:.2f}"
            return minutes.replace(".", ",") if self.decimal_comma else minutes
        if clock == "epoch":
            return f"{moment:.0f}"
        tail = "%H:%M:%S" if seconds else "%H:%M"
        if clock == "clock":
            return when.strftime(tail)
        if clock == "day first":
            return when.strftime(f"%d/%m/%Y {tail}")
        return when.isoformat(timespec="seconds" if seconds else "minutes")[
            : None if "offset" in clock else 19 if seconds else 16
        ]


def number(value: float, step: float) -> str:
    """Return a value read to the nearest step, with the digits the step needs."""
    rounded = round(value / step) * step
    digits = max(0, -int(np.floor(np.log10(step) + 1e-9)))
    while digits < 6 and abs(step * 10**digits - round(step * 10**digits)) > 1e-6:
        digits += 1
    text = f"{rounded:.{digits}f}"
    return text[1:] if float(text) == 0 and text.startswith("-") else text
