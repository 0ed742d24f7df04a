"""The time axis of a run and what charts over it share: readings, gaps, burning, events, the table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes

from reportgen import rounding
from reportgen.calc import series
from reportgen.charts import style
from reportgen.charts.chart import MOST_ROWS, Said
from reportgen.charts.style import Room
from reportgen.message import Message, say
from reportgen.trial import Numbers, Readings, Trial

HOUR = 3600.0
#: What is drawn of a log longer than the run: before lighting [h], after the burner went out [runs] (ours).
BEFORE, AFTER = 1.0, 1.0
FROM_FIRST_READING = say("hours since the first reading (when the burner was lit is not recorded)")
#: Share of the height of an axes that the bar of burning takes.
BAR = 0.065
#: Rows of labels above the axes, and the height of one, as a share of the drawing's height.
MOST_LEVELS, LEVEL = 4, 0.046
#: Events of one kind nearer to each other than this are one mark [s].
SAME_EVENT = 60.0


@dataclass(frozen=True)
class Hours:
    """The time axis: its nought and its ends [s], and what it is called."""

    zero: float
    start: float
    end: float
    label: Message

    @classmethod
    def over(cls, trial: Trial, readings: Sequence[Readings], hold_over: float = 0.0) -> Hours:
        """Return the axis for these readings of a run, and for a hold-over time [h] after it."""
        first, last = min(float(r.at[0]) for r in readings), max(float(r.at[-1]) for r in readings)
        if trial.lit_at is None or not trial.burning:
            return cls(first, first, last, FROM_FIRST_READING)
        out = trial.burning[-1][1]
        start = max(first, trial.lit_at - BEFORE * HOUR)
        end = min(last, out + max(AFTER * (out - trial.lit_at), 1.2 * hold_over * HOUR))
        label = say("hours since the burner was lit")
        if start > first or end < last:
            label = say("hours since the burner was lit (the log goes on beyond this chart)")
        return cls(trial.lit_at, min(start, trial.lit_at), max(end, out), label)

    def of(self, at: Numbers) -> Numbers:
        """Return the hours of instants [s]."""
        return np.asarray((at - self.zero) / HOUR)

    def at(self, instant: float) -> float:
        """Return the hour of one instant [s]."""
        return (instant - self.zero) / HOUR

    def shown(self, readings: Readings) -> Readings:
        """Return the readings within the chart."""
        return readings.between(self.start, self.end)

    def set_limits(self, axes: Axes) -> None:
        """Set the limits of the axis, with a little room on both sides."""
        low, high = self.at(self.start), self.at(self.end)
        span = high - low or 1.0
        axes.set_xlim(low - 0.012 * span, high + 0.012 * span)


def draw_readings(
    axes: Axes, room: Room, hours: Hours, readings: Readings, colour: str, marker: str, *, joined: bool = True
) -> None:
    """Draw few readings as points, `joined` by a fine line or not, and many as a line; gaps stay open."""
    at, values = style.course(readings.at, readings.values.astype(float))
    dense = len(readings) > style.MOST_POINTS
    x = hours.of(at)
    if dense:
        axes.plot(x, values, color=colour)
        lonely = style.alone(values)
        axes.plot(x[lonely], values[lonely], color=colour, linestyle="none", marker=marker, markersize=2)
    else:
        axes.plot(
            x,
            values,
            color=colour,
            linestyle="-" if joined else "none",
            linewidth=0.8,
            marker=marker,
            markerfacecolor=style.PAPER if marker == "s" else colour,
            markeredgewidth=0.9,
        )
    room.take_line(x, values)


def draw_excluded(axes: Axes, hours: Hours, room: Room, excluded: Sequence[Readings | None], said: Said) -> None:
    """Mark readings that are not used with crosses; those beyond the axis stand at its edge."""
    parts = [shown for readings in excluded if readings is not None and len(shown := hours.shown(readings))]
    if parts:
        first = min(parts, key=lambda part: part.at[0])
        value = float(first.values[0])
        text = say("not used ({value})", value=value) if math.isfinite(value) else say("no reading")
        _mark(axes, hours, room, parts, "x", said(text))


def draw_questionable(axes: Axes, hours: Hours, room: Room, shown: Sequence[Readings], said: Said) -> None:
    """Mark readings that a check doubts with open diamonds, named where the first of them stands."""
    parts = [part.where(part.is_questionable) for part in shown if part.is_questionable.any()]
    if parts:
        _mark(axes, hours, room, parts, "D", said(say("in doubt, left out of fits")))


def _mark(axes: Axes, hours: Hours, room: Room, parts: Sequence[Readings], marker: str, text: str) -> None:
    at = np.concatenate([part.at for part in parts])
    values = np.concatenate([part.values.astype(float) for part in parts])
    values[np.isnan(values)] = -np.inf  # a word of a failed sensor stands at the lower edge
    low, high = axes.get_ylim()
    edge = 0.025 * (high - low)
    order = np.argsort(at, kind="stable")[:: max(1, len(at) // style.BINS)]
    x, y = hours.of(at[order]), np.clip(values[order], low + BAR * (high - low) + edge, high - edge)
    axes.plot(
        x,
        y,
        color=style.EXCLUDED,
        linestyle="none",
        marker=marker,
        markersize=5,
        markerfacecolor="none",
        markeredgewidth=1.2,
        zorder=4,
    )
    room.take_line(x, y)
    left = min(room.share_x(float(x[0])) + 0.015, 0.98 - style.width_of(text) / room.width)
    height = float((y[0] - low) / (high - low))
    place = room.place(text, left, wanted=height)
    axes.text(
        left,
        place,
        text,
        transform=axes.transAxes,
        va="center",
        color=style.EXCLUDED,
        size=style.SMALL_TEXT_SIZE,
    )


def draw_burning(axes: Axes, room: Room, trial: Trial, hours: Hours, said: Said) -> None:
    """Show when the burner was lit as a bar along the bottom, named in its longest part or beside it."""
    if not trial.burning:
        return
    text = said(say("burner lit"))
    spans = [(hours.at(lit), hours.at(out)) for lit, out in trial.burning]
    for lit, out in spans:
        axes.axvspan(lit, out, ymax=BAR, color=style.BURNING, linewidth=0)
    lit, out = max(spans, key=lambda span: span[1] - span[0])
    inside = (room.share_x(out) - room.share_x(lit)) * room.width > style.width_of(text) + 0.1
    axes.annotate(
        text,
        ((lit + out) / 2 if inside else spans[-1][1], BAR / 2),
        (0 if inside else 4, 0),
        axes.get_xaxis_transform(),
        "offset points",
        ha="center" if inside else "left",
        va="center_baseline",
        color=style.PAPER if inside else style.BURNING,
        size=style.SMALL_TEXT_SIZE - 0.5,
    )


@dataclass(frozen=True)
class Mark:
    """The label of an event: share of the width, words, row above the axes (None: no room), side."""

    share: float
    text: str
    level: int | None
    to_left: bool = False


def event_marks(trial: Trial, hours: Hours, width: float, said: Said) -> list[Mark]:
    """Return the events within the chart, their labels in rows above axes of that width [in].

    A label stands to the right of its mark, or to the left at the right end. From the last event back, each
    takes the lowest row in which neither its text nor the line up to it meets another.
    """
    span = 1.024 * (hours.at(hours.end) - hours.at(hours.start) or 1.0)
    marks: list[Mark] = []
    boxes: list[tuple[int, float, float]] = []
    for at, text in reversed(_events(trial, hours, said)):
        share = (hours.at(at) - hours.at(hours.start)) / span + 0.012 / 1.024
        long = style.width_of(text) / width + 0.02
        to_left = share + long > 1.1
        left, right = (share - long, share) if to_left else (share, share + long)
        leaders = [mark for mark in marks if mark.level is not None and left < mark.share < right and to_left]
        level = next(
            (
                level
                for level in range(MOST_LEVELS)
                if not any(row == level and a < right and left < b for row, a, b in boxes)
                and not any(row < level and a <= share <= b for row, a, b in boxes)
                and not any(mark.level is not None and mark.level >= level for mark in leaders)
            ),
            None,
        )
        if level is not None:
            boxes.append((level, left, right))
        marks.append(Mark(share, text, level, to_left))
    return marks


def _events(trial: Trial, hours: Hours, said: Said) -> list[tuple[float, str]]:
    """Return when [s] what happened, without the lighting and going out that the bar of burning shows."""
    known = {
        "water placed": say("water placed"),
        "door opened": say("door opened"),
        "refill": say("refill"),
        "burner lit": None,
        "burner out": None,
    }
    found = [(e.at, e.kind, e.text) for e in trial.events if known.get(e.kind, e.kind) is not None]
    if trial.placed_at is not None:
        found = [event for event in found if event[1] != "water placed" or abs(event[0] - trial.placed_at) > SAME_EVENT]
        found.append((trial.placed_at, "water placed", ""))
    events: list[tuple[float, str]] = []
    for at, kind, text in sorted(found):
        message = known.get(kind)
        words = said(message) if message is not None else style.one_line(text)
        if words and hours.start <= at <= hours.end and not any(t == words and at - a <= SAME_EVENT for a, t in events):
            events.append((at, words))
    return events


def draw_marks(axes: Axes, marks: Sequence[Mark]) -> None:
    """Draw fine lines at the events, and their labels above the axes."""
    for mark in marks:
        row = 0 if mark.level is None else (mark.level + 0.75) * LEVEL / axes.get_position().height
        axes.plot(
            [mark.share] * 2,
            [BAR, 1 + row],
            transform=axes.transAxes,
            clip_on=False,
            color=style.FRAME,
            linewidth=0.6,
            dashes=(1, 2),
            zorder=1,
        )
        if mark.level is not None:
            axes.annotate(
                mark.text,
                (mark.share, 1 + row),
                (-3 if mark.to_left else 3, 0),
                "axes fraction",
                "offset points",
                ha="right" if mark.to_left else "left",
                va="center",
                color=style.QUIET_INK,
                size=style.SMALL_TEXT_SIZE,
                annotation_clip=False,
            )


def rows_of_marks(marks: Sequence[Mark]) -> float:
    """Return the share of the drawing's height that the labels of events take."""
    return LEVEL * (1 + max((mark.level for mark in marks if mark.level is not None), default=-1))


def table(header: Sequence[str], hours: Hours, columns: Sequence[Readings]) -> tuple[tuple[str, ...], ...]:
    """Return the drawn readings as rows: all where few, else the lowest and highest of stretches of time."""
    bins = (MOST_ROWS // len(columns) - 2) // 2
    if max(map(len, columns)) <= MOST_ROWS:
        instants = np.unique(np.concatenate([column.at for column in columns]))
    if max(map(len, columns)) > MOST_ROWS or len(instants) > MOST_ROWS:
        instants = np.unique(
            np.concatenate([series.thin_extremes(c.at, c.values.astype(float), bins)[0] for c in columns])
        )
    rows = []
    for instant in instants:
        cells = [rounding.fixed(hours.at(float(instant)), 2)]
        for column in columns:
            i = int(np.searchsorted(column.at, instant))
            here = i < len(column) and column.at[i] == instant
            cells.append(rounding.fixed(float(column.values[i]), style.decimals_of(column.step)) if here else "")
        rows.append(tuple(cells))
    return (tuple(header), *rows)
