"""What a trial is: stated facts and readings, in plain numbers of known units, each with the row it came from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta, tzinfo
from typing import TYPE_CHECKING, Any

import numpy as np
import numpy.typing as npt

from reportgen.codes import check_code
from reportgen.message import Message, say

if TYPE_CHECKING:
    from reportgen.read.sheet import Sheet

Numbers = npt.NDArray[np.float64]

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
#: Name of the sheet that makes a folder a trial.
FILE_NAME = "trial.toml"

#: Levels of a finding, mildest first: something repaired or merely noticed; something that weakens a figure;
#: something that could not be used at all.
LEVELS = ("note", "caution", "error")
#: Flags of a reading, the numbers those of the ocean data community (`sources.SOURCES["iode-flags"]`). In
#: `Trial.excluded` stand bad readings, the error codes of a sensor that read nothing (missing), and questionable ones
#: that are not used until somebody has answered for them.
GOOD, NOT_EVALUATED, QUESTIONABLE, BAD, MISSING = 1, 2, 3, 4, 9


@dataclass(frozen=True)
class Finding:
    """Something seen while reading or computing that the reader of the report must be able to know.

    Attributes
    ----------
    level : str
        One of `LEVELS`.
    code : str
        Stable name of the kind of finding, one of `codes.CODES`.
    message : Message
        What was seen, and what was done about it.
    file : str or None
    row : int or None
        As a spreadsheet counts: the header of a plain file is row 1.
    effect : Message or None
        What it does to the figures.
    """

    level: str
    code: str
    message: Message
    file: str | None = None
    row: int | None = None
    effect: Message | None = None

    def __post_init__(self) -> None:
        check_code(self.code, self.level)


@dataclass(frozen=True)
class InputFile:
    """A file of the trial folder, with the SHA-256 of its bytes and the number of rows read from it."""

    file: str
    sha256: str
    rows: int


@dataclass(frozen=True)
class Readings:
    """Readings of one quantity in order of time.

    Attributes
    ----------
    at : (n,) array [s]
        Seconds since 1970-01-01 00:00 UTC.
    values : (n,) array
        In the unit of the vocabulary; words for a column of words.
    rows : (n,) array of int
        Rows as a spreadsheet counts.
    files : tuple of str
        File names that `file_index` points into.
    file_index : (n,) array of int
    step : float
        Smallest step between different values as written: what the instrument or the writer resolved (0 if unknown).
    flag : (n,) array of int8, or None
        `GOOD`, `QUESTIONABLE` and so on; None where no check has looked at the column (`NOT_EVALUATED`).
    """

    at: Numbers
    values: npt.NDArray[Any]
    rows: npt.NDArray[np.int64]
    files: tuple[str, ...]
    file_index: npt.NDArray[np.int64]
    step: float = 0.0
    flag: npt.NDArray[np.int8] | None = None

    def __len__(self) -> int:
        return len(self.at)

    def where(self, chosen: npt.NDArray[np.bool_] | npt.NDArray[np.int64]) -> Readings:
        """Return the chosen readings, by a mask or by their indices in order."""
        if chosen.dtype == np.bool_ and len(chosen):
            first, last = int(np.argmax(chosen)), len(chosen) - int(np.argmax(chosen[::-1]))
            if np.count_nonzero(chosen) == last - first:
                return self._part(slice(first, last))  # readings in a row need no copy
        return self._part(chosen)

    def between(self, start: float, end: float) -> Readings:
        """Return the readings from `start` to `end` [s], both included."""
        first, beyond = np.searchsorted(self.at, start, side="left"), np.searchsorted(self.at, end, side="right")
        return self._part(slice(first, beyond))

    def _part(self, chosen: Any) -> Readings:
        return replace(
            self,
            at=self.at[chosen],
            values=self.values[chosen],
            rows=self.rows[chosen],
            file_index=self.file_index[chosen],
            flag=None if self.flag is None else self.flag[chosen],
        )

    @property
    def is_questionable(self) -> npt.NDArray[np.bool_]:
        """Which readings a check doubts: they stay in the record and the charts, but bend no fitted curve."""
        return np.zeros(len(self), dtype=bool) if self.flag is None else np.asarray(self.flag == QUESTIONABLE)

    def for_fits(self) -> Readings:
        """Return the readings without the questionable ones."""
        doubted = self.is_questionable
        return self.where(~doubted) if doubted.any() else self

    def with_values(self, values: Numbers, step: float) -> Readings:
        """Return the same readings with other values, such as volumes for levels."""
        return replace(self, values=values, step=step)

    @property
    def sources(self) -> tuple[str, ...]:
        """Where the readings stand: ``gas.csv:4-19``, one entry per run of rows in a file (at most a few per file)."""
        if not len(self):
            return ()
        found = np.flatnonzero(np.bincount(self.file_index))
        return tuple(
            f"{self.files[index]}:{span}"
            for index in found
            for span in _row_spans(self.rows if len(found) == 1 else self.rows[self.file_index == index])
        )


#: More runs of rows than this in one file are named as one span from the first to the last.
MOST_SPANS = 4


def _row_spans(rows: npt.NDArray[np.int64]) -> list[str]:
    ordered = np.sort(rows) if np.any(np.diff(rows) < 0) else rows
    ends = np.flatnonzero(np.diff(ordered) > 1)
    starts_at = np.concatenate(([0], ends + 1))
    ends_at = np.concatenate((ends, [len(ordered) - 1]))
    if len(starts_at) > MOST_SPANS:
        starts_at, ends_at = starts_at[:1], ends_at[-1:]
    return [
        f"{ordered[a]}" if a == b else f"{ordered[a]}-{ordered[b]}" for a, b in zip(starts_at, ends_at, strict=True)
    ]


@dataclass(frozen=True)
class Event:
    """Something that happened at a moment [s]: `kind` is one of the vocabulary's events, or ``other``."""

    at: float
    kind: str
    text: str
    file: str
    row: int

    @property
    def source(self) -> str:
        """Where it stands."""
        return f"{self.file}:{self.row}" if self.row else self.file


