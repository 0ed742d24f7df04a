"""The line between cold and cooking: what is left of the one for so much of the other."""

from __future__ import annotations

from collections.abc import Sequence

from reportgen import rounding
from reportgen.charts import style
from reportgen.charts.drawing import WORDS, Panel, Picture, ticks
from reportgen.charts.style import Chart, Said
from reportgen.message import say
from reportgen.trial import Numbers

HEIGHT = 2.9  # [in]
#: Steps in which minutes are counted, with any power of ten.
MINUTES = (1.5, 3, 6, 15)
#: Rows of the table below the chart, at most.
ROWS = 9


def trade_off_chart(
    minutes: Numbers,
    cold: tuple[Numbers, Numbers, Numbers],
    choices: Sequence[tuple[float, float]],
    said: Said = str,
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
    picture = Picture(style.WIDTH, HEIGHT)
    panel = Panel(picture, 0.2, 0.95, 0.09, 0.97)
    end = float(minutes[-1])
    panel.x_limits, panel.y_limits = (-0.02 * end, end), (0.0, 1.18 * max(float(high.max()), 1.0))
    panel.band(minutes, low, high, style.TINT, opacity=1.0)
    panel.line(minutes, middle, style.CABINET, 1.8)
    for cooking, hours in choices:
        at = panel.x(cooking), panel.y(hours)
        picture.marks([at[0]], [at[1]], style.GAS, "circle", 6.0, layer=WORDS)
        text = said(say("{hours} h", hours=rounding.plain(hours, 2)))
        picture.words(at[0] + 7, at[1] - 5, text, is_bold=True)
    panel.frame(
        said(say("minutes of cooking a day, one flame")),
        said(say("hours of cold a day")),
        x_ticks=ticks(*panel.x_limits, most=8, steps=MINUTES),
    )
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
    return Chart("trade_off", title, alt, picture.svg(said(title)), (header, *rows))
