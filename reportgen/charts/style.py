"""How charts look: palette, sizes, what is drawn of many readings, free places for labels."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

import numpy as np

from reportgen.calc import series
from reportgen.message import Message
from reportgen.trial import Numbers

if TYPE_CHECKING:
    from reportgen.charts.drawing import Panel

#: Turns a message into a sentence of the language of the report.
Said: TypeAlias = Callable[[Message], str]

WIDTH, HEIGHT = 7.2, 3.6  # [in]
TEXT_SIZE, SMALL_TEXT_SIZE = 9.5, 8.5  # [pt]
#: Lines and marks: at least 3:1 on white; those of one chart also differ in lightness, dash or marker.
CABINET, AMBIENT, FITTED = "#1d4a75", "#b5662a", "#cf5d86"
GAS, RESERVE = "#1f6f62", "#7d4c7d"
FEEDSTOCK, PRODUCED = "#8a8041", "#1f6f62"
HEAT, COLD, LOST = "#a8452c", "#1d4a75", "#8b8f93"
BURNING = "#7a3b12"
THRESHOLD, EXCLUDED, FRAME = "#7d8186", "#1c1f22", "#555a5f"
MARKS = (
    CABINET,
    AMBIENT,
    FITTED,
    GAS,
    RESERVE,
    FEEDSTOCK,
    PRODUCED,
    HEAT,
    COLD,
    LOST,
    BURNING,
    THRESHOLD,
    EXCLUDED,
    FRAME,
)
#: Text: at least 4.5:1 on white and on the tint. A label takes its line's colour where that is dark enough.
INK, QUIET_INK = "#1c1f22", "#54585d"
AMBIENT_INK, FITTED_INK = "#94501c", "#a33a62"
TEXTS = (INK, QUIET_INK, AMBIENT_INK, FITTED_INK, CABINET, RESERVE, EXCLUDED, BURNING)
PAPER, TINT, GRID = "#ffffff", "#dfe8f0", "#e2e5e8"

#: Bins that a long log is thinned to before it is drawn; each keeps its lowest and highest reading.
BINS = 400
#: More readings than this are drawn as a line, fewer as points.
MOST_POINTS = 120
#: Rows of the table below a chart.
MOST_ROWS = 40
#: Mean width of a character, as a share of the size of the text. Fonts differ, so this is on the wide side.
CHARACTER_WIDTH = 0.58
LONGEST_LABEL = 26


@dataclass(frozen=True)
class Chart:
    """A chart of the report.

    Attributes
    ----------
    name : str
        Stable, for anchors and file names.
    title : Message
    alt : Message
        What the chart shows, in one sentence.
    svg : str
        An ``<svg>`` element with text as text.
    table : tuple of rows of str
        Heading and at most `MOST_ROWS` rows of what is drawn.
    """

    name: str
    title: Message
    alt: Message
    svg: str
    table: tuple[tuple[str, ...], ...]


def course(at: Numbers, values: Numbers, bins: int = BINS) -> tuple[Numbers, Numbers]:
    """Return what to draw of readings [s]: thinned where many, a break (not a number) in each gap."""
    breaks = at[series.gaps(at)]
    at, values = series.thin_extremes(at, values, bins)
    # A gap starts at one of the readings; the kept one next to it on the left ends the line there.
    last = np.unique(np.searchsorted(at, breaks, side="right"))
    last = last[(last > 0) & (last < len(at))]
    return np.insert(at, last, np.nan), np.insert(values, last, np.nan)


def alone(values: Numbers) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Return which values stand between two breaks, so that no line shows them."""
    broken = np.concatenate(([True], np.isnan(values), [True]))
    return np.asarray(~broken[1:-1] & broken[:-2] & broken[2:])


def one_line(text: str) -> str:
    """Return what somebody wrote as a short label: one line of printable characters."""
    text = " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())
    return text if len(text) <= LONGEST_LABEL else text[: LONGEST_LABEL - 1].rstrip() + "…"


def width_of(text: str, size: float = SMALL_TEXT_SIZE) -> float:
    """Return about how wide a text of one or more lines is [in]."""
    return max(map(len, text.split("\n"))) * size * CHARACTER_WIDTH / 72


def decimals_of(step: float) -> int:
    """Return how many decimals readings with this smallest step need, at most three; one where unknown."""
    return min(max(math.ceil(-math.log10(step) - 1e-9), 0), 3) if step > 0 else 1


def spread_out(wanted: Sequence[float], apart: float) -> list[float]:
    """Return the heights at which labels can stand `apart` from each other, near where they are wanted."""
    order = sorted(range(len(wanted)), key=lambda i: wanted[i])
    heights = [wanted[i] for i in order]
    for _ in range(len(heights)):
        for i in range(len(heights) - 1):
            lack = apart - (heights[i + 1] - heights[i])
            if lack > 0:
                heights[i], heights[i + 1] = heights[i] - lack / 2, heights[i + 1] + lack / 2
    result = [0.0] * len(heights)
    for i, height in zip(order, heights, strict=True):
        result[i] = height
    return result


class Room:
    """What is taken of a panel whose limits are set, to find free places for labels.

    Places are shares of the panel's width and height.
    """

    def __init__(self, panel: Panel) -> None:
        self.panel = panel
        self.width, self.height = panel.width / 72, panel.height / 72  # [in]
        self._taken: list[Numbers] = []

    def share_x(self, x: float) -> float:
        """Return where `x` lies, as a share of the width."""
        low, high = self.panel.x_limits
        return (x - low) / (high - low)

    def take_line(self, x: Numbers, y: Numbers) -> None:
        """Take the places along a line; breaks take none."""
        (left, right), (low, high) = self.panel.x_limits, self.panel.y_limits
        x, y = (x - left) / (right - left), (y - low) / (high - low)
        shares = np.linspace(0, 1, 9)[:, None]
        between = np.stack((x[:-1] + shares * np.diff(x), y[:-1] + shares * np.diff(y)), axis=-1).reshape(-1, 2)
        points = np.concatenate((between, np.stack((x, y), axis=-1)))
        self._taken.append(points[np.all(np.isfinite(points), axis=1)])

    def is_free(self, left: float, height: float, text: str) -> bool:
        """Return whether a text starting at `left`, its lower edge at `height`, stands on nothing taken."""
        right, top = left + width_of(text) / self.width, height + SMALL_TEXT_SIZE * 1.2 / 72 / self.height
        return not any(
            np.any((x > left) & (x < right) & (y > height) & (y < top)) for x, y in (part.T for part in self._taken)
        )

    def place(self, text: str, left: float, wanted: float = 1.0, low: float = 0.12, high: float = 0.97) -> float:
        """Take a free place near the height wanted for a text starting at `left`; return its middle."""
        size = SMALL_TEXT_SIZE
        width, lines = width_of(text, size) / self.width, text.count("\n") + 1
        half = lines * size * 1.25 / 72 / self.height / 2
        points = np.concatenate(self._taken) if self._taken else np.empty((0, 2))
        near = points[(points[:, 0] > left - 0.01) & (points[:, 0] < left + width + 0.01), 1]
        heights = np.linspace(high - half, low + half, 40)
        clear = np.abs(heights[:, None] - near).min(axis=1, initial=1.0)
        free = np.minimum(clear, 1.7 * half)  # beyond that, free is free
        best = int(np.argmin(np.where(free >= free.max() - 1e-9, np.abs(heights - wanted), np.inf)))
        grid = np.meshgrid(np.linspace(left, left + width, 12), heights[best] + np.linspace(-half, half, 4))
        self._taken.append(np.stack([part.ravel() for part in grid], axis=-1))
        return float(heights[best])
