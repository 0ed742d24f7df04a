"""Logs made up from whatever a log may hold: a report or a short error, and figures inside their intervals."""

from __future__ import annotations

import datetime as dt
import math
import tempfile
import warnings
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from reportgen import vocabulary
from reportgen.errors import ReportgenError
from reportgen.figures import compute
from reportgen.read.folder import read_trial

UNITS = ("", " [degC]", " (°F)", " [K]", " [L]", ", m3", " [%]", " [buckets]", " [min]")
TIMES = (
    "%Y-%m-%d %H:%M",
    "%Y-%m-%dT%H:%M:%S+0400",
    "%d/%m/%Y %H:%M",
    "%m/%d/%y %I:%M %p",
    "%d.%m.%Y %H:%M:%S",
    "%d %b %H:%M",
    "%H:%M",
    "%I:%M",
    "%H%M",
    "%y.%m.%d %H:%M",
)
WORDS = (
    "",
    "",
    "liquid",
    "solid",
    "60",
    "burner lit",
    "burner out",
    "door opened",
    "---",
    "-127",
    "85",
    "NaN",
    "?",
    "x",
)
START = dt.datetime(2026, 3, 14, 7, 30)

names = st.sampled_from([*vocabulary.COLUMNS, "Fridge temp", "Temp", "Zeit", "gas", ""])
headers = st.lists(st.tuples(names, st.sampled_from(UNITS)).map("".join), min_size=1, max_size=6)
numbers = st.floats(-60, 400).map(lambda value: f"{value:.1f}") | st.integers(-5, 3000).map(str)
cells = numbers | st.sampled_from(WORDS) | numbers.map(lambda text: text.replace(".", ",")) | st.text(max_size=5)


@st.composite
def logs(draw: st.DrawFn) -> str:
    written, delimiter = draw(st.sampled_from(TIMES)), draw(st.sampled_from([",", ";", "\t", "  "]))
    columns = draw(headers)
    lines = [delimiter.join(["time", *columns])]
    at = START
    for _ in range(draw(st.integers(0, 14))):
        at += dt.timedelta(minutes=draw(st.sampled_from([1, 5, 20, 20, 60, 700, -30])))
        lines.append(delimiter.join([at.strftime(written), *(draw(cells) for _ in columns)]))
    return "\n".join(lines) + draw(st.sampled_from(["\n", ""]))


sheets = st.sampled_from(
    [
        "",
        "date = 2026-03-14\n",
        'date = 2026-03-14\n[burner]\nlit = "09:05"\nout = "12:40"\n[gas]\nkind = "holder"\n[water]\nmass = "1.2 kg"\n',
        '[burner]\nlit = "2026-03-14 09:05"\n[gas]\nkind = "flow"\n[files."log.csv"]\ndecimal = "comma"\n',
        '[gas]\nkind = "meter"\n[files."log.csv"]\ndate_order = "day first"\nyear = 2026\nclock_starts = "pm"\n',
    ]
)


@given(logs(), sheets)
@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_a_made_up_log_gives_a_report_or_a_short_error(log: str, sheet: str) -> None:
    with tempfile.TemporaryDirectory() as name, warnings.catch_warnings():
        warnings.simplefilter("error")
        folder = Path(name)
        (folder / "trial.toml").write_text(f'title = "Made up"\n{sheet}', encoding="utf-8")
        (folder / "log.csv").write_text(log, encoding="utf-8", errors="replace")
        try:
            results = compute(read_trial(folder))
        except ReportgenError as error:
            assert 1 <= len(str(error).split("\n")) <= 3
            return
    for figure in results.figures.values():
        if figure.is_given:
            assert figure.interval is not None
            assert figure.interval[0] <= figure.value <= figure.interval[1]
            assert all(map(math.isfinite, figure.interval))
