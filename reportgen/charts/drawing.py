"""Lines, areas, marks and words straight to SVG: a picture, and panels with a scale of their own in it.

A library for figures takes half a second to load and ten times as long for each chart; these few shapes are all that
the charts need. Places are points of 1/72 in to the right and down; a panel turns values into places.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from html import escape
from typing import TypeAlias, TypeVar

import numpy as np

from reportgen import rounding
from reportgen.charts import style
from reportgen.trial import Numbers

Place = TypeVar("Place", float, Numbers)
Places: TypeAlias = Sequence[float] | Numbers

POINTS = 72  # in an inch
#: What covers what: a higher layer is drawn later. Within one layer, what comes later covers what came before.
GRID, AREAS, LINES, FRAME, WORDS = 0.5, 1.0, 2.0, 2.5, 3.0
#: How far a letter without and with a tail reaches above and below its line, as shares of its size (measured on the
#: sans-serif font that is named first; fonts differ little).
ASCENT, DESCENT, CAPITALS = 0.76, 0.24, 0.73
#: Widths of the signs of a number, as shares of their size, on the wide side.
DIGIT_WIDTH, POINT_WIDTH, MINUS_WIDTH = 0.64, 0.32, 0.84
#: Height of a line of several, as a share of its letters.
SPACING = 1.2
TICK, GAP = 3.0, 3.5  # [pt] length of a tick, and from it to its label
LABEL_GAP = 4.0  # [pt] from the labels of an axis to its name
#: Shapes of marks, about their middle, for a radius of 1: letters of an SVG path with lengths.
SHAPES: dict[str, tuple[tuple[str, tuple[float, ...]], ...]] = {
    "square": (("m", (-1, -1)), ("h", (2,)), ("v", (2,)), ("h", (-2,)), ("z", ())),
    "diamond": (("m", (0, -1.41)), ("l", (1.41, 1.41)), ("l", (-1.41, 1.41)), ("l", (-1.41, -1.41)), ("z", ())),
    "cross": (("m", (-1, -1)), ("l", (2, 2)), ("m", (0, -2)), ("l", (-2, 2))),
    "bar": (("m", (0, -1)), ("v", (2,))),
    "right": (("m", (-1, -1)), ("l", (2, 1)), ("l", (-2, 1)), ("z", ())),
    "left": (("m", (1, -1)), ("l", (-2, 1)), ("l", (2, 1)), ("z", ())),
}


class Picture:
    """A picture of a width and height [in]."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = POINTS * width, POINTS * height
        self._pieces: list[tuple[float, str]] = []
        self._panels: list[Panel] = []

    def line(
        self,
        x: Places,
        y: Places,
        colour: str,
        width: float = 1.2,
        dashes: tuple[float, ...] = (),
        layer: float = LINES,
        within: Panel | None = None,
    ) -> None:
        """Draw a line, broken where a place is not a number; dashes are in widths of the line."""
        dash = f"; stroke-dasharray: {','.join(f'{width * part:.4g}' for part in dashes)}" if dashes else ""
        self._path(_course(x, y), f"fill: none; stroke: {colour}; stroke-width: {width}{dash}", layer, within)

    def area(
        self,
        x: Places,
        y: Places,
        colour: str,
        *,
        edge: str = "",
        edge_width: float = 1.0,
        dashes: tuple[float, ...] = (),
        opacity: float = 1.0,
        layer: float = AREAS,
        within: Panel | None = None,
    ) -> None:
        """Fill what these corners enclose."""
        look = f"fill: {colour}"
        look += f"; fill-opacity: {opacity}" if opacity != 1 else ""
        look += f"; stroke: {edge}; stroke-width: {edge_width}" if edge else ""
        look += f"; stroke-dasharray: {','.join(f'{edge_width * part:.4g}' for part in dashes)}" if dashes else ""
        self._path(f"{_course(x, y)} z", look, layer, within)

    def box(self, left: float, right: float, top: float, bottom: float, colour: str, layer: float = AREAS) -> None:
        """Fill a box."""
        self.area((left, right, right, left), (top, top, bottom, bottom), colour, layer=layer)

    def marks(
        self,
        x: Places,
        y: Places,
        colour: str,
        shape: str,
        size: float = 4.0,
        *,
        filling: str | None = None,
        edge_width: float = 1.0,
        layer: float = LINES,
    ) -> None:
        """Draw a mark at each place: a ``circle`` or one of `SHAPES`, `filling` it with its own colour if not said."""
        radius = size / 2
        if shape == "circle":
            drawn = (
                f"m {-radius:g} 0 a {radius:g} {radius:g} 0 1 0 {size:g} 0 a {radius:g} {radius:g} 0 1 0 {-size:g} 0"
            )
        else:
            drawn = " ".join(
                " ".join((sign, *(f"{radius * part:g}" for part in parts))) for sign, parts in SHAPES[shape]
            )
        at = zip(np.asarray(x, dtype=float).tolist(), np.asarray(y, dtype=float).tolist(), strict=True)
        places = [f"M {a:.2f} {b:.2f} {drawn}" for a, b in at if a == a and b == b]
        if places:
            look = f"fill: {filling or colour}; stroke: {colour}; stroke-width: {edge_width}"
            self._path(" ".join(places), look, layer, None)

    def arrow(self, start: tuple[float, float], end: tuple[float, float], colour: str, width: float = 1.4) -> None:
        """Draw an arrow with a filled head."""
        long = math.hypot(end[0] - start[0], end[1] - start[1])
        if long == 0:
            return
        right, down = (end[0] - start[0]) / long, (end[1] - start[1]) / long
        neck = end[0] - 5 * right, end[1] - 5 * down
        self.line((start[0], neck[0]), (start[1], neck[1]), colour, width)
        wide = 2.5
        self.area(
            (end[0], neck[0] - wide * down, neck[0] + wide * down),
            (end[1], neck[1] + wide * right, neck[1] - wide * right),
            colour,
            layer=LINES,
        )

    def words(
        self,
        x: float,
        y: float,
        text: str,
        colour: str = style.INK,
        size: float = style.SMALL_TEXT_SIZE,
        *,
        side: str = "start",
        is_centred: bool = False,
        is_bold: bool = False,
        is_upright: bool = False,
        spacing: float = SPACING,
        halo: str = "",
        layer: float = WORDS,
    ) -> None:
        """Write lines of text: the foot of the first at `y`, or the middle of all; `x` is their start, middle or end.

        A `halo` of a colour keeps what lies below off the letters. Upright text runs up the page about its place.
        """
        lines = text.split("\n")
        step = size * (DESCENT + ASCENT * spacing)
        foot = y
        if is_centred:
            foot += size * ASCENT - (size * (ASCENT + DESCENT) + step * (len(lines) - 1)) / 2
        look = f"font-size: {size:g}px; fill: {colour}"
        look += f"; text-anchor: {side}" if side != "start" else ""
        look += "; font-weight: bold" if is_bold else ""
        look += f"; paint-order: stroke; stroke: {halo}; stroke-width: 3" if halo else ""
        for i, line in enumerate(lines):
            if line:
                a, b = (x + i * step, y) if is_upright else (x, foot + i * step)
                turn = f' transform="rotate(-90 {a:.2f} {b:.2f})"' if is_upright else ""
                self._add(
                    layer, f'<text x="{a:.2f}" y="{b:.2f}" style="{look}"{turn}>{escape(line, quote=False)}</text>'
                )

    def svg(self, title: str) -> str:
        """Return the picture as one SVG element; equal pictures give equal text."""
        size = f"{self.width:.6g}", f"{self.height:.6g}"
        clips = "".join(
            f'<clipPath id="panel-{i}"><rect x="{panel.left:.2f}" y="{panel.top:.2f}" width="{panel.width:.2f}" '
            f'height="{panel.height:.2f}"/></clipPath>'
            for i, panel in enumerate(self._panels)
        )
        fonts = "font-family: 'DejaVu Sans', 'Helvetica', 'Arial', sans-serif; stroke-linejoin: round"
        start = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{size[0]}pt" height="{size[1]}pt" '
            f'viewBox="0 0 {size[0]} {size[1]}" style="{fonts}">'
        )
        return "\n".join(
            (
                start,
                f"<title>{escape(title, quote=False)}</title>",
                f"<defs>{clips}</defs>",
                f'<rect width="{size[0]}" height="{size[1]}" style="fill: {style.PAPER}"/>',
                *(piece for _, piece in sorted(self._pieces, key=lambda piece: piece[0])),
                "</svg>\n",
            )
        )

    def _path(self, course: str, look: str, layer: float, within: Panel | None) -> None:
        clip = f' clip-path="url(#panel-{self._panels.index(within)})"' if within is not None else ""
        self._add(layer, f'<path d="{course}" style="{look}"{clip}/>')

    def _add(self, layer: float, piece: str) -> None:
        self._pieces.append((layer, piece))


