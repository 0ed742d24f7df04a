"""The time axis of a run and what charts over it share: readings, gaps, burning, events, the table."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from reportgen import rounding
from reportgen.calc import series
from reportgen.charts import drawing, style
from reportgen.charts.drawing import Panel
from reportgen.charts.style import Room, Said
from reportgen.message import Message, say
from reportgen.trial import Numbers, Readings, Trial

HOUR = 3600.0
#: What is drawn of a log longer than the run: before lighting [h], after the burner went out [runs] (ours).
BEFORE, AFTER = 1.0, 1.0
FROM_FIRST_READING = say("hours since the first reading (when the burner was lit is not recorded)")
#: Share of the height of a panel that the bar of burning takes.
BAR = 0.065
#: Rows of labels above the panel, and the height of one, as a share of the picture's height.
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

    def set_limits(self, panel: Panel) -> None:
        """Set the limits of the axis, with a little room on both sides."""
        low, high = self.at(self.start), self.at(self.end)
        span = high - low or 1.0
        panel.x_limits = (low - 0.012 * span, high + 0.012 * span)


def draw_readings(
    panel: Panel, room: Room, hours: Hours, readings: Readings, colour: str, mark: str, *, joined: bool = True
) -> None:
    """Draw few readings as points, `joined` by a fine line or not, and many as a line; gaps stay open."""
    at, values = style.course(readings.at, readings.values.astype(float))
    x = hours.of(at)
    if len(readings) > style.MOST_POINTS:
        panel.line(x, values, colour)
        lonely = style.alone(values)
        panel.picture.marks(panel.x(x[lonely]), panel.y(values[lonely]), colour, mark, 2.0)
    else:
        if joined:
            panel.line(x, values, colour, 0.8)
        filling = style.PAPER if mark == "square" else colour
        panel.picture.marks(panel.x(x), panel.y(values), colour, mark, filling=filling, edge_width=0.9)
    room.take_line(x, values)


def draw_excluded(panel: Panel, hours: Hours, room: Room, excluded: Sequence[Readings | None], said: Said) -> None:
    """Mark readings that are not used with crosses; those beyond the axis stand at its edge."""
    parts = [shown for readings in excluded if readings is not None and len(shown := hours.shown(readings))]
    if parts:
        first = min(parts, key=lambda part: part.at[0])
        value = float(first.values[0])
        text = say("not used ({value})", value=value) if math.isfinite(value) else say("no reading")
        _mark(panel, hours, room, parts, "cross", said(text))


def draw_questionable(panel: Panel, hours: Hours, room: Room, shown: Sequence[Readings], said: Said) -> None:
    """Mark readings that a check doubts with open diamonds, named where the first of them stands."""
    parts = [part.where(part.is_questionable) for part in shown if part.is_questionable.any()]
    if parts:
        _mark(panel, hours, room, parts, "diamond", said(say("in doubt, left out of fits")))


def _mark(panel: Panel, hours: Hours, room: Room, parts: Sequence[Readings], mark: str, text: str) -> None:
    at = np.concatenate([part.at for part in parts])
    values = np.concatenate([part.values.astype(float) for part in parts])
    values[np.isnan(values)] = -np.inf  # a word of a failed sensor stands at the lower edge
    low, high = panel.y_limits
    edge = 0.025 * (high - low)
    order = np.argsort(at, kind="stable")[:: max(1, len(at) // style.BINS)]
    x, y = hours.of(at[order]), np.clip(values[order], low + BAR * (high - low) + edge, high - edge)
    panel.picture.marks(
        panel.x(x), panel.y(y), style.EXCLUDED, mark, 5.0, filling="none", edge_width=1.2, layer=drawing.WORDS
    )
    room.take_line(x, y)
    left = min(room.share_x(float(x[0])) + 0.015, 0.98 - style.width_of(text) / room.width)
    height = float((y[0] - low) / (high - low))
    place = room.place(text, left, wanted=height)
    panel.picture.words(panel.across(left), panel.up(place), text, style.EXCLUDED, is_centred=True)


def draw_burning(panel: Panel, room: Room, trial: Trial, hours: Hours, said: Said) -> None:
    """Show when the burner was lit as a bar along the bottom, named in its longest part or beside it."""
    if not trial.burning:
        return
    text = said(say("burner lit"))
    spans = [(hours.at(lit), hours.at(out)) for lit, out in trial.burning]
    for lit, out in spans:
        panel.picture.box(panel.x(lit), panel.x(out), panel.up(BAR), panel.bottom, style.BURNING)
    lit, out = max(spans, key=lambda span: span[1] - span[0])
    inside = (room.share_x(out) - room.share_x(lit)) * room.width > style.width_of(text) + 0.1
    size = style.SMALL_TEXT_SIZE - 0.5
    panel.picture.words(
        panel.x((lit + out) / 2) if inside else panel.x(spans[-1][1]) + 4,
        panel.up(BAR / 2) + size * drawing.CAPITALS / 2,
        text,
        style.PAPER if inside else style.BURNING,
        size,
        side="middle" if inside else "start",
    )


@dataclass(frozen=True)
class Mark:
    """The label of an event: share of the width, words, row above the panel (None: no room), side."""

    share: float
    text: str
    level: int | None
    to_left: bool = False


def event_marks(trial: Trial, hours: Hours, width: float, said: Said) -> list[Mark]:
    """Return the events within the chart, their labels in rows above a panel of that width [in].

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


def draw_marks(panel: Panel, marks: Sequence[Mark]) -> None:
    """Draw fine lines at the events, and their labels above the panel."""
    for mark in marks:
        row = 0 if mark.level is None else (mark.level + 0.75) * LEVEL * panel.picture.height / panel.height
        at = panel.across(mark.share)
        ends = (panel.up(BAR), panel.up(1 + row))
        panel.picture.line((at, at), ends, style.FRAME, 0.6, (1, 2), layer=drawing.AREAS)
        if mark.level is not None:
            panel.picture.words(
                at - 3 if mark.to_left else at + 3,
                panel.up(1 + row),
                mark.text,
                style.QUIET_INK,
                side="end" if mark.to_left else "start",
                is_centred=True,
            )


def rows_of_marks(marks: Sequence[Mark]) -> float:
    """Return the share of the drawing's height that the labels of events take."""
    return LEVEL * (1 + max((mark.level for mark in marks if mark.level is not None), default=-1))


def table(header: Sequence[str], hours: Hours, columns: Sequence[Readings]) -> tuple[tuple[str, ...], ...]:
    """Return the drawn readings as rows: all where few, else the lowest and highest of stretches of time."""
    bins = (style.MOST_ROWS // len(columns) - 2) // 2
    if max(map(len, columns)) <= style.MOST_ROWS:
        instants = np.unique(np.concatenate([column.at for column in columns]))
    if max(map(len, columns)) > style.MOST_ROWS or len(instants) > style.MOST_ROWS:
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