@dataclass(frozen=True)
class Look:
    """A look at the ice at a moment [s].

    `frozen` is the share frozen from 0 (liquid) to 1 (solid), or None where only "partial" was written.
    """

    at: float
    container: str
    frozen: float | None
    file: str
    row: int

    @property
    def is_solid(self) -> bool:
        """True where the whole container was frozen."""
        return self.frozen is not None and self.frozen >= 1

    @property
    def source(self) -> str:
        """Where it stands."""
        return f"{self.file}:{self.row}"


@dataclass(frozen=True)
class Feed:
    """Feedstock fed at a moment [s]; masses in kg, solids in percent, water in L; None where not written."""

    at: float
    material: str
    fresh_mass: float
    total_solids: float | None
    volatile_solids: float | None
    water_added: float | None
    file: str
    row: int


@dataclass(frozen=True)
class Photo:
    """A photo of the trial, made small and cleared of all that a camera writes into a file beside the picture.

    Attributes
    ----------
    file : str
        As `trial.toml` names it.
    caption : str
    people : bool
        True where `trial.toml` says that somebody can be recognised.
    jpeg : bytes
    width, height : int
        Of the small picture [px].
    """

    file: str
    caption: str
    people: bool
    jpeg: bytes
    width: int
    height: int


@dataclass(frozen=True)
class Hazard:
    """A group of safety words, by its code, found in texts that an edition leaves out; `places` is where they stand."""

    code: str
    places: tuple[str, ...]


@dataclass(frozen=True)
class Trial:
    """One trial as read: nothing computed, nothing guessed.

    Attributes
    ----------
    folder : str
        Name of the folder.
    sheet : Sheet
        What `trial.toml` states.
    zone : tzinfo
        Zone of the wall clock.
    lit_at, out_at, placed_at : float or None
        First lighting, last flame-out, water placed [s]; None where not recorded.
    dated : bool
        False where only clock times are known and no date.
    burning : tuple of (float, float)
        Spans with the burner lit [s]; the last ends with the last reading where no end is recorded.
    end_recorded : bool
        True where the end of the last span is recorded.
    readings : mapping of str to Readings
        By column name, excluded readings left out.
    excluded : mapping of str to Readings
        Readings that are shown but not used.
    clocked : bool
        False where times only count from lighting, so that the clock time of no moment is known.
    photos : tuple of Photo
    left_out : tuple of str
        What an anonymous edition leaves out, by its name in `anonymous.LEFT_OUT`; empty for the trial as read.
    hazards : tuple of Hazard
        Safety words in what it leaves out.
    set_up_words : tuple of str
        Where its probe is, in one word, and a sign of the words of its set-up; empty for the trial as read.
    lit_before : Message or None
        Why the first lighting that is understood was not the first, so that none counts as such.
    """

    folder: str
    sheet: Sheet
    zone: tzinfo
    lit_at: float | None
    out_at: float | None
    placed_at: float | None
    dated: bool
    burning: tuple[tuple[float, float], ...]
    end_recorded: bool
    readings: Mapping[str, Readings]
    excluded: Mapping[str, Readings]
    feeds: tuple[Feed, ...]
    looks: tuple[Look, ...]
    events: tuple[Event, ...]
    notes: tuple[Event, ...]
    inputs: tuple[InputFile, ...]
    findings: tuple[Finding, ...] = field(default=())
    clocked: bool = True
    photos: tuple[Photo, ...] = ()
    left_out: tuple[str, ...] = ()
    hazards: tuple[Hazard, ...] = ()
    set_up_words: tuple[str, ...] = ()
    lit_before: Message | None = None

    @property
    def no_lighting(self) -> Message:
        """Why nothing can be counted from lighting, where `lit_at` is None."""
        if self.lit_before is None:
            return say("when the burner was lit is not recorded")
        return say("when the burner was lit is not recorded: {why}", why=self.lit_before)

    def hours(self, at: float) -> float:
        """Return the time from first lighting to `at` [s] in hours."""
        if self.lit_at is None:
            raise ValueError("the burner's lighting is not recorded")
        return (at - self.lit_at) / 3600

    def hours_of(self, at: Numbers) -> Numbers:
        """Return the times from first lighting to these instants [s] in hours."""
        if self.lit_at is None:
            raise ValueError("the burner's lighting is not recorded")
        return np.asarray((at - self.lit_at) / 3600)

    def column(self, name: str) -> Readings | None:
        """Return the readings of a column, or None where there are none."""
        readings = self.readings.get(name)
        return readings if readings is not None and len(readings) else None


def wall_clock(at: float, zone: tzinfo) -> datetime:
    """Return the wall clock of a zone at a moment [s since 1970 UTC].

    A clock that nobody set may show a moment before that, which `datetime.fromtimestamp` refuses on Windows.
    """
    return (_EPOCH + timedelta(seconds=at)).astimezone(zone)


def sources_of(*parts: Readings | Event | Look | Iterable[Any] | str | None) -> tuple[str, ...]:
    """Return where all the parts stand, each place once, in the order given."""
    places: dict[str, None] = {}
    for part in parts:
        if part is None:
            continue
        if isinstance(part, str):
            places[part] = None
        elif isinstance(part, Readings):
            places.update(dict.fromkeys(part.sources))
        elif isinstance(part, Event | Look):
            places[part.source] = None
        else:
            places.update(dict.fromkeys(sources_of(*part)))
    return tuple(places)
