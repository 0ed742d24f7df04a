"""What all parts of a simulated trial share: chance, what is stated, logged when, and true."""

from __future__ import annotations

import datetime as dt
import math
from dataclasses import dataclass, field
from typing import Any, Literal
from zoneinfo import ZoneInfo

import numpy as np
from dialects import CLOCKS, Column, Dialect
from physics import Floats

Kind = Literal["holder", "meter", "flow"]
KINDS: tuple[Kind, ...] = ("holder", "meter", "flow")
ZONES = ("Indian/Mauritius", "Africa/Nairobi", "America/Guatemala", "Asia/Kathmandu", "UTC", "Europe/Lisbon")


@dataclass
class Sheet:
    """`trial.toml` on its way: sections of keys."""

    sections: dict[str, dict[str, str]] = field(default_factory=lambda: {"": {}})

    def put(self, section: str, key: str, value: str) -> None:
        self.sections.setdefault(section, {})[key] = value

    def text(self) -> str:
        parts = []
        for section, keys in self.sections.items():
            head = f"[{section}]\n" if section else ""
            parts.append(head + "".join(f"{key} = {value}\n" for key, value in keys.items()))
        return "\n".join(parts)


def quoted(text: str) -> str:
    """Return a TOML string."""
    return f'"{text}"'


