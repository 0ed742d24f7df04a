"""The gas chart, and the chart of waste fed and gas produced."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from matplotlib.axes import Axes
from matplotlib.collections import PolyCollection
from matplotlib.ticker import FuncFormatter

from reportgen import rounding, speech, wording
from reportgen.charts import hours as over_time
from reportgen.charts import style
from reportgen.charts.chart import MOST_ROWS, Chart, Said
from reportgen.charts.hours import BAR, Hours
from reportgen.charts.style import Room
from reportgen.figures.gas_account import GasAccount
from reportgen.figures.gas_readings import volume_readings
from reportgen.figures.results import Results
from reportgen.message import Message, say
from reportgen.trial import Readings, Trial, wall_clock

#: Days of feed log that make a chart, and the most that are drawn.
FEWEST_DAYS, MOST_DAYS = 3, 120
#: Where the axes of the feed begin, as a share of the width.
LEFT_OF_FEED = 0.075

GAS = {
    "holder": (say("Gas in the holder"), say("content of the holder, L as read"), "gas_volume"),
    "meter": (say("Gas through the meter"), say("total of the meter, L as read"), "gas_volume"),
    "flow": (say("Flow of gas"), say("flow of gas, L/min as read"), "gas_flow"),
}


def gas_chart(trial: Trial, results: Results, said: Said) -> Chart | None:
    """Return the chart of the holder's content, the meter's total or the flow; None without readings."""
    account = results.gas_account
    volumes = account.volumes if isinstance(account, GasAccount) else volume_readings(trial)
    if isinstance(volumes, Message):
        return None
    kind = account.kind if isinstance(account, GasAccount) else trial.sheet.gas.kind or "flow"
    title, label, column = GAS[kind]
    hours = Hours.over(trial, [volumes])
    volumes = hours.shown(volumes)
    if not len(volumes):
        return None
    values = volumes.values.astype(float)
    reserve = trial.sheet.gas.reserve if kind == "holder" else None
    low, high = float(values.min()), float(values.max())
    if reserve is not None:
        low = min(low, reserve.value)
    if kind == "flow":
        low = min(low, 0.0)
    span = high - low or abs(high) or 1.0
    drawing = style.sheet("gas")
    axes = style.panel(drawing, 0.135, 0.965, 0.074 + 0.0115 * max(len(f"{high:.0f}"), 3), 0.97)
    hours.set_limits(axes)
    axes.set_ylim(low - (0.07 + BAR) * span, high + 0.1 * span)
    axes.set(xlabel=said(hours.label), ylabel=said(label))
    room = Room(axes)
    over_time.draw_readings(axes, room, hours, volumes, style.GAS, "o")
    if reserve is not None:
        axes.axhline(reserve.value, color=style.RESERVE, linewidth=1.0, dashes=(5, 3))
        axes.annotate(
            said(say("reserve {reserve} L", reserve=float(reserve.value))),
            (0, reserve.value),
            (4, 3),
            ("axes fraction", "data"),
            "offset points",
            color=style.RESERVE,
            size=style.SMALL_TEXT_SIZE,
        )
    over_time.draw_burning(axes, room, trial, hours, said)
    if isinstance(account, GasAccount):
        _draw_refills(axes, room, hours, account, volumes, said)
    over_time.draw_questionable(axes, hours, room, [volumes], said)
    if trial.column(column) is not None:
        over_time.draw_excluded(axes, hours, room, [trial.excluded.get(column)], said)
    return Chart(
        "gas",
        title,
        _gas_alt(kind, account, volumes, results),
        style.as_svg(drawing, said(title)),
        over_time.table([said(hours.label), said(label)], hours, [volumes]),
    )


def _draw_refills(axes: Axes, room: Room, hours: Hours, account: GasAccount, volumes: Readings, said: Said) -> None:
    """Draw an arrow up beside each rise that is a refill, with its amount."""
    values = volumes.values.astype(float)
    low, high = axes.get_ylim()
    for refill in account.refills:
        a, b = (float(np.interp(at, volumes.at, values)) for at in (refill.start, refill.end))
        start, end = hours.at(float(refill.start)), hours.at(float(refill.end))
        axes.annotate(
            "",
            (end, b),
            (start, a),
            arrowprops={
                "arrowstyle": "-|>",
                "color": style.INK,
                "linewidth": 1.4,
                "shrinkA": 0,
                "shrinkB": 0,
            },
        )
        text = said(say("refill, about {amount} L", amount=float(f"{refill.amount:.2g}")))
        width = style.width_of(text) / room.width
        to_left = room.share_x(end) + width > 1.01
        left = room.share_x(start) - width - 0.012 if to_left else room.share_x(end) + 0.012
        place = room.place(text, left, wanted=((a + b) / 2 - low) / (high - low))
        axes.text(
            left + (width if to_left else 0),
            place,
            text,
            transform=axes.transAxes,
            ha="right" if to_left else "left",
            va="center",
            size=style.SMALL_TEXT_SIZE,
        )


def _gas_alt(kind: str, account: GasAccount | Message, volumes: Readings, results: Results) -> Message:
    values = volumes.values.astype(float)
    first, last = (rounding.fixed(float(value), style.decimals_of(volumes.step)) for value in (values[0], values[-1]))
    refills = len(account.refills) if isinstance(account, GasAccount) else 0
    if len(volumes) == 1:
        course = say("The gas was read once: {first}", first=first)
    elif kind == "flow":
        middle = float(f"{np.median(values):.2g}")
        course = say(
            "The flow of gas was {middle} L/min in the middle, between {low} and {high} L/min",
            middle=middle,
            low=float(f"{values.min():.2g}"),
            high=float(f"{values.max():.2g}"),
        )
    elif kind == "meter":
        course = say("The gas meter went from {first} L to {last} L", first=first, last=last)
    else:
        course = say("The content of the gasholder went from {first} L to {last} L", first=first, last=last)
        if refills == 1:
            course = say("{course}, with one refill while the burner was lit", course=course)
        elif refills:
            course = say("{course}, with {n} refills while the burner was lit", course=course, n=refills)
    used = results["gas_used_as_read"]
    if not used.is_given:
        return say("{course}.", course=course)
    return say(
        "{course}; {used} L as read were burnt in {hours} h.",
        course=course,
        used=wording.about(used)["value"],
        hours=round(results["burning_time"].value, 1),
    )


def feed_chart(trial: Trial, said: Said) -> Chart | None:
    """Return daily feed above daily gas, over the days before the run; None without a feed log of some days."""
    if not trial.feeds:
        return None
    first = min(feed.at for feed in trial.feeds)
    zero = _day(trial, trial.lit_at if trial.lit_at is not None else first)
    fed = _by_day([_day(trial, feed.at) - zero for feed in trial.feeds], [feed.fresh_mass for feed in trial.feeds])
    amounts = trial.column("gas_produced")
    gas: dict[int, float] = {}
    if amounts is not None:
        gas = _by_day([_day(trial, float(at)) - zero for at in amounts.at], amounts.values.astype(float).tolist())
    last = max(*fed, *gas)
    every = len(fed)
    fed, gas = ({day: amount for day, amount in by.items() if day > last - MOST_DAYS} for by in (fed, gas))
    if len(fed) < FEWEST_DAYS:
        return None
    days = say("days before the run")
    if trial.lit_at is None:
        days = say("days since the first feed (when the burner was lit is not recorded)")
    elif len(fed) < every:
        days = say("days before the run (the log goes back further)")
    drawing = style.sheet("feed")
    limits = (min(*fed, *gas) - 0.8, (max(last, 0) if trial.lit_at is not None else last) + 0.8)
    upper = style.panel(drawing, 0.56 if gas else 0.135, 0.91, LEFT_OF_FEED, 0.97)
    bars = [((day - 0.35, 0), (day - 0.35, mass), (day + 0.35, mass), (day + 0.35, 0)) for day, mass in fed.items()]
    upper.add_collection(PolyCollection(bars, facecolor=style.FEEDSTOCK, linewidth=0))
    upper.set_ylim(0, 1.1 * max(*fed.values(), 0.01))
    _name_above(upper, say("fresh mass fed,\nkg per day"), said)
    bottom = upper
    if gas:
        bottom = style.panel(drawing, 0.135, 0.46, LEFT_OF_FEED, 0.97)
        at = np.array(list(gas), dtype=float)
        broken = np.flatnonzero(np.diff(at) > 1.5) + 1
        bottom.plot(
            np.insert(at, broken, np.nan),
            np.insert(np.array(list(gas.values())), broken, np.nan),
            color=style.PRODUCED,
            linewidth=0.8,
            marker="o",
        )
        bottom.set_ylim(min(0.0, 1.1 * min(gas.values())), 1.15 * max(*gas.values(), 0.01))
        _name_above(bottom, say("gas produced,\nL per day as read"), said)
        upper.tick_params(labelbottom=False)
    for axes in {upper, bottom}:
        axes.set_xlim(limits)
    if trial.lit_at is not None:
        for axes in (upper, bottom):
            axes.xaxis.set_major_formatter(FuncFormatter(lambda day, _: rounding.plain(-day)))
    bottom.set_xlabel(said(days))
    title = say("Waste fed and gas produced") if gas else say("Waste fed")
    header = [
        said(days),
        said(say("fresh mass fed, kg")),
        *([said(say("gas produced, L as read"))] if gas else []),
    ]
    sign = 1 if trial.lit_at is None else -1
    masses = trial.column("fresh_mass")
    fresh, fine = (style.decimals_of(part.step) if part is not None else 1 for part in (masses, amounts))
    rows = [
        (str(sign * day), _amount(fed.get(day), fresh), *([_amount(gas.get(day), fine)] if gas else []))
        for day in sorted({*fed, *gas})[-MOST_ROWS:]
    ]
    return Chart("feed", title, _feed_alt(fed, gas), style.as_svg(drawing, said(title)), (tuple(header), *rows))


def _name_above(axes: Axes, name: Message, said: Said) -> None:
    """Write above an axes what it shows: two of them above each other are too low for it at their side."""
    place = float(speech.current().is_right_to_left)
    axes.annotate(
        style.on_one_line(said(name)),
        (place, 1),
        (0, 6),
        "axes fraction",
        "offset points",
        ha="right" if place else "left",
        va="baseline",
    )


def _feed_alt(fed: Mapping[int, float], gas: Mapping[int, float]) -> Message:
    days = max(*fed, *gas) - min(*fed, *gas) + 1
    course = say(
        "Over {days} days {total} kg of waste were fed, from {least} kg to {most} kg on a day of feeding",
        days=days,
        total=float(f"{sum(fed.values()):.3g}"),
        least=float(f"{min(fed.values()):.2g}"),
        most=float(f"{max(fed.values()):.2g}"),
    )
    if not gas:
        return say("{course}.", course=course)
    least, most = (float(f"{end:.3g}") for end in (min(gas.values()), max(gas.values())))
    return say("{course}; {least} L to {most} L of gas a day were logged.", course=course, least=least, most=most)


def _day(trial: Trial, at: float) -> int:
    return wall_clock(at, trial.zone).toordinal()


def _by_day(days: list[int], amounts: list[float]) -> dict[int, float]:
    totals: dict[int, float] = dict.fromkeys(sorted(set(days)), 0.0)
    for day, amount in zip(days, amounts, strict=True):
        totals[day] += amount
    return totals


def _amount(amount: float | None, decimals: int) -> str:
    return "" if amount is None else rounding.fixed(amount, decimals)
