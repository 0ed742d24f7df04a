"""Points beside each other: every trial of a set-up with its range, and what repeats tell of their mean."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Drawing

from reportgen import rounding
from reportgen.charts import style
from reportgen.charts.style import Chart, Said
from reportgen.message import Message, say

#: Rows and points of a row that a picture holds; beyond, its tables say what it does not show (ours).
MOST_ROWS, MOST_DOTS = 24, 300
#: Beyond so many points of a row ranges would cover each other (ours).
MOST_RANGES = 12
LEFT, RIGHT, BELOW, ABOVE = 2.15, 0.25, 0.62, 0.12  # [in]
LEAST_ROW, PER_DOT, MOST_HEIGHT = 0.34, 0.085, 1.1  # [in]


@dataclass(frozen=True)
class Dot:
    """A trial: its value and range; without a value, what is known of it, infinite on the open side."""

    value: float | None
    low: float
    high: float
    is_counted: bool = True


@dataclass(frozen=True)
class SpreadRow:
    """Trials of one set-up, with the mean of those that count and its interval where there is one."""

    label: str
    dots: tuple[Dot, ...]
    mean: float | None = None
    interval: tuple[float, float] | None = None


def spread_chart(name: str, label: Message, unit: str, rows: Sequence[SpreadRow], said: Said = str) -> Chart | None:
    """Return the picture of a quantity, a row for each set-up; None where nothing is given."""
    rows = [row for row in rows if row.dots][:MOST_ROWS]
    ends = [end for row in rows for dot in row.dots for end in (dot.value, dot.low, dot.high) if end is not None]
    known = [end for end in ends if math.isfinite(end)]
    if not known:
        return None
    heights = [min(max(LEAST_ROW, 0.2 + PER_DOT * len(row.dots)), MOST_HEIGHT) for row in rows]
    height = BELOW + ABOVE + sum(heights)
    drawing = Drawing(figsize=(style.WIDTH, height))
    axes = style.panel(drawing, BELOW / height, 1 - ABOVE / height, LEFT / style.WIDTH, 1 - RIGHT / style.WIDTH)
    axes.grid(visible=False, axis="y")
    axes.grid(axis="x")
    low, high = min(0.0, *known), max(known)
    right = high + 0.04 * (high - low or abs(high) or 1.0)
    axes.set(xlim=(low, right), ylim=(sum(heights), 0.0))
    axes.set_xlabel(f"{said(label)} [{unit}]" if unit else said(label))
    places, top = [], 0.0
    for row, tall in zip(rows, heights, strict=True):
        _draw(axes, row, top, tall, right)
        places.append(top + tall / 2)
        top += tall
        if row is not rows[-1]:
            axes.axhline(top, color=style.GRID, linewidth=0.6)
    axes.set_yticks(places, [style.one_line(row.label) for row in rows])
    axes.tick_params(axis="y", length=0)
    header = tuple(said(say(word)) for word in ("Set-up", "Trials", "Mean", "95 % from", "to", "Unit"))
    return Chart(
        name,
        label,
        say(
            "{label} by set-up: {rows}.",
            label=label,
            rows="; ".join(f"{row.label}, {len(row.dots)} trials" for row in rows),
        ),
        style.as_svg(drawing, said(label)),
        (header, *(_row(row, unit) for row in rows)),
    )


def _draw(axes: Axes, row: SpreadRow, top: float, tall: float, right: float) -> None:
    dots = row.dots[:MOST_DOTS]
    room = tall - 0.2
    for i, dot in enumerate(dots):
        y = top + 0.07 + room * ((i + 0.5) / len(dots) if len(dots) <= MOST_RANGES else (i * 0.618034) % 1)
        colour = style.CABINET if dot.is_counted else style.LOST
        low, high = (end if math.isfinite(end) else other for end, other in ((dot.low, 0.0), (dot.high, right)))
        if dot.value is None:
            # An arrow points to the side on which it lies.
            start, end = (high, low) if math.isfinite(dot.high) else (low, low + 0.06 * right)
            axes.annotate("", (end, y), (start, y), arrowprops={"arrowstyle": "->", "color": colour, "linewidth": 1.0})
            axes.plot([start], [y], marker="|", color=colour)
            continue
        if len(dots) <= MOST_RANGES:
            axes.plot([low, high], [y, y], color=colour, linewidth=0.9)
        axes.plot([dot.value], [y], marker="o", color=colour, markerfacecolor=colour if dot.is_counted else style.PAPER)
    if row.mean is not None and row.interval is not None:
        y = top + tall - 0.07
        low, high = row.interval
        axes.plot([low, high], [y, y], color=style.AMBIENT, linewidth=2.0)
        axes.plot([row.mean], [y], marker="D", color=style.AMBIENT)


def _row(row: SpreadRow, unit: str) -> tuple[str, ...]:
    if row.mean is None:
        return (row.label, str(len(row.dots)), "", "", "", unit)
    if row.interval is None:
        return (row.label, str(len(row.dots)), rounding.plain(row.mean, 3), "", "", unit)
    return (row.label, str(len(row.dots)), *rounding.about(row.mean, *row.interval), unit)
