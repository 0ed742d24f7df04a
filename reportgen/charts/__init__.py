"""The charts of a trial: temperatures, gas, feed, the chain from waste to ice. The one user of matplotlib."""

import logging

from reportgen.charts.chart import Chart, Said, spoken
from reportgen.figures.results import Results
from reportgen.trial import Trial

__all__ = ["Chart", "build_charts"]

# The drawing library remarks where it keeps its fonts, and that it cannot: nothing to whoever wants a report.
logging.getLogger("matplotlib").setLevel(logging.ERROR)


def build_charts(trial: Trial, results: Results, said: Said = spoken) -> tuple[Chart, ...]:
    """Return the charts that the trial supports, in the order of the report.

    `said` turns a message into words; into those of the language spoken if not given.
    """
    # The drawing library takes a while to load, and a report on its own has its charts drawn in another process.
    from reportgen.charts.cabinet import cabinet_chart
    from reportgen.charts.chain import chain_picture
    from reportgen.charts.gas_and_feed import feed_chart, gas_chart

    drawn = (
        cabinet_chart(trial, results, said),
        gas_chart(trial, results, said),
        feed_chart(trial, said),
        chain_picture(trial, results, said),
    )
    return tuple(chart for chart in drawn if chart is not None)