class Drawing:
    """A trial being made."""

    def __init__(self, seed: int, kind: Kind | None) -> None:
        self.rng = np.random.default_rng([20260314, seed])
        self.sheet, self.truth = Sheet(), dict[str, float]()
        self.supported, self.never = set[str](), {"theoretical_methane_yield"}
        self.traits: dict[str, Any] = {"seed": seed}
        self.columns: dict[str, list[Column]] = {}
        self.feed_file: str | None = None
        drawn = KINDS[int(self.rng.choice(3, p=(0.6, 0.2, 0.2)))]
        self.kind: Kind = kind or drawn
        self._clock()

    def chance(self, share: float) -> bool:
        return bool(self.rng.random() < share)

    def one(self, *options: Any) -> Any:
        return options[int(self.rng.integers(len(options)))]

    def between(self, low: float, high: float) -> float:
        return float(self.rng.uniform(low, high))

    def trait(self, name: str, value: Any) -> Any:
        self.traits[name] = value
        return value

    def stated(self, section: str, key: str, value: float, spread: float, unit: str, digits: int) -> float:
        """State a quantity with a standard uncertainty or limits, and return the truth drawn round it."""
        value = round(value, digits)
        limits = self.chance(0.3)
        self.sheet.put(section, key, quoted(f"{value:.{digits}f} +/- {spread:g} {unit}{' (limits)' if limits else ''}"))
        return value + spread * (self.between(-1, 1) if limits else float(self.rng.standard_normal()))

    def accuracy(self, section: str, size: float, unit: str) -> float:
        """State an accuracy, and return the error drawn from it, in the unit."""
        limits = self.chance(0.7)
        self.sheet.put(section, "accuracy", quoted(f"{size:g} {unit}{' (limits)' if limits else ''}"))
        self.traits.setdefault("accuracy_bound", {})[section] = size if limits else 3 * size
        return size * (self.between(-1, 1) if limits else float(self.rng.standard_normal()))

    def known(self, key: str, value: float, supported: bool = True) -> None:
        self.truth[key] = float(value)
        if supported:
            self.supported.add(key)

    def moment(self, hours: float) -> float:
        """Return an instant as seconds since 1970 UTC."""
        return self.lit + hours * 3600

    def minute(self, hours: float) -> float:
        """Return the whole minute, of the clock or since lighting, that is written [s since 1970 UTC]."""
        if self.dialect.clock == "elapsed":
            return self.lit + round(hours * 60) * 60.0
        return round(self.moment(hours) / 60) * 60.0

    def clock_minute(self, hours: float, pattern: str) -> str:
        """Return the wall clock to the whole minute, as stated in `trial.toml`."""
        when = dt.datetime.fromtimestamp(round(self.moment(hours) / 60) * 60.0, self.zone)
        return quoted(when.strftime(pattern))

    def hand_times(self, start: float, end: float, include: tuple[float, ...] = ()) -> list[float]:
        """Return irregular instants 6 to 27 minutes apart, none within 4 minutes of those to include."""
        instants, instant = [], start
        low = int(self.rng.integers(6, 15))
        high = int(self.rng.integers(low + 4, 28))
        while instant <= end:
            instants.append(instant)
            instant += (int(self.rng.integers(low, high + 1)) + self.between(-0.5, 0.5)) / 60
        instants = [t for t in instants if all(abs(t - must) > 4 / 60 for must in include)]
        return sorted([*instants, *include])

    def logger_times(self, start: float, end: float) -> list[float]:
        step = int(self.rng.integers(1, 6)) * 60
        whole = self.chance(0.5)
        first = math.ceil(self.moment(start) / 60) * 60 + (0 if whole else int(self.rng.integers(0, 60)))
        return [(moment - self.lit) / 3600 for moment in range(int(first), int(self.moment(end)), step)]

    def add(self, file: str, header: str, hours: list[float] | Floats, cells: list[str], by_hand: bool) -> None:
        write = self.minute if by_hand else lambda t: float(round(self.moment(t)))
        pairs = [(write(t), cell) for t, cell in zip(hours, cells, strict=True)]
        self.columns.setdefault(file, []).append(Column(header, pairs))

    def _clock(self) -> None:
        zone = ZoneInfo(self.one(*ZONES))
        day = dt.date(2026, 1, 20) + dt.timedelta(days=int(self.rng.integers(0, 300)))
        late = self.trait("crosses midnight", self.chance(0.15))
        hour = int(self.rng.integers(19, 23)) if late else int(self.rng.integers(4, 13))
        start = dt.datetime.combine(day, dt.time(hour, int(self.rng.integers(0, 60))), zone)
        self.lit = start.timestamp() + self.between(-30, 30)
        clock = self.trait("clock", self.one(*CLOCKS))
        comma = self.trait("decimal comma", self.chance(0.3))
        separator = ";" if comma else self.one(",", ",", ";", "\t")
        one_file = self.trait("one file", self.chance(0.4))
        self.dialect = Dialect(clock, separator, comma, one_file, zone, self.lit)
        self.zone, self.day = zone, day
        self.sheet.put("", "title", quoted(f"Simulated trial {self.traits['seed']}"))
        self.sheet.put("", "date", day.isoformat())
        self.sheet.put("", "time_zone", quoted(str(zone)))
        self.hours = self.trait("hours", self.between(2.2, 8.0))
        self.known("run_time", self.hours)
        self.known("burning_time", self.hours)
        self.lit_by_clock = self.chance(0.5)
        if self.lit_by_clock:
            stamp = "%H:%M" if self.chance(0.5) else "%Y-%m-%d %H:%M"
            for key, hours in (("lit", 0.0), ("out", self.hours)):
                self.sheet.put("burner", key, self.clock_minute(hours, stamp))
        else:
            self.add("events.csv", "event", [0.0, self.hours], ["burner lit", "burner out"], True)

    def files(self) -> dict[str, str]:
        files = {"trial.toml": self.sheet.text()}
        if self.feed_file is not None:
            files["feed.csv"] = self.feed_file
        named = {name: _joined(columns) for name, columns in self.columns.items()}
        if self.dialect.one_file:
            named = {"log.csv": _joined([column for columns in named.values() for column in columns])}
        for name, columns in named.items():
            seconds = any(moment % 60 for column in columns for moment, _ in column.cells)
            files[name] = self.dialect.write(columns, seconds)
        return files


def _joined(columns: list[Column]) -> list[Column]:
    """Return columns with those of one header made one."""
    cells: dict[str, list[tuple[float, str]]] = {}
    for column in columns:
        cells.setdefault(column.header, []).extend(column.cells)
    return [Column(header, sorted(pairs, key=lambda pair: pair[0])) for header, pairs in cells.items()]
