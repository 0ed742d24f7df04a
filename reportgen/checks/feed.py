"""Feeds far above the usual, and rows whose date lies after the run and may be a slip: asked, and used as written.

A digester is fed after a run as before it, so that a log which goes on is no slip.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

from reportgen.catalogue import KINDS
from reportgen.checks.marks import MOST_ROWS, at_reading, rows_named
from reportgen.message import COMMA, Listed, Message, listed, say, say_counted
from reportgen.trial import Feed, Finding, Readings, Trial, wall_clock

#: A feed of so many times the median of the others is asked about: a decimal mark left out makes it ten (ours).
FAR_ABOVE = 7.0
#: So many other feeds of the material in the log show what is usual, and one that is asked about is so many times the
#: largest of those that are not (ours).
FEWEST_OTHERS, ABOVE_LARGEST = 5, 3.0
DAY = 86_400.0
#: A row stands out in a log by so many times the usual distance of its rows, and by no less than this [s] (ours).
STANDS_OUT, LEAST_AWAY = 3.0, DAY / 2
#: After the last row but a few, a gap of so many times the usual distance, and of no less than this [s] (ours).
GAP, LEAST_GAP = 5.0, 7 * DAY
#: At most so many last rows behind a gap are a slip and no log that goes on; fewer rows before it show nothing (ours).
MOST_LAST, FEWEST_BEFORE = 2, 5
#: The day that was meant lies behind the row before by at most so many times the usual distance (ours).
NEXT_ROW = 2.5
#: Which figures a slip may change, by the column it is in.
MAY_REST_ON = {
    "fresh_mass": ("waste_fed", "gas_yield_fresh", "waste_for_run", "waste_to_ice", "loading_rate", "retention_time"),
    "gas_produced": ("gas_produced", "gas_yield_fresh", "waste_for_run", "waste_to_ice"),
    "gas_volume": ("gas_used", "holder_endurance", "idle_loss"),
    "gas_level": ("gas_used", "holder_endurance", "idle_loss"),
    "gas_flow": ("gas_used", "gas_per_hour"),
}
#: Codes of what is said here; a trial that is judged anew is asked anew.
CODES_HERE = frozenset({"feed-far-above-usual", "date-after-run"})


def feed_findings(trial: Trial) -> list[Finding]:
    """Return a question for each log with feeds far above its usual, and for rows that may bear a wrong date."""
    return [*_far_above(trial.feeds), *_dates(trial)]


def _may_rest_on(column: str) -> Message:
    labels = listed(KINDS[key].label for key in MAY_REST_ON[column])
    return say("used as written; these figures may rest on it: {figures}", figures=labels)


def _far_above(feeds: Sequence[Feed]) -> Iterator[Finding]:
    """Yield a question for each log and material: which feeds are far above the others of the same material."""
    logs: dict[tuple[str, str], list[Feed]] = {}
    for feed in feeds:
        if feed.fresh_mass > 0:
            logs.setdefault((feed.file, " ".join(feed.material.casefold().split())), []).append(feed)
    for (file, _), fed in logs.items():
        if len(fed) <= FEWEST_OTHERS:
            continue
        masses = np.array([feed.fresh_mass for feed in fed])
        usual = float(np.median(masses))
        far = masses >= FAR_ABOVE * usual
        # Where a good part of the feeds is as large, or some are nearly so, large ones are a habit.
        if not far.any() or np.count_nonzero(~far) < FEWEST_OTHERS * np.count_nonzero(far):
            continue
        if masses[far].min() < ABOVE_LARGEST * masses[~far].max():
            continue
        found = [fed[i] for i in np.flatnonzero(far)]
        message = say_counted(
            len(found),
            "{mass} kg were fed where the other feeds of this material are about {usual} kg: is the decimal mark or "
            "the unit wrong?",
            "{n} feeds (rows {rows}) such as {mass} kg where the others of this material are about {usual} kg: is the "
            "decimal mark or the unit wrong?",
            mass=found[0].fresh_mass,
            usual=float(np.median(masses[~far])),
            rows=_rows(found),
        )
        yield Finding("caution", "feed-far-above-usual", message, file, found[0].row, _may_rest_on("fresh_mass"))


def _rows(feeds: Sequence[Feed]) -> Listed:
    shown = [str(feed.row) for feed in feeds[:MOST_ROWS]]
    return listed([*shown, "…"] if len(feeds) > MOST_ROWS else shown, COMMA)


def _dates(trial: Trial) -> Iterator[Finding]:
    """Yield a question for each log and column with rows after the run that stand out of the course of the log."""
    if not (trial.dated and trial.clocked and trial.end_recorded) or trial.out_at is None:
        return
    for column in MAY_REST_ON:
        readings = trial.column(column)
        if readings is None or readings.at[-1] <= trial.out_at:
            continue
        for number in range(len(readings.files)):
            of_file = readings.where(readings.file_index == number)
            if len(of_file) <= FEWEST_BEFORE or of_file.at[-1] <= trial.out_at:
                continue
            step = float(np.median(np.diff(of_file.at)))
            found = _between_others(trial, of_file, step) or _behind_a_gap(trial, of_file, step)
            if found is not None:
                at, message = found
                yield at_reading("caution", "date-after-run", message, of_file, at, _may_rest_on(column))


def _between_others(trial: Trial, readings: Readings, step: float) -> tuple[int, Message] | None:
    """Return the first of the readings that stand in the file between two of much earlier dates, and what to ask."""
    steps = np.diff(readings.rows)
    if (steps > 0).all() or (steps < 0).all():
        return None
    order = np.argsort(readings.rows)
    at = readings.at[order]
    before, here, after = at[:-2], at[1:-1], at[2:]
    away = max(LEAST_AWAY, STANDS_OUT * step)
    assert trial.out_at is not None
    out = (here > trial.out_at) & (here - np.maximum(before, after) > away)
    # The rows around it follow each other as the others do, in whatever order the file has.
    out &= np.abs(after - before) <= np.maximum(away, here - np.maximum(before, after))
    places = np.flatnonzero(out) + 1
    if not len(places):
        return None
    found: npt.NDArray[np.int64] = order[places]
    first = int(places[0])
    message = say_counted(
        len(found),
        "this row is dated {day}, after the end of the run, and stands between rows of {before} and {after}: is the "
        "date right?",
        "{n} rows ({rows}) are dated after the end of the run and stand between earlier ones, such as {day} between "
        "{before} and {after}: are the dates right?",
        day=_day(trial, float(at[first])),
        before=_day(trial, float(at[first - 1])),
        after=_day(trial, float(at[first + 1])),
        rows=rows_named(readings, found),
    )
    return int(found[0]), message


def _behind_a_gap(trial: Trial, readings: Readings, step: float) -> tuple[int, Message] | None:
    """Return the first of a few last readings behind a long gap that another day would close, and what to ask."""
    gaps = np.diff(readings.at)
    at = len(readings) - 1
    for last in range(1, MOST_LAST + 1):
        first = len(readings) - last
        if first >= FEWEST_BEFORE and gaps[first - 1] > max(LEAST_GAP, GAP * step):
            at = first
            break
    else:
        return None
    assert trial.out_at is not None
    if readings.at[at] <= trial.out_at:
        return None
    day, before = _day(trial, float(readings.at[at])), float(readings.at[at - 1])
    meant = next((one for one in _meant(day) if _follows(float(readings.at[at]), day, one, before, step)), None)
    if meant is None:
        return None
    message = say_counted(
        len(readings) - at,
        "this row is dated {day}, after the end of the run and {days} days after the row before: is {meant} meant?",
        "{n} rows ({rows}), the first of {day}, are dated after the end of the run and {days} days after the row "
        "before: is {meant} meant?",
        day=day,
        days=round(float(gaps[at - 1]) / DAY),
        meant=meant,
        rows=rows_named(readings, np.arange(at, len(readings))),
    )
    return at, message


def _day(trial: Trial, at: float) -> dt.date:
    return wall_clock(at, trial.zone).date()


def _follows(at: float, day: dt.date, meant: dt.date, before: float, step: float) -> bool:
    """Return whether a moment would follow the row before as the others do, were its day the one that is meant."""
    moment = at + (meant - day).days * DAY
    return step / 2 < moment - before <= NEXT_ROW * max(step, DAY / 24)


def _meant(day: dt.date) -> Iterator[dt.date]:
    """Yield the earlier days for which a day may have been written: another month or year, ten days, day for month."""
    years_and_months = [
        *((day.year, month, day.day) for month in range(day.month - 1, 0, -1)),
        *((day.year - 1, month, day.day) for month in range(12, 0, -1)),
        (day.year, day.month, day.day - 10),
        (day.year, day.month, day.day - 20),
        (day.year, day.day, day.month),
    ]
    for year, month, of_month in years_and_months:
        try:
            yield dt.date(year, month, of_month)
        except ValueError:
            continue  # the 31st of a short month
