"""The line between cold and cooking: what is left of the one for so much of the other."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.figure import Figure as Drawing
from matplotlib.ticker import MaxNLocator

from reportgen import rounding
from reportgen.charts import style
from reportgen.charts.chart import Chart, Said, spoken
from reportgen.message import say
from reportgen.trial import Numbers

HEIGHT = 2.9  # [in]
#: Rows of the table below the chart, at most.
ROWS = 9


def trade_off_chart(
    minutes: Numbers,
    cold: tuple[Numbers, Numbers, Numbers],
    choices: Sequence[tuple[float, float]],
    said: Said = spoken,
) -> Chart:
    """Return hours of cold over minutes of cooking.

    Parameters
    ----------
    minutes : array
        Of cooking, rising.
    cold : tuple of arrays
        Hours of cold: middle, and both ends of the 95 % range.
    choices : sequence of (float, float)
        Worked choices to mark: minutes of cooking, hours of cold.
    said : callable, optional
        Turns a message into words; English ones if not given.
    """
    middle, low, high = cold
    drawing = Drawing(figsize=(style.WIDTH, HEIGHT))
    axes = style.panel(drawing, 0.2, 0.95, 0.09, 0.97)
    axes.xaxis.set_major_locator(MaxNLocator(8, steps=[1.5, 3, 6, 10]))
    axes.fill_between(minutes, low, high, color=style.TINT, linewidth=0)
    axes.plot(minutes, middle, color=style.CABINET, linewidth=1.8)
    axes.set(xlim=(-0.02 * minutes[-1], minutes[-1]), ylim=(0, 1.18 * max(float(high.max()), 1.0)))
    for cooking, hours in choices:
        axes.plot([cooking], [hours], marker="o", markersize=6, color=style.GAS, clip_on=False, zorder=3)
        text = said(say("{hours} h", hours=rounding.plain(hours, 2)))
        axes.annotate(
            text, (cooking, hours), xytext=(7, 5), textcoords="offset points", size=style.SMALL_TEXT_SIZE, weight="bold"
        )
    axes.set_xlabel(said(say("minutes of cooking a day, one flame")))
    axes.set_ylabel(said(say("hours of cold a day")))
    title = say("Cold or cooking")
    alt = say(
        "Hours of cold over minutes of cooking a day: about {most} h with none, falling to {least} h at {end} "
        "minutes; the band is the 95 % range, the dots are the worked choices.",
        most=rounding.plain(float(middle[0]), 2),
        least=rounding.fixed(float(middle[-1]), 0),
        end=rounding.fixed(float(minutes[-1]), 0),
    )
    header = tuple(
        said(word) for word in (say("Minutes of cooking"), say("Hours of cold"), say("95 % from"), say("to"))
    )
    step = max(len(minutes) // (ROWS - 1), 1)
    rows = tuple(
        tuple(rounding.fixed(float(value), decimals) for value, decimals in zip(point, (0, 1, 1, 1), strict=True))
        for point in list(zip(minutes, middle, low, high, strict=True))[::step]
    )
    return Chart("trade_off", title, alt, style.as_svg(drawing, said(title)), (header, *rows))
