"""The charts of a trial: cabinet temperature, gas, feed, and the chain from waste to ice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure as Drawing

from reportgen import chart_style as style
from reportgen.calc import response
from reportgen.chain_picture import chain_picture
from reportgen.chart_style import Chart, Said
from reportgen.figures.gas_account import GasAccount, volume_readings
from reportgen.figures.results import Results
from reportgen.message import Message, say
from reportgen.trial import Numbers, Readings, Trial
from reportgen.vocabulary import COLUMNS

__all__ = ["Chart", "build_charts"]

HOUR = 3600.0
THRESHOLDS = (0.0, -6.0, -12.0, -18.0)
#: What is drawn of a log that is longer than the run [h before lighting], and [runs after the burner went out].
BEFORE, AFTER = 1.0, 1.0
#: The least height of a temperature axis [K].
LEAST_SPAN = 4.0
#: Share of the height of an axes that the bar of burning takes.
BAR = 0.055
#: Rows of labels above the axes.
MOST_LEVELS = 4
FEWEST_DAYS, MOST_DAYS = 3, 120
MINUTE = 60.0

TEMPERATURES = {"cabinet_temperature": (style.CABINET, style.CABINET), "ambient_temperature": (style.AMBIENT, style.AMBIENT_INK)}


def build_charts(trial: Trial, results: Results, said: Said = str) -> tuple[Chart, ...]:
    """Return the charts that the trial supports, in the order of the report.

    `said` turns a message into the words of a language.
    """
    drawn = (
        _cabinet_chart(trial, results, said),
        _gas_chart(trial, results, said),
        _feed_chart(trial, said),
        chain_picture(trial, results, said),
    )
    return tuple(chart for chart in drawn if chart is not None)


@dataclass(frozen=True)
class _Hours:
    """The time axis: where it starts [s], what is drawn [s], and what it is called."""

    zero: float
    start: float
    end: float
    label: Message

    def of(self, at: Numbers) -> Numbers:
        return np.asarray((at - self.zero) / HOUR)

    def shown(self, readings: Readings) -> Readings:
        return readings.between(self.start, self.end)


def _hours(trial: Trial, readings: Sequence[Readings], hold_over: float = 0.0) -> _Hours:
    first, last = min(float(r.at[0]) for r in readings), max(float(r.at[-1]) for r in readings)
    if trial.lit_at is None or not trial.burning:
        return _Hours(first, first, last, say("hours since the first reading (when the burner was lit is not recorded)"))
    out = trial.burning[-1][1]
    run = out - trial.lit_at
    start = max(first, trial.lit_at - BEFORE * HOUR)
    end = min(last, out + max(AFTER * run, 1.2 * hold_over * HOUR))
    whole = start == first and end == last
    label = say("hours since the burner was lit") if whole else say("hours since the burner was lit (part of the log)")
    return _Hours(trial.lit_at, min(start, trial.lit_at), max(end, out), label)


def _cabinet_chart(trial: Trial, results: Results, said: Said) -> Chart | None:
    found = {name: readings for name in TEMPERATURES if (readings := trial.column(name)) is not None}
    if "cabinet_temperature" not in found:
        return None
    kept = results["hold_over_time"]
    hours = _hours(trial, list(found.values()), kept.value if kept.is_given else 0.0)
    found = {name: shown for name, readings in found.items() if len(shown := hours.shown(readings))}
    if "cabinet_temperature" not in found:
        return None
    levels = np.concatenate([readings.values.astype(float) for readings in found.values()])
    low, high = float(levels.min()), float(levels.max())
    if high - low < LEAST_SPAN:
        low, high = (low + high - LEAST_SPAN) / 2, (low + high + LEAST_SPAN) / 2
    marks = _event_labels(trial, hours, said)
    drawing = Drawing(figsize=(style.WIDTH, style.HEIGHT))
    axes = style.panel(drawing, 0.135, 0.965 - 0.048 * (1 + max((m.level for m in marks), default=-1)))
    axes.set_xlim(*_limits(hours))
    axes.set_ylim(low - (0.06 + BAR) * (high - low), high + 0.06 * (high - low))
    axes.set(xlabel=said(hours.label), ylabel=said(say("temperature, °C")))
    room = style.Room(axes)
    for threshold in THRESHOLDS:
        if low <= threshold <= high:
            axes.axhline(threshold, color=style.THRESHOLD, linewidth=0.8, dashes=(5, 3), zorder=1.5)
            room.take_line(np.array(axes.get_xlim()), np.array([threshold, threshold]))
            axes.annotate(
                said(say("{threshold} °C", threshold=threshold)), (0, threshold), (4, 2), ("axes fraction", "data"),
                "offset points", color=style.QUIET_INK, size=style.SMALL_TEXT_SIZE,
            )  # fmt: skip
    fitted = _fitted(trial, results, hours)
    for name, readings in found.items():
        joined = fitted is None or name != "cabinet_temperature"
        _draw_readings(axes, hours, readings, TEMPERATURES[name][0], "o" if name == "cabinet_temperature" else "s", joined)
        at, values = style.course(readings.at, readings.values.astype(float))
        room.take_line(hours.of(at), values)
    if fitted is not None:
        axes.plot(*fitted, color=style.FITTED, linewidth=0.9, dashes=(4, 2), zorder=3)
        room.take_line(*fitted)
    _draw_excluded(axes, hours, room, [trial.excluded.get(name) for name in found], said)
    _draw_burning(axes, trial, hours, said)
    _draw_marks(axes, marks)
    _draw_solid(axes, results, hours, room, said)
    if fitted is not None:
        _label_fit(axes, fitted, room, said)
    _label_ends(axes, [
        (said(say(COLUMNS[name].label)), float(readings.values[-1]), TEMPERATURES[name][1]) for name, readings in found.items()
    ])  # fmt: skip
    title = say("Temperature in the cabinet")
    header = [said(hours.label), *(said(say("{label}, °C", label=COLUMNS[name].label)) for name in found)]
    return Chart(
        "cabinet", title, _cabinet_alt(trial, results, found, hours), style.as_svg(drawing, said(title)),
        _table(header, hours, list(found.values())),
    )  # fmt: skip


def _cabinet_alt(trial: Trial, results: Results, found: dict[str, Readings], hours: _Hours) -> Message:
    cabinet = found["cabinet_temperature"]
    values = cabinet.values.astype(float)
    decimals = min(style.decimals_of(cabinet.step), 1)
    since = np.flatnonzero(cabinet.at >= hours.zero)
    start = int(since[0]) if len(since) else 0
    lowest = start + int(np.argmin(values[start:]))
    first, least = (round(float(values[i]), decimals) for i in (start, lowest))
    if least < first:
        course = say(
            "Cabinet temperature fell from {first} °C to {least} °C in {hours} h", first=first, least=least,
            hours=round(float(cabinet.at[lowest] - cabinet.at[start]) / HOUR, 1),
        )  # fmt: skip
    else:
        course = say("Cabinet temperature did not fall below its first reading of {first} °C", first=first)
    if "ambient_temperature" in found:
        ambient = found["ambient_temperature"].values.astype(float)
        a, b = round(float(ambient.min())), round(float(ambient.max()))
        around = say("ambient stayed near {a} °C", a=a) if b - a <= 2 else say("ambient was {a} to {b} °C", a=a, b=b)
        course = say("{course} while {around}", course=course, around=around)
    solid = _solid(results, hours)
    return say("{course}; {solid}.", course=course, solid=solid[0]) if solid is not None else say("{course}.", course=course)


def _solid(results: Results, hours: _Hours) -> tuple[Message, Message, float | None, float | None] | None:
    """Return when the ice became solid: as part of a sentence, as a label, and the hours of the two looks."""
    if results.bracket is None:
        return None
    before, after = (
        None if look is None else float(hours.of(np.array(look.at)))
        for look in (results.bracket.before, results.bracket.after)
    )  # fmt: skip
    a, b = (None if hour is None else round(hour, 1) for hour in (before, after))
    if after is None:
        return say("the ice was not solid at {a} h", a=a), say("ice not solid\nat {a} h", a=a), before, after
    if before is None:
        return say("the ice was solid by {b} h", b=b), say("ice solid\nby {b} h", b=b), before, after
    return (
        say("the ice became solid between {a} h and {b} h", a=a, b=b),
        say("ice solid between\n{a} and {b} h", a=a, b=b), before, after,
    )  # fmt: skip


def _draw_solid(axes: Axes, results: Results, hours: _Hours, room: style.Room, said: Said) -> None:
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
    width = style.width_of(text) / room.width + 0.015
    to_left = room.share_x(edges[0]) > width
    left = room.share_x(edges[0]) - width if to_left else room.share_x(edges[-1]) + 0.01
    axes.text(
        left + (width - 0.02 if to_left else 0), room.place(text, left, low=0.15), text, transform=axes.transAxes,
        ha="right" if to_left else "left", va="center", color=style.CABINET, size=style.SMALL_TEXT_SIZE, linespacing=1.15,
    )  # fmt: skip


def _fitted(trial: Trial, results: Results, hours: _Hours) -> tuple[Numbers, Numbers] | None:
    if results.response is None or not trial.burning:
        return None
    found = results.response
    parameters = [getattr(found, name).value for name in response.NAMES]
    at = np.linspace(0.0, float(hours.of(np.array(trial.burning[-1][1]))), 121)
    return at, response.first_order(at, *parameters)


def _label_fit(axes: Axes, fitted: tuple[Numbers, Numbers], room: style.Room, said: Said) -> None:
    """Name the fitted curve to the right of its steep part, with a fine line to it."""
    x, y = fitted
    at = int(np.argmin(np.abs(y - (0.45 * y[0] + 0.55 * y[-1]))))
    text = said(say("first-order response, fitted"))
    low, high = axes.get_ylim()
    height = (y[at] - low) / (high - low)
    left = room.share_x(float(x[at])) + 0.05
    place = room.place(text, left, low=max(height - 0.1, 0.1), high=min(height + 0.3, 0.97))
    axes.annotate(
        text, (float(x[at]), float(y[at])), (left, place), "data", "axes fraction", size=style.SMALL_TEXT_SIZE,
        va="center", color=style.INK, arrowprops={"arrowstyle": "-", "color": style.FRAME, "linewidth": 0.6, "shrinkB": 2},
    )  # fmt: skip


def _gas_chart(trial: Trial, results: Results, said: Said) -> Chart | None:
    account = results.gas_account
    volumes = account.volumes if isinstance(account, GasAccount) else volume_readings(trial)
    if isinstance(volumes, Message) or not len(volumes):
        return None
    kind = account.kind if isinstance(account, GasAccount) else trial.sheet.gas.kind or "flow"
    hours = _hours(trial, [volumes])
    volumes = hours.shown(volumes)
    if not len(volumes):
        return None
    title, label, column = {
        "holder": (say("Gas in the holder"), say("content of the holder, L as read"), "gas_volume"),
        "meter": (say("Gas through the meter"), say("total of the meter, L as read"), "gas_volume"),
        "flow": (say("Flow of gas"), say("flow, L/min as read"), "gas_flow"),
    }[kind]
    values = volumes.values.astype(float)
    reserve = trial.sheet.gas.reserve if kind == "holder" else None
    low, high = float(values.min()), float(values.max())
    if reserve is not None:
        low = min(low, reserve.value)
    span = high - low or abs(high) or 1.0
    drawing = Drawing(figsize=(style.WIDTH, style.HEIGHT))
    axes = style.panel(drawing, 0.135, 0.96, left=0.115, right=0.965)
    axes.set_xlim(*_limits(hours))
    axes.set_ylim(low - (0.07 + BAR) * span, high + 0.08 * span)
    axes.set(xlabel=said(hours.label), ylabel=said(label))
    room = style.Room(axes)
    at, drawn = style.course(volumes.at, values)
    room.take_line(hours.of(at), drawn)
    _draw_readings(axes, hours, volumes, style.GAS, "o", joined=True)
    if reserve is not None:
        axes.axhline(reserve.value, color=style.RESERVE, linewidth=1.0, dashes=(5, 3))
        axes.annotate(
            said(say("reserve {reserve} L", reserve=float(reserve.value))), (0, reserve.value), (4, 3),
            ("axes fraction", "data"), "offset points", color=style.RESERVE, size=style.SMALL_TEXT_SIZE,
        )  # fmt: skip
    _draw_refills(axes, account, volumes, hours, room, said)
    if volumes.step and column in trial.readings and kind != "holder" or column in trial.readings:
        _draw_excluded(axes, hours, room, [trial.excluded.get(column)], said)
    _draw_burning(axes, trial, hours, said)
    return Chart(
        "gas", title, _gas_alt(kind, account, volumes, results, hours), style.as_svg(drawing, said(title)),
        _table([said(hours.label), said(label)], hours, [volumes]),
    )  # fmt: skip