def _course(x: Places, y: Places) -> str:
    parts, letter = [], "M"
    at = zip(np.asarray(x, dtype=float).tolist(), np.asarray(y, dtype=float).tolist(), strict=True)
    for a, b in at:
        if math.isnan(a) or math.isnan(b):
            letter = "M"
        else:
            parts.append(f"{letter} {a:.2f} {b:.2f}")
            letter = "L"
    return " ".join(parts)


class Panel:
    """A part of a picture, between shares of its height and width, in which values have their places.

    Attributes
    ----------
    x_limits, y_limits : (float, float)
        Values at the left and right, and at the lower and upper edge.
    left, right, top, bottom, width, height : float
        Places of the edges, and sizes [pt].
    """

    def __init__(self, picture: Picture, bottom: float, top: float, left: float, right: float) -> None:
        self.picture = picture
        self.left, self.right = left * picture.width, right * picture.width
        self.top, self.bottom = (1 - top) * picture.height, (1 - bottom) * picture.height
        self.width, self.height = self.right - self.left, self.bottom - self.top
        self.x_limits = self.y_limits = (0.0, 1.0)
        picture._panels.append(self)

    def x(self, value: Place) -> Place:
        """Return the place of a value along the width."""
        low, high = self.x_limits
        return self.left + (value - low) / (high - low) * self.width

    def y(self, value: Place) -> Place:
        """Return the place of a value along the height."""
        low, high = self.y_limits
        return self.bottom - (value - low) / (high - low) * self.height

    def across(self, share: float) -> float:
        """Return the place of a share of the width."""
        return self.left + share * self.width

    def up(self, share: float) -> float:
        """Return the place of a share of the height."""
        return self.bottom - share * self.height

    def line(
        self,
        x: Numbers,
        y: Numbers,
        colour: str,
        width: float = 1.2,
        dashes: tuple[float, ...] = (),
        layer: float = LINES,
    ) -> None:
        """Draw a line through values; what lies outside the panel is cut off."""
        self.picture.line(self.x(x), self.y(y), colour, width, dashes, layer, within=self)

    def band(self, x: Numbers, low: Numbers, high: Numbers, colour: str, opacity: float, layer: float = AREAS) -> None:
        """Fill between two courses of values."""
        there_and_back = np.concatenate((x, x[::-1]))
        around = self.y(np.concatenate((low, high[::-1])))
        self.picture.area(self.x(there_and_back), around, colour, opacity=opacity, layer=layer, within=self)

    def level(
        self, value: float, colour: str, width: float, dashes: tuple[float, ...] = (), layer: float = LINES
    ) -> None:
        """Draw a line over the whole width."""
        at = self.y(float(value))
        self.picture.line((self.left, self.right), (at, at), colour, width, dashes, layer)

    def frame(
        self,
        x_label: str = "",
        y_label: str = "",
        *,
        x_ticks: Sequence[float] | None = None,
        y_names: Sequence[tuple[float, str]] | None = None,
        named: Callable[[float], str] | None = None,
        names_x: bool = True,
        is_across: bool = False,
    ) -> None:
        """Draw the axes with their labels, and a light grid.

        `x_ticks` and `y_names` take the place of ticks at round values; `named` says how values along the width are
        written; without `names_x` they are not. `is_across` lays the grid across the width in place of the height.
        """
        picture = self.picture
        along = x_ticks if x_ticks is not None else ticks(*self.x_limits, most=7)
        up = [place for place, _ in y_names] if y_names is not None else ticks(*self.y_limits, most=6, steps=QUARTERS)
        names = [name for _, name in y_names] if y_names is not None else written(up)
        size = style.TEXT_SIZE
        for value, name in zip(along, map(named, along) if named else written(along), strict=True):
            at = self.x(float(value))
            if is_across:
                picture.line((at, at), (self.top, self.bottom), style.GRID, 0.6, layer=GRID)
            picture.line((at, at), (self.bottom, self.bottom + TICK), style.FRAME, 0.7, layer=LINES)
            if names_x:
                picture.words(at, self.bottom + TICK + GAP + size * ASCENT, name, size=size, side="middle")
        for value, name in zip(up, names, strict=True):
            at = self.y(float(value))
            if not is_across:
                picture.line((self.left, self.right), (at, at), style.GRID, 0.6, layer=GRID)
            if y_names is None:
                picture.line((self.left - TICK, self.left), (at, at), style.FRAME, 0.7, layer=LINES)
                picture.words(self.left - TICK - GAP, at + size * CAPITALS / 2, name, size=size, side="end")
            else:
                picture.words(self.left - GAP, at, name, size=size, side="end", is_centred=True)
        corner = (self.left, self.left, self.right), (self.top, self.bottom, self.bottom)
        picture.line(*corner, style.FRAME, 0.7, layer=FRAME)
        if x_label:
            foot = self.bottom + TICK + GAP + size * (ASCENT + DESCENT) + LABEL_GAP + size * ASCENT
            picture.words((self.left + self.right) / 2, foot, x_label, size=size, side="middle")
        if y_label:
            lines = y_label.count("\n") + 1
            edge = self.left - TICK - GAP - max(map(number_width, names), default=0.0) * size - LABEL_GAP
            place = edge - size * DESCENT - (lines - 1) * size * (DESCENT + ASCENT * SPACING)
            picture.words(place, (self.top + self.bottom) / 2, y_label, size=size, side="middle", is_upright=True)


