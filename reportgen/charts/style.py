"""How charts look and how they become text: palette, settings of the drawing library, free places, SVG."""

from __future__ import annotations

import functools
import io
import math
import re
import warnings
from collections.abc import Sequence
from typing import Literal

import matplotlib
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_svg import RendererSVG
from matplotlib.figure import Figure as Drawing
from matplotlib.font_manager import FontProperties
from matplotlib.textpath import text_to_path
from matplotlib.ticker import MaxNLocator, ScalarFormatter

from reportgen import speech
from reportgen.calc import series
from reportgen.trial import Numbers

WIDTH, HEIGHT = 7.2, 3.6  # [in]
TEXT_SIZE, SMALL_TEXT_SIZE = 9.5, 8.5  # [pt]
POINTS = 72  # in an inch
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
#: Mean width of a character, as a share of the size of the text. Fonts differ, so this is on the wide side.
CHARACTER_WIDTH = 0.58
LONGEST_LABEL = 26

# A report looks the same everywhere: settings that somebody made for drawings of their own are no part of it.
matplotlib.rcdefaults()
matplotlib.rcParams.update(
    {
        "svg.fonttype": "none",
        "svg.hashsalt": "trial",
        "font.family": "sans-serif",
        "font.sans-serif": ["DejaVu Sans", "Helvetica", "Arial", "sans-serif"],
        "font.size": TEXT_SIZE,
        "text.color": INK,
        "text.parse_math": False,
        "axes.formatter.useoffset": False,
        "axes.formatter.limits": (-9, 12),
        "axes.labelcolor": INK,
        "axes.labelsize": TEXT_SIZE,
        "axes.edgecolor": FRAME,
        "axes.linewidth": 0.7,
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.axisbelow": True,
        "axes.xmargin": 0.0,
        "axes.ymargin": 0.0,
        "xtick.color": FRAME,
        "xtick.labelcolor": INK,
        "xtick.labelsize": TEXT_SIZE,
        "xtick.major.width": 0.7,
        "ytick.color": FRAME,
        "ytick.labelcolor": INK,
        "ytick.labelsize": TEXT_SIZE,
        "ytick.major.width": 0.7,
        "grid.color": GRID,
        "grid.linewidth": 0.6,
        "lines.linewidth": 1.2,
        "lines.markersize": 4.0,
        "figure.facecolor": PAPER,
        "axes.facecolor": PAPER,
    }
)


class SpokenFormatter(ScalarFormatter):
    """Numbers along an axis, with the decimal mark of the language spoken."""

    def __call__(self, x: float, pos: int | None = None) -> str:
        """Return the number at a place of the axis as text."""
        return speech.current().number(super().__call__(x, pos))


class Sheet(Drawing):
    """A drawing that is wiped and drawn on again: to make axes and their ticks takes as long as to draw a chart.

    Charts of one name use one sheet, so that what they once set of its axes suits the next.
    """

    def __init__(self, name: str, height: float) -> None:
        super().__init__(figsize=(WIDTH, height))
        self.name = name
        self.spare: list[Axes] = []


#: Sheets that are wiped, by name. A thread takes one out as long as it draws on it.
_WIPED: dict[str, list[Sheet]] = {}


def sheet(name: str, height: float = HEIGHT) -> Sheet:
    """Return an empty drawing for a chart of this name."""
    try:
        found = _WIPED.setdefault(name, []).pop()
    except IndexError:
        return Sheet(name, height)
    found.set_size_inches(WIDTH, height)
    return found


def _wipe(drawing: Sheet) -> None:
    """Put a sheet back with nothing drawn on its axes."""
    for axes in list(drawing.axes):
        for artist in (*axes.lines, *axes.patches, *axes.collections, *axes.texts):
            artist.remove()
        axes.set(xlabel="", ylabel="")
        drawing.delaxes(axes)
        drawing.spare.append(axes)
    _WIPED[drawing.name].append(drawing)


def panel(drawing: Drawing, bottom: float, top: float, left: float, right: float) -> Axes:
    """Return axes between those shares of the width and height, with a light horizontal grid."""
    place = (left, bottom, right - left, top - bottom)
    if isinstance(drawing, Sheet) and drawing.spare:
        axes = drawing.spare.pop(0)
        axes.set_position(place)
        drawing.add_axes(axes)
        axes.tick_params(labelbottom=True)
    else:
        axes = drawing.add_axes(place)
        axes.grid(axis="y")
        axes.tick_params(length=3)
    for axis in (axes.xaxis, axes.yaxis):
        axis.set_major_formatter(SpokenFormatter())
    axes.xaxis.set_major_locator(MaxNLocator(7, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    return axes


class _Writer(RendererSVG):
    """Writes SVG; a text that stands in many pictures is measured in one of them."""

    def get_text_width_height_descent(
        self, s: str, prop: FontProperties, ismath: bool | Literal["TeX"]
    ) -> tuple[float, float, float]:
        return _measured(s, prop.copy(), bool(ismath))


@functools.lru_cache(4096)
def _measured(text: str, font: FontProperties, is_math: bool) -> tuple[float, float, float]:
    return text_to_path.get_text_width_height_descent(text, font, is_math)


def as_svg(drawing: Drawing, title: str) -> str:
    """Return the drawing as one SVG element; equal drawings give equal text."""
    file = io.StringIO()
    drawing.set_dpi(POINTS)
    width, height = drawing.get_size_inches() * POINTS
    with warnings.catch_warnings():
        # Labels may be in any script; text stays text in the file, and the reader's fonts draw it.
        warnings.filterwarnings("ignore", "Glyph .* missing from|Matplotlib currently does not support", UserWarning)
        renderer = _Writer(width, height, file, metadata={"Title": title, "Date": None, "Creator": None})  # type: ignore[no-untyped-call]
        drawing.draw(renderer)
        renderer.finalize()  # type: ignore[no-untyped-call]
    if isinstance(drawing, Sheet):
        _wipe(drawing)
    text = file.getvalue()
    return re.sub(r"\s*<metadata>.*?</metadata>", "", text[text.index("<svg") :], flags=re.DOTALL)


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


def in_lines(text: str, width: float, size: float = TEXT_SIZE) -> str:
    """Return a text that is broken at the blank nearest to its middle if it is wider than `width` [in]."""
    blanks = [i for i, sign in enumerate(text) if sign == " "]
    if not blanks or width_of(text, size) <= width:
        return text
    middle = min(blanks, key=lambda i: abs(i - len(text) / 2))
    return f"{text[:middle]}{_line_end()}{text[middle + 1 :]}"


def on_one_line(text: str) -> str:
    """Return a text of several lines on one."""
    return text.replace(_line_end(), " ")


def _line_end() -> str:
    """Return what parts two lines, each of which keeps its own direction."""
    return f"{speech.END_ISOLATE}\n{speech.RIGHT_TO_LEFT}" if speech.current().is_right_to_left else "\n"


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
    """What is taken of the area of an axes whose limits are set, to find free places for labels.

    Places are shares of the axes' width and height.
    """

    def __init__(self, axes: Axes) -> None:
        self.axes = axes
        box = axes.get_position()
        self.width, self.height = box.width * WIDTH, box.height * HEIGHT  # [in]
        self._taken: list[Numbers] = []

    def share_x(self, x: float) -> float:
        """Return where `x` lies, as a share of the width."""
        low, high = self.axes.get_xlim()
        return (x - low) / (high - low)

    def take_line(self, x: Numbers, y: Numbers) -> None:
        """Take the places along a line; breaks take none."""
        (left, right), (low, high) = self.axes.get_xlim(), self.axes.get_ylim()
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
