"""The state of a trial as of one moment: forecasts, alerts, the plan beside it, and when to look at the ice."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from reportgen.codes import ALERT_LEVELS
from reportgen.message import Message, say
from reportgen.plan.past import PastRun
from reportgen.read.burning import Stated, find_run
from reportgen.results_file import started
from reportgen.status.alerts import Alert, alerts, last_of_flame
from reportgen.status.forecast import Forecast, Forecasts, forecasts
from reportgen.status.moment import last_moment, moment_of, until
from reportgen.trial import Trial

#: A plan beside the logs: what `reportgen plan --json` prints.
PLAN_NAME = "plan.json"
#: A plan is smaller than this [bytes] (ours).
LARGEST_PLAN = 1_000_000
#: Figures of a plan, and the forecasts they are compared with.
PLANNED = {"ice_ready": "ice_making_time", "hours_of_burning": "gas_lasts_until"}
#: Ice is looked at from now on at the soonest after this [h] (ours).
SOONEST_LOOK = 5 / 60


@dataclass(frozen=True)
class Course:
    """One figure of the plan beside what is expected now: `verdict` in words, `on_course` None where nobody can say."""

    key: str
    on_course: bool | None
    verdict: Message


@dataclass(frozen=True)
class Status:
    """A trial as of one moment.

    Attributes
    ----------
    trial : Trial
        As it stood then.
    at : float or None [s]
        None where nothing is logged.
    elapsed : float or None [h]
        From burner lit.
    given : Forecasts or None
    alerts : tuple of Alert
        Worst first.
    plan : tuple of Course or None
        None where no plan lies beside the logs; empty where it cannot be read.
    look_at : float or None [h]
        When to look at the ice next.
    past : tuple of str
        Names of the past runs that were given.
    """

    trial: Trial
    at: float | None
    elapsed: float | None
    given: Forecasts
    alerts: tuple[Alert, ...]
    plan: tuple[Course, ...] | None
    look_at: float | None
    past: tuple[str, ...] = ()

    @property
    def forecasts(self) -> Mapping[str, Forecast]:
        """The forecasts by key."""
        return self.given.by_key


def status_of(trial: Trial, folder: Path | None = None, at: str | None = None, past: Sequence[PastRun] = ()) -> Status:
    """Return the status of a trial as read, as of its last reading or of the moment that `at` names.

    Own `past` runs tell what is usual where the readings do not tell yet; a report of this very trial is none of them.

    Raises
    ------
    MomentError
        If `at` names no moment.
    """
    moment = moment_of(trial, at) if at is not None else last_moment(trial)
    lit = started(trial)
    past = [run for run in past if lit is None or run.started != lit]
    stood = until(trial, moment if moment is not None else -math.inf)
    given = forecasts(stood, moment if moment is not None else 0.0, past)
    last = last_moment(stood)
    watched, seen = _watched(stood, given, moment)
    since = watched.hours(last) if last is not None and watched.lit_at is not None else None
    found = alerts(watched, seen, since, moment, is_over=_is_over(trial, stood, moment))
    courses = _courses(folder, given) if folder is not None else None
    off = [course for course in courses or () if course.on_course is False]
    found = (*found, *(Alert("caution", "off-course", course.verdict) for course in off))
    ordered = tuple(sorted(found, key=lambda alert: ALERT_LEVELS.index(alert.level)))
    look_at = _look_at(given, stood.end_recorded)
    return Status(stood, moment, given.now, given, ordered, courses, look_at, tuple(run.name for run in past))


def _watched(stood: Trial, given: Forecasts, at: float | None) -> tuple[Trial, Forecasts]:
    """Return what alerts watch: where the first lighting is in doubt, the flame since the later ones all the same.

    No forecast comes with it.
    """
    if stood.lit_before is None or stood.sheet.burner.out is not None or at is None:
        return stood, given
    run = find_run(Stated(zone=stood.zone), list(stood.events), at)
    if run.lit_at is None:
        return stood, given
    watched = replace(stood, lit_at=run.lit_at, out_at=run.out_at, burning=run.spans, end_recorded=run.end_recorded)
    return watched, replace(forecasts(watched, at), by_key=given.by_key)


def _is_over(trial: Trial, stood: Trial, at: float | None) -> bool:
    """Return whether trial.toml says that the run is over at a moment [s]: its outcome, or when the burner went out."""
    if last_of_flame(trial) != last_of_flame(stood):
        return False
    sheet, out = trial.sheet, trial.out_at
    is_out = sheet.burner.out is not None and out is not None and at is not None and out <= at
    return sheet.outcome is not None or is_out


def _look_at(given: Forecasts, is_out: bool) -> float | None:
    """Return when the ice is worth a look: where it may first be solid, or half an hour after 0 °C."""
    ice, zero = given.by_key["ice_making_time"], given.by_key["time_to_0"]
    if given.now is None or ice.happened or is_out:
        return None
    if ice.value is not None and ice.interval is not None:
        return max(ice.interval[0], given.now + SOONEST_LOOK)
    if zero.value is not None:
        return max(zero.value + 0.5, given.now + SOONEST_LOOK)
    if zero.passed > 0:
        return given.now + 0.5
    return None


def _courses(folder: Path, given: Forecasts) -> tuple[Course, ...] | None:
    path = folder / PLAN_NAME
    if not path.is_file():
        return None
    try:
        with path.open("rb") as file:
            document = json.loads(file.read(LARGEST_PLAN))
        planned = document["results"]
        read = {key: _planned(planned.get(key)) for key in PLANNED}
    except (OSError, ValueError, RecursionError, KeyError, TypeError, AttributeError):
        return ()
    return tuple(_course(key, value, given.by_key[PLANNED[key]]) for key, value in read.items() if value is not None)


def _planned(figure: Any) -> tuple[float, float, float] | None:
    """Return value and ends of a planned figure, None where it was not given."""
    if not isinstance(figure, dict) or figure.get("value") is None or figure.get("interval_95") is None:
        return None
    low, high = figure["interval_95"]
    return float(figure["value"]), float(low), float(high)


def _course(key: str, planned: tuple[float, float, float], now: Forecast) -> Course:
    value, low, high = planned
    what = say("ice solid") if key == "ice_ready" else say("gas lasts")
    if now.value is None or now.interval is None:
        return Course(key, None, say("{what}: cannot be said yet (plan: {plan} h)", what=what, plan=round(value, 1)))
    values = {"what": what, "now": round(now.value, 1), "low": round(low, 1), "high": round(high, 1)}
    if low <= now.value <= high:
        return Course(key, True, say("{what}: on course, {now} h (plan: {low} to {high} h)", **values))
    # Sooner ice and longer gas are no reason to worry.
    good = now.value < low if key == "ice_ready" else now.value > high
    if good:
        return Course(key, True, say("{what}: better than planned, {now} h (plan: {low} to {high} h)", **values))
    return Course(key, False, say("{what}: off course, {now} h (plan: {low} to {high} h)", **values))
