"""The chart of the cabinet: readings, ambient, fitted response, events, and when the ice became solid."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from matplotlib.axes import Axes

from reportgen import rounding
from reportgen.calc import response
from reportgen.charts import hours as over_time
from reportgen.charts import style
from reportgen.charts.chart import Chart, Said
from reportgen.charts.hours import BAR, HOUR, Hours
from reportgen.charts.style import Room
from reportgen.figures.crossings import THRESHOLDS
from reportgen.figures.results import Results
from reportgen.message import Message, say
from reportgen.trial import Numbers, Readings, Trial
from reportgen.vocabulary import COLUMNS

#: Where the names of thresholds may start, as shares of the width.
LABEL_PLACES = (0.01, 0.12, 0.24, 0.36, 0.48, 0.6, 0.72, 0.84)
#: The band about the fitted curve, in standard uncertainties: 95 % of a normal distribution.
BAND = 1.96
#: Room on the right for the names of the lines, as a share of the width at least, and what is wider is broken [in].
LEAST_BESIDE, WIDEST_NAME = 0.115, 0.75
#: The least height of a temperature axis [K].
LEAST_SPAN = 4.0
#: A cabinet that moves less than this stays where it is, in the sentence [K].
SMALLEST_COURSE = 1.0
#: Ambient that varies no more than this is one number in the sentence [K].
STEADY_AMBIENT = 2
#: Colour of the readings, colour of their name, marker.
TEMPERATURES = {
    "cabinet_temperature": (style.CABINET, style.CABINET, "o"),
    "ambient_temperature": (style.AMBIENT, style.AMBIENT_INK, "s"),
}


def cabinet_chart(trial: Trial, results: Results, said: Said) -> Chart | None:
    """Return the chart, or None where no cabinet temperature is logged."""
    found = {name: readings for name in TEMPERATURES if (readings := trial.column(name)) is not None}
    if "cabinet_temperature" not in found:
        return None
    kept = results["hold_over_time"]
    hours = Hours.over(trial, list(found.values()), kept.value if kept.is_given else 0.0)
    found = {name: shown for name, readings in found.items() if len(shown := hours.shown(readings))}
    if "cabinet_temperature" not in found:
        return None
    low = min(float(readings.values.min()) for readings in found.values())
    high = max(float(readings.values.max()) for readings in found.values())
    if high - low < LEAST_SPAN:
        low, high = (low + high - LEAST_SPAN) / 2, (low + high + LEAST_SPAN) / 2
    names = [said(COLUMNS[name].label) for name in found]
    beside = [style.in_lines(name, WIDEST_NAME) for name in names]
    widest = max(style.width_of(name, style.TEXT_SIZE) for name in beside)
    left, right = 0.095, 1 - max(LEAST_BESIDE, (widest + 0.1) / style.WIDTH)
    marks = over_time.event_marks(trial, hours, (right - left) * style.WIDTH, said)
    drawing = style.sheet("cabinet")
    axes = style.panel(drawing, 0.135, 0.97 - over_time.rows_of_marks(marks), left, right)
    hours.set_limits(axes)
    axes.set_ylim(low - (0.06 + BAR) * (high - low), high + 0.06 * (high - low))
    axes.set(xlabel=said(hours.label), ylabel=said(say("temperature, °C")))
    room = Room(axes)
    fitted = _fitted(trial, results, hours)
    for name, readings in found.items():
        joined = fitted is None or name != "cabinet_temperature"
        over_time.draw_readings(
            axes, room, hours, readings, TEMPERATURES[name][0], TEMPERATURES[name][2], joined=joined
        )
    if fitted is not None:
        x, y, spread = fitted
        axes.fill_between(x, y - spread, y + spread, color=style.FITTED, alpha=0.25, linewidth=0, zorder=1.5)
        axes.plot(x, y, color=style.FITTED, linewidth=1.3, dashes=(3, 1.5), zorder=3)
        room.take_line(x, y)
    _draw_thresholds(axes, room, [t for t in THRESHOLDS.values() if low <= t <= high], said)
    over_time.draw_burning(axes, room, trial, hours, said)
    over_time.draw_marks(axes, marks)
    over_time.draw_questionable(axes, hours, room, list(found.values()), said)
    over_time.draw_excluded(axes, hours, room, [trial.excluded.get(name) for name in TEMPERATURES], said)
    _draw_solid(axes, room, hours, results, said)
    if fitted is not None:
        _label_fit(axes, room, x, y, said)
    lines = max(name.count("\n") + 1 for name in beside)
    heights = style.spread_out([float(r.values[-1]) for r in found.values()], 0.075 * lines * (high - low))
    for column, name, height in zip(found, beside, heights, strict=True):
        axes.annotate(
            name,
            (1, height),
            (4, 0),
            ("axes fraction", "data"),
            "offset points",
            va="center",
            color=TEMPERATURES[column][1],
            size=style.TEXT_SIZE,
        )
    title = say("Temperature in the cabinet")
    header = [said(hours.label), *(said(say("{label}, °C", label=name)) for name in names)]
    return Chart(
        "cabinet",
        title,
        _cabinet_alt(found, results, hours),
        style.as_svg(drawing, said(title)),
        over_time.table(header, hours, list(found.values())),
    )


def _cabinet_alt(found: Mapping[str, Readings], results: Results, hours: Hours) -> Message:
    cabinet = found["cabinet_temperature"]
    values = cabinet.values.astype(float)
    decimals = min(style.decimals_of(cabinet.step), 1)
    since = int(np.searchsorted(cabinet.at, hours.zero))
    start = since if since < len(cabinet) else 0
    lowest = start + int(np.argmin(values[start:]))
    first, least = (round(float(values[i]), decimals) for i in (start, lowest))
    if len(cabinet) == 1:
        course = say("Cabinet temperature was read once, at {first} °C", first=first)
    elif values.max() - values.min() < SMALLEST_COURSE:
        course = say(
            "Cabinet temperature stayed between {least} °C and {most} °C",
            least=round(float(values.min()), decimals),
            most=round(float(values.max()), decimals),
        )
    elif least < first:
        course = say(
            "Cabinet temperature fell from {first} °C to {least} °C in {hours} h",
            first=first,
            least=least,
            hours=round(float(cabinet.at[lowest] - cabinet.at[start]) / HOUR, 1),
        )
    else:
        course = say("Cabinet temperature did not fall below its first reading of {first} °C", first=first)
    if "ambient_temperature" in found:
        ambient = found["ambient_temperature"].values.astype(float)
        coolest, warmest = round(float(ambient.min())), round(float(ambient.max()))
        around = say("ambient was between {coolest} °C and {warmest} °C", coolest=coolest, warmest=warmest)
        if warmest - coolest <= STEADY_AMBIENT:
            around = say("ambient stayed near {ambient} °C", ambient=round(float(np.median(ambient))))
        course = say("{course} while {around}", course=course, around=around)
    solid = _solid(results, hours)
    if solid is not None:
        course = say("{course}; {solid}", course=course, solid=solid[0])
    doubted = sum(int(np.count_nonzero(readings.is_questionable)) for readings in found.values())
    if doubted:
        return say("{course}. Readings in doubt are marked with open diamonds: {n}.", course=course, n=doubted)
    return say("{course}.", course=course)


def _draw_thresholds(axes: Axes, room: Room, thresholds: list[float], said: Said) -> None:
    """Draw a line at each threshold, named at the first place from the left with no reading in the way."""
    low, high = axes.get_ylim()
    words = [said(say("{threshold} °C", threshold=threshold)) for threshold in thresholds]
    heights = [(threshold - low) / (high - low) + 0.005 for threshold in thresholds]

    def is_free(left: float) -> bool:
        return all(room.is_free(left - 0.01, y, f"{text}  ") for y, text in zip(heights, words, strict=True))

    left = next(filter(is_free, LABEL_PLACES), LABEL_PLACES[0])
    for threshold, text in zip(thresholds, words, strict=True):
        axes.axhline(threshold, color=style.THRESHOLD, linewidth=0.8, dashes=(5, 3), zorder=1.5)
        axes.annotate(
            text,
            (left, threshold),
            (0, 2),
            ("axes fraction", "data"),
            "offset points",
            color=style.QUIET_INK,
            size=style.SMALL_TEXT_SIZE,
            zorder=1.6,
            bbox={"facecolor": style.PAPER, "edgecolor": "none", "pad": 0.3},
        )
        room.take_line(np.array(axes.get_xlim()), np.array([threshold, threshold]))


def _fitted(trial: Trial, results: Results, hours: Hours) -> tuple[Numbers, Numbers, Numbers] | None:
    """Return times, the fitted curve, and half the width of its band."""
    if results.response is None or not trial.burning:
        return None
    found = results.response
    parameters = (estimate.value for estimate in (found.start, found.floor, found.time_constant, found.delay))
    at = np.linspace(0.0, hours.at(trial.burning[-1][1]), 121)
    return at, response.first_order(at, *parameters), BAND * response.curve_uncertainty(found, at)


def _label_fit(axes: Axes, room: Room, x: Numbers, y: Numbers, said: Said) -> None:
    """Name the fitted curve to the right of its steep part, with a fine line to it."""
    at = int(np.argmin(np.abs(y - (0.5 * y[0] + 0.5 * y[-1]))))
    text = said(say("fitted response, 95 % band"))
    low, high = axes.get_ylim()
    height = float((y[at] - low) / (high - low))
    left = room.share_x(float(x[at])) + 0.05
    place = room.place(text, left, wanted=height + 0.05)
    axes.annotate(
        text,
        (float(x[at]), float(y[at])),
        (left, place),
        "data",
        "axes fraction",
        size=style.SMALL_TEXT_SIZE,
        va="center",
        color=style.FITTED_INK,
        arrowprops={"arrowstyle": "-", "color": style.FITTED, "linewidth": 0.6, "shrinkA": 2, "shrinkB": 2},
    )


def _solid(results: Results, hours: Hours) -> tuple[Message, Message, float | None, float | None] | None:
    """Return when the ice became solid: as part of a sentence, as a label, and the hours of the two looks."""
    if results.bracket is None:
        return None
    before, after = (
        None if look is None else hours.at(look.at) for look in (results.bracket.before, results.bracket.after)
    )
    a, b = (None if hour is None else rounding.fixed(hour, 1) for hour in (before, after))
    if after is None:
        return say("the ice was not solid at {a} h", a=a), say("ice not solid\nat {a} h", a=a), before, after
    if before is None:
        return say("the ice was solid by {b} h", b=b), say("ice solid\nby {b} h", b=b), before, after
    sentence = say("the ice became solid between {a} h and {b} h", a=a, b=b)
    return sentence, say("ice solid between\n{a} and {b} h", a=a, b=b), before, after


def _draw_solid(axes: Axes, room: Room, hours: Hours, results: Results, said: Said) -> None:
    solid = _solid(results, hours)
    if solid is None:
        return
    _, label, before, after = solid
    edges = [edge for edge in (before, after) if edge is not None]
    if not all(0 <= room.share_x(edge) <= 1 for edge in edges):
        return
    if before is not None and after is not None:
        axes.axvspan(before, after, ymin=BAR, color=style.TINT, linewidth=0, zorder=0.5)
    for edge in edges:
        axes.axvline(edge, ymin=BAR, color=style.CABINET, linewidth=0.8, zorder=1)
    text = said(label)
    width = style.width_of(text) / room.width
    to_left = room.share_x(edges[0]) > width + 0.1
    left = room.share_x(edges[0]) - width - 0.015 if to_left else room.share_x(edges[-1]) + 0.015
    axes.text(
        left + (width if to_left else 0),
        room.place(text, left, low=0.15),
        text,
        transform=axes.transAxes,
        ha="right" if to_left else "left",
        va="center",
        color=style.CABINET,
        size=style.SMALL_TEXT_SIZE,
        linespacing=1.15,
    )
