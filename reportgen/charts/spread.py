"""Points beside each other: every trial of a set-up with its range, and what repeats tell of their mean."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Drawing

from reportgen import rounding, speech
from reportgen.charts import style
from reportgen.charts.chart import Chart, Said, spoken
from reportgen.message import NOTHING, Message, listed, say, say_counted

#: Rows and points of a row that a picture holds; beyond, its tables say what it does not show (ours).
MOST_ROWS, MOST_DOTS = 24, 300
#: Beyond so many points of a row ranges would cover each other (ours).
MOST_RANGES = 12
#: Narrow, so that a telephone shows it whole and can be read; the names stand above their points.
WIDTH = 4.8  # [in]
LEFT, RIGHT, BELOW, ABOVE, NAME = 0.12, 0.2, 0.62, 0.06, 0.22  # [in]
#: Room to the right of the largest value, as shares of the axis: for a mark, and for an arrow that points beyond.
MARGIN, ARROW = 0.04, 0.1
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
    """Trials of one set-up, named in lines, with the mean of those that count and its interval where there is one."""

    label: tuple[str, ...]
    dots: tuple[Dot, ...]
    mean: float | None = None
    interval: tuple[float, float] | None = None


def spread_chart(name: str, label: Message, unit: str, rows: Sequence[SpreadRow], said: Said = spoken) -> Chart | None:
    """Return the picture of a quantity, a row for each set-up; None where nothing is given."""
    rows = [row for row in rows if row.dots][:MOST_ROWS]
    ends = [end for row in rows for dot in row.dots for end in (dot.value, dot.low, dot.high) if end is not None]
    known = [end for end in ends if math.isfinite(end)]
    if not known:
        return None
    heights = [NAME + min(max(LEAST_ROW, 0.2 + PER_DOT * len(row.dots)), MOST_HEIGHT) for row in rows]
    height = BELOW + ABOVE + sum(heights)
    drawing = Drawing(figsize=(WIDTH, height))
    axes = style.panel(drawing, BELOW / height, 1 - ABOVE / height, LEFT / WIDTH, 1 - RIGHT / WIDTH)
    axes.grid(visible=False, axis="y")
    axes.grid(axis="x")
    low, high = min(0.0, *known), max(known)
    is_open = any(math.isinf(dot.high) for row in rows for dot in row.dots)
    right = high + (ARROW if is_open else MARGIN) * (high - low or abs(high) or 1.0)
    axes.set(xlim=(low, right), ylim=(sum(heights), 0.0))
    axes.set_xlabel(f"{said(label)} [{unit}]" if unit else said(label))
    top, side = 0.0, float(speech.current().is_right_to_left)
    for row, tall in zip(rows, heights, strict=True):
        axes.text(
            side,
            top + NAME / 2,
            ", ".join(map(style.one_line, row.label)),
            transform=axes.get_yaxis_transform(),
            ha="right" if side else "left",
            va="center",
            size=style.SMALL_TEXT_SIZE,
            weight="bold",
        )
        _draw(axes, row, top + NAME, tall - NAME, right)
        top += tall
        if row is not rows[-1]:
            axes.axhline(top, color=style.GRID, linewidth=0.6)
    axes.set_yticks([])
    axes.spines["left"].set_visible(False)
    header = tuple(
        said(word) for word in (say("Set-up"), say("Trials"), say("Mean"), say("95 % from"), say("to"), say("Unit"))
    )
    return Chart(
        name,
        label,
        say("{label} by set-up: {rows}.", label=label, rows=listed(_told(row, unit) for row in rows)),
        style.as_svg(drawing, said(label)),
        (header, *(_row(row, unit) for row in rows)),
    )


def _draw(axes: Axes, row: SpreadRow, top: float, tall: float, right: float) -> None:
    dots = row.dots[:MOST_DOTS]
    is_many = len(dots) > MOST_RANGES
    # Many points are strewn over the height of the row, evenly but in no order, so that few cover each other.
    heights = [
        top + 0.07 + (tall - 0.2) * ((i * 0.618034) % 1 if is_many else (i + 0.5) / len(dots)) for i in range(len(dots))
    ]
    for is_counted, colour, filling in ((True, style.CABINET, style.CABINET), (False, style.LOST, style.PAPER)):
        drawn = [(dot, y) for dot, y in zip(dots, heights, strict=True) if dot.is_counted is is_counted]
        read = [(dot.value, dot.low, dot.high, y) for dot, y in drawn if dot.value is not None]
        if read:
            values, lows, highs, at = zip(*read, strict=True)
            if not is_many:
                axes.hlines(at, lows, highs, color=colour, linewidth=0.9)
            axes.plot(values, at, linestyle="", marker="o", color=colour, markerfacecolor=filling)
        _draw_arrows(axes, [(dot, y) for dot, y in drawn if dot.value is None], colour, ARROW * right)
    if row.mean is not None and row.interval is not None:
        y = top + tall - 0.07
        axes.hlines([y], [row.interval[0]], [row.interval[1]], color=style.AMBIENT, linewidth=2.0)
        axes.plot([row.mean], [y], marker="D", color=style.AMBIENT)


def _draw_arrows(axes: Axes, dots: Sequence[tuple[Dot, float]], colour: str, length: float) -> None:
    """Draw what is known of values that are not given: an arrow from the limit to the side on which they lie."""
    if not dots:
        return
    starts = [dot.low if math.isfinite(dot.low) and not math.isfinite(dot.high) else dot.high for dot, _ in dots]
    signs = [-1 if math.isfinite(dot.high) else 1 for dot, _ in dots]
    heights = [y for _, y in dots]
    ends = [start + 0.7 * sign * length for start, sign in zip(starts, signs, strict=True)]
    axes.hlines(heights, starts, ends, color=colour, linewidth=1.0)
    axes.plot(starts, heights, linestyle="", marker="|", color=colour)
    for sign, marker in ((1, ">"), (-1, "<")):
        tips = [(x, y) for x, y, own in zip(ends, heights, signs, strict=True) if own == sign]
        if tips:
            axes.plot(*zip(*tips, strict=True), linestyle="", marker=marker, color=colour)


def _told(row: SpreadRow, unit: str) -> Message:
    """Return a row in words, for who does not see it."""
    mean = NOTHING if row.mean is None else say(", mean {mean} {unit}", mean=row.mean, unit=unit)
    trials = say_counted(len(row.dots), "one trial", "{n} trials")
    return say("{name}: {trials}{mean}", name=", ".join(row.label), trials=trials, mean=mean)


def _row(row: SpreadRow, unit: str) -> tuple[str, ...]:
    if row.mean is None:
        return (", ".join(row.label), str(len(row.dots)), "", "", "", unit)
    if row.interval is None:
        return (", ".join(row.label), str(len(row.dots)), rounding.plain(row.mean, 3), "", "", unit)
    return (", ".join(row.label), str(len(row.dots)), *rounding.about(row.mean, *row.interval), unit)
