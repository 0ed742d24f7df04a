"""A trial as it stood at one moment: what was written later is left out, and what it changes with it."""

from __future__ import annotations

import datetime as dt
import math
import re
from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from reportgen.checks import checked
from reportgen.read.clock import to_utc
from reportgen.read.stamps import parse_clock
from reportgen.trial import Readings, Trial, wall_clock

HOUR, DAY = 3600.0, 86_400.0
#: Columns that tell of days before the run, often written at midnight: they do not say that anybody was there.
HISTORIES = ("gas_produced",)
#: Codes of what is said of the end of the run: told anew by the status itself, which is asked while it burns.
OF_THE_END = ("end-not-recorded", "no-reading-after-lit")
#: Codes of what the checks say, which is judged anew for each moment.
OF_CHECKS = (
    "before-the-flame",
    "door-openings",
    "factor-of-thousand",
    "gap",
    "gas-direction",
    "gas-misread",
    "heaped-digits",
    "one-time-two-values",
    "sign-left-out",
    "stands-alone",
    "stands-still",
    "two-in-one",
    "unit-changes",
)
_HOURS = re.compile(r"(\d+(?:\.\d+)?)\s*h", re.ASCII)


class MomentError(ValueError):
    """A text tells no moment of a trial; the message says what would."""


def last_moment(trial: Trial) -> float | None:
    """Return when the last reading, look, event or note of the run was written [s]; None where nothing is."""
    readings: Iterable[Readings] = (part for name, part in trial.readings.items() if name not in HISTORIES)
    moments = [
        *(float(part.at[-1]) for part in readings if len(part)),
        *(look.at for look in trial.looks),
        *(event.at for event in (*trial.events, *trial.notes) if math.isfinite(event.at)),
    ]
    moments = moments or [feed.at for feed in trial.feeds] or [trial.lit_at if trial.lit_at is not None else math.nan]
    last = max(moments)
    return last if math.isfinite(last) else None


def moment_of(trial: Trial, text: str) -> float:
    """Return the moment [s] that a text names: a date and time, a clock time of the run, or ``2.5 h`` after lighting.

    A clock time is the first such moment from twelve hours before the last reading on.

    Raises
    ------
    MomentError
        If it names none.
    """
    text = " ".join(text.split())
    if (hours := _HOURS.fullmatch(text)) is not None:
        if trial.lit_at is None:
            raise MomentError("hours count from lighting, which is not recorded")
        return trial.lit_at + float(hours[1]) * HOUR
    if not trial.clocked:
        raise MomentError('this trial has no clock times; write hours from lighting, such as "2.5 h"')
    if (seconds := parse_clock(text)) is not None:
        last = last_moment(trial)
        if last is None:
            raise MomentError("nothing is logged yet, so that no day is known; write date and time")
        day = wall_clock(last - DAY / 2, trial.zone).date()
        same_day = to_utc(day, seconds, trial.zone)
        return same_day if same_day >= last - DAY / 2 else to_utc(day + dt.timedelta(days=1), seconds, trial.zone)
    try:
        stamp = dt.datetime.fromisoformat(text)
    except ValueError as error:
        raise MomentError('write it as "2026-03-14 15:40", "15:40" or "2.5 h"') from error
    try:
        return (stamp if stamp.tzinfo is not None else stamp.replace(tzinfo=trial.zone)).timestamp()
    except (OverflowError, OSError, ValueError) as error:
        raise MomentError("that is no day of any trial") from error


def until(trial: Trial, at: float) -> Trial:
    """Return a trial as it stood at a moment [s]: nothing later in it, and the burner lit where it was not yet out."""
    spans = tuple((lit, min(out, at)) for lit, out in trial.burning if lit < at)
    # A burner that nobody wrote down as out burns on: to the moment asked for, not only to the last reading.
    unrecorded = bool(spans) and len(spans) == len(trial.burning) and not trial.end_recorded
    if unrecorded:
        spans = (*spans[:-1], (spans[-1][0], at))
    end_recorded = bool(spans) and not unrecorded and trial.burning[len(spans) - 1][1] <= at
    lit = trial.lit_at is not None and trial.lit_at <= at
    placed = trial.placed_at is not None and trial.placed_at <= at
    stood = replace(
        trial,
        lit_at=trial.lit_at if lit else None,
        out_at=spans[-1][1] if spans else None,
        placed_at=trial.placed_at if placed else None,
        burning=spans,
        end_recorded=end_recorded,
        readings={name: _until(part, at) for name, part in trial.readings.items()},
        excluded={name: part.between(-math.inf, at) for name, part in trial.excluded.items()},
        feeds=tuple(feed for feed in trial.feeds if feed.at <= at),
        looks=tuple(look for look in trial.looks if look.at <= at),
        events=tuple(event for event in trial.events if event.at <= at),
        notes=tuple(note for note in trial.notes if not note.at > at),
    )
    # What the checks flagged and said is judged anew: a later reading may have been part of the reason.
    kept = tuple(found for found in trial.findings if found.code not in (*OF_CHECKS, *OF_THE_END))
    return checked(replace(stood, findings=kept))


def _until(readings: Readings, at: float) -> Readings:
    part = readings.between(-math.inf, at)
    return replace(part, flag=None if part.flag is None else np.zeros(len(part), dtype=np.int8))