#: Round numbers: each is a step from one tick to the next, with any power of ten.
ROUND: tuple[float, ...] = (1, 2, 5, 10)
QUARTERS: tuple[float, ...] = (1, 2, 2.5, 5, 10)


def ticks(low: float, high: float, most: int, steps: tuple[float, ...] = ROUND) -> list[float]:
    """Return round values from `low` to `high`, no more than divide it into `most` parts and at least two."""
    span = high - low
    if not (math.isfinite(span) and span > 0):
        return [low]
    power = 10.0 ** math.floor(math.log10(span / most))
    ladder = [step * power * scale for scale in (0.1, 1.0, 10.0) for step in steps[:-1]]
    fitting = next(i for i, step in enumerate(ladder) if step >= span / most * (1 - 1e-9))
    found: list[float] = []
    while len(found) < 2:
        step = ladder[fitting]
        found = [step * k for k in range(math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9) + 1)]
        fitting -= 1
    return found


def written(values: Sequence[float]) -> list[str]:
    """Return even values as text, with the decimals that tell them apart."""
    step = abs(values[1] - values[0]) if len(values) > 1 else 0.0
    most = next((n for n in range(10) if all(abs(v - round(v, n)) <= 1e-3 * step for v in values)), 9)
    return [rounding.fixed(value, most) for value in values]


def number_width(text: str) -> float:
    """Return how wide a number is, as a share of its size."""
    return sum(
        {rounding.MINUS: MINUS_WIDTH, ".": POINT_WIDTH, ",": POINT_WIDTH}.get(sign, DIGIT_WIDTH) for sign in text
    )
